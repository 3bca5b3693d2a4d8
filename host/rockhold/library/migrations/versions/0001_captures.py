"""The first tables."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

_TEXTS = (
    "state", "problem", "capture", "opened_utc", "vehicle", "vehicle_key", "wheel_end",
    "wheel_end_key", "board", "procedure", "review",
)  # fmt: skip
_NUMBERS = ("end_play_mm", "u_mm", "expanded_mm")


def _text(name: str) -> "sa.Column[str]":
    return sa.Column(name, sa.String, nullable=False)


def _row() -> "sa.Column[int]":
    return sa.Column(
        "row", sa.Integer, sa.ForeignKey("captures.id", ondelete="CASCADE"), nullable=False
    )


def upgrade() -> None:
    """Make them."""
    _captures()
    _beside_them()
    op.create_table(
        "places",
        sa.Column("computer", sa.String, primary_key=True),
        sa.Column("path", sa.String, primary_key=True),
    )


def _captures() -> None:
    op.create_table(
        "captures",
        sa.Column("id", sa.Integer, primary_key=True, autoincrement=False),
        _text("computer"),
        _text("path"),
        sa.Column("size_bytes", sa.BigInteger, nullable=False),
        sa.Column("mtime_ns", sa.BigInteger, nullable=False),
        sa.Column("content", sa.String, unique=True),
        *(_text(name) for name in _TEXTS),
        *(sa.Column(name, sa.Float) for name in _NUMBERS),
        _text("verdict"),
        sa.Column("found_mm", sa.Float),
        sa.Column("found_u_mm", sa.Float),
        sa.Column("nut_set", sa.Boolean, nullable=False),
        _text("checked_utc"),
        _text("added_utc"),
        sa.UniqueConstraint("computer", "path", name="captures_one_per_path"),
    )
    op.create_index(
        "captures_by_wheel_end", "captures", ["vehicle_key", "wheel_end_key", "opened_utc"]
    )
    op.create_index("captures_by_time", "captures", ["opened_utc"])
    op.create_index("captures_by_verdict", "captures", ["verdict", "opened_utc"])
    op.create_index("captures_by_state", "captures", ["state", "opened_utc"])
    op.create_index("captures_by_capture", "captures", ["capture"])


def _beside_them() -> None:
    """Make the tables with several rows for one capture."""
    op.create_table(
        "people",
        _row(),
        *(_text(name) for name in ("role", "name", "name_key", "key", "signed_utc")),
    )
    op.create_table("findings", _row(), _text("code"), sa.Column("at_s", sa.Float))
    op.create_table("tools", _row(), _text("kind"), _text("name"), _text("name_key"))
    for table, key in (("people", "name_key"), ("findings", "code"), ("tools", "name_key")):
        op.create_index(f"{table}_by_row", table, ["row"])
        op.create_index(f"{table}_by_{key.removesuffix('_key')}", table, [key, "row"])
