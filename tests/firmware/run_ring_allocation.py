"""Push edges with the heap locked, as in a hard interrupt; any allocation would raise."""

import micropython

from rockboard.edge_ring import EdgeRing


def push_many(ring):
    """Return 1 when a push allocates, else 0."""
    micropython.heap_lock()
    try:
        for step in range(200):
            ring.push(step, 3)
    except MemoryError:
        return 1
    finally:
        micropython.heap_unlock()
    return 0


print("allocated", push_many(EdgeRing(64)))
