"""What a board's answer means for a recording when it is not the one that was hoped for."""

from pathlib import Path

from rockhold.errors import BoardChangedError, LinkError, LinkLostError, NoBoardError
from rockhold.record.conversation import Answer
from rockhold.typed import typed
from rockwire import messages as m


def trouble_in(answer: Answer, where: str, path: Path, begun: bool) -> LinkError | None:
    """Return the error that an answer amounts to, None when all is well.

    Args:
        answer: What was asked, and what came back.
        where: The link's name.
        path: The capture's file.
        begun: Whether a record of the capture is on disk.
    """
    if answer.reply is None:
        return LinkLostError(
            f"the board on {where} stopped answering. Check the cable and the board's power; it "
            "keeps what has not come yet"
        )
    if isinstance(answer.reply, m.StatusReply):
        return None if answer.reply.frames else reset_error(where, path)
    if not isinstance(answer.reply, m.Done) or not answer.reply.result:
        return None
    return _refusal(answer, answer.reply.result, where, path, begun)


def _refusal(answer: Answer, result: int, where: str, path: Path, begun: bool) -> LinkError | None:
    if result == m.NOT_ALLOWED:
        return LinkLostError(
            f"the board on {where} does not obey this computer any more. If it was set up "
            "elsewhere, set it up here again over its cable: rockhold board setup"
        )
    if isinstance(answer.command, m.Start):
        if result == m.UNKNOWN_CAPTURE:
            return reset_error(where, path)
        return NoBoardError(
            f"the board on {where} does not start: {m.RESULTS[result]}. End that capture with the "
            "board's button, or with `rockhold record --end-other`"
        )
    # Before the first record it only means that Start has not got there yet.
    if isinstance(answer.command, m.Resume) and begun:
        return reset_error(where, path)
    return None


def reset_error(where: str, path: Path) -> BoardChangedError:
    """Return what is raised when the board on a link has lost the capture in a file."""
    return BoardChangedError(
        f"the board on {where} does not know this capture any more: it was reset. "
        + lost_words(path)
    )


def lost_words(path: Path) -> str:
    """Return what can be done when the board has lost the capture that it was recording."""
    return (
        f"What came is in {path}. If the board saved more of it, `rockhold board fetch --folder "
        f"{typed(path.parent)}` adds that; `rockhold seal {typed(path)}` then finishes it. "
        "Record the rest of the work into a new file"
    )
