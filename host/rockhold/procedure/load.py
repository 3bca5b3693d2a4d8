"""Procedures by name or file: found, merged, checked, turned into values."""

import re
from collections.abc import Mapping
from importlib import resources
from pathlib import Path
from typing import Any

import tomli_w

from rockhold.errors import ProcedureError
from rockhold.measure.limits import EndPlayLimits
from rockhold.procedure import model as p
from rockhold.procedure.endplay import limits_from_document, procedure_text
from rockhold.procedure.fault import KeyFaultError, choice, words
from rockhold.procedure.merge import Merged, MergedStep, Place, merge
from rockhold.procedure.steps import step_from_table
from rockhold.procedure.toml_lines import parse

_ID = re.compile(r"[a-z0-9][a-z0-9-]{0,39}")


def shipped_names() -> list[str]:
    """Return the names of the procedures that come with rockhold."""
    folder = resources.files("rockhold.procedure").joinpath("shipped")
    return sorted(file.name[:-5] for file in folder.iterdir() if file.name.endswith(".toml"))


def find_text(name: str) -> tuple[str, str]:
    """Return the text of a shipped procedure, or of a file, and what to call it in errors.

    Raises:
        ProcedureError: When there is none, or it cannot be read.
    """
    names = shipped_names()
    if name in names:
        folder = resources.files("rockhold.procedure").joinpath("shipped")
        return folder.joinpath(f"{name}.toml").read_text("utf-8"), f"shipped procedure {name}"
    path = Path(name)
    if path.suffix == ".toml" or path.exists():
        return procedure_text(path), name
    raise ProcedureError(
        f"no procedure is called {name!r}. Shipped are {', '.join(names)}; or name a .toml file"
    )


def load_procedure(name: str) -> p.Procedure:
    """Return a procedure by its name or file.

    Raises:
        ProcedureError: With file, line and key, and what to do.
    """
    text, where = find_text(name)
    return procedure_from_text(text, where, beside=Path(name).parent)


def load_limits(name: str) -> EndPlayLimits:
    """Return what a procedure, by its name or file, asks of its first end play.

    Raises:
        ProcedureError: With file, line and key, or when it has no end-play step.
    """
    for step in load_procedure(name).steps:
        if step.end_play is not None:
            return step.end_play
    raise ProcedureError(f"{name} has no end_play step, and so no band to judge by")


def is_guided(text: str, where: str) -> bool:
    """Say whether a text is a procedure of steps; else it is an end-play table alone."""
    return _has_steps(parse(text, where))


def _has_steps(document: Mapping[str, Any]) -> bool:
    return document.get("format") == 2


def procedure_from_text(text: str, where: str, beside: Path | None = None) -> p.Procedure:
    """Return the procedure in a text.

    Args:
        text: TOML, format 2; or format 1, which makes one end-play step.
        where: What to call it in errors.
        beside: Folder of the file, where others that it names may lie; None for a text that must
            be whole, as in a capture.

    Raises:
        ProcedureError: With file, line and key.
    """
    document = parse(text, where)
    if not _has_steps(document):
        return _from_table(document, text, where)
    return _from_steps(document, text, where, beside)


def guided_steps(text: str, where: str) -> tuple[p.Step, ...]:
    """Return the steps of a text that is whole, as in a capture; none for an end-play table alone.

    Raises:
        ProcedureError: With file, line and key.
    """
    document = parse(text, where)
    return _from_steps(document, text, where, None).steps if _has_steps(document) else ()


def _from_steps(
    document: Mapping[str, Any], text: str, where: str, beside: Path | None
) -> p.Procedure:
    def find(name: str) -> tuple[str, str]:
        if beside is None:
            raise ProcedureError("a procedure in a capture is whole and names no other")
        own = beside / name
        return (procedure_text(own), str(own)) if own.suffix == ".toml" else find_text(name)

    merged = merge(document, text, where, find)
    steps = tuple(_step(step) for step in merged.steps)
    if not steps:
        raise ProcedureError(f"{where}: has no steps; add [[step]] tables or based_on")
    _check_ways(merged.steps, steps)
    head = _head(merged)
    whole = text if merged.whole else _in_force(merged, head)
    return p.Procedure(steps=steps, text=whole, **head)


def _from_table(document: Mapping[str, Any], text: str, where: str) -> p.Procedure:
    limits = limits_from_document(document, text, where)
    step = p.Step(
        id="end-play",
        kind=p.END_PLAY,
        title="End play",
        text="Rock, stop and hold, out and in, in turn.",
        source="own choice",
        end_play=limits,
    )
    return p.Procedure("end-play", "End play", (step,), text)


def _step(merged: MergedStep) -> p.Step:
    try:
        step = step_from_table(merged.keys)
        if not _ID.fullmatch(step.id):
            raise KeyFaultError("id", f"small letters, digits and hyphens only, is {step.id!r}")
    except KeyFaultError as fault:
        raise merged.place_of(fault.key).error(f"step {merged.id or '?'}: {fault}") from fault
    return step


def _check_ways(merged: list[MergedStep], steps: tuple[p.Step, ...]) -> None:
    """Check that steps which others name are there, in the right order."""
    at = {step.id: index for index, step in enumerate(steps)}
    for index, step in enumerate(steps):
        place = merged[index]
        if step.go_back_to and at.get(step.go_back_to, index) >= index:
            raise place.place_of("go_back_to").error(
                f"step {step.id}: go_back_to: there is no step {step.go_back_to!r} before it"
            )
        if step.after_failed and at.get(step.after_failed, -1) <= index:
            raise place.place_of("after_failed").error(
                f"step {step.id}: after_failed: there is no step {step.after_failed!r} behind it"
            )
        advised = step.turn is not None and step.turn.advised
        if advised and steps[at.get(step.after_failed, index)].kind != p.END_PLAY:
            raise place.place_of("turn").error(
                f"step {step.id}: turn: an advised turn needs after_failed with an end_play step"
            )


def _head(merged: Merged) -> dict[str, Any]:
    head, place = merged.head, merged.place
    try:
        values = {
            "name": words(head, "name", 60),
            "title": words(head, "title", 120),
            "axle": choice(head, "axle", p.AXLES) if "axle" in head else "",
        }
        for key in ("source", "caution"):
            values[key] = words(head, key) if key in head else ""
    except KeyFaultError as fault:
        raise Place(place.where, place.text, (fault.key,)).error(str(fault)) from fault
    return values


def _in_force(merged: Merged, head: dict[str, Any]) -> str:
    value = {"format": 2, **{key: text for key, text in head.items() if text}}
    value["step"] = [step.keys for step in merged.steps]
    return tomli_w.dumps(value)
