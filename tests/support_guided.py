"""A whole guided job over the board's own program: simulated hands, and answers for a procedure."""

import json

from rockhold.procedure import model as p
from rockhold.procedure.load import load_procedure
from rockhold.simulator.jobbench import SETTINGS


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
