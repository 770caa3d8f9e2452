"""Accounts, invitations, where somebody is signed in, and debriefs that a learner shares."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"

TEXT = sa.Text()
WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
FLAG = sa.Boolean().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Add the tables."""
    op.create_table(
        "accounts",
        sa.Column("id", TEXT, primary_key=True),
        sa.Column("name", TEXT, nullable=False),
        sa.Column("folded", TEXT, nullable=False),
        sa.Column("educator", FLAG, nullable=False),
        sa.Column("coordinator", FLAG, nullable=False),
        sa.Column("trainee", TEXT, nullable=True),
        sa.Column("password", TEXT, nullable=False),
        sa.Column("wall", TEXT, nullable=False),
        sa.UniqueConstraint("folded"),
        sa.UniqueConstraint("trainee"),
        sqlite_strict=True,
    )
    op.create_table(
        "invitations",
        sa.Column("digest", TEXT, primary_key=True),
        sa.Column("educator", FLAG, nullable=False),
        sa.Column("coordinator", FLAG, nullable=False),
        sa.Column("trainee", TEXT, nullable=True),
        sa.Column("account", TEXT, sa.ForeignKey("accounts.id"), nullable=True),
        sa.Column("until_ms", WHOLE, nullable=False),
        sqlite_strict=True,
    )
    op.create_table(
        "sign_ins",
        sa.Column("digest", TEXT, primary_key=True),
        sa.Column("account", TEXT, sa.ForeignKey("accounts.id"), nullable=False),
        sa.Column("until_ms", WHOLE, nullable=False),
        sqlite_strict=True,
    )
    op.create_index("sign_ins_by_account", "sign_ins", ["account"])
    op.create_table(
        "shared_debriefs",
        sa.Column("code", TEXT, nullable=False),
        sa.Column("session", TEXT, sa.ForeignKey("sessions.session"), nullable=False),
        sa.Column("wall", TEXT, nullable=False),
        sa.PrimaryKeyConstraint("code", "session"),
        sqlite_strict=True,
    )
