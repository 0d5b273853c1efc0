"""Where ponds lie, for phones: kept at each save; ponds saved before are looked through by the program, and kept."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"


def upgrade() -> None:
    """Make the table."""
    op.create_table(
        "pond_place",
        sa.Column("pond_id", sa.Text(), sa.ForeignKey("pond.id"), primary_key=True),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("content", sa.Text(), nullable=False),
    )
