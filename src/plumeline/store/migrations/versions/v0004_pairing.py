"""Under which address phones know the server."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    """Make the table of pairings."""
    op.create_table(
        "pairing",
        sa.Column("number", sa.Integer(), primary_key=True),
        sa.Column("made_at", sa.Text(), nullable=False),
        sa.Column("scheme", sa.Text(), nullable=False),
        sa.Column("host_name", sa.Text(), nullable=False),
        sa.Column("port_number", sa.Integer(), nullable=False),
        sa.Column("authority_print", sa.Text(), nullable=False),
        sa.Column("machine_name", sa.Text(), nullable=False),
        sa.Column("addresses", sa.Text(), nullable=False),
    )
