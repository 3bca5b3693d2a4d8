"""From board time to the host's time: offset, drift, and how far off that can be.

Each request for the board's time gives an interval: what the host's clock showed when the board
looked at its own lies between sending and receiving. One straight line runs through the intervals;
short ones pin it best. The host's UTC may jump (somebody sets the clock), so it is not used for
the line; jumps are reported.
"""

from dataclasses import dataclass

import numpy as np

from rockhold.capture.reader import Capture

_NAMES = ("host_sent_us", "board_us", "host_received_us", "host_utc_us")
_JUMP_US = 50_000  # a network correction slews; more than this between two requests is a jump
_LONG_US = 10_000_000  # over less than this a drift of a crystal cannot be told from delays


@dataclass(frozen=True, slots=True)
class ClockJump:
    """The host's UTC was set.

    Attributes:
        board_us: Board time of the first request after it.
        by_us: How far it jumped, forward positive.
    """

    board_us: int
    by_us: int


@dataclass(frozen=True, slots=True)
class BoardClock:
    """How the board's clock ran against the host's.

    Attributes:
        requests: How many intervals there were.
        drift_ppm: How much faster the host's clock ran, in parts per million; None where the
            requests span too little time to tell.
        bound_us: No time of the board within the requests is mapped further off than this.
        utc_origin_us: UTC, as the host believed at the first request, of the board's time zero.
        jumps: Where the host's UTC jumped.
    """

    requests: int
    drift_ppm: float | None
    bound_us: float
    utc_origin_us: int
    jumps: tuple[ClockJump, ...]

    def utc_us(self, board_us: int) -> int:
        """Return UTC of a board time, in µs since 1970, as the host believed at the first request.

        Args:
            board_us: Time of the board's clock.
        """
        rate = 1 + (self.drift_ppm or 0.0) * 1e-6
        return self.utc_origin_us + round(board_us * rate)


def clock_of(capture: Capture) -> BoardClock | None:
    """Return how the board's clock ran during a capture, None where no request was answered."""
    rows = [line["clock"] for line in capture.of_kind("clock")]
    whole = [
        [row[name] for name in _NAMES]
        for row in rows
        if isinstance(row, dict) and all(_is_time(row.get(name)) for name in _NAMES)
    ]
    return fit_clock(np.array(whole, dtype=np.int64)) if whole else None


def _is_time(value: object) -> bool:
    return isinstance(value, int) and 0 <= value < 1 << 62


def fit_clock(rows: np.ndarray[tuple[int, int], np.dtype[np.int64]]) -> BoardClock:
    """Return offset, drift and bound.

    Args:
        rows: One request a row: host's steady clock at sending, board time, host's steady clock
            at receiving, UTC at receiving, all in µs; shape (n, 4), n at least 1.
    """
    sent, board, received, utc = (rows[:, column] for column in range(4))
    board_0, host_0 = int(board[0]), int(sent[0])
    x = (board - board_0).astype(np.float64)
    middle = (sent - host_0 + received - host_0) / 2 - x  # host less board, less what it was
    half = (received - sent) / 2
    slope = _slope(x, middle, half)
    rest = middle - slope * x
    # The line that leaves the smallest worst case: midway between the outermost ends.
    offset = float((np.max(rest - half) + np.min(rest + half)) / 2)
    bound = float(np.max(np.abs(rest - offset) + half))
    steady_to_utc = int(utc[0]) - int(received[0])
    origin = steady_to_utc + host_0 + offset - board_0 * (1 + slope)
    return BoardClock(
        requests=len(rows),
        drift_ppm=None if x[-1] < _LONG_US else slope * 1e6,
        bound_us=bound,
        utc_origin_us=round(origin),
        jumps=_jumps(board, utc - received),
    )


def _slope(
    x: np.ndarray[tuple[int], np.dtype[np.float64]],
    middle: np.ndarray[tuple[int], np.dtype[np.float64]],
    half: np.ndarray[tuple[int], np.dtype[np.float64]],
) -> float:
    """Weighted least squares; an interval twice as long counts a quarter."""
    if x[-1] < _LONG_US:
        return 0.0
    weight = 1 / np.maximum(half, 1.0) ** 2
    centred = x - np.average(x, weights=weight)
    return float(np.sum(weight * centred * middle) / np.sum(weight * centred**2))


def _jumps(
    board: np.ndarray[tuple[int], np.dtype[np.int64]],
    utc_less_steady: np.ndarray[tuple[int], np.dtype[np.int64]],
) -> tuple[ClockJump, ...]:
    steps = np.diff(utc_less_steady)
    found = np.flatnonzero(np.abs(steps) > _JUMP_US)
    return tuple(ClockJump(int(board[i + 1]), int(steps[i])) for i in found)
