"""Carries a recording over as many links as it takes: one that is lost is looked for again."""

import contextlib

from rockhold.errors import BoardChangedError, LinkError, LinkLostError
from rockhold.links.base import Link
from rockhold.record.greeting import greet
from rockhold.record.hosttime import HostTime
from rockhold.record.recorder import Outcome, Recorder
from rockhold.record.ways import Onlooker, Ways

_FIRST_PAUSE_S = 0.1
_LONGEST_PAUSE_S = 1.0


def over_links(
    recorder: Recorder,
    link: Link,
    board_id: bytes,
    ways: Ways,
    onlooker: Onlooker,
    host: HostTime,
) -> Outcome:
    """Record until the board closes the capture, over this link and those that follow it.

    Raises:
        RockholdError: When it cannot be recorded to its end; what came is in the file.
    """
    while True:
        onlooker.linked(link.name)
        with contextlib.closing(link):
            try:
                return recorder.run(link, onlooker.stop)
            except BoardChangedError as error:
                recorder.note("link_lost", because=str(error))
                raise
            except LinkLostError as error:
                recorder.note("link_lost", because=str(error))
                lost = error
            except KeyboardInterrupt:
                recorder.note("interrupted")
                with contextlib.suppress(LinkError):
                    recorder.break_off(link)
                raise
        onlooker.linked("")
        onlooker.say(f"The link is lost. Waiting {ways.wait_s:g} s for the board to come back …")
        link = _find_again(recorder, board_id, ways, host, lost)
        recorder.note("link_back", over=link.name)
        onlooker.say(f"The board is back on {link.name}. Nothing is lost; going on.")


def _find_again(
    recorder: Recorder, board_id: bytes, ways: Ways, host: HostTime, lost: LinkLostError
) -> Link:
    """Return a new link to the very same board, tried with growing pauses.

    Raises:
        LinkLostError: When it does not come back.
        BoardChangedError: When it comes back without the capture: it was reset meanwhile.
    """
    end_us = host.steady_us() + int(ways.wait_s * 1e6)
    pause_s = _FIRST_PAUSE_S
    while host.steady_us() < end_us:
        with contextlib.suppress(LinkError):
            link = ways.open()
            try:
                board = greet(link, host)
            except LinkError:
                link.close()
                raise
            if board.board_id == board_id:
                if not recorder.is_known_to(board):
                    link.close()
                    break
                return link
            link.close()
        host.pause(pause_s)
        pause_s = min(2 * pause_s, _LONGEST_PAUSE_S)
    else:
        raise lost
    changed = recorder.reset_error(link.name)
    recorder.note("link_lost", because=str(changed))
    raise changed
