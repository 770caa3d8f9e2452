"""What people say themselves of taking part, of figures and of research."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"

TEXT = sa.Text()
WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
FLAG = sa.Boolean().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Add the table."""
    op.create_table(
        "consents",
        sa.Column("number", WHOLE, primary_key=True, autoincrement=True),
        sa.Column("code", TEXT, nullable=False),
        sa.Column("use", TEXT, nullable=False),
        sa.Column("given", FLAG, nullable=False),
        sa.Column("wall", TEXT, nullable=False),
        sqlite_strict=True,
    )
    op.create_index("consents_by_code", "consents", ["code"])
    op.create_index("consents_by_use", "consents", ["use"])
