"""What phones hand over: items, parts of photos, photos, devices."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Make the tables of field capture."""
    text, whole, real = sa.Text(), sa.Integer(), sa.Float()
    op.create_table(
        "capture_device",
        sa.Column("id", text, primary_key=True),
        sa.Column("name", text, nullable=False),
        sa.Column("author", text, nullable=False),
        sa.Column("last_contact_at", text, nullable=False),
        sa.Column("unsent_count", whole),
        sa.Column("oldest_unsent_at", text),
        sa.Column("skew_s", real),
    )
    _items()
    op.create_table(
        "capture_item_photo",
        sa.Column("sequence", whole, sa.ForeignKey("capture_item.sequence"), primary_key=True),
        sa.Column("sha256", text, primary_key=True),
        sa.Column("size_bytes", whole, nullable=False),
        sa.Column("keep_place", sa.Boolean(), nullable=False),
    )
    op.create_index("capture_item_photo_by_sha256", "capture_item_photo", ["sha256"])
    op.create_table(
        "capture_part",
        sa.Column("sha256", text, primary_key=True),
        sa.Column("number", whole, primary_key=True),
        sa.Column("whole_bytes", whole, nullable=False),
        sa.Column("received_at", text, nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
    )
    op.create_table(
        "capture_photo",
        sa.Column("sha256", text, primary_key=True),
        sa.Column("received_at", text, nullable=False),
        sa.Column("refused", text, nullable=False),
        sa.Column("kept_sha256", text),
        sa.Column("kept_bytes", whole),
        sa.Column("width_px", whole),
        sa.Column("height_px", whole),
        sa.Column("taken_at", text),
        sa.Column("latitude_deg", real),
        sa.Column("longitude_deg", real),
    )


def _items() -> None:
    text, whole = sa.Text(), sa.Integer()
    op.create_table(
        "capture_item",
        sa.Column("sequence", whole, primary_key=True),
        sa.Column("id", text, nullable=False),
        sa.Column("sha256", text, nullable=False),
        sa.Column("device_id", text, sa.ForeignKey("capture_device.id"), nullable=False),
        sa.Column("kind", text, nullable=False),
        sa.Column("author", text, nullable=False),
        sa.Column("pond_id", text),
        sa.Column("supersedes", text),
        sa.Column("server_at", text, nullable=False),
        sa.Column("placed_at", text, nullable=False),
        sa.Column("placed_by", text, nullable=False),
        sa.Column("clock_words", text, nullable=False),
        sa.Column("state", text, nullable=False),
        sa.Column("words", text, nullable=False),
        sa.Column("decided_at", text),
        sa.Column("decided_by", text),
        sa.Column("taken_number", whole),
        sa.Column("taken_path", text),
        sa.Column("taken_lines", text),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.UniqueConstraint("id", "sha256", name="capture_item_variant"),
        sqlite_autoincrement=True,
    )
    for name, columns in (
        ("capture_item_by_pond", ["pond_id", "state", "sequence"]),
        ("capture_item_by_state", ["state", "sequence"]),
        ("capture_item_by_device", ["device_id", "sequence"]),
        ("capture_item_by_root", ["supersedes"]),
    ):
        op.create_index(name, "capture_item", columns)
