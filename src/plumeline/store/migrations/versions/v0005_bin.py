"""The bin: ponds taken away that can come back; and the keys of forms that made a pond."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"


def upgrade() -> None:
    """Make both tables."""
    op.create_table(
        "binned_pond",
        sa.Column("pond_id", sa.Text(), sa.ForeignKey("pond.id"), primary_key=True),
        sa.Column("binned_at", sa.Text(), nullable=False),
        sa.Column("binned_by", sa.Text(), nullable=False),
    )
    op.create_table(
        "sent_once",
        sa.Column("form_key", sa.Text(), primary_key=True),
        sa.Column("pond_id", sa.Text(), sa.ForeignKey("pond.id"), nullable=False),
    )
