"""Exit codes: one place says what each means, and which error leads to it."""

from rockhold import errors

OK = 0
INTERNAL = 1
USAGE = 2
REJECTED = 3
UNDECIDED = 4
NOT_MEASURABLE = 5
NO_BOARD = 6
LINK_LOST = 7
DISK = 8
UNSEALED = 9
UNKNOWN_KEY = 10
BAD_EVIDENCE = 11
NOT_REPRODUCED = 12
BAD_FILE = 13
BOARD_FAULT = 14
LIBRARY = 15
STEPS_OPEN = 16
INTERRUPTED = 130

MEANINGS = {
    OK: "done; for a measurement: accept",
    INTERNAL: "a fault of rockhold itself; please report it",
    USAGE: "an option or argument does not fit",
    REJECTED: "measured, outside the band",
    UNDECIDED: "measured, too close to a limit to decide",
    NOT_MEASURABLE: "the readings give no end play",
    NO_BOARD: "no board found, or none answers",
    LINK_LOST: "the board went away; what came is in the capture, unsealed",
    DISK: "the disk refuses; of a capture what fitted is there, unsealed",
    UNSEALED: "a readable capture that lacks a seal, the person's or the board's",
    UNKNOWN_KEY: "sealed, but by a key that nobody here trusts",
    BAD_EVIDENCE: "damaged or altered",
    NOT_REPRODUCED: "the readings do not give the result that the capture states",
    BAD_FILE: "not a file that rockhold can read",
    BOARD_FAULT: "the board's self-test found something to look at",
    LIBRARY: "the index of captures cannot be opened or used",
    STEPS_OPEN: "a guided job with a step that failed, was skipped or is still to be done",
    INTERRUPTED: "stopped by Ctrl-C; what came is in the capture, unsealed",
}

# The most particular class first: the first match counts.
_BY_ERROR: tuple[tuple[type[errors.RockholdError], int], ...] = (
    (errors.UsageError, USAGE),
    (errors.ProcedureError, USAGE),
    (errors.KeyStoreError, USAGE),
    (errors.ToolError, USAGE),
    (errors.LinkLostError, LINK_LOST),
    (errors.LinkError, NO_BOARD),
    (errors.CaptureWriteError, DISK),
    (errors.ReportError, DISK),
    (errors.SignatureError, BAD_EVIDENCE),
    (errors.UnsealedError, UNSEALED),
    (errors.ResultDiffersError, NOT_REPRODUCED),
    (errors.CaptureFormatError, BAD_FILE),
    (errors.MeasurementError, NOT_MEASURABLE),
    (errors.LibraryError, LIBRARY),
)


def code_for(error: errors.RockholdError) -> int:
    """Return the exit code that belongs to an error."""
    for kind, code in _BY_ERROR:
        if isinstance(error, kind):
            return code
    return INTERNAL


def for_verdict(verdict: str | None) -> int:
    """Return the exit code of a measurement."""
    codes = {"accept": OK, "reject": REJECTED, "undecided": UNDECIDED}
    return NOT_MEASURABLE if verdict is None else codes[verdict]
