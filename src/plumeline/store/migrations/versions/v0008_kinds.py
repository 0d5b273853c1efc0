"""What a run works out: every one before was a start-up plan."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"


def upgrade() -> None:
    """Add the column."""
    op.add_column("run", sa.Column("kind", sa.Text(), nullable=False, server_default="start-up"))
