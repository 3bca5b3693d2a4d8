"""The board's program on an emulated RP2040 with an unmodified MicroPython image.

    make test-chip ROCKHOLD_UF2=image.uf2

Put on as a builder would (`rockhold board setup`), clocked through its pins, read over its USB.
Emulation runs at a twentieth to a fiftieth of real time: the whole takes some ten minutes.
"""

import contextlib
import itertools
import os
import secrets
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from chip_image import why_not
from rockhold.links.serial_port import SerialLink
from rockhold.record.conversation import Answer, Conversation, Record
from rockhold.record.hosttime import ComputerTime
from rockhold.upkeep.program import files_for
from rockhold.upkeep.setup import Mpremote, wait_for_program
from rockhold.upkeep.upkeep import Upkeep
from rockwire import frames
from rockwire import messages as m
from rockwire import upkeep as u
from rockwire.chain import Chain, seal_text
from rockwire.receiver import Receiver
from support_board import Rockhold

IMAGE = os.environ.get("ROCKHOLD_UF2", "")
WHY_NOT = why_not(IMAGE)
pytestmark = [
    pytest.mark.skipif(bool(WHY_NOT), reason=WHY_NOT),
    pytest.mark.timeout(3_600),
]
PATIENCE_S = 600.0
BOOT_S = 900.0  # a busy computer takes minutes
WORD, COUNT, TIMES = 0x8004D2, 1234, 12  # 0.6170 in


class Chip:
    """The emulator in a process of its own."""

    def __init__(self):
        program = Path(__file__).with_name("emulated.py")
        self._process = subprocess.Popen(
            [sys.executable, str(program), IMAGE],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        watch = threading.Timer(BOOT_S, self._process.kill)
        watch.start()
        try:
            self.port = self._until("port")
        finally:
            watch.cancel()

    def do(self, command, answer="played"):
        """Give the emulator a command and return the rest of its answer."""
        self._process.stdin.write(command + "\n")
        self._process.stdin.flush()
        return self._until(answer)

    def _until(self, word):
        for row in self._process.stdout:
            if row.startswith(word):
                return row[len(word) :].strip()
        raise AssertionError(
            f"the emulator ended, or was ended after {BOOT_S:.0f} s, before it said {word}; "
            "if this is the start: does the image bring up MicroPython's console over USB?"
        )

    def end(self):
        """End the emulator."""
        self._process.kill()
        self._process.wait()
        self._process.stdin.close()
        self._process.stdout.close()


@pytest.fixture(scope="module")
def chip(tmp_path_factory):
    chip = Chip()
    rockhold = Rockhold(tmp_path_factory.mktemp("home"))
    done = subprocess.run(
        [*rockhold.command, "board", "setup", "--port", chip.port, "--board", "pico_w",
         "--name", "chip", "--wait-s", str(PATIENCE_S)],
        capture_output=True, text=True, timeout=3_000, check=False, env=rockhold.env,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    yield chip
    chip.end()


@contextlib.contextmanager
def board_on(chip):
    link = SerialLink(chip.port)
    try:
        yield Upkeep(link, patience_s=PATIENCE_S)
    finally:
        link.close()


def capture(chip, play):
    """Record over the emulated USB; return (who, nonce, packets), each record acknowledged."""
    with board_on(chip) as board:
        who = board.ask(m.Ident, m.Hello)
        nonce, host = secrets.token_bytes(16), ComputerTime()
        talk = Conversation(Receiver(nonce), PATIENCE_S)
        talk.ask(m.Start, host.steady_us(), nonce, host.utc_us())
        packets, played, stopped = [], False, False
        end_s = time.monotonic() + 2 * PATIENCE_S
        while time.monotonic() < end_s:
            board.link.write(talk.take_outgoing())
            for event in talk.feed(board.link.read(0.2), host.steady_us()):
                if isinstance(event, Record):
                    packets.append(event.frame.packet)
                    talk.stored()
                elif isinstance(event, Answer) and not played:
                    assert event.reply == m.Done(event.command[0], m.DONE)
                    played = True
                    play()
            heard = sum(isinstance(frames.unpack(p).message, m.Readings) for p in packets)
            if played and heard and not stopped and readings_of(packets) >= TIMES:
                stopped = True
                talk.ask(m.Stop, host.steady_us())
            if packets and isinstance(frames.unpack(packets[-1]).message, m.Seal):
                return who, nonce, packets
            for _ in talk.pass_time(host.steady_us()):
                raise AssertionError("the board does not answer")
    raise AssertionError(f"no seal; {len(packets)} records came")


def silent(packets):
    """Say whether the board has noticed that the gauge sends no more words."""
    events = [frames.unpack(packet).message for packet in packets]
    return any(isinstance(event, m.Event) and event.code == m.GAUGE_SILENT for event in events)


def readings_of(packets):
    messages = [frames.unpack(packet).message for packet in packets]
    return sum(len(message.count) for message in messages if isinstance(message, m.Readings))


def test_words_clocked_into_the_pins_come_out_of_usb_chained_and_signed(chip):
    who, nonce, packets = capture(chip, lambda: chip.do(f"word {WORD:x} {TIMES} 60"))
    chain = Chain(nonce)
    for packet in packets[:-1]:
        assert chain.extend(frames.body_of(packet)) == frames.unpack(packet).tag
    seal = frames.unpack(packets[-1]).message
    Ed25519PublicKey.from_public_bytes(who.public_key).verify(
        seal.signature, seal_text(nonce, chain)
    )
    batches = [frames.unpack(packet).message for packet in packets]
    batches = [batch for batch in batches if isinstance(batch, m.Readings)]
    troubles = [b.message for b in map(frames.unpack, packets) if isinstance(b.message, m.Event)]
    assert [count for batch in batches for count in batch.count] == [COUNT] * TIMES, troubles
    times = [t_us for batch in batches for t_us in batch.t_us]
    # A word takes 6 × (4 × 130 + 3 × 55 + 260) µs and is followed by 60 ms; DMA stamps to the µs.
    steps = [later - earlier for earlier, later in itertools.pairwise(times)]
    assert all(abs(step - (60_000 + 6 * 945)) <= 3 for step in steps), steps
    assert not [b for b in map(frames.unpack, packets) if isinstance(b.message, m.Dropped)]


def test_the_heap_has_room_to_spare(chip):
    with board_on(chip) as board:
        health = board.ask(u.HealthReply, u.Health)
    print(f"heap: {health.heap_used} bytes used, {health.heap_free} free")
    print("said:", health.data.decode() or "nothing is wrong")
    assert health.heap_used < 116_000
    assert health.heap_free > 60_000
    # The emulator has no radio chip: a board with one must say so, and work all the same.
    assert health.data.decode() in (
        "",
        "the radio does not start: 22",
        "the radio does not start: [Errno 22] EINVAL",
    )


def test_the_button_records_alone_and_the_capture_waits_on_flash(chip):
    chip.do("press 200")
    with board_on(chip) as board:
        wait_for_state(board, m.RECORDING)
        chip.do(f"word {WORD:x} 5 60")
        chip.do("press 200")
        wait_for_state(board, m.READY)
        reply = board.ask(u.CaptureReply, u.Captures, 0)
    assert reply.captures >= 1
    assert reply.flags & u.CLOSED


def wait_for_state(board, state):
    for _ in range(200):
        if board.ask(m.StatusReply, m.Status).state == state:
            return
    raise AssertionError(f"the board does not come to state {state}")


def test_mpremote_gets_in_when_asked_and_not_before(chip):
    with board_on(chip) as board:
        board.link.write(b"\x03\x03\x03")  # Ctrl-C is a byte like others while it runs
        assert board.ask(m.StatusReply, m.Status).state == m.READY
        board.ask(m.Done, u.Leave)
    time.sleep(10)
    said = Mpremote(chip.port)("resume", "exec", "print('in', 6 * 7)")
    assert "in 42" in said


def test_every_file_of_the_program_can_be_loaded_on_the_chip(chip):
    run = Mpremote(chip.port)  # the console is free since the test above
    names = [
        ".".join(place.with_suffix("").parts)
        for _, place in files_for("pico_w")
        if place.stem != "__init__"
    ]
    assert {"rockboard.sources.motion", "rockboard.ble_link", "rockboard.settings"} <= set(names)
    said = run(
        "resume", "exec",
        f"import gc\nfor name in {names}:\n    gc.collect(); __import__(name)\nprint('all loaded')",
    )  # fmt: skip
    assert "all loaded" in said


def test_settings_that_the_chip_refuses_do_not_keep_the_board_from_starting(chip):
    run = Mpremote(chip.port)  # the console is free since the test above
    settings = '{"sources":[{"kind":"clocked24","pins":{"data":2,"clock":40}}]}'
    run("resume", "exec", f"f = open('settings.json', 'w'); f.write('{settings}'); f.close()")
    run("resume", "reset")
    wait_for_program(chip.port, PATIENCE_S)
    with board_on(chip) as board:
        health = board.ask(u.HealthReply, u.Health)
    print("said:", health.data.decode())
    assert u.SETTINGS_STATES[health.settings] == "defaults, the stored ones cannot be used"
    assert "the chip does not take these sources" in health.data.decode()
