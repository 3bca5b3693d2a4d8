"""Verification of a capture: who signed what, whether anything was changed, and where.

The order of checks is fixed (protocol/README.md, 3.4):

    bytes ── seals ── lines ── board ── result ── trust

Up to the seals nothing of the file is parsed. A fault of the bytes ends the search for faults in
them; what the board's records still prove is told all the same, because it says who did not do it.
"""

import re
from collections.abc import Callable
from pathlib import Path

from rockhold.capture.clockfit import clock_of
from rockhold.capture.lines import FORMAT_VERSION
from rockhold.capture.reader import Capture, parse_capture, read_bytes
from rockhold.errors import CaptureFormatError, RockholdError, SignatureError
from rockhold.evidence import findings as f
from rockhold.evidence.boardproof import BoardProof, check_records
from rockhold.evidence.compare import compare_results
from rockhold.evidence.keyfile import BOARD, fingerprint_of, thumbprint_of
from rockhold.evidence.linemarks import Place, find_change
from rockhold.evidence.problems import seal_problems, trust_problems
from rockhold.evidence.reviews import review_under
from rockhold.evidence.seal import CheckedSeal, SealLine, check_seal, find_seals
from rockhold.evidence.stepwords import step_lines
from rockhold.evidence.structure import check_structure, job_of
from rockhold.evidence.trust import Trust, judge

_VERSION = re.compile(rb'\{"rockhold":"capture","version":([0-9]{1,6}),')
Compute = Callable[[Capture], dict[str, object] | None]


def verify_file(path: Path, trust: Trust, compute: Compute | None = None) -> f.Verification:
    """Verify one file; whatever is wrong with it is in the answer, nothing is raised."""
    try:
        data = read_bytes(path)
    except CaptureFormatError as error:
        return f.Verification(str(path), f.UNREADABLE, ((f.UNREADABLE, str(error)),))
    return verify_bytes(path, data, trust, compute)


def verify_bytes(
    path: Path, data: bytes, trust: Trust, compute: Compute | None = None
) -> f.Verification:
    """Verify the bytes of a capture.

    Args:
        path: For the words of the answer only.
        data: All bytes of the file.
        trust: Whom the user trusts.
        compute: Computes a capture's result; None for the one way that rockhold has.
    """
    version = _VERSION.match(data)
    if version is not None and int(version[1]) > FORMAT_VERSION:
        sentence = (
            f"Line 1 says version {int(version[1])}; this rockhold reads up to version "
            f"{FORMAT_VERSION}."
        )
        return f.Verification(str(path), f.NEWER, ((f.NEWER, sentence),))
    return _Examination(path, data, trust, compute or _own_way()).run()


def _own_way() -> Compute:
    from rockhold.evidence.result import result_of  # brings scipy: only who needs it waits for it

    return result_of


class _Examination:
    """One file being looked at; each step adds what it found."""

    def __init__(self, path: Path, data: bytes, trust: Trust, compute: Compute) -> None:
        self._path = path
        self._data = data
        self._trust = trust
        self._compute = compute
        self._problems: list[tuple[str, str]] = []
        self._damage: Place | None = None
        self._sealed: list[tuple[SealLine, CheckedSeal]] = []

    def run(self) -> f.Verification:
        self._check_seals()
        capture = self._read_lines()
        board = self._check_board(capture)
        result = self._check_result(capture)
        seals = tuple(self._seal_found(seal, checked) for seal, checked in self._sealed)
        if self._damage is None:
            self._problems += seal_problems(self._data, seals)
        self._problems += trust_problems(seals, board)
        lines = self._data.count(b"\n")
        self._problems.sort(key=lambda problem: -f.ORDER.index(problem[0]))
        return f.Verification(
            file=str(self._path),
            state=f.worst(state for state, _ in self._problems),
            problems=tuple(self._problems),
            damage=self._damage,
            seals=seals,
            board=board,
            result=result,
            clock=clock_of(capture) if capture else None,
            job=job_of(capture.header) if capture else {},
            steps=step_lines(capture) if capture else (),
            lines=lines,
            sealed_lines=self._sealed[-1][0].line if self._sealed else 0,
            cut_short=not self._data.endswith(b"\n"),
        )

    # --- the steps --------------------------------------------------------------------------

    def _check_seals(self) -> None:
        try:
            seals = find_seals(self._data)
        except SignatureError as error:
            self._damaged(Place(error.line, error.byte, str(error)))
            return
        above: SealLine | None = None
        for seal in seals:
            try:
                self._sealed.append((seal, check_seal(self._data, seal)))
            except SignatureError as error:
                after, line = (above.end, above.line + 1) if above else (0, 1)
                place = find_change(self._data, after, seal.start, line)
                self._damaged(place or Place(seal.line, seal.start, str(error)))
                return
            above = seal

    def _read_lines(self) -> Capture | None:
        try:
            capture = parse_capture(self._path, self._data)
            if self._damage is None:  # else the seals that stand here were not all looked at
                sealed_end = self._sealed[-1][0].end if self._sealed else 0
                check_structure(self._data, capture, sealed_end)
        except CaptureFormatError as error:
            self._damaged(Place(error.line, _start_of(self._data, error.line), str(error)))
            return None
        except SignatureError as error:
            self._damaged(Place(error.line, error.byte, str(error)))
        return capture

    def _check_board(self, capture: Capture | None) -> f.BoardFound | None:
        if capture is None:
            return None
        try:
            proof = check_records(capture, self._data[: self._data.find(b"\n") + 1])
        except SignatureError as error:
            self._damaged(Place(error.line, error.byte, str(error)))
            return None
        return self._board_found(proof, str(capture.header.get("opened_utc", "")))

    def _check_result(self, capture: Capture | None) -> f.ResultFound | None:
        if capture is None or self._damage is not None:
            return None
        try:
            found = compare_results(capture, self._compute)
        except (RockholdError, ArithmeticError, ValueError, MemoryError) as error:
            # The last three only from numbers that no gauge shows; of many files the others go on.
            self._problems.append((f.NOT_REPRODUCED, f"The result cannot be computed: {error}."))
            return None
        if found.reproduced is False:
            sentence = f"The result on line {found.line} is not what the readings give: "
            self._problems.append((f.NOT_REPRODUCED, f"{sentence}{found.difference}."))
        return found

    # --- what the steps found ---------------------------------------------------------------

    def _damaged(self, place: Place) -> None:
        if self._damage is None:
            self._damage = place
        sentence = f"Line {place.line} (from byte {place.byte}): {place.what}."
        over = next((c for s, c in self._sealed if s.line > place.line), None)
        if over is not None:
            # Whoever made this seal sealed the change: it is older than the seal, or made for it.
            sentence += f" The seal of {over.by}, line {over.line}, was made over that."
        if b"\r\n" in self._data:
            sentence += (
                " Lines end with CR LF: a program has converted them, as mail and editors do. Ask "
                "for the file as it was stored."
            )
        if all(sentence != known for _, known in self._problems):
            self._problems.append((f.DAMAGED, sentence))

    def _seal_found(self, seal: SealLine, checked: CheckedSeal) -> f.SealFound:
        found = judge(self._trust, checked.key, checked.role, checked.signed_utc)
        verdict, because = review_under(self._data, seal, checked)
        return f.SealFound(
            line=seal.line,
            role=checked.role,
            by=checked.by,
            signed_utc=checked.signed_utc,
            key=checked.key,
            fingerprint=fingerprint_of(checked.key),
            trusted=found.trusted,
            known_as=found.known_as,
            remark=found.remark,
            verdict=verdict,
            because=because,
        )

    def _board_found(self, proof: BoardProof, opened_utc: str) -> f.BoardFound:
        key = thumbprint_of(proof.public) if proof.public else ""
        found = judge(self._trust, key, BOARD, opened_utc)
        return f.BoardFound(
            id=proof.board_id,
            name=proof.name,
            key=key,
            fingerprint=fingerprint_of(key) if key else "",
            records=proof.records,
            last_line=proof.last_line,
            closed=proof.closed,
            sealed=proof.sealed,
            header_bound=proof.header_bound,
            trusted=proof.sealed and found.trusted,
            known_as=found.known_as if key else "",
            remark=found.remark if key else "it has no key",
        )


def _start_of(data: bytes, line: int) -> int:
    start = 0
    for _ in range(line - 1):
        start = data.find(b"\n", start) + 1
    return start
