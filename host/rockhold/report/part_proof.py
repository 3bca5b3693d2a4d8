"""The parts of a report about the evidence: who signed, whom you trust, how to check it again."""

from collections.abc import Iterator
from pathlib import Path

from rockhold.evidence import findings as f
from rockhold.evidence.words import clock_words, deed_of, next_step, sameness, trust_words
from rockhold.report.cells import moment_of
from rockhold.report.content import Block, Commands, Facts, Items, Section, Table, Words
from rockhold.report.gather import Gathered
from rockhold.report.words import CAUTIONS
from rockhold.typed import typed


def proof_section(job: Gathered) -> Section:
    """Return who signed what, and the trust as found when the report was made."""
    found = job.found
    blocks: list[Block] = []
    rows = tuple(_signature_rows(found))
    head = ("Who", "What", "When, by the signer's word", "Key's fingerprint", "Trusted here")
    if rows:
        blocks.append(Table("Signatures that fit", head, rows))
    else:
        blocks.append(Words("No signature fits this file.", "strong"))
    facts = tuple(_facts(job))
    if facts:
        blocks.append(Facts(facts))
    blocks.append(
        Words(
            "Trust is as found when this report was made, by the keys that were trusted on the "
            "computer that made it.",
            "quiet",
        )
    )
    return Section("proof", "Signatures and trust", tuple(blocks))


def _signature_rows(found: f.Verification) -> Iterator[tuple[str, ...]]:
    board = found.board
    if board is not None and board.sealed:
        what = f"signed {board.records} records, whole and in order"
        if not board.header_bound:
            what += "; started with its button: not the vehicle and wheel end"
        yield (
            f'board {board.id} "{board.name}"', what, "while recording", board.fingerprint,
            _trusted(board, board.name),
        )  # fmt: skip
    for seal in found.seals:
        what = f"{deed_of(seal).removesuffix(' by').lower()}, line {seal.line}"
        if seal.because:
            what += f': "{seal.because}"'
        yield (
            f"{seal.by}, {seal.role}", what, moment_of(seal.signed_utc), seal.fingerprint,
            _trusted(seal, seal.by),
        )  # fmt: skip


def _trusted(found: f.SealFound | f.BoardFound, called: str) -> str:
    words = trust_words(found, called)
    return words if found.trusted else f"NO: {words}"


def _facts(job: Gathered) -> Iterator[tuple[str, str]]:
    found = job.found
    if found.board is not None and not found.board.sealed:
        yield "board", f"{found.board.records} records, NOT signed by the board"
    if found.result is not None and found.result.line:
        yield "stored result", sameness(found.result)
    if found.clock is not None:
        yield "clock", clock_words(found.clock)
    if found.lines:
        yield "lines", f"{found.sealed_lines} of {found.lines} stand under a seal that fits"


def cautions_section() -> Section:
    """Return the cautions of the trade."""
    return Section("cautions", "Cautions", (Items(CAUTIONS),))


def check_section(job: Gathered) -> Section:
    """Return how a reader checks the capture without believing this report."""
    file = Path(job.path).name
    blocks: list[Block] = [
        Words(
            "This report is a picture of the capture file and proves nothing by itself. Ask for "
            f"the file {file} and check that:"
        ),
        Commands((f"rockhold verify {typed(file)}", f"rockhold measure {typed(file)}")),
    ]
    if job.sha256:
        blocks.append(Facts((("SHA-256 of the file", job.sha256),)))
    blocks.append(
        Words(
            "The file is lines of JSON, its seals are JWS with Ed25519: what rockhold's "
            "protocol/README.md says is enough to check it with other tools.",
            "quiet",
        )
    )
    if step := next_step(job.found):
        blocks[:0] = [Words(line.strip(), "strong") for line in step.splitlines()]
    return Section("check", "How to check this", tuple(blocks))
