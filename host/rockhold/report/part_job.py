"""The parts of a report about the job: who, what, when, with which tools, and what was said."""

from collections.abc import Iterator, Mapping
from datetime import date

from rockhold.capture.names import vehicle_name, wheel_end_name
from rockhold.capture.reader import Capture
from rockhold.capture.tooling import is_overdue, tools_of
from rockhold.report.cells import NOTHING, facts_of, label, moment_of, number, text_of, when
from rockhold.report.content import Facts, Section, Table, Words
from rockhold.report.units import Units

_MOUNTS = {
    "spindle": "base on the spindle end, plunger on the hub's face",
    "hub": "base on the hub, plunger on the spindle end",
}


def name_of(capture: Capture | None, fallback: str) -> str:
    """Return vehicle and wheel end in one line."""
    if capture is None:
        return fallback
    names = (
        vehicle_name(capture.header.get("vehicle")),
        wheel_end_name(capture.header.get("wheel_end")),
    )
    return ", ".join(name for name in names if name) or fallback


def job_section(capture: Capture) -> Section:
    """Return who did what on which vehicle, and when."""
    header = capture.header
    rows = [("opened", moment_of(header.get("opened_utc")))]
    people = header.get("people")
    for person in people if isinstance(people, list) else []:
        if isinstance(person, Mapping):
            rows.append((text_of(person.get("role", "person")), text_of(person.get("name"))))
    rows += [(_named("vehicle", name), text) for name, text in facts_of(header.get("vehicle"))]
    rows += [(_named("wheel end", name), text) for name, text in facts_of(header.get("wheel_end"))]
    procedure = header.get("procedure")
    if isinstance(procedure, Mapping):
        digest = text_of(procedure.get("sha256"))[:16]
        rows.append(("procedure", f"{text_of(procedure.get('name'))} (SHA-256 {digest}…)"))
    mount = str(header.get("mount", ""))
    rows.append(("gauge's base", _MOUNTS.get(mount, text_of(mount))))
    rows.append(("capture", text_of(header.get("capture"))))
    rows.append(("recorded by", text_of(header.get("software"))))
    return Section("job", "The job", (Facts(tuple(rows)),))


def _named(whole: str, name: str) -> str:
    return whole if name in ("number", "position", "text") else f"{whole}, {name}"


def tools_section(capture: Capture, units: Units) -> Section:
    """Return the tools with their calibration."""
    opened = str(capture.header.get("opened_utc", ""))[:10]
    rows = [_tool_row(tool, opened, units) for tool in tools_of(capture)]
    if not rows:
        return Section("tools", "Tools", (Words("The capture names no tools."),))
    head = (
        "Tool",
        "Serial number",
        "Limit of error",
        "Calibrated",
        "Due",
        "Certificate",
        "In date",
    )
    return Section("tools", "Tools", (Table("Tools and their calibration", head, tuple(rows)),))


def _tool_row(tool: Mapping[str, object], opened: str, units: Units) -> tuple[str, ...]:
    name = ", ".join(
        text_of(tool[key]) for key in ("kind", "name", "id") if tool.get(key) not in (None, "")
    )
    mpe_mm, mpe_percent = number(tool.get("mpe_mm")), number(tool.get("mpe_percent"))
    if mpe_mm is not None:
        limit = f"{units.plain(mpe_mm, 2)} {units.length}"
    elif mpe_percent is not None:
        limit = f"{mpe_percent:g} %"
    else:
        limit = "not known"
    cells = [text_of(tool.get(key)) for key in ("calibrated_on", "due_on", "certificate")]
    return (name or NOTHING, text_of(tool.get("serial")), limit, *cells, in_date(tool, opened))


def in_date(tool: Mapping[str, object], opened: str) -> str:
    """Say whether a tool's calibration covered the day of the job, YYYY-MM-DD."""
    try:
        day = date.fromisoformat(opened)
    except ValueError:
        day = None
    if is_overdue(tool, day):
        return "NO: overdue"
    if day is None or not tool.get("due_on"):
        return "not known, no due date is recorded"
    try:
        date.fromisoformat(str(tool["due_on"]))
    except ValueError:
        return "not known, the due date is no date"
    return "yes"


def remarks_section(capture: Capture) -> Section | None:
    """Return what people said and what the software noticed, in order; None for nothing."""
    rows = tuple(_remarks(capture))
    if not rows:
        return None
    head = ("Line", "When", "What", "By", "Text")
    return Section(
        "remarks", "Remarks and events", (Table("In the order of the file", head, rows),)
    )


_NOTES = {
    "link_lost": "the link to the board was lost; readings waited on the board",
    "link_back": "the link came back",
    "resumed": "the recording went on",
    "recovered": "the file was cut short, and finished later",
}
_KNOWN = ("note", "entry", "by", "host_utc_us", "torn", "text", "because", "verdict")


def _remarks(capture: Capture) -> Iterator[tuple[str, ...]]:
    for line, value in capture.others:
        kind = next(iter(value))
        if kind not in ("note", "entry") or value.get("entry") == "step":
            continue
        what = text_of(value[kind])
        said = [text_of(value[key]) for key in ("verdict", "text", "because") if value.get(key)]
        said += [f"{label(k)} {text_of(v)}" for k, v in value.items() if k not in _KNOWN]
        if kind == "note":
            what = _NOTES.get(what, label(what))
        yield (
            str(line), when(value.get("host_utc_us")), what, text_of(value.get("by")),
            "; ".join(said) or NOTHING,
        )  # fmt: skip
