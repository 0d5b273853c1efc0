"""The tables, as this version of the program has them; migrations/ brings older files here."""

from __future__ import annotations

from sqlalchemy import (
    Column,
    Float,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
)

metadata = MetaData()

# what is long stands last in a row, so that a list does not have to read it

pond = Table(
    "pond",
    metadata,
    Column("id", Text, primary_key=True),
    Column("name", Text, nullable=False),
    Column("latest_revision", Integer, nullable=False),
    Column("created_at", Text, nullable=False),
    Column("folder_name", Text, nullable=False),
    Index("pond_by_name", "name", "id"),
)

binned_pond = Table(
    "binned_pond",
    metadata,
    Column("pond_id", Text, ForeignKey("pond.id"), primary_key=True),
    Column("binned_at", Text, nullable=False),
    Column("binned_by", Text, nullable=False),
)

pond_place = Table(
    "pond_place",
    metadata,
    Column("pond_id", Text, ForeignKey("pond.id"), primary_key=True),
    Column("number", Integer, nullable=False),
    Column("content", Text, nullable=False),
)

sent_once = Table(
    "sent_once",
    metadata,
    Column("form_key", Text, primary_key=True),
    Column("pond_id", Text, ForeignKey("pond.id"), nullable=False),
)

revision = Table(
    "revision",
    metadata,
    Column("pond_id", Text, ForeignKey("pond.id"), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("saved_at", Text, nullable=False),
    Column("author", Text, nullable=False),
    Column("reason", Text, nullable=False),
    Column("last_reading_at", Text),
    Column("job_sha256", Text, nullable=False),
    Column("findings", Text, nullable=False),
    Column("job", Text, nullable=False),
)

blob = Table(
    "blob",
    metadata,
    Column("sha256", Text, primary_key=True),
    Column("size_bytes", Integer, nullable=False),
    Column("content", LargeBinary, nullable=False),
)

revision_file = Table(
    "revision_file",
    metadata,
    Column("pond_id", Text, primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("path", Text, primary_key=True),
    Column("sha256", Text, ForeignKey("blob.sha256"), nullable=False),
    ForeignKeyConstraint(["pond_id", "number"], ["revision.pond_id", "revision.number"]),
)

standing = Table(
    "standing",
    metadata,
    Column("pond_id", Text, primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("program", Text, nullable=False),
    Column("warnings", Text, nullable=False),
    ForeignKeyConstraint(["pond_id", "number"], ["revision.pond_id", "revision.number"]),
)

run = Table(
    "run",
    metadata,
    Column("id", Text, primary_key=True),
    Column("pond_id", Text, nullable=False),
    Column("number", Integer, nullable=False),
    Column("state", Text, nullable=False),
    Column("attempts", Integer, nullable=False),
    Column("doing", Text, nullable=False),
    Column("share_fraction", Float, nullable=False),
    Column("asked_at", Text, nullable=False),
    Column("started_at", Text),
    Column("ended_at", Text),
    Column("program", Text, nullable=False),
    Column("words", Text, nullable=False),
    Column("kind", Text, nullable=False, server_default="start-up"),
    ForeignKeyConstraint(["pond_id", "number"], ["revision.pond_id", "revision.number"]),
    Index("run_by_pond", "pond_id", "asked_at"),
    Index("run_by_state", "state", "asked_at"),
)

run_file = Table(
    "run_file",
    metadata,
    Column("run_id", Text, ForeignKey("run.id"), primary_key=True),
    Column("path", Text, primary_key=True),
    Column("sha256", Text, ForeignKey("blob.sha256"), nullable=False),
)

quote = Table(
    "quote",
    metadata,
    Column("pond_id", Text, primary_key=True),
    Column("quote_number", Integer, primary_key=True),
    Column("number", Integer, nullable=False),
    Column("run_id", Text, ForeignKey("run.id")),
    Column("made_at", Text, nullable=False),
    Column("made_by", Text, nullable=False),
    ForeignKeyConstraint(["pond_id", "number"], ["revision.pond_id", "revision.number"]),
)

quote_file = Table(
    "quote_file",
    metadata,
    Column("pond_id", Text, primary_key=True),
    Column("quote_number", Integer, primary_key=True),
    Column("units", Text, primary_key=True),
    Column("sha256", Text, ForeignKey("blob.sha256"), nullable=False),
    ForeignKeyConstraint(["pond_id", "quote_number"], ["quote.pond_id", "quote.quote_number"]),
)
