"""The tables of people, sessions and customer links, as this version of the program has them."""

from __future__ import annotations

from sqlalchemy import Column, ForeignKey, ForeignKeyConstraint, Index, Integer, Table, Text

from plumeline.store.schema import metadata

person = Table(
    "person",
    metadata,
    Column("id", Text, primary_key=True),
    Column("name", Text, nullable=False),
    Column("name_key", Text, nullable=False, unique=True),
    Column("role", Text, nullable=False),
    Column("created_at", Text, nullable=False),
    Column("disabled_at", Text),
    Column("password_hash", Text),
)

sign_in_code = Table(
    "sign_in_code",
    metadata,
    Column("code_sha256", Text, primary_key=True),
    Column("person_id", Text, ForeignKey("person.id")),
    Column("expires_at", Text, nullable=False),
)

customer_link = Table(
    "customer_link",
    metadata,
    Column("id", Text, primary_key=True),
    Column("token_sha256", Text, nullable=False, unique=True),
    Column("pond_id", Text, ForeignKey("pond.id"), nullable=False),
    Column("made_by", Text, nullable=False),
    Column("created_at", Text, nullable=False),
    Column("expires_at", Text, nullable=False),
    Column("revoked_at", Text),
    Index("customer_link_by_pond", "pond_id", "created_at"),
)

session = Table(
    "session",
    metadata,
    Column("token_sha256", Text, primary_key=True),
    Column("person_id", Text, ForeignKey("person.id")),
    Column("link_id", Text, ForeignKey("customer_link.id")),
    Column("created_at", Text, nullable=False),
    Column("expires_at", Text, nullable=False),
    Index("session_by_person", "person_id"),
)

acceptance = Table(
    "acceptance",
    metadata,
    Column("id", Text, primary_key=True),
    Column("link_id", Text, ForeignKey("customer_link.id"), nullable=False),
    Column("pond_id", Text, nullable=False),
    Column("number", Integer, nullable=False),
    Column("name", Text, nullable=False),
    Column("accepted_at", Text, nullable=False),
    Column("quote_number", Integer),
    Column("run_id", Text),
    ForeignKeyConstraint(["pond_id", "number"], ["revision.pond_id", "revision.number"]),
    Index("acceptance_by_pond", "pond_id", "accepted_at"),
)
