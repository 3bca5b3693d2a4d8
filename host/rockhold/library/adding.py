"""Writes facts into the index, one entry for each content, whatever is added twice or moved."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Row, delete, func, insert, or_, select, update

from rockhold.library.facts import DAMAGED, UNREADABLE, Facts
from rockhold.library.grown import is_grown_from
from rockhold.library.index import Library
from rockhold.library.rows import detail_rows, row_of
from rockhold.library.tables import CAPTURES, DETAILS
from rockhold.utc import now_utc

NEW = "new"
SAME = "same"
GROWN = "grown"
CHANGED = "changed"
MOVED = "moved"
COPY = "copy"
RIVAL = "rival"


@dataclass(frozen=True, slots=True)
class Added:
    """What became of one file.

    Attributes:
        path: The file.
        deed: NEW; SAME (known already); GROWN (a review was added, say); CHANGED (another content
            under the same name); MOVED; COPY (same content as another file that is still there);
            RIVAL (new, but another file with other content has the same capture id).
        state: One of facts.STATES.
        sentence: What must be said about it, "" when nothing.
    """

    path: str
    deed: str
    state: str
    sentence: str = ""


def write_batch(library: Library, batch: Sequence[Facts]) -> list[Added]:
    """Write some facts in one transaction, and return what became of each."""
    with library.writing() as connection:
        writer = _Writer(connection, library.computer, batch)
        done = [writer.take(facts) for facts in batch]
        writer.flush()
    return done


class _Writer:
    """Decides for each file what it is to the entries that are there, those of this batch too."""

    def __init__(self, connection: Connection, computer: str, batch: Sequence[Facts]) -> None:
        self._connection = connection
        self._computer = computer
        self._now_utc = now_utc()
        self._by_path: dict[str, dict[str, Any]] = {}
        self._by_content: dict[str, dict[str, Any]] = {}
        self._by_capture: dict[str, list[dict[str, Any]]] = {}
        self._touched: dict[int, tuple[dict[str, Any], Facts | None]] = {}
        self._old: set[int] = set()
        for row in self._known(batch):
            self._remember(dict(row._mapping))
            self._old.add(row.id)
        last: int | None = connection.execute(select(func.max(CAPTURES.c.id))).scalar()
        self._next_id = (last or 0) + 1

    def take(self, facts: Facts) -> Added:
        """Take in one file."""
        content = facts.sha256 if facts.state != UNREADABLE else ""
        here = self._by_path.get(facts.path)
        if here is not None:
            return self._at_known_path(here, facts)
        twin = self._by_content.get(content)
        if twin is not None:
            return self._twin(twin, facts)
        rivals = self._by_capture.get(facts.capture, []) if facts.capture else []
        return self._new(facts, rivals)

    def flush(self) -> None:
        """Write what was decided."""
        changed = [at for at in self._touched if at in self._old]
        for table in DETAILS if changed else ():
            self._connection.execute(delete(table).where(table.c.row.in_(changed)))
        # First those that give a content or a path up, else a new row may meet it still there.
        for at in changed:
            self._connection.execute(
                update(CAPTURES).where(CAPTURES.c.id == at).values(self._touched[at][0])
            )
        fresh = [row for at, (row, _) in self._touched.items() if at not in self._old]
        if fresh:
            self._connection.execute(insert(CAPTURES), fresh)
        for table in DETAILS:
            rows = [
                detail
                for at, (_, facts) in self._touched.items()
                if facts is not None
                for detail in detail_rows(table, at, facts)
            ]
            if rows:
                self._connection.execute(insert(table), rows)

    # --- one file ---------------------------------------------------------------------------

    def _at_known_path(self, here: dict[str, Any], facts: Facts) -> Added:
        same = here["size_bytes"] == facts.size_bytes and here["content"] == facts.sha256
        other = self._by_content.get(facts.sha256)
        if facts.state != UNREADABLE and other is not None and other is not here:
            self._forget(here)  # overwritten by a copy of another file, or changed names with it
            return self._twin(other, facts)
        grown = not same and is_grown_from(Path(facts.path), here["size_bytes"], here["content"])
        before = here["capture"]
        self._put(facts, here)
        if same:
            return self._said(facts, SAME)
        if grown:
            return self._said(facts, GROWN)
        if facts.state == UNREADABLE and not before:
            return self._said(facts, SAME)
        sentence = "holds another content than before, which is not the old one with lines added"
        return self._said(facts, CHANGED, sentence)

    def _twin(self, twin: dict[str, Any], facts: Facts) -> Added:
        """Take in a file whose content is known from another path."""
        was = twin["path"]
        if twin["computer"] != self._computer or _as_it_was(twin):
            return self._said(facts, COPY, f"has the same content as {was}")
        self._put(facts, twin)
        return self._said(facts, MOVED, f"was {was}")

    def _new(self, facts: Facts, rivals: list[dict[str, Any]]) -> Added:
        for rival in rivals:
            gone = rival["computer"] == self._computer and not _as_it_was(rival)
            if gone and is_grown_from(Path(facts.path), rival["size_bytes"], rival["content"]):
                was = rival["path"]
                self._put(facts, rival)
                return self._said(facts, MOVED, f"was {was}, and has lines added")
        row = {"id": self._next_id}
        self._next_id += 1
        self._put(facts, row)
        if rivals:
            sentence = f"has the capture id of {rivals[0]['path']}, and other content"
            return self._said(facts, RIVAL, sentence)
        return self._said(facts, NEW)

    def _said(self, facts: Facts, deed: str, sentence: str = "") -> Added:
        if facts.state in (DAMAGED, UNREADABLE) or (facts.problem and not sentence):
            sentence = "; ".join(part for part in (sentence, facts.problem) if part)
        return Added(facts.path, deed, facts.state, sentence)

    # --- rows -------------------------------------------------------------------------------

    def _known(self, batch: Sequence[Facts]) -> Sequence[Row[Any]]:
        paths = [facts.path for facts in batch]
        contents = [facts.sha256 for facts in batch if facts.sha256]
        captures = [facts.capture for facts in batch if facts.capture]
        at_path = (CAPTURES.c.computer == self._computer) & CAPTURES.c.path.in_(paths)
        wanted = select(CAPTURES).where(
            or_(at_path, CAPTURES.c.content.in_(contents), CAPTURES.c.capture.in_(captures))
        )
        return self._connection.execute(wanted).all()

    def _put(self, facts: Facts, row: dict[str, Any]) -> None:
        """Let an entry hold these facts."""
        self._unlink(row)
        row.update(row_of(facts, self._computer, self._now_utc))
        self._touched[row["id"]] = (row, facts)
        self._remember(row)

    def _remember(self, row: dict[str, Any]) -> None:
        if row["computer"] == self._computer:
            self._by_path[row["path"]] = row
        if row["content"]:
            self._by_content[row["content"]] = row
        if row["capture"]:
            self._by_capture.setdefault(row["capture"], []).append(row)

    def _unlink(self, row: dict[str, Any]) -> None:
        if "path" in row:
            self._by_path.pop(row["path"], None)
            self._by_content.pop(row["content"] or "", None)
            rivals = self._by_capture.get(row["capture"], [])
            self._by_capture[row["capture"]] = [one for one in rivals if one is not row]

    def _forget(self, row: dict[str, Any]) -> None:
        self._unlink(row)
        self._touched.pop(row["id"], None)
        if row["id"] in self._old:
            self._connection.execute(delete(CAPTURES).where(CAPTURES.c.id == row["id"]))
            self._old.discard(row["id"])


def _as_it_was(row: dict[str, Any]) -> bool:
    """Say whether the file of an entry is where it was, and not written since."""
    try:
        stat = Path(row["path"]).stat()
    except OSError:
        return False
    return (stat.st_size, stat.st_mtime_ns) == (row["size_bytes"], row["mtime_ns"])
