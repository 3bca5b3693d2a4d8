"""Errors a user can meet, and what each means for the exit code.

RockholdError                 anything that rockhold reports in one sentence
├ UsageError                  an option or an argument does not fit
├ LinkError                   port, radio, timeout
│ ├ NoBoardError              no board found, or none answers
│ └ LinkLostError             the board went away in mid-work
│   └ BoardChangedError       it is back, but does not know the capture any more
├ CaptureError
│ ├ CaptureFormatError        the file is not what it claims to be
│ │ └ CaptureVersionError     it is of a format newer than this rockhold
│ ├ CaptureWriteError         the disk refuses
│ ├ SignatureError            evidence is damaged or does not fit
│ ├ UnsealedError             no seal covers it to its end
│ └ ResultDiffersError        the readings do not give the result that it states
├ MeasurementError
│ ├ NotSettledError           no hold to measure
│ ├ TooFewSamplesError
│ └ OutOfRangeError           a parameter or a value outside its range
├ KeyStoreError               a key that cannot be read, opened or kept
│ └ WrongPassphraseError      a key that its passphrase does not open
├ ToolError                   a tool's record that cannot be read, found or kept
├ ProcedureError              a procedure file that cannot be used
├ ReportError                 a report or picture that cannot be written
└ LibraryError

Every message says what is wrong, where, and what to do next.
"""


class RockholdError(Exception):
    """Base of all errors that are shown to a user as one sentence."""


class UsageError(RockholdError):
    """Report an option or argument that does not fit."""


class LinkError(RockholdError):
    """Report trouble on the way to the board."""


class NoBoardError(LinkError):
    """Report that no board was found or none answers."""


class LinkLostError(LinkError):
    """Report that the link to the board broke while it was in use."""


class BoardChangedError(LinkLostError):
    """Report that the board was reset or exchanged: waiting for it does not help."""


class CaptureError(RockholdError):
    """Report trouble with a capture file."""


class CaptureFormatError(CaptureError):
    """Report bytes that are not a capture.

    Attributes:
        line: Line of the file where reading stopped, counted from 1; 0 when it is the whole file.
    """

    def __init__(self, message: str, line: int = 0) -> None:
        super().__init__(message)
        self.line = line


class CaptureVersionError(CaptureFormatError):
    """Report a capture of a format that came after this rockhold."""


class UnsealedError(CaptureError):
    """Report a capture that no seal covers to its end."""


class ResultDiffersError(CaptureError):
    """Report a capture whose readings do not give the result that it states."""


class CaptureWriteError(CaptureError):
    """Report that the disk does not take the capture."""


class SignatureError(CaptureError):
    """Report evidence that does not fit its signature.

    Attributes:
        line: Line of the file, counted from 1; 0 when no line can be named.
        byte: Where that line begins in the file, counted from 0.
    """

    def __init__(self, message: str, line: int = 0, byte: int = 0) -> None:
        super().__init__(message)
        self.line = line
        self.byte = byte


class KeyStoreError(RockholdError):
    """Report a key that cannot be read, opened, made or kept."""


class WrongPassphraseError(KeyStoreError):
    """Report a passphrase that does not open its key (or a file damaged inside the lock)."""


class ToolError(RockholdError):
    """Report a tool's record that cannot be read, found or kept.

    Attributes:
        field: The entry that does not fit, "" when it is the whole record.
    """

    def __init__(self, message: str, field: str = "") -> None:
        super().__init__(message)
        self.field = field


class MeasurementError(RockholdError):
    """Report readings that cannot be measured."""


class NotSettledError(MeasurementError):
    """Report that no hold was found."""


class TooFewSamplesError(MeasurementError):
    """Report too few readings."""


class OutOfRangeError(MeasurementError):
    """Report a value or parameter outside its range."""


class ProcedureError(RockholdError):
    """Report a procedure file that cannot be used."""


class LibraryError(RockholdError):
    """Report trouble with the library of captures."""


class ReportError(RockholdError):
    """Report a report or picture that cannot be made or written."""
