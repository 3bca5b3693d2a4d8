"""Where to look when an instrument is not heard, for each kind of source."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Hint:
    """What `board check` says about a source that does not work.

    Attributes:
        silent: Where nothing comes.
        troubled: Where something comes, but damaged.
    """

    silent: str
    troubled: str


_CLOCKED = (
    "Is the gauge switched on, and its cell fresh? Is its plug pushed home? Then measure at the "
    "board: data and clock must move between 0 and 3.3 V behind the level shifter. Nothing at all "
    "while the gauge's display changes: swap data and clock; look at the pins in the settings"
)
HINTS = {
    "clocked24": Hint(
        _CLOCKED,
        "Words come, but damaged: a loose plug, a ground wire that is missing, or a cable beside "
        "one that carries a motor's current. If a good plug and a short cable change nothing, "
        "turn `inverted` round in the settings",
    ),
    "bcd52": Hint(
        _CLOCKED + ". This gauge sends only when asked: does the request line go low?",
        "Words come, but damaged: a loose plug or ground, or the wrong edge (`on_rise`)",
    ),
    "ascii_line": Hint(
        "Is the instrument on, and set to send all the time? Is its TX on the board's RX, through "
        "a level converter if it is RS-232? Baud, bits and parity as in its manual",
        "Lines come that do not fit the pattern, or damaged bytes: compare baud, bits, parity and "
        "`pattern` with what the instrument sends",
    ),
    "bridge24": Hint(
        "Does the converter have its supply? Its data line must go low many times a second; if it "
        "stays high, its clock line is held high (off), or data and clock are swapped",
        "The bridge is over its range: a broken wire of the bridge, or a swapped pair",
    ),
    "motion": Hint(
        "Nobody answers on the I2C bus. Look for SDA and SCL swapped, no supply, a missing "
        "pull-up, or another address (0x68 or 0x69) or part than in the settings",
        "The sensor's queue ran over or it fell off the bus: look at its wires",
    ),
}
_STRANGER = Hint("", "")


def hint_for(kind: str) -> Hint:
    """Return the hint for a kind of source; an empty one for a kind that nobody knows here."""
    return HINTS.get(kind, _STRANGER)
