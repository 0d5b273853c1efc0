"""Ponds, their revisions and files, what stands against them, and runs."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make the first tables."""
    text, whole = sa.Text(), sa.Integer()
    op.create_table(
        "pond",
        sa.Column("id", text, primary_key=True),
        sa.Column("name", text, nullable=False),
        sa.Column("latest_revision", whole, nullable=False),
        sa.Column("created_at", text, nullable=False),
        sa.Column("folder_name", text, nullable=False),
    )
    op.create_index("pond_by_name", "pond", ["name", "id"])
    op.create_table(
        "revision",
        sa.Column("pond_id", text, sa.ForeignKey("pond.id"), primary_key=True),
        sa.Column("number", whole, primary_key=True),
        sa.Column("saved_at", text, nullable=False),
        sa.Column("author", text, nullable=False),
        sa.Column("reason", text, nullable=False),
        sa.Column("last_reading_at", text),
        sa.Column("job_sha256", text, nullable=False),
        sa.Column("findings", text, nullable=False),
        sa.Column("job", text, nullable=False),
    )
    op.create_table(
        "blob",
        sa.Column("sha256", text, primary_key=True),
        sa.Column("size_bytes", whole, nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
    )
    op.create_table(
        "revision_file",
        sa.Column("pond_id", text, primary_key=True),
        sa.Column("number", whole, primary_key=True),
        sa.Column("path", text, primary_key=True),
        sa.Column("sha256", text, sa.ForeignKey("blob.sha256"), nullable=False),
        _of_revision(),
    )
    op.create_table(
        "standing",
        sa.Column("pond_id", text, primary_key=True),
        sa.Column("number", whole, primary_key=True),
        sa.Column("program", text, nullable=False),
        sa.Column("warnings", text, nullable=False),
        _of_revision(),
    )
    op.create_table(
        "run",
        sa.Column("id", text, primary_key=True),
        sa.Column("pond_id", text, nullable=False),
        sa.Column("number", whole, nullable=False),
        sa.Column("state", text, nullable=False),
        sa.Column("attempts", whole, nullable=False),
        sa.Column("doing", text, nullable=False),
        sa.Column("share_fraction", sa.Float(), nullable=False),
        sa.Column("asked_at", text, nullable=False),
        sa.Column("started_at", text),
        sa.Column("ended_at", text),
        sa.Column("program", text, nullable=False),
        sa.Column("words", text, nullable=False),
        _of_revision(),
    )
    op.create_index("run_by_pond", "run", ["pond_id", "asked_at"])
    op.create_index("run_by_state", "run", ["state", "asked_at"])
    op.create_table(
        "run_file",
        sa.Column("run_id", text, sa.ForeignKey("run.id"), primary_key=True),
        sa.Column("path", text, primary_key=True),
        sa.Column("sha256", text, sa.ForeignKey("blob.sha256"), nullable=False),
    )


def _of_revision() -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint(["pond_id", "number"], ["revision.pond_id", "revision.number"])
