"""Staff numbers beside names, and requirements with a first day."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"

DAY = sa.Date().with_variant(sa.Text(), "sqlite")


def upgrade() -> None:
    """Add the columns."""
    number = sa.Column("staff_number", sa.Text(), nullable=False, server_default=sa.text("''"))
    op.add_column("trainees", number)
    op.add_column("requirements", sa.Column("since", DAY, nullable=True))
