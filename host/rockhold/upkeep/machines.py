"""The boards that the program runs on: how each names itself, and which files only it needs."""

from dataclasses import dataclass

from rockhold.errors import NoBoardError


@dataclass(frozen=True, slots=True)
class BoardKind:
    """A kind of board.

    Attributes:
        files: Of rockboard/boards, without ".py": what it needs beside the file of its own name.
        says: How MicroPython names it (`sys.implementation._machine`); any part of that will do.
    """

    files: frozenset[str]
    says: tuple[str, ...] = ()


_RP2 = frozenset({"rp2", "rp2_dma", "chip"})
BOARDS = {
    "pico_w": BoardKind(_RP2, ("Raspberry Pi Pico",)),
    "pico2_w": BoardKind(_RP2, ("Raspberry Pi Pico 2", "Raspberry Pi Pico2")),
    "esp32s3": BoardKind(frozenset({"chip"}), ("ESP32S3",)),
    "unix": BoardKind(frozenset({"unix_radio"})),
}
# Those with a chip, which can be set up.
CHIPS = tuple(sorted(board for board, kind in BOARDS.items() if kind.says))


def board_named(name: str) -> str:
    """Return which board of the table calls itself that; the longest match counts.

    Raises:
        NoBoardError: When it is none that is known.
    """
    fitting = [(len(says), board) for board in CHIPS for says in BOARDS[board].says if says in name]
    if not fitting:
        raise NoBoardError(
            f'"{name}" is no board that rockhold knows. Name the one whose pins it shares with '
            f"--board: {', '.join(CHIPS)}"
        )
    return max(fitting)[1]
