"""Phones that send photos through connections of which some break, until every one is held."""

from __future__ import annotations

import hashlib
import http.client
import io
import json
import os
import random
import threading
import time
import uuid
from dataclasses import dataclass, field
from urllib.parse import urlsplit

from PIL import Image
from tests.capture_items import PART, item, named, sha, text

from plumeline.files.pictures import written_anew
from plumeline.store.photo_files import place_of

BYTES_A_PIXEL = 1.17
"""Of noise at this quality, measured."""


@dataclass
class Counted:
    """What happened on the way."""

    requests: int = 0
    cut: int = 0
    lost_replies: int = 0
    lock: threading.Lock = field(default_factory=threading.Lock)

    def add(self, **more):
        with self.lock:
            for name, count in more.items():
                setattr(self, name, getattr(self, name) + count)


class BrokenError(Exception):
    """The connection broke."""


class Wire:
    """One request a connection; some break while the body is sent, some before the reply is read."""

    def __init__(self, url, broken_share, chance, counted):
        self.host = urlsplit(url).netloc
        self.broken_share = broken_share
        self.chance = chance
        self.counted = counted

    def call(self, method, path, data=b""):
        self.counted.add(requests=1)
        link = http.client.HTTPConnection(self.host, timeout=120)
        try:
            breaks = self.chance.random() < self.broken_share
            link.putrequest(method, "/api/v1/capture" + path)
            link.putheader(
                "Content-Type", "application/octet-stream" if "/parts/" in path else "application/json"
            )
            link.putheader("Content-Length", str(len(data)))
            link.putheader("X-Plumeline", "1")
            link.endheaders()
            if breaks and self.chance.random() < 0.5:
                link.send(data[: self.chance.randrange(len(data) + 1)])
                self.counted.add(cut=1)
                raise BrokenError
            link.send(data)
            if breaks:
                # the server has it all, and nobody hears of it
                self.counted.add(lost_replies=1)
                raise BrokenError
            answer = link.getresponse()
            return answer.status, json.loads(answer.read())
        finally:
            link.close()


def photo_of(size_bytes):
    """Return a JPEG of about so many bytes, like no other."""
    side = int((size_bytes / BYTES_A_PIXEL) ** 0.5)
    stream = io.BytesIO()
    Image.frombytes("RGB", (side, side), os.urandom(side * side * 3)).save(stream, "JPEG", quality=95)
    return stream.getvalue()


def send(wire, data, ident, body):
    """Hand over a photo and its item as a phone does; return the receipt that allows it to delete both."""
    key, item_there = sha(data), False
    while True:
        try:
            if not item_there:
                status, told = wire.call("PUT", f"/items/{ident}", body)
                assert status in (200, 201), told
                item_there = True
            status, told = wire.call("GET", f"/photos/{key}")
            count = -(-len(data) // PART)
            missing = [number for number in range(count) if number not in told["have"]]
            for number in () if told["held"] else missing:
                path = f"/photos/{key}/parts/{number}?size_bytes={len(data)}"
                status, told = wire.call("PUT", path, data[number * PART : (number + 1) * PART])
                assert status == 200, told
            device = json.loads(body)["device_id"]
            asked = {"device_id": device, "unsent_count": 1, "oldest_unsent_at": None, "ids": [ident]}
            status, told = wire.call("POST", "/receipts", json.dumps(asked).encode())
            receipt = told["receipts"][0]
            if receipt["held"] and receipt["sha256"] == sha(body):
                return receipt
        except (BrokenError, ConnectionError, http.client.HTTPException):
            continue


def soak(server, *, photos_count, size_bytes, broken_share, phones_count, seed):
    """Send photos from several phones at once; return what was counted once all are held and looked at.

    Args:
        server: started.
        photos_count: how many in all.
        size_bytes: of each, about.
        broken_share: of the connections.
        phones_count: at once.
        seed: of the breaks.
    """
    counted, began = Counted(), time.monotonic()
    left, kept, lock = list(range(photos_count)), {}, threading.Lock()
    failures = []

    def phone(number):
        chance = random.Random(seed * 1000 + number)
        wire = Wire(server.url, broken_share, chance, counted)
        device = str(uuid.UUID(int=chance.getrandbits(128)))
        try:
            while True:
                with lock:
                    if not left or failures:
                        return
                    left.pop()
                data = photo_of(size_bytes)
                ident = str(uuid.UUID(int=chance.getrandbits(128)))
                made = item("photo", 0, device=device, id=ident, photos=[named(data)])
                send(wire, data, ident, text(made))
                anew = written_anew(data).data
                kept[sha(data)] = (hashlib.sha256(anew).hexdigest(), len(data))
        except BaseException as error:
            failures.append(error)
            raise

    threads = [threading.Thread(target=phone, args=(number,)) for number in range(phones_count)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not failures, failures
    folder = server.folder / "photos"
    for name, _ in kept.values():
        assert hashlib.sha256(place_of(folder, name).read_bytes()).hexdigest() == name
    assert len(kept) == photos_count
    return {
        "photos": len(kept), "mb_sent": round(sum(size for _, size in kept.values()) / 1e6, 1),
        "requests": counted.requests, "cut": counted.cut, "lost_replies": counted.lost_replies,
        "broken_share": round((counted.cut + counted.lost_replies) / counted.requests, 3),
        "seconds": round(time.monotonic() - began, 1),
    }  # fmt: skip
