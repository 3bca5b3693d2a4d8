"""Answers to the commands that are about the board: captures on flash, settings, health, holds."""

import gc

from rockwire import messages as m
from rockwire import upkeep as u
from rockwire.wire import MOST_DATA

LARGEST_SETTINGS = 2_048  # as settings.py has it, which is loaded only to check what is stored

_SEAL = 0x87
_CLOSE = 0x86


class Service:
    """Looks things up for a host.

    Args:
        desk: What is looked up.
    """

    def __init__(self, desk) -> None:
        self._desk = desk
        self._session = desk.session
        self._spool = desk.spool
        self._incoming = bytearray()
        self._known = {}  # number → (next number, flags) of captures that do not grow any more

    def answer(self, message, over_cable: bool):
        """Return the answering message, or None for a command that is not understood."""
        kind = type(message)
        if kind is u.Health:
            return self._health(message.request)
        if kind is u.Probe:
            return self._probe(message)
        if kind is u.Captures:
            return self._capture(message)
        if kind is u.GetSettings:
            return self._get_settings(message)
        if kind is u.PutSettings:
            return self._put_settings(message)
        if kind is u.Holds:
            return self._holds(message)
        if kind is u.Leave:
            return m.Done(message.request, self._leave() if over_cable else m.NOT_ALLOWED)
        return None

    def _health(self, request: int):
        numbers = self._spool.numbers() if self._spool is not None else []
        fetched = len([number for number in numbers if self._spool.fetched(number)])
        return u.HealthReply(
            request,
            self._desk.settings_state,
            *_heap(),
            self._spool.size_bytes() if self._spool is not None else 0,
            self._spool.free_bytes() if self._spool is not None else 0,
            len(numbers) - fetched,
            fetched,
            self._desk.ports.cause,
            self._desk.ports.battery_mv(),
            (self._desk.problem or self._desk.trouble).encode()[:MOST_DATA],
        )

    def _probe(self, message):
        if message.source >= len(self._session.channels):
            return m.Done(message.request, m.NOT_UNDERSTOOD)
        kind, name = self._session.names[message.source]
        channel = self._session.channels[message.source]
        return u.ProbeReply(
            message.request,
            message.source,
            kind,
            channel.heard,
            channel.age_ms(self._desk.ports.clock.now_us()),
            channel.period_us,
            channel.troubles,
            channel.last_count,
            *channel.last_scale,
            name,
        )

    def _capture(self, message):
        self._session.settle()
        numbers = self._spool.numbers() if self._spool is not None else []
        if message.index >= len(numbers):
            nothing = bytes(m.NONCE_SIZE)
            return u.CaptureReply(message.request, len(numbers), message.index, nothing, 0, 0, 0)
        number = numbers[message.index]
        reader = self._spool.reader(number)
        known = self._known.get(number)
        if known is None:
            following, last = reader.count()
            flags = (u.CLOSED if last in (_CLOSE, _SEAL) else 0) | (u.SEALED * (last == _SEAL))
            known = (following, flags)
            if not self._spool.is_running(number):
                self._known[number] = known
        reader.close()
        return u.CaptureReply(
            message.request,
            len(numbers),
            message.index,
            reader.nonce or bytes(m.NONCE_SIZE),
            reader.first,
            known[0],
            known[1] | (u.FETCHED if self._spool.fetched(number) else 0),
        )

    def _get_settings(self, message):
        data = b""
        try:
            with open(self._desk.settings_path, "rb") as file:
                data = file.read(LARGEST_SETTINGS)
        except OSError:
            pass  # none are stored: the board runs on its defaults
        part = data[message.offset : message.offset + MOST_DATA]
        return u.SettingsPart(message.request, len(data), message.offset, part)

    def _put_settings(self, message):
        """Gather the parts; once all are there, check and store them.

        The first part starts afresh; a part that came before is taken again.
        """
        if message.total > LARGEST_SETTINGS:
            return self._told(message.request, m.NO_ROOM, "at most %d bytes" % LARGEST_SETTINGS)
        if message.offset > len(self._incoming):
            return self._told(message.request, m.NOT_UNDERSTOOD, "a part is missing")
        self._incoming = self._incoming[: message.offset] + message.data
        if len(self._incoming) < message.total:
            return self._told(message.request, m.DONE, "")
        from . import settings

        try:
            text = str(bytes(self._incoming), "utf-8")
            problems = settings.store(text, self._desk.ports.roles, self._desk.settings_path)
        except (ValueError, UnicodeError):
            problems = ["the settings are no UTF-8 text"]
        except OSError as error:
            problems = ["the board's flash refuses: %s" % error]
        if problems:
            return self._told(message.request, m.NOT_ALLOWED, "; ".join(problems))
        return self._told(message.request, m.DONE, "stored; in use from the next start on")

    def _told(self, request: int, result: int, text: str):
        return u.Told(request, result, text.encode()[:MOST_DATA])

    def _holds(self, message):
        guide = self._desk.guide
        kept = guide.holds[-1 - message.index] if message.index < len(guide.holds) else (0, 0, 0, 0)
        return u.HoldsReply(
            message.request,
            *guide.scale,
            guide.minimum or 0,
            guide.maximum or 0,
            min(guide.count, 255),
            message.index,
            *kept,
        )

    def _leave(self) -> int:
        if self._session.state == m.RECORDING:
            return m.BUSY
        self._desk.leaving = True
        return m.DONE


def _heap() -> tuple:
    """Return the used and the free bytes of the heap; zeros where nobody counts them."""
    gc.collect()
    return (gc.mem_alloc(), gc.mem_free()) if hasattr(gc, "mem_alloc") else (0, 0)
