"""A phone that hands over to a real server which is taken away, again and again, in the middle."""

from __future__ import annotations

import http.client
import json
import random
import sqlite3
import threading
import urllib.error
import urllib.request
import uuid
from contextlib import closing
from dataclasses import dataclass, field

from tests.capture_items import DEVICE, PART, item, jpeg, named, sha, text

from plumeline.store.photo_files import named_in, sound

GONE = (urllib.error.URLError, http.client.HTTPException, ConnectionError, TimeoutError, OSError)


@dataclass
class Sender:
    """A phone's outbox and what it was told.

    Attributes:
        url: of the server.
        items: bytes of each item by its id.
        photos: bytes of each photo by its hash.
        acknowledged: ids of items whose PUT was answered.
        parts: (photo, part) that were answered.
    """

    url: str
    items: dict[str, bytes]
    photos: dict[str, bytes]
    acknowledged: set[str] = field(default_factory=set)
    parts: set[tuple[str, int]] = field(default_factory=set)

    def call(self, method, path, data=None):
        """Return a server's answer, of a refusal too."""
        request = urllib.request.Request(self.url + "/api/v1/capture" + path, data=data, method=method)
        request.add_header("Content-Type", "application/json")
        request.add_header("X-Plumeline", "1")
        try:
            with urllib.request.urlopen(request, timeout=60) as answer:
                return answer.status, json.load(answer)
        except urllib.error.HTTPError as error:
            with error:
                return error.code, json.load(error)

    def hand_over(self, chance):
        """Send everything that is not known to be held, in any order, until the server is gone or all is there."""
        work = [("item", ident) for ident in self.items if ident not in self.acknowledged]
        for key, data in self.photos.items():
            status, told = self.call("GET", f"/photos/{key}")
            assert status == 200
            if not told["held"]:
                count = -(-len(data) // PART)
                work += [("part", (key, number)) for number in range(count) if number not in told["have"]]
                # a whole that waits for its check since the server went: its last part again
                work += [] if len(told["have"]) < count else [("part", (key, count - 1))]
        chance.shuffle(work)
        for what, name in work:
            if what == "item":
                status, told = self.call("PUT", f"/items/{name}", self.items[name])
                assert status in (200, 201), told
                assert told["sha256"] == sha(self.items[name])
                self.acknowledged.add(name)
            else:
                key, number = name
                data = self.photos[key]
                path = f"/photos/{key}/parts/{number}?size_bytes={len(data)}"
                status, told = self.call("PUT", path, data[number * PART : (number + 1) * PART])
                assert status == 200, told
                self.parts.add(name)

    def all_held(self):
        """Return whether every item and photo is held, by receipts with the hashes of the bytes sent."""
        asked = {
            "device_id": DEVICE,
            "unsent_count": 0,
            "oldest_unsent_at": None,
            "ids": list(self.items)[:500],
        }
        _, told = self.call("POST", "/receipts", json.dumps(asked).encode())
        receipts = {one["id"]: one for one in told["receipts"]}
        return all(
            receipts[ident]["held"] and receipts[ident]["sha256"] == sha(data)
            for ident, data in self.items.items()
        )


def outbox(chance, items_count, photos_count):
    """Return items and photos of a day."""
    photos = [jpeg(chance.random(), (900, 650), noise=True) for _ in range(photos_count)]
    made = {}
    for number in range(items_count):
        of_it = [named(photos[number])] if number < photos_count else []
        ident = str(uuid.UUID(int=chance.getrandbits(128)))
        one = item(
            "photo" if of_it else "note",
            number,
            photos=of_it,
            id=ident,
            body={} if of_it else {"text": f"n {number}"},
        )
        made[ident] = text(one)
    return made, {sha(data): data for data in photos}


def killed_while_handing_over(server, *, kills, items_count, photos_count, seed, most_s=1.0):
    """Kill a server while a phone hands over, start it, hand over again; return what was counted in the end.

    Args:
        server: started.
        kills: how many.
        items_count: items of each round.
        photos_count: photos of each round.
        seed: of the moments.
        most_s: a round is killed within so many seconds.
    """
    chance = random.Random(seed)
    every = Sender(server.url, {}, {})
    in_the_middle = 0
    for _ in range(kills):
        items, photos = outbox(chance, items_count, photos_count)
        every.items |= items
        every.photos |= photos
        sender = Sender(server.url, items, photos)
        ender = threading.Timer(chance.uniform(0.0, most_s), server.kill)
        ender.start()
        try:
            sender.hand_over(chance)
        except GONE:
            in_the_middle += 1
        ender.join()
        server.start()
        _sound(server, sender)
        # the phone does not know what the lost replies said: everything again, the acknowledged too
        sender.acknowledged.clear()
        sender.hand_over(chance)
        assert sender.all_held()
    return {"kills": kills, "in_the_middle": in_the_middle, **_counted(server, every)}


def _sound(server, sender):
    """What was acknowledged before the kill is there."""
    with closing(sqlite3.connect(server.database)) as link:
        assert link.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        held = {row[0]: bytes(row[1]) for row in link.execute("SELECT id, content FROM capture_item")}
        parts = {tuple(row) for row in link.execute("SELECT sha256, number FROM capture_part")}
        whole = {row[0] for row in link.execute("SELECT sha256 FROM capture_photo WHERE refused = ''")}
    for ident in sender.acknowledged:
        assert held[ident] == sender.items[ident]
    for key, number in sender.parts:
        assert key in whole or (key, number) in parts


def _counted(server, every):
    names = named_in(server.database)
    assert all(sound(server.folder / "photos", name) for name in names)
    with closing(sqlite3.connect(server.database)) as link:
        rows = link.execute("SELECT id, content FROM capture_item").fetchall()
        photos = link.execute("SELECT count(*) FROM capture_photo WHERE refused = ''").fetchone()[0]
        parts = link.execute("SELECT count(*) FROM capture_part").fetchone()[0]
    assert {ident: bytes(content) for ident, content in rows} == every.items
    assert (len(rows), photos, parts) == (len(every.items), len(every.photos), 0)
    return {"items": len(rows), "photos": photos}
