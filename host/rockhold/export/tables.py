"""Write tables as CSV and as Apache Parquet."""

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from rockhold import __version__
from rockhold.capture.channels import Channel
from rockhold.errors import CaptureWriteError
from rockhold.export.columns import CHANNEL, NUMBER, READINGS, TEXT, TEXTS, WHOLE, Column
from rockhold.export.rows import Row
from rockhold.measure.trace import Trace

# A spreadsheet takes a cell that begins with one of these for a formula; names in a capture may be
# a stranger's.
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def csv_of_rows(rows: Iterable[Row], columns: Sequence[Column]) -> str:
    """Return rows as CSV with a heading line (RFC 4180, but lines end in LF).

    Lists are joined by spaces. A text that a spreadsheet would take for a formula has an
    apostrophe before it.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow([column.name for column in columns])
    for row in rows:
        writer.writerow([_cell(row.get(column.name), column.kind) for column in columns])
    return out.getvalue()


def _cell(value: object, kind: str) -> str:
    if value is None:
        return ""
    if kind == NUMBER and isinstance(value, float):
        return f"{value + 0.0:.9g}"
    text = " ".join(value) if isinstance(value, list) else str(value)
    return "'" + text if kind in (TEXT, TEXTS) and text.startswith(_FORMULA) else text


def parquet_of_rows(rows: Iterable[Row], columns: Sequence[Column]) -> bytes:
    """Return rows as an Apache Parquet file; each column's meaning is in its metadata."""
    import pyarrow as pa

    listed = list(rows)
    arrays = [pa.array([row.get(c.name) for row in listed], _type(c)) for c in columns]
    return _parquet(pa.Table.from_arrays(arrays, schema=_schema(columns)))


def parquet_of_readings(trace: Trace) -> bytes:
    """Return readings as an Apache Parquet file with the columns READINGS."""
    ends = [span.first for span in trace.spans[1:]] + [len(trace)]
    lengths = [end - span.first for span, end in zip(trace.spans, ends, strict=True)]
    by_name: dict[str, Any] = {
        "board_us": trace.t_us,
        "t_s": trace.t_s,
        "count": trace.count,
        "step_mm": np.repeat([span.step_mm for span in trace.spans], lengths),
        "shown_unit": np.repeat([span.unit for span in trace.spans], lengths),
        "travel_mm": trace.travel_mm,
    }
    return _parquet_of(by_name, READINGS)


def parquet_of_channel(channel: Channel) -> bytes:
    """Return torque, turning or knocks as an Apache Parquet file, with columns of CHANNEL."""
    by_name = {
        "board_us": channel.t_us,
        "t_s": channel.t_us * 1e-6,
        channel.holds: channel.value,
    }
    return _parquet_of(by_name, [column for column in CHANNEL if column.name in by_name])


def _parquet_of(by_name: Mapping[str, Any], columns: Sequence[Column]) -> bytes:
    import pyarrow as pa

    arrays = [pa.array(by_name[column.name], _type(column)) for column in columns]
    return _parquet(pa.Table.from_arrays(arrays, schema=_schema(columns)))


def _type(column: Column) -> Any:
    import pyarrow as pa

    kinds = {WHOLE: pa.int64(), NUMBER: pa.float64(), TEXT: pa.string()}
    return pa.list_(pa.string()) if column.kind == TEXTS else kinds[column.kind]


def _schema(columns: Sequence[Column]) -> Any:
    import pyarrow as pa

    fields = [pa.field(c.name, _type(c), metadata={"meaning": c.meaning}) for c in columns]
    return pa.schema(fields, metadata={"software": f"rockhold {__version__}"})


def _parquet(table: Any) -> bytes:
    import pyarrow as pa
    import pyarrow.parquet as pq

    sink = pa.BufferOutputStream()
    pq.write_table(table, sink, compression="zstd")
    return bytes(sink.getvalue().to_pybytes())


def write_new(path: Path, data: bytes) -> None:
    """Write a file that is not there yet.

    Raises:
        CaptureWriteError: When it is there, or the disk refuses.
    """
    try:
        with path.open("xb") as target:
            target.write(data)
    except FileExistsError as error:
        raise CaptureWriteError(f"{path} exists already. Choose another name") from error
    except OSError as error:
        raise CaptureWriteError(f"cannot write {path}: {error.strerror}") from error
