"""The instruments on a board by their names, and what the board tells of them, in words."""

from rockwire import messages as m

_TEXTS = {
    m.UNIT_CHANGED: "its unit was changed",
    m.GAUGE_SILENT: "silent; check its cable and its cell",
    m.GAUGE_HEARD: "heard again",
    m.OVER_RANGE: "over its range",
    m.FRAME_CUT: "a reading came incomplete and was left out",
    m.WORD_UNKNOWN: "a reading was not understood and left out",
    m.LINE_NOISE: "spikes on its line; the reading was left out",
    m.EDGES_LOST: "the board missed a part of it; those readings were left out",
}
_OF_THE_BOARD = {
    m.BUTTON: "the board's button was pressed",
    m.BATTERY_LOW: "the board's battery is low",
}
INDICATOR = 0  # the source that end play is measured from


class Instruments:
    """Remembers what each source of a board is called, and which of them are silent."""

    def __init__(self) -> None:
        self._names = {INDICATOR: "indicator"}
        self._silent: set[int] = set()

    def take(self, message: tuple[object, ...]) -> None:
        """Take a message of the board."""
        if isinstance(message, m.Source):
            self._names[message.source] = message.name
        elif isinstance(message, m.Readings):
            self._silent.discard(message.source)
        elif isinstance(message, m.Event) and message.code == m.GAUGE_SILENT:
            self._silent.add(message.source)
        elif isinstance(message, m.Event) and message.code == m.GAUGE_HEARD:
            self._silent.discard(message.source)

    def words(self, event: m.Event) -> str:
        """Return an event as a person reads it."""
        if event.code in _OF_THE_BOARD:
            return _OF_THE_BOARD[event.code]
        text = _TEXTS.get(event.code, f"event {event.code} (value {event.value})")
        return f"{self._name(event.source)}: {text}"

    def trouble(self, of_indicator: bool) -> str:
        """Return what is silent now of those that matter, "" when all are heard."""
        silent = [one for one in sorted(self._silent) if (one == INDICATOR) == of_indicator]
        return f"{self._name(silent[0])}: {_TEXTS[m.GAUGE_SILENT]}" if silent else ""

    def _name(self, source: int) -> str:
        return self._names.get(source, f"source {source}")
