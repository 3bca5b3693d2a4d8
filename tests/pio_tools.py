"""Assemble the board's state-machine programs without a chip, and run them in an emulator.

The encodings are those of the RP2040 datasheet, section 3.4 (instruction set). Only what the
board's programs use is here; the chip layer of the tests runs MicroPython's own assembler.
"""

from typing import ClassVar

from pioemu import State, emulate

_JMP_X_DEC = 2
_WAIT = {"gpio": 0, "pin": 1}
_IN = {"pins": 0, "x": 1, "null": 3}


class _Instruction:
    def __init__(self, opcodes, side_bits):
        self._opcodes = opcodes
        self._side_bits = side_bits

    def side(self, value):
        self._opcodes[-1] |= value << 13 - self._side_bits
        return self


class Program:
    """An assembled program: opcodes, wrap, and what its state machine is set to."""

    def __init__(self, function, options):
        self.options = options
        self.labels = {}
        self.side_bits = 0 if "sideset_init" not in options else 1
        words = {name: name for name in (*_WAIT, *_IN)}
        words |= {"x_dec": _JMP_X_DEC, "noblock": 1}
        words |= {name: getattr(self, f"_{name}") for name in (
            "wrap_target", "wrap", "wait", "in_", "set", "label", "nop", "jmp", "push",
        )}  # fmt: skip
        space = function.__globals__
        before = dict(space)
        space.update(words)
        try:
            for _ in range(2):  # the second time all labels are known
                self.opcodes = []
                function()
        finally:
            space.clear()
            space.update(before)

    def _emit(self, opcode):
        self.opcodes.append(opcode)
        return _Instruction(self.opcodes, self.side_bits)

    def _wrap_target(self):
        self.wrap_target = len(self.opcodes)

    def _wrap(self):
        self.wrap_top = len(self.opcodes) - 1

    def _label(self, name):
        self.labels[name] = len(self.opcodes)

    def _wait(self, level, source, number):
        return self._emit(0x2000 | level << 7 | _WAIT[source] << 5 | number)

    def _in_(self, source, bits):
        return self._emit(0x4000 | _IN[source] << 5 | bits)

    def _set(self, target, value):
        return self._emit(0xE000 | {"x": 1}[target] << 5 | value)

    def _nop(self):
        return self._emit(0xA042)

    def _jmp(self, condition, label):
        return self._emit(condition << 5 | self.labels.get(label, 0))

    def _push(self, blocking):
        return self._emit(0x8000)


class Rp2:
    """Stands for the chip's module `rp2`."""

    class PIO:
        """The constants that the programs use."""

        SHIFT_LEFT = 0
        OUT_LOW = 2

    @staticmethod
    def asm_pio(**options):
        """Return the decorator that assembles."""
        return lambda function: Program(function, options)

    DEFAULTS: ClassVar = {"autopush": False, "push_thresh": 32}


def run(program, pins, until, side_base=0):
    """Run a program, one instruction a microsecond; yield (time, value) for all that it puts out.

    Args:
        program: The assembled program.
        pins: Gives the levels of all pins at a time, in µs, and given the levels driven.
        until: When to end, in µs.
        side_base: The first pin of the side-set.
    """
    options = {**Rp2.DEFAULTS, **program.options}
    start = State(pin_directions=(1 << side_base) if program.side_bits else 0)

    def seen(state: State) -> int:  # the emulator goes by the annotation
        return pins(state.clock, state.pin_values)

    for _, state in emulate(
        program.opcodes,
        stop_when=lambda _, state: state.clock >= until,
        initial_state=start,
        input_source=seen,
        auto_push=options["autopush"],
        push_threshold=options["push_thresh"],
        shift_isr_right=False,
        side_set_base=side_base,
        side_set_count=program.side_bits,
        wrap_target=program.wrap_target,
        wrap_top=program.wrap_top,
    ):
        while state.receive_fifo:  # as DMA does
            yield state.clock, state.receive_fifo.popleft()
