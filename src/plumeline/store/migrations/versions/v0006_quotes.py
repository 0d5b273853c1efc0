"""Quotes, each kept as it was made; an acceptance names the quote and the plan that the customer saw."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"


def upgrade() -> None:
    """Make the tables of quotes, and the two columns; what was accepted before names neither."""
    op.create_table(
        "quote",
        sa.Column("pond_id", sa.Text(), primary_key=True),
        sa.Column("quote_number", sa.Integer(), primary_key=True),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("run_id", sa.Text(), sa.ForeignKey("run.id")),
        sa.Column("made_at", sa.Text(), nullable=False),
        sa.Column("made_by", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["pond_id", "number"], ["revision.pond_id", "revision.number"]),
    )
    op.create_table(
        "quote_file",
        sa.Column("pond_id", sa.Text(), primary_key=True),
        sa.Column("quote_number", sa.Integer(), primary_key=True),
        sa.Column("units", sa.Text(), primary_key=True),
        sa.Column("sha256", sa.Text(), sa.ForeignKey("blob.sha256"), nullable=False),
        sa.ForeignKeyConstraint(["pond_id", "quote_number"], ["quote.pond_id", "quote.quote_number"]),
    )
    op.add_column("acceptance", sa.Column("quote_number", sa.Integer()))
    op.add_column("acceptance", sa.Column("run_id", sa.Text()))
