"""A sink for a source's readings that remembers."""


class Notebook:
    """A sink that remembers."""

    def __init__(self):
        self.readings = []
        self.events = []

    def reading(self, t_us, count, scale):
        self.readings.append((t_us, count, scale))

    def event(self, code, t_us, value):
        self.events.append((code, t_us, value))
