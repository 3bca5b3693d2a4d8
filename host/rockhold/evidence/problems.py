"""What is missing in a file that is otherwise whole: seals, trust, the board's signature."""

from collections.abc import Iterator, Sequence

from rockhold.evidence import findings as f
from rockhold.evidence.keyfile import TECHNICIAN

Problem = tuple[str, str]  # state, sentence


def seal_problems(data: bytes, seals: Sequence[f.SealFound]) -> Iterator[Problem]:
    """Yield what no seal covers."""
    lines = data.count(b"\n")
    sealed = seals[-1].line if seals else 0
    if not seals:
        yield f.UNSEALED, f"It ends at line {lines} and nobody has sealed it."
    elif sealed == lines - 1:
        yield f.UNSEALED, f"Line {lines} stands below the last seal."
    elif sealed < lines:
        yield f.UNSEALED, f"Lines {sealed + 1} to {lines} stand below the last seal."
    if not data.endswith(b"\n"):
        yield f.UNSEALED, f"The file ends inside line {lines + 1}: cut short."
    if seals and all(seal.role != TECHNICIAN for seal in seals):
        yield f.UNSEALED, f"No technician has sealed it up to line {lines}."


def trust_problems(seals: Sequence[f.SealFound], board: f.BoardFound | None) -> Iterator[Problem]:
    """Yield whose word the user has no reason to take."""
    for seal in seals:
        if not seal.trusted:
            yield (
                f.UNKNOWN_KEY,
                f"Seal of {seal.by}, {seal.role}, line {seal.line}: {seal.remark}.",
            )
    if board is None:
        return
    if not board.sealed:
        yield f.UNSEALED, _without_board(board, bool(seals))
    elif not board.trusted:
        yield f.UNKNOWN_KEY, f"Board {board.id}, seal on line {board.last_line}: {board.remark}."


def _without_board(board: f.BoardFound, sealed: bool) -> str:
    if not board.key:
        return f"Board {board.id} has no key: it signed none of the lines up to {board.last_line}."
    if board.closed:
        return (
            f"Board {board.id} has a key, but its seal is missing below line {board.last_line}: it "
            "was taken out, or the recording was cut short just before it."
        )
    return (
        f"Board {board.id} did not sign: the recording breaks off at line {board.last_line}, after "
        f"{board.records} records; "
        + ("only who sealed it answers" if sealed else "nobody answers")
        + " for the readings."
    )
