"""What learners write of a session in their own words."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"

TEXT = sa.Text()
EMPTY = sa.text("''")


def upgrade() -> None:
    """Add the table."""
    op.create_table(
        "own_words",
        sa.Column("session", TEXT, sa.ForeignKey("sessions.session"), nullable=False),
        sa.Column("code", TEXT, nullable=False),
        sa.Column("kind", TEXT, nullable=False),
        sa.Column("item", TEXT, nullable=False, server_default=EMPTY),
        sa.Column("words", TEXT, nullable=False),
        sa.Column("wall", TEXT, nullable=False),
        sa.Column("answer", TEXT, nullable=False, server_default=EMPTY),
        sa.Column("answered", TEXT, nullable=False, server_default=EMPTY),
        sa.PrimaryKeyConstraint("session", "code", "kind", "item"),
        sqlite_strict=True,
    )
    op.create_index("own_words_by_code", "own_words", ["code"])
