"""People who sign in, their codes and sessions; links for customers and what they accepted."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Make the tables of people and links."""
    text, whole = sa.Text(), sa.Integer()
    op.create_table(
        "person",
        sa.Column("id", text, primary_key=True),
        sa.Column("name", text, nullable=False),
        sa.Column("name_key", text, nullable=False, unique=True),
        sa.Column("role", text, nullable=False),
        sa.Column("created_at", text, nullable=False),
        sa.Column("disabled_at", text),
        sa.Column("password_hash", text),
    )
    op.create_table(
        "sign_in_code",
        sa.Column("code_sha256", text, primary_key=True),
        sa.Column("person_id", text, sa.ForeignKey("person.id")),
        sa.Column("expires_at", text, nullable=False),
    )
    op.create_table(
        "customer_link",
        sa.Column("id", text, primary_key=True),
        sa.Column("token_sha256", text, nullable=False, unique=True),
        sa.Column("pond_id", text, sa.ForeignKey("pond.id"), nullable=False),
        sa.Column("made_by", text, nullable=False),
        sa.Column("created_at", text, nullable=False),
        sa.Column("expires_at", text, nullable=False),
        sa.Column("revoked_at", text),
    )
    op.create_index("customer_link_by_pond", "customer_link", ["pond_id", "created_at"])
    op.create_table(
        "session",
        sa.Column("token_sha256", text, primary_key=True),
        sa.Column("person_id", text, sa.ForeignKey("person.id")),
        sa.Column("link_id", text, sa.ForeignKey("customer_link.id")),
        sa.Column("created_at", text, nullable=False),
        sa.Column("expires_at", text, nullable=False),
    )
    op.create_index("session_by_person", "session", ["person_id"])
    op.create_table(
        "acceptance",
        sa.Column("id", text, primary_key=True),
        sa.Column("link_id", text, sa.ForeignKey("customer_link.id"), nullable=False),
        sa.Column("pond_id", text, nullable=False),
        sa.Column("number", whole, nullable=False),
        sa.Column("name", text, nullable=False),
        sa.Column("accepted_at", text, nullable=False),
        sa.ForeignKeyConstraint(["pond_id", "number"], ["revision.pond_id", "revision.number"]),
    )
    op.create_index("acceptance_by_pond", "acceptance", ["pond_id", "accepted_at"])
