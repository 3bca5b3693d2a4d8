"""The programs for the chip's state machines; `rp2` is handed in, so importing needs no chip.

Both put one value into the queue for each thing that happens, and DMA stamps it (stamp_ring.py).
"""

# ruff: noqa: F821 (the words of the state machine's language come from asm_pio)


def edges(rp2, clock: int, rests_high: bool = True):
    """Return the program that records the edges of a clock line.

    For each edge: the level of the clock after it, then the level of the data line (`in_base`),
    sampled two cycles after the edge, at most 0.1 µs late. It begins with the edge that leaves the
    line's rest, so that starting it records nothing.
    """

    @rp2.asm_pio(in_shiftdir=rp2.PIO.SHIFT_LEFT, autopush=True, push_thresh=2)
    def program():
        set(x, 1)
        wrap_target()
        for level in (0, 1) if rests_high else (1, 0):
            wait(level, gpio, clock)
            in_(x if level else null, 1)
            in_(pins, 1)
        wrap()

    return program


def bridge(rp2, pulses: int):
    """Return the program that reads a bridge converter; one cycle is a microsecond.

    It waits until the data line (`in_base`) is low, which says that a value is ready, and gives the
    pulses on the clock line (`sideset_base`): a microsecond high, two low.
    """

    @rp2.asm_pio(sideset_init=rp2.PIO.OUT_LOW, in_shiftdir=rp2.PIO.SHIFT_LEFT, autopush=False)
    def program():
        wrap_target()
        wait(0, pin, 0).side(0)
        set(x, pulses - 1).side(0)
        label("bit")
        nop().side(1)
        in_(pins, 1).side(0)
        jmp(x_dec, "bit").side(0)
        push(noblock).side(0)
        wrap()

    return program
