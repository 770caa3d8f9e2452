"""What people say themselves of taking part, of figures and of research."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from simengine.store.tables import Flag, Whole

revision = "0009"
down_revision = "0008"

TEXT = sa.Text()


def upgrade() -> None:
    """Add the table."""
    op.create_table(
        "consents",
        sa.Column("number", Whole, primary_key=True, autoincrement=True),
        sa.Column("code", TEXT, nullable=False),
        sa.Column("use", TEXT, nullable=False),
        sa.Column("given", Flag, nullable=False),
        sa.Column("wall", TEXT, nullable=False),
        sqlite_strict=True,
    )
    op.create_index("consents_by_code", "consents", ["code"])
    op.create_index("consents_by_use", "consents", ["use"])
