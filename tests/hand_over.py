"""Phones, a network that loses half of the replies, and an office, as a state machine over the real API."""

from __future__ import annotations

import json
import random
import shutil
import tempfile
import uuid
from pathlib import Path

from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule
from starlette.testclient import TestClient
from tests.capture_items import DEVICE, OTHER, PART, item, jpeg, named, sha, text

from plumeline.demo import demo_folder
from plumeline.store import Folder, open_store, read_folder
from plumeline.store.captures import State
from plumeline.store.taking import OPEN, Asked
from plumeline.web.app import make_app

BASE = "/api/v1/capture"
KINDS = ("profile", "gauge", "sounding", "shore", "note", "photo")
PHOTOS = (jpeg(1), jpeg(2), jpeg(3, (1200, 900), noise=True), b"no picture")
DEVICES = (DEVICE, OTHER)
SENDS = 3


class Phone:
    """A phone: keeps what it made until a receipt with its own hash says that all of it is held."""

    def __init__(self, device):
        self.device = device
        self.outbox = {}
        self.photos = {}

    def keep(self, made, photos):
        data = text(made)
        self.outbox[sha(data)] = (made["id"], data)
        self.photos |= {sha(photo): photo for photo in photos}

    def learn(self, receipts):
        """Delete what a receipt says is held; what was refused is saved by its owner, then deleted."""
        for receipt in receipts:
            settled = receipt["held"] or (receipt["sha256"] and not receipt["missing_photos"])
            if settled:
                self.outbox.pop(receipt["sha256"], None)


class HandOver(RuleBasedStateMachine):
    """Whatever is sent, however often, in whatever order, with whatever reply lost: rows = items made."""

    @initialize(seed=st.integers(0, 2**32))
    def start(self, seed):
        self.chance = random.Random(seed)
        self.folder = Path(tempfile.mkdtemp(prefix="plumeline-"))
        self.open()
        files = {
            name: data for name, data in read_folder(demo_folder()).files.items() if name != "weather.csv"
        }
        self.pond = self.store.ponds.add(Folder("oak", files), author="", reason="").pond_id
        self.phones = [Phone(device) for device in DEVICES]
        self.made = {}
        self.sent = {}
        self.poison = []
        self.count = 0
        self.secchi = ["2 ft"]

    def open(self):
        self.store = open_store(self.folder / "plumeline.sqlite3")
        self.client = TestClient(
            make_app(self.store), base_url="http://127.0.0.1:8621", raise_server_exceptions=False
        )

    def teardown(self):
        if not hasattr(self, "store"):
            return
        try:
            self.all_arrives()
        finally:
            self.store.close()
            shutil.rmtree(self.folder)

    def lost(self):
        """Half of the replies never reach the phone."""
        return self.chance.random() < 0.5

    # what people on the bank do

    @rule(kind=st.sampled_from(KINDS), phone=st.integers(0, 1), photos=st.sets(st.integers(0, 3), max_size=2))
    def make(self, kind, phone, photos):
        self.count += 1
        body = {"secchi": f"{self.count % 7 + 1} ft"} if kind == "profile" and self.count % 3 == 0 else {}
        chosen = [PHOTOS[number] for number in sorted(photos)] if kind in ("note", "photo") else []
        made = item(
            kind, self.count, device=DEVICES[phone], pond_id=self.pond, body=body, base_number=1,
            id=str(uuid.UUID(int=self.chance.getrandbits(128))),
            photos=[named(photo) for photo in chosen],
        )  # fmt: skip
        self.kept(phone, made, chosen)

    def kept(self, phone, made, photos=()):
        data = text(made)
        self.made[made["id"], sha(data)] = data
        self.phones[phone].keep(made, photos)

    @rule(phone=st.integers(0, 1))
    def make_another_content_of_one_id(self, phone):
        """As from a phone that was cloned, or whose storage went back in time."""
        if self.made:
            ident, key = self.chance.choice(sorted(self.made))
            made = json.loads(self.made[ident, key])
            self.count += 1
            self.kept(phone, {**made, "author": f"crew {self.count}"}, self.photos_of(made))

    @rule(phone=st.integers(0, 1))
    def edit(self, phone):
        if self.made:
            ident, key = self.chance.choice(sorted(self.made))
            made = json.loads(self.made[ident, key])
            self.count += 1
            new = str(uuid.UUID(int=self.chance.getrandbits(128)))
            again = {**made, "id": new, "supersedes": ident, "counter": self.count}
            self.kept(phone, again, self.photos_of(made))

    def photos_of(self, made):
        keys = {one["sha256"] for one in made["photos"]}
        return [photo for photo in PHOTOS if sha(photo) in keys]

    @rule(phone=st.integers(0, 1))
    def make_poison(self, phone):
        self.count += 1
        made = item("note", self.count, device=DEVICES[phone], pond_id=self.pond)
        self.poison.append((made["id"], text({**made, "kind": "poem"})))

    # what the network does

    @rule(phone=st.integers(0, 1))
    def send(self, phone):
        waiting = list(self.phones[phone].outbox.values())
        if waiting:
            self.put(*self.chance.choice(waiting))

    @rule()
    def send_again_what_is_long_held(self):
        if self.made:
            key = self.chance.choice(sorted(self.made))
            self.put(key[0], self.made[key])

    @rule()
    def send_poison(self):
        for ident, data in self.poison[-3:]:
            assert self.client.put(f"{BASE}/items/{ident}", content=data).status_code == 422

    def put(self, ident, data):
        key = (ident, sha(data))
        answer = self.client.put(f"{BASE}/items/{ident}", content=data)
        first = next((one for one in self.sent if one[0] == ident), None)
        if key not in self.sent:
            assert answer.status_code == (201 if first is None else 409), answer.text
        else:
            assert answer.status_code == (200 if first == key else 409), answer.text
        assert answer.json()["sha256"] == key[1]
        assert self.sent.setdefault(key, answer.json()["sequence"]) == answer.json()["sequence"]

    @rule(phone=st.integers(0, 1))
    def send_a_part(self, phone):
        photos = self.phones[phone].photos
        if photos:
            self.put_part(self.chance.choice(sorted(photos)), photos)

    def put_part(self, key, photos, number=None):
        data = photos[key]
        count = -(-len(data) // PART)
        number = self.chance.randrange(count) if number is None else number
        answer = self.client.put(
            f"{BASE}/photos/{key}/parts/{number}", params={"size_bytes": len(data)},
            content=data[number * PART : (number + 1) * PART],
        )  # fmt: skip
        if answer.status_code == 422:
            assert data == PHOTOS[3]
            assert answer.json()["refused"]
        else:
            assert answer.status_code == 200, answer.text
            assert answer.json()["held"] or number in answer.json()["have"]

    @rule(phone=st.integers(0, 1))
    def ask_for_receipts(self, phone):
        self.receipts(self.phones[phone])

    def receipts(self, phone, *, lose=True):
        idents = [ident for ident, _ in phone.outbox.values()]
        asked = {
            "device_id": phone.device,
            "unsent_count": len(idents),
            "oldest_unsent_at": None,
            "ids": idents,
        }
        answer = self.client.post(f"{BASE}/receipts", json=asked).json()
        for receipt in answer["receipts"]:
            if receipt["sha256"]:
                assert (receipt["id"], receipt["sha256"]) in self.sent
        if not (lose and self.lost()):
            phone.learn(answer["receipts"])

    @rule(phone=st.integers(0, 1))
    def bring_in_a_file(self, phone):
        waiting = list(self.phones[phone].outbox.values())[:5]
        file = {"format": 1, "items": [data.decode() for _, data in waiting], "photos": []}
        if self.poison:
            file["items"].insert(0, self.poison[0][1].decode())
        answer = self.client.post(f"{BASE}/import", json=file)
        assert len(answer.json()["refused"]) == bool(self.poison)
        assert [one["sha256"] for one in answer.json()["receipts"]] == [sha(data) for _, data in waiting]
        for ident, data in waiting:
            self.sent.setdefault((ident, sha(data)), self.number_of(ident, data))

    def number_of(self, ident, data):
        """Return the place in the order of what is held already."""
        answer = self.client.put(f"{BASE}/items/{ident}", content=data)
        assert answer.status_code in (200, 409)
        return answer.json()["sequence"]

    @rule()
    def restart(self):
        self.store.close()
        self.open()

    # what the office does

    @rule(picked=st.booleans())
    def take(self, picked):
        waiting = self.store.taking.list.items(states=OPEN)
        if waiting:
            chosen = self.chance.sample(waiting, min(len(waiting), 1 if picked else 4))
            number = self.store.ponds.revision(self.pond).number
            asked = Asked(self.pond, number, "office", picked=picked)
            done = self.store.taking.take([one.sequence_number for one in chosen], asked)
            assert len(done.taken_rows) + len(done.left) == len(chosen)
            assert all(one.words for one in done.left)

    @rule()
    def set_aside_and_bring_back(self):
        waiting = self.store.taking.list.items(states=OPEN)
        if waiting:
            one = self.chance.choice(waiting)
            self.store.taking.set_aside(one.sequence_number, "office")
        aside = self.store.taking.list.items(states=[State.ASIDE])
        if aside and self.lost():
            self.store.taking.undo(self.chance.choice(aside).sequence_number)

    @rule(feet=st.integers(1, 9))
    def change_the_secchi_depth(self, feet):
        current = self.store.ponds.revision(self.pond)
        files = dict(self.store.ponds.folder(self.pond).files)
        lines = files["job.toml"].decode().split("\n")
        at = next(index for index, line in enumerate(lines) if line.startswith("secchi_depth"))
        lines[at] = f'secchi_depth = "{feet} ft"'
        files["job.toml"] = "\n".join(lines).encode()
        self.store.ponds.save_files(
            self.pond, files, expected_number=current.number, author="office", reason=""
        )

    # what must hold

    @invariant()
    def rows_are_the_items_that_came(self):
        if not hasattr(self, "store"):
            return
        with self.store.database.reading() as link:
            rows = link.exec_driver_sql("SELECT id, sha256, sequence, content FROM capture_item").all()
        assert {(row[0], row[1]): row[2] for row in rows} == self.sent
        assert len(rows) == len(self.sent)
        for row in rows:
            assert bytes(row[3]) == self.made[row[0], row[1]]

    @invariant()
    def no_reading_stands_in_the_job_twice(self):
        if not hasattr(self, "store"):
            return
        job = self.store.ponds.revision(self.pond).job
        idents = [one.id for one in job.observations if one.id.startswith("field-")]
        assert len(idents) == len(set(idents))
        taken = self.store.taking.list.items(states=[State.TAKEN], most=10_000)
        rows = [one for one in taken if one.taken_path in ("readings.csv", "profiles.csv", "gauges.csv")]
        assert len(rows) == len(idents)

    def all_arrives(self):
        """Each item is sent three times in any order; in the end every phone is empty and everything is held once."""
        again = [key for key in self.made for _ in range(SENDS)]
        self.chance.shuffle(again)
        for key in again:
            self.put(key[0], self.made[key])
        for phone in self.phones:
            for key, data in phone.photos.items():
                for number in range(-(-len(data) // PART)):
                    self.put_part(key, phone.photos, number)
            self.receipts(phone, lose=False)
            assert not phone.outbox
        self.rows_are_the_items_that_came()
        assert len(self.sent) == len(self.made)
        self.no_reading_stands_in_the_job_twice()
