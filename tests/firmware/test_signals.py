from rockboard.app import button_nonce
from rockboard.signals import SIGNALS, Player
from rockwire import guide


class Lamps:
    """Notes when each output changes."""

    def __init__(self):
        self.at_ms = 0
        self.changes = {"green": [], "red": [], "beep": []}

    def player(self, beep=True):
        def output(name):
            return lambda level: self.changes[name].append((self.at_ms, level))

        return Player(output("green"), output("red"), output("beep") if beep else None)


def play(signal, length_ms, beep=True):
    lamps = Lamps()
    player = lamps.player(beep)
    for at_ms in range(0, length_ms, 10):
        lamps.at_ms = at_ms
        player.show(signal, 10)
    return lamps.changes


def test_ready_is_a_short_blink_every_two_seconds_and_silent():
    changes = play(guide.READY, 4_500)
    assert changes["green"] == [(0, 1), (60, 0), (2_000, 1), (2_060, 0), (4_000, 1), (4_060, 0)]
    assert changes["red"] == changes["beep"] == []


def test_settled_is_a_steady_light_and_one_beep_only():
    changes = play(guide.HELD, 5_000)
    assert changes["green"] == [(0, 1)]
    assert changes["beep"] == [(0, 1), (150, 0)]


def test_trouble_is_red_never_green_and_three_short_beeps():
    changes = play(guide.TROUBLE, 3_000)
    assert changes["green"] == []
    assert len([level for _, level in changes["beep"] if level]) == 3
    assert len([level for _, level in changes["red"] if level]) == 8


def test_a_new_signal_begins_at_once_and_a_board_can_keep_quiet():
    lamps = Lamps()
    player = lamps.player(beep=False)
    player.show(guide.HELD, 10)
    player.show(guide.TROUBLE, 10)
    player.off()
    assert [level for _, level in lamps.changes["green"]] == [1, 0]
    assert [level for _, level in lamps.changes["red"]] == [1, 0]
    assert lamps.changes["beep"] == []


def test_no_two_signals_look_the_same():
    looks = [(signal.green, signal.red) for signal in SIGNALS.values()]
    assert len(set(looks)) == len(looks) == 6


class Clock:
    def now_us(self):
        return 5


def test_the_buttons_nonces_never_repeat():
    nonces = {button_nonce(Clock()) for _ in range(200)}
    assert len(nonces) == 200
    assert {len(nonce) for nonce in nonces} == {16}
