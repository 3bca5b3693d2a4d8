"""Messages to payloads and back.

Most messages are a row of whole numbers of fixed width, little-endian; the table says which. A
name (one length byte and UTF-8) or bytes (one length byte and as many) may follow. Readings have a
form of their own, see `_put_readings`.
"""

import struct

from . import messages as m
from . import varint
from .errors import FrameError
from .units import Scale

MOST_DATA = 120  # bytes that follow a row: what every frame has room for

# What follows the row of numbers.
_NAME = True
_DATA = 2

# type number → (message, layout, what follows)
_LAYOUTS: dict = {
    0x01: (m.Hello, "<H", False),
    0x02: (m.Start, "<H16sQ", False),
    0x03: (m.Stop, "<H", False),
    0x04: (m.Ack, "<4sI", False),
    0x05: (m.Resume, "<H16sI", False),
    0x06: (m.Clock, "<HQ", False),
    0x07: (m.Status, "<H", False),
    0x09: (m.Button, "<HB", False),
    0x41: (m.Ident, "<HB3s8s32sB16sI", _NAME),
    0x42: (m.Done, "<HB", False),
    0x46: (m.ClockReply, "<HQQ", False),
    0x47: (m.StatusReply, "<HBQIIIHI", False),
    0x48: (m.Stale, "<HQ", False),
    0x80: (m.Open, "<16s8sQQ3sB", False),
    0x81: (m.Source, "<BB", _NAME),
    0x83: (m.Event, "<BBQq", False),
    0x84: (m.Dropped, "<BIQQ", False),
    0x86: (m.Close, "<QB", False),
    0x87: (m.Seal, "<32s64s", False),
}
GUARDED = 0x08
_UPKEEP = tuple(range(0x10, 0x17)) + tuple(range(0x50, 0x56))  # in a file of their own
READINGS = 0x82
EXTREMES = 0x85
FIRST_RECORD = 0x80  # types from here on are numbered and chained

_TYPES = {layout[0]: kind for kind, layout in _LAYOUTS.items()}
_TYPES[m.Guarded] = GUARDED
_TYPES[m.Readings] = READINGS
_TYPES[m.Extremes] = EXTREMES

_GUARDED_HEAD = "<QB"
_READINGS_HEAD = "<BBBbBQI"
_EXTREMES = "<BBBbiQiQI"


def type_of(message: tuple) -> int:
    """Return the type number of a message."""
    if type(message) not in _TYPES:
        _load_upkeep()
    return _TYPES[type(message)]


def _load_upkeep() -> None:
    from .upkeep import LAYOUTS

    _LAYOUTS.update(LAYOUTS)
    for kind, layout in LAYOUTS.items():
        _TYPES[layout[0]] = kind


def encode(message: tuple) -> bytes:
    """Return the payload of a message."""
    kind = type_of(message)
    if kind == READINGS:
        return _put_readings(message)
    if kind == GUARDED:
        return struct.pack(_GUARDED_HEAD, message[0], message[1]) + message[2] + message[3]
    if kind == EXTREMES:
        return struct.pack(_EXTREMES, message[0], *(tuple(message[1]) + tuple(message[2:])))
    _, layout, named = _LAYOUTS[kind]
    if not named:
        return struct.pack(layout, *message)
    last = message[-1][:MOST_DATA] if named == _DATA else message[-1].encode()[: m.NAME_SIZE]
    return struct.pack(layout, *message[:-1]) + bytes((len(last),)) + last


def decode(kind: int, payload: bytes) -> tuple | None:
    """Return the message that a payload holds, or None when the type is not known.

    Raises:
        FrameError: "payload" when its size or content does not fit its type.
    """
    if kind == READINGS:
        return _get_readings(payload)
    if kind == GUARDED:
        return _get_guarded(payload)
    if kind == EXTREMES:
        _need(struct.calcsize(_EXTREMES), payload)
        fields = struct.unpack(_EXTREMES, payload)
        return m.Extremes(fields[0], Scale(*fields[1:4]), *fields[4:])
    if kind in _UPKEEP and kind not in _LAYOUTS:
        _load_upkeep()
    if kind not in _LAYOUTS:
        return None
    make, layout, named = _LAYOUTS[kind]
    size = struct.calcsize(layout)
    if not named:
        _need(size, payload)
        return make(*struct.unpack(layout, payload))
    if len(payload) <= size or len(payload) != size + 1 + payload[size]:
        raise FrameError("payload", min(size, len(payload)))
    fields = struct.unpack(layout, payload[:size])
    if named == _DATA:
        return make(*(fields + (payload[size + 1 :],)))
    try:
        name = str(payload[size + 1 :], "utf-8")
    except (ValueError, UnicodeError):
        raise FrameError("payload", size + 1)
    return make(*(fields + (name,)))


def _need(size: int, payload: bytes) -> None:
    if len(payload) != size:
        raise FrameError("payload", min(size, len(payload)))


def _get_guarded(payload: bytes) -> m.Guarded:
    size = struct.calcsize(_GUARDED_HEAD)
    end = len(payload) - m.MAC_SIZE
    if end < size:
        raise FrameError("payload", len(payload))
    counter, kind = struct.unpack(_GUARDED_HEAD, payload[:size])
    return m.Guarded(counter, kind, payload[size:end], payload[end:])


def _put_readings(message: tuple) -> bytes:
    """First reading whole; then how far each step of time is off the spacing, and of the count.

    The spacing is the mean step, so that a steady gauge costs two or three bytes a reading and
    every stamp is still exact to the microsecond.
    """
    source, scale, times, counts = message
    spacing = spacing_of(times)
    out = bytearray(
        struct.pack(
            _READINGS_HEAD,
            source,
            scale.unit,
            scale.mantissa,
            scale.exponent,
            len(counts),
            times[0],
            spacing,
        )
    )
    varint.put(out, counts[0])
    for index in range(1, len(counts)):
        varint.put(out, times[index] - times[index - 1] - spacing)
        varint.put(out, counts[index] - counts[index - 1])
    return bytes(out)


def spacing_of(times: tuple) -> int:
    """Return the mean step between times in µs, at most what four bytes hold."""
    if len(times) < 2:
        return 0
    return max(0, min((times[-1] - times[0]) // (len(times) - 1), 0xFFFFFFFF))


def _get_readings(payload: bytes) -> m.Readings:
    size = struct.calcsize(_READINGS_HEAD)
    if len(payload) <= size:
        raise FrameError("payload", len(payload))
    head = struct.unpack(_READINGS_HEAD, payload[:size])
    source, unit, mantissa, exponent, number, t_us, spacing = head
    if not number or not mantissa:
        raise FrameError("payload", 2 if number else 4)
    count, at = varint.get(payload, size)
    times = [t_us]
    counts = [count]
    for _ in range(number - 1):
        late, at = varint.get(payload, at)
        step, at = varint.get(payload, at)
        times.append(times[-1] + spacing + late)
        counts.append(counts[-1] + step)
    if at != len(payload):
        raise FrameError("payload", at)
    return m.Readings(source, Scale(unit, mantissa, exponent), tuple(times), tuple(counts))
