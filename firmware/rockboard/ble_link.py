"""The links over radio: a BLE peripheral with a seat for each host that the stack can hold.

    host ──write──▶ interrupt ──▶ ring of its seat ──▶ read()
    host ◀─notify── write(): so many at a time, again later when the stack is full

It uses MicroPython's `bluetooth`, which is handed in, with nothing between: its events are taken
where they arise. Whoever sits there can ask; until he has shown that he knows the board's key he
gets no records, and after a while he has to go. The form is in protocol/README.md, 1.9.
"""

import time

from rockwire import messages as m
from rockwire import radio

from .ble_seat import SMALLEST_MTU, Seat

MTU = 247  # one radio packet of 251 bytes; a whole line of ours needs 185
STRANGER_MS = 5_000  # whoever has not shown the key by then makes room for another
_ASK_MTU_MS = 500  # hosts ask by themselves; this late, the board does
_RETRY_MS = 500  # between attempts at what the stack refuses
_ADVERTISE_US = 250_000

_CONNECTED = 1
_DISCONNECTED = 2
_WRITTEN = 3
_MTU_EXCHANGED = 21
_NOTIFY = 0x10
_WRITE = 0x08 | 0x04  # with and without an answer of the stack


class Radio:
    """The peripheral. `drain` is called again and again, like that of a feed.

    Args:
        bluetooth: MicroPython's module.
        identity: Gives `name` and `board_id`.
        guard: The board's Guard.
        seats: How many hosts the board's stack can hold.
        facts: Returns whether the board is recording, and its battery in mV.
        clock: MicroPython's `time`, or what has its three functions for milliseconds.

    Attributes:
        seats: The links, one for each host.

    Raises:
        OSError: When the radio does not start.
    """

    def __init__(self, bluetooth, identity, guard, seats: int, facts, clock) -> None:
        self._clock = clock
        self._facts = facts
        self._board_id = identity.board_id
        self._response = radio.response(identity.name)
        self.seats = [Seat(self, guard) for _ in range(seats)]
        self._surplus = None  # a host that came when every seat was taken
        self._advertised = b""
        self._changed = True
        self._next_ms = self._last_ms = self.ticks_ms()
        self._ble = ble = bluetooth.BLE()
        ble.active(True)
        ble.config(mtu=MTU, gap_name=identity.name)
        ble.irq(self._irq)
        uuid = bluetooth.UUID
        to_host, to_board = (uuid(radio.TO_HOST), _NOTIFY), (uuid(radio.TO_BOARD), _WRITE)
        ((self._out, self._in),) = ble.gatts_register_services(
            ((uuid(radio.SERVICE), (to_host, to_board)),)
        )
        ble.gatts_set_buffer(self._in, 512, True)

    def ticks_ms(self) -> int:
        """Return the clock's milliseconds, which wrap."""
        return self._clock.ticks_ms()

    def later(self, span_ms: int) -> int:
        """Return the time in a while."""
        return self._clock.ticks_add(self._clock.ticks_ms(), span_ms)

    def until(self, at_ms: int) -> int:
        """Return how long it is until a time; negative when it is over."""
        return self._clock.ticks_diff(at_ms, self._clock.ticks_ms())

    def notify(self, connection: int, data: bytes) -> None:
        """Hand a notification to the stack.

        Raises:
            OSError: When the stack does not take it.
        """
        self._ble.gatts_notify(connection, self._out, data)

    def _irq(self, event: int, data) -> None:
        if event == _WRITTEN:
            seat = self._seat_of(data[0])
            if seat is not None and data[1] == self._in:
                seat.take(self._ble.gatts_read(self._in))
        elif event == _CONNECTED:
            seat = self._seat_of(None)
            if seat is None:
                self._surplus = data[0]
            else:
                seat.sit(data[0])
            self._changed = True
        elif event == _DISCONNECTED:
            # Also of a host that was never seated, or left while it was being set up.
            seat = self._seat_of(data[0])
            if seat is not None:
                seat.rise()
            self._changed = True
        elif event == _MTU_EXCHANGED:
            seat = self._seat_of(data[0])
            if seat is not None:
                seat.mtu = max(SMALLEST_MTU, data[1])

    def _seat_of(self, connection):
        for seat in self.seats:
            if seat.connection == connection:
                return seat
        return None

    def drain(self) -> None:
        """Do what the interrupt must not: send strangers away, ask for room, advertise."""
        now_ms = self.ticks_ms()
        elapsed_ms = self._clock.ticks_diff(now_ms, self._last_ms)
        self._last_ms = now_ms
        if self._surplus is not None:
            surplus, self._surplus = self._surplus, None
            self._attempt(self._ble.gap_disconnect, surplus)
        for seat in self.seats:
            if seat.connection is not None:
                self._mind(seat, elapsed_ms)
        if self._changed or self.until(self._next_ms) <= 0:
            self._advertise()

    def _mind(self, seat, elapsed_ms: int) -> None:
        seat.since_ms += elapsed_ms
        if seat.since_ms > STRANGER_MS and not seat.guard.known:
            seat.since_ms = STRANGER_MS - _RETRY_MS
            self._attempt(self._ble.gap_disconnect, seat.connection)
        elif seat.since_ms > _ASK_MTU_MS and seat.mtu == SMALLEST_MTU and not seat.asked_mtu:
            seat.asked_mtu = True
            self._attempt(self._ble.gattc_exchange_mtu, seat.connection)

    def _advertise(self) -> None:
        self._next_ms = self.later(_RETRY_MS)
        recording, battery_mv = self._facts()
        taken = self._seat_of(None) is None
        data = radio.advertisement(radio.Facts(self._board_id, recording, taken, battery_mv))
        if data == self._advertised and not self._changed:
            return
        self._changed = False
        self._advertised = data
        try:
            # Those who cannot be served may still see that the board is there.
            self._ble.gap_advertise(
                _ADVERTISE_US, data, resp_data=self._response, connectable=not taken
            )
        except OSError:
            self._advertised = b""  # tried again a little later

    def _attempt(self, ask, connection: int) -> None:
        try:
            ask(connection)
        except OSError:
            pass  # gone already, or asked before by the host; the stack says so in an event


def start(ports, folder, identity, session):
    """Return the board's radio; None for a board that has no key for it.

    Without a key nobody could be told from a stranger, so such a board stays silent.

    Raises:
        OSError: When the radio does not answer.
    """
    key = _stored_key(folder + "radio.key")
    if key is None:
        return None
    from rockwire.guard import Guard

    from .counter import KeptCounter

    bluetooth, seats = ports.radio
    counter = KeptCounter(folder + "radio.counter")
    guard = Guard(key, identity.board_id, counter.load(), counter.keep)
    return Radio(
        bluetooth,
        identity,
        guard,
        seats,
        lambda: (session.state == m.RECORDING, ports.battery_mv()),
        time,
    )


def _stored_key(path: str):
    try:
        with open(path, "rb") as file:
            key = file.read()
    except OSError:
        return None
    return key if len(key) == m.KEY_SIZE else None
