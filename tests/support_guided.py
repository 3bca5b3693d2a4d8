"""A whole guided job over the board's own program: simulated hands, and answers for a procedure."""

import json

from rockhold.cli import exits
from rockhold.procedure import model as p
from rockhold.procedure.load import load_procedure
from rockhold.simulator.jobbench import SETTINGS
from support_board import wait_until


def board_flash(folder):
    """A folder for the board's flash, with its sources set up."""
    folder.mkdir()
    (folder / "settings.json").write_text(json.dumps(SETTINGS))
    return folder


def answers_for(procedure, by_hand=False, instead=None):
    """Answers that do every step of a procedure well; `instead` replaces lines by step."""
    lines = []
    for step in load_procedure(procedure).steps:
        if step.after_failed:
            continue
        if instead and step.id in instead:
            lines += [f"{step.id}: {word}" for word in instead[step.id]]
        elif step.kind == p.TORQUE:
            lines.append(f"{step.id}: {'by hand' if by_hand else 'pull'}")
        elif step.kind == p.END_PLAY:
            lines.append(f"{step.id}: measure")
        elif step.kind == p.SPIN:
            lines += [f"{step.id}: yes"] * 3
        elif step.turn is not None and step.turn.by_thread:
            lines.append(f"{step.id}: choose 1")
        else:
            lines.append(f"{step.id}: yes")
    return "\n".join([*lines, "end: finish", ""])


def broken_off(rockhold, board, path, procedure, answers, until, sign):
    """Begin a job with some of its answers; send it a signal once its file holds certain words.

    Returns the ended process and what it said of its end.
    """
    script = path.with_name("first.txt")
    script.write_text("\n".join(answers))
    running = rockhold.start(
        "record", path, "--technician", "A. Tester", "--port", board.device,
        "--procedure", procedure, "--answers", script,
    )  # fmt: skip
    wait_until(lambda: path.exists() and until in path.read_bytes())
    running.send_signal(sign)
    return running, running.communicate(timeout=20)[1]


def gone_on(rockhold, board, path, answers):
    """Go on with a job that was broken off, with the rest of its answers, to its end."""
    script = path.with_name("second.txt")
    script.write_text("\n".join(answers))
    done = rockhold("record", path, "--resume", "--port", board.device, "--answers", script)
    assert done.returncode == exits.OK, done.stderr[-1500:]
    assert "Steps: all 3 done." in done.stdout
