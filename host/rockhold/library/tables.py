"""The tables of the index, as this rockhold knows them; migrations/ brings older ones up to it."""

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    Float,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    UniqueConstraint,
)

METADATA = MetaData()


def _text(name: str) -> Column[str]:
    return Column(name, String, nullable=False)


CAPTURES = Table(
    "captures",
    METADATA,
    # The writer gives the number: only one writes at a time, and so the rows of the other tables
    # go out in one batch with these.
    Column("id", Integer, primary_key=True, autoincrement=False),
    _text("computer"),
    _text("path"),
    Column("size_bytes", BigInteger, nullable=False),
    Column("mtime_ns", BigInteger, nullable=False),
    # SHA-256 of the file; null where the same content may stand twice, as with unreadable files.
    Column("content", String, unique=True),
    _text("state"),
    _text("problem"),
    _text("capture"),
    _text("opened_utc"),
    _text("vehicle"),
    _text("vehicle_key"),
    _text("wheel_end"),
    _text("wheel_end_key"),
    _text("board"),
    _text("procedure"),
    _text("review"),
    Column("end_play_mm", Float),
    Column("u_mm", Float),
    Column("expanded_mm", Float),
    _text("verdict"),
    Column("found_mm", Float),
    Column("found_u_mm", Float),
    Column("nut_set", Boolean, nullable=False),
    _text("checked_utc"),
    _text("added_utc"),
    UniqueConstraint("computer", "path", name="captures_one_per_path"),
    Index("captures_by_wheel_end", "vehicle_key", "wheel_end_key", "opened_utc"),
    Index("captures_by_time", "opened_utc"),
    Index("captures_by_verdict", "verdict", "opened_utc"),
    Index("captures_by_state", "state", "opened_utc"),
    Index("captures_by_capture", "capture"),
)


def _of_capture() -> Column[int]:
    return Column("row", Integer, ForeignKey("captures.id", ondelete="CASCADE"), nullable=False)


PEOPLE = Table(
    "people",
    METADATA,
    _of_capture(),
    _text("role"),
    _text("name"),
    _text("name_key"),
    _text("key"),
    _text("signed_utc"),
    Index("people_by_row", "row"),
    Index("people_by_name", "name_key", "row"),
)

FINDINGS = Table(
    "findings",
    METADATA,
    _of_capture(),
    _text("code"),
    Column("at_s", Float),
    Index("findings_by_row", "row"),
    Index("findings_by_code", "code", "row"),
)

TOOLS = Table(
    "tools",
    METADATA,
    _of_capture(),
    _text("kind"),
    _text("name"),
    _text("name_key"),
    Index("tools_by_row", "row"),
    Index("tools_by_name", "name_key", "row"),
)

# Where captures were added from, so that a rebuild knows where to look.
PLACES = Table(
    "places",
    METADATA,
    Column("computer", String, primary_key=True),
    Column("path", String, primary_key=True),
)

DETAILS = (PEOPLE, FINDINGS, TOOLS)
