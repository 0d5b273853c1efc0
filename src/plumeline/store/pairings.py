"""Under which address phones know this server: fixed at pairing, for what a phone keeps belongs to that address."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from datetime import datetime

from sqlalchemy import Column, Integer, Table, Text, insert, select

from plumeline.store.engine import Database
from plumeline.store.ponds import Clock, stamp
from plumeline.store.read_back import read_back
from plumeline.store.schema import metadata

pairing = Table(
    "pairing",
    metadata,
    # none is ever changed: the latest row stands, and those before say under which addresses phones may still be
    Column("number", Integer, primary_key=True),
    Column("made_at", Text, nullable=False),
    Column("scheme", Text, nullable=False),
    Column("host_name", Text, nullable=False),
    Column("port_number", Integer, nullable=False),
    Column("authority_print", Text, nullable=False),
    Column("machine_name", Text, nullable=False),
    Column("addresses", Text, nullable=False),
)


@dataclass(frozen=True)
class Pairing:
    """An address under which phones know this server.

    Attributes:
        scheme: http or https.
        host_name: the name that phones open.
        port_number: its port.
        authority_print: SHA-256 of the authority that phones trust, in pairs of hex digits; empty over http.
        machine_name: what the machine called itself.
        addresses: its private addresses then.
        made_at: when; None before it is kept.
    """

    scheme: str
    host_name: str
    port_number: int
    authority_print: str = ""
    machine_name: str = ""
    addresses: tuple[str, ...] = ()
    made_at: datetime | None = None

    @property
    def origin(self) -> str:
        """What a browser keeps its data under."""
        usual_port = {"http": 80, "https": 443}[self.scheme]
        port = "" if self.port_number == usual_port else f":{self.port_number}"
        return f"{self.scheme}://{self.host_name}{port}"


class Pairings:
    """Reads and keeps pairings."""

    def __init__(self, database: Database, clock: Clock) -> None:
        self._database = database
        self._clock = clock

    @read_back
    def latest(self) -> Pairing | None:
        """Return the pairing that stands; None before the first."""
        with self._database.reading() as link:
            row = link.execute(select(pairing).order_by(pairing.c.number.desc()).limit(1)).one_or_none()
        if row is None:
            return None
        return Pairing(
            row.scheme, row.host_name, row.port_number, row.authority_print, row.machine_name,
            tuple(json.loads(row.addresses)), datetime.fromisoformat(row.made_at),
        )  # fmt: skip

    def keep(self, new: Pairing) -> None:
        """Keep a pairing as the one that stands, unless it does."""
        before = self.latest()
        if before is not None and replace(before, made_at=None) == replace(new, made_at=None):
            return
        values = {
            "made_at": stamp(self._clock()), "scheme": new.scheme, "host_name": new.host_name,
            "port_number": new.port_number, "authority_print": new.authority_print,
            "machine_name": new.machine_name, "addresses": json.dumps(new.addresses),
        }  # fmt: skip
        with self._database.transaction() as link:
            link.execute(insert(pairing).values(**values))
