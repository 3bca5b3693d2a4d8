"""Let hosts come, write and go while the heap is locked: an interrupt may not allocate."""

import micropython

from rockboard.ble_seat import Seat


class Stack:
    """As much of a radio as a seat needs here."""

    def ticks_ms(self):
        """Return a time."""
        return 0


seat = Seat(Stack(), None)
data = bytes(range(128))
total = 0
for visit in range(4):
    micropython.heap_lock()
    seat.rise()
    seat.sit(visit)
    seat.take(data)
    seat.take(data)
    micropython.heap_unlock()
    total += len(seat.read())
    micropython.heap_lock()
    seat.take(data)
    seat.take(data)
    micropython.heap_unlock()
    total += len(seat.read())
print(total)
