"""Ponds in SQLite beside a plain dict: whatever is done in whatever order, both answer alike.

Sent twice, saved on an old revision, taken away, brought back, erased, the clock put on, the program ended in
between, a backup put back. `PLUMELINE_MODEL_EXAMPLES=1000` is the long form. What phones hand over has its machine in
tests/hand_over.py; power cuts stand in test_power_cut.py.
"""

from __future__ import annotations

import copy
import os
import shutil
import tempfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from plumeline.errors import InputError
from plumeline.store import Folder, open_store
from plumeline.store.backups import restore, write_backup
from plumeline.store.errors import ConflictError, NotThereError

JOB = b"""format = 1
name = "NAME"
[site]
latitude_longitude_elevation = "35.9, -79.5, 680 ft"
[pond]
area = "1.6 acre"
max_depth = "14 ft"
"""
PICK = st.integers(0, 10**6)
KEPT = timedelta(days=30)


class Ponds(RuleBasedStateMachine):
    """`ponds` holds each pond's revisions as files, `binned` when one was taken away, `keys` what a form made."""

    @initialize()
    def start(self):
        self.folder = Path(tempfile.mkdtemp(prefix="plumeline-"))
        self.path = self.folder / "home" / "plumeline.sqlite3"
        self.time = datetime(2026, 8, 11, 12, tzinfo=UTC)
        self.store = open_store(self.path, clock=lambda: self.time)
        self.ponds, self.binned, self.keys = {}, {}, {}
        self.count = 0
        self.kept = None

    def teardown(self):
        if hasattr(self, "store"):
            self.store.close()
            shutil.rmtree(self.folder)

    def files(self, name):
        """Return a folder whose note nobody wrote before."""
        self.count += 1
        return {"job.toml": JOB.replace(b"NAME", name.encode()), "notes.txt": str(self.count).encode()}

    def picked(self, among, number):
        return sorted(among)[number % len(among)]

    def there(self):
        return [one for one in self.ponds if one not in self.binned]

    @rule(name=st.sampled_from(["Mill", "Mill", "Dam"]), key=st.sampled_from(["", "k1"]), again=st.booleans())
    def add(self, name, key, again):
        """A new pond; `again` sends the same form a second time."""
        folder = Folder(name.lower(), self.files(name))
        for _ in range(2 if again else 1):
            made = self.store.ponds.add(folder, author="Ada", reason="", form_key=key)
            sent = (key, folder.files["notes.txt"])
            if key and sent in self.keys:
                assert made.pond_id == self.keys[sent]
            else:
                assert made.pond_id not in self.ponds
                self.ponds[made.pond_id] = [(name, folder.files)]
                self.keys[sent] = made.pond_id

    @precondition(lambda self: self.ponds)
    @rule(pick=PICK, behind=st.integers(0, 2))
    def save(self, pick, behind):
        """On the latest revision, or on an older one; of a pond that is there or in the bin."""
        one = self.picked(self.ponds, pick)
        name, files = self.ponds[one][-1][0], self.files(self.ponds[one][-1][0])
        number = len(self.ponds[one]) - behind
        asked = {"expected_number": number, "author": "Cy", "reason": ""}
        if one in self.binned:
            with pytest.raises(NotThereError):
                self.store.ponds.save_files(one, files, **asked)
        elif behind:
            with pytest.raises(ConflictError):
                self.store.ponds.save_files(one, files, **asked)
        else:
            assert self.store.ponds.save_files(one, files, **asked).number == number + 1
            self.ponds[one].append((name, files))

    @precondition(lambda self: self.ponds)
    @rule(pick=PICK)
    def take_away_or_bring_back(self, pick):
        one = self.picked(self.ponds, pick)
        if one in self.binned:
            self.store.bin.take_back(one)
            del self.binned[one]
        else:
            self.store.bin.put(one, "Ada")
            self.binned[one] = self.time

    @precondition(lambda self: self.binned)
    @rule(pick=PICK, right=st.booleans())
    def erase(self, pick, right):
        one = self.picked(self.binned, pick)
        name = self.ponds[one][-1][0]
        if not right:
            with pytest.raises(InputError):
                self.store.bin.erase(one, name + "s")
            return
        self.store.bin.erase(one, name)
        self.forget(one)

    def forget(self, one):
        del self.ponds[one], self.binned[one]
        self.keys = {sent: made for sent, made in self.keys.items() if made != one}

    @rule(wanted=st.sampled_from(["an hour", "a second before thirty days", "thirty days"]))
    def later(self, wanted):
        """The clock goes on; what was in the bin for thirty days goes, and not a second before."""
        since = min(self.binned.values(), default=self.time)
        short = timedelta(seconds=wanted.startswith("a second"))
        goal = self.time + timedelta(hours=1) if wanted == "an hour" else since + timedelta(days=30) - short
        self.time = max(self.time, goal)
        gone = [one for one, since in self.binned.items() if self.time - since >= KEPT]
        assert len(self.store.bin.erase_old()) == len(gone)
        for one in gone:
            self.forget(one)

    @rule()
    def end_and_start(self):
        self.store.close()
        self.store = open_store(self.path, clock=lambda: self.time)

    @rule()
    def back_up(self):
        self.kept = (
            write_backup(self.path, now=self.time).path,
            copy.deepcopy((self.ponds, self.binned, self.keys)),
        )
        self.time += timedelta(seconds=2)

    @precondition(lambda self: self.kept)
    @rule()
    def put_back(self):
        self.store.close()
        restore(self.kept[0], self.path, now=self.time)
        self.time += timedelta(seconds=2)
        self.store = open_store(self.path, clock=lambda: self.time)
        self.ponds, self.binned, self.keys = copy.deepcopy(self.kept[1])

    @invariant()
    def both_answer_alike(self):
        if not hasattr(self, "store"):
            return
        ponds = self.store.ponds
        assert {row.id: row.name for row in ponds.rows()} == {
            one: self.ponds[one][-1][0] for one in self.there()
        }
        assert {row.id: row.binned_at for row in self.store.bin.all()} == self.binned
        for one in self.there():
            assert [row.number for row in ponds.revisions(one)] == list(range(len(self.ponds[one]), 0, -1))
            for number in {1, len(self.ponds[one])}:
                assert dict(ponds.folder(one, number).files) == self.ponds[one][number - 1][1]


TestPonds = Ponds.TestCase
TestPonds.settings = settings(
    max_examples=int(os.environ.get("PLUMELINE_MODEL_EXAMPLES", "6")),
    stateful_step_count=20,
    deadline=None,
    suppress_health_check=list(HealthCheck),
)
