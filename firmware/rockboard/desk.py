"""Where commands about the board itself arrive; what answers them is loaded with the first one."""

import gc

from rockwire import messages as m


class Desk:
    """What the answers are made from.

    Args:
        session: The board's session.
        ports: The board.
        spool: The captures on flash, or None.
        guide: Keeps the holds.
        settings_path: The settings file.
        settings_state: How it stands, see settings.py.
        problem: What is wrong with it, "" for nothing.

    Attributes:
        trouble: What is wrong with the board besides, "" for nothing.
        leaving: Set once a host has asked for the console.
    """

    def __init__(
        self, session, ports, spool, guide, settings_path, settings_state, problem
    ) -> None:
        self.session = session
        self.ports = ports
        self.spool = spool
        self.guide = guide
        self.settings_path = settings_path
        self.settings_state = settings_state
        self.problem = problem
        self.trouble = ""
        self.leaving = False
        self._service = None

    def answer(self, message, over_cable: bool):
        """Return the answering message, or None for a command that is not understood."""
        try:
            if self._service is None:
                gc.collect()
                from .service import Service

                self._service = Service(self)
            return self._service.answer(message, over_cable)
        except MemoryError:
            return m.Done(message[0], m.NO_ROOM)
