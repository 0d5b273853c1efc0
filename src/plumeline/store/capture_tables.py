"""The tables of what phones hand over: items as they were sent, parts of photos, photos, devices."""

from __future__ import annotations

from sqlalchemy import (
    Boolean,
    Column,
    Float,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    Table,
    Text,
    UniqueConstraint,
)

from plumeline.store.schema import metadata

device = Table(
    "capture_device",
    metadata,
    Column("id", Text, primary_key=True),
    Column("name", Text, nullable=False),
    Column("author", Text, nullable=False),
    Column("last_contact_at", Text, nullable=False),
    Column("unsent_count", Integer),
    Column("oldest_unsent_at", Text),
    Column("skew_s", Float),
)

item = Table(
    "capture_item",
    metadata,
    # the order in which they came: no clock has a say in it, and no number comes twice
    Column("sequence", Integer, primary_key=True),
    Column("id", Text, nullable=False),
    Column("sha256", Text, nullable=False),
    Column("device_id", Text, ForeignKey("capture_device.id"), nullable=False),
    Column("kind", Text, nullable=False),
    Column("author", Text, nullable=False),
    Column("pond_id", Text),
    Column("supersedes", Text),
    Column("server_at", Text, nullable=False),
    Column("placed_at", Text, nullable=False),
    Column("placed_by", Text, nullable=False),
    Column("clock_words", Text, nullable=False),
    Column("state", Text, nullable=False),
    Column("words", Text, nullable=False),
    Column("decided_at", Text),
    Column("decided_by", Text),
    Column("taken_number", Integer),
    Column("taken_path", Text),
    Column("taken_lines", Text),
    Column("content", LargeBinary, nullable=False),
    UniqueConstraint("id", "sha256", name="capture_item_variant"),
    Index("capture_item_by_pond", "pond_id", "state", "sequence"),
    Index("capture_item_by_state", "state", "sequence"),
    Index("capture_item_by_device", "device_id", "sequence"),
    Index("capture_item_by_root", "supersedes"),
    sqlite_autoincrement=True,
)

item_photo = Table(
    "capture_item_photo",
    metadata,
    Column("sequence", Integer, ForeignKey("capture_item.sequence"), primary_key=True),
    Column("sha256", Text, primary_key=True),
    Column("size_bytes", Integer, nullable=False),
    Column("keep_place", Boolean, nullable=False),
    Index("capture_item_photo_by_sha256", "sha256"),
)

part = Table(
    "capture_part",
    metadata,
    Column("sha256", Text, primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("whole_bytes", Integer, nullable=False),
    Column("received_at", Text, nullable=False),
    Column("content", LargeBinary, nullable=False),
)

photo = Table(
    "capture_photo",
    metadata,
    # of the file that the phone has; what is kept and shown is written anew, under its own hash
    Column("sha256", Text, primary_key=True),
    Column("received_at", Text, nullable=False),
    Column("refused", Text, nullable=False),
    Column("kept_sha256", Text),
    Column("kept_bytes", Integer),
    Column("width_px", Integer),
    Column("height_px", Integer),
    Column("taken_at", Text),
    Column("latitude_deg", Float),
    Column("longitude_deg", Float),
)

CAPTURE_TABLES = tuple(table.name for table in (device, item, item_photo, part, photo))
