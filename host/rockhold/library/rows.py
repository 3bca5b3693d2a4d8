"""Facts of a file as rows of the tables."""

from typing import Any

from sqlalchemy import Table

from rockhold.library.facts import UNREADABLE, Facts
from rockhold.library.names import key_of
from rockhold.library.tables import FINDINGS, PEOPLE, TOOLS


def row_of(facts: Facts, computer: str, added_utc: str) -> dict[str, Any]:
    """Return the row of a file, but for its number."""
    result = facts.result
    return {
        "computer": computer,
        "path": facts.path,
        "size_bytes": facts.size_bytes,
        "mtime_ns": facts.mtime_ns,
        "content": None if facts.state == UNREADABLE else facts.sha256 or None,
        "state": facts.state,
        "problem": facts.problem,
        "capture": facts.capture,
        "opened_utc": facts.opened_utc,
        "vehicle": facts.vehicle,
        "vehicle_key": key_of(facts.vehicle),
        "wheel_end": facts.wheel_end,
        "wheel_end_key": key_of(facts.wheel_end),
        "board": facts.board,
        "procedure": facts.procedure,
        "review": facts.review,
        "end_play_mm": result.end_play_mm,
        "u_mm": result.u_mm,
        "expanded_mm": result.expanded_mm,
        "verdict": result.verdict,
        "found_mm": result.found_mm,
        "found_u_mm": result.found_u_mm,
        "nut_set": result.nut_set,
        "checked_utc": facts.checked_utc,
        "added_utc": added_utc,
    }


def detail_rows(table: Table, row: int, facts: Facts) -> list[dict[str, Any]]:
    """Return the rows of people, findings or tools that belong to a file."""
    if table is PEOPLE:
        return [
            {
                "row": row,
                "role": person.role,
                "name": person.name,
                "name_key": key_of(person.name),
                "key": person.key,
                "signed_utc": person.signed_utc,
            }
            for person in facts.people
        ]
    if table is TOOLS:
        return [
            {"row": row, "kind": tool.kind, "name": tool.name, "name_key": key_of(tool.name)}
            for tool in facts.tools
        ]
    assert table is FINDINGS
    return [{"row": row, "code": code, "at_s": at_s} for code, at_s in facts.result.findings]
