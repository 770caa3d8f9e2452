"""Sessions to come, named teams, and sessions that were put away."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"

TEXT = sa.Text()
WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
FLAG = sa.Boolean().with_variant(sa.Integer(), "sqlite")
DAY = sa.Date().with_variant(sa.Text(), "sqlite")


def upgrade() -> None:
    """Add the tables and the column."""
    op.create_table(
        "bookings",
        sa.Column("id", TEXT, primary_key=True),
        sa.Column("day", DAY, nullable=False),
        _text("starts"),
        sa.Column("minutes", WHOLE, nullable=False),
        _text("place"),
        _text("unit"),
        sa.Column("scenario", TEXT, nullable=False),
        sa.Column("purpose", TEXT, nullable=False),
        _text("team_name"),
        _text("team", "{}"),
        _text("note"),
        sa.Column("changes", WHOLE, nullable=False, server_default=sa.text("0")),
        sa.Column("cancelled", FLAG, nullable=False),
        sa.Column("session", TEXT, sa.ForeignKey("sessions.session"), nullable=True),
        sa.Column("ticked", TEXT, nullable=True),
        sa.Column("number", WHOLE, nullable=False, server_default=sa.text("0")),
        sqlite_strict=True,
    )
    op.create_index("bookings_by_day", "bookings", ["day", "number"])
    op.create_table(
        "teams",
        sa.Column("number", WHOLE, primary_key=True, autoincrement=True),
        sa.Column("name", TEXT, nullable=False),
        _text("unit"),
        sa.Column("team", TEXT, nullable=False),
        sqlite_strict=True,
    )
    op.add_column("sessions", sa.Column("put_away", TEXT, nullable=True))


def _text(name: str, default: str = "") -> sa.Column[str]:
    return sa.Column(name, TEXT, nullable=False, server_default=sa.text(f"'{default}'"))
