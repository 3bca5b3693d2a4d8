"""Finishes a capture: the result, then the seal of the person who recorded it."""

import os
from pathlib import Path

from rockhold import __version__
from rockhold.capture.lines import to_line
from rockhold.capture.reader import parse_capture, read_bytes
from rockhold.errors import CaptureWriteError, MeasurementError
from rockhold.evidence.keys import Signer
from rockhold.evidence.result import measure_capture
from rockhold.evidence.seal import make_seal
from rockhold.measure.result import EndPlayResult


def finish(path: Path, signer: Signer | None, signed_utc: str) -> EndPlayResult:
    """Measure what is on disk and append the result and, with a signer, the seal.

    The file is read back first: what is measured is what is there, not what was in memory.

    Raises:
        RockholdError: When the capture cannot be read or written.
    """
    above = read_bytes(path)
    capture = parse_capture(path, above)
    try:
        result = measure_capture(capture)
    except MeasurementError as error:
        result = EndPlayResult(sentence=f"Not measured: {error}")
    line = to_line({"result": result.to_json(), "software": f"rockhold {__version__}"})
    addition = line
    if signer is not None:
        addition += make_seal(above + line, signer.key, signer.role, signer.name, signed_utc)
    try:
        with path.open("ab") as file:
            file.write(addition)
            file.flush()
            os.fsync(file.fileno())
    except OSError as error:
        raise CaptureWriteError(
            f"cannot finish {path}: {error.strerror}. The readings are safe; `rockhold seal "
            f"{path}` finishes it later"
        ) from error
    return result
