"""Who was at a training of which no session is kept."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"

TEXT = sa.Text()
DAY = sa.Date().with_variant(sa.Text(), "sqlite")
WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Add the table."""
    op.create_table(
        "attendances",
        sa.Column("code", TEXT, nullable=False),
        sa.Column("day", DAY, nullable=False),
        sa.Column("title", TEXT, nullable=False),
        sa.Column("minutes", WHOLE, nullable=False),
        sa.Column("place", TEXT, nullable=False, server_default=sa.text("''")),
        sa.PrimaryKeyConstraint("code", "day", "title"),
        sqlite_strict=True,
    )
    op.create_index("attendances_by_day", "attendances", ["day"])
