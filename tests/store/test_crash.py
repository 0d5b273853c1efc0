"""A process killed while it saves: what it had acknowledged is there, and the file is sound (short form)."""

from __future__ import annotations

import os
import random
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing

import pytest

KILLS = 12

WRITERS = """
import os
import sys
from pathlib import Path
from plumeline.demo import demo_folder
from plumeline.store import Folder, open_store, read_folder

def say(words):
    os.write(1, f"{words}\\n".encode())

def save_on(path):
    store = open_store(path)
    oak = read_folder(demo_folder())
    small = Folder("oak", {name: data for name, data in oak.files.items() if name != "weather.csv"})
    rows = store.ponds.rows()
    pond = rows[0].id if rows else store.ponds.add(small, author="", reason="").pond_id
    number = store.ponds.revision(pond).number
    say(f"{os.getpid()} ready")
    while True:
        files = {**store.ponds.folder(pond).files, "note.txt": f"note of {number + 1}".encode() * 2000}
        number = store.ponds.save_files(pond, files, expected_number=number, author="", reason="").number
        say(number)

for _ in sys.stdin:
    child = os.fork()
    if not child:
        save_on(Path(sys.argv[1]))
    os.waitpid(child, 0)
    say("gone")
"""
"""A writer for each line that comes in, one after another: only the first loads the program."""


@pytest.fixture
def path(tmp_path):
    return tmp_path / "plumeline.sqlite3"


@pytest.fixture
def writers(path):
    """The process that starts writers."""
    command = [sys.executable, "-c", WRITERS, str(path)]
    found = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, bufsize=1)
    yield found
    found.stdin.close()
    found.wait()
    found.stdout.close()


def test_a_kill_in_the_middle_of_saving_loses_nothing_that_was_acknowledged(path, writers):
    """SIGKILL at random moments: each revision whose number was printed is whole, and at most one more is there."""
    chance = random.Random(1)
    acknowledged = 0
    for _ in range(KILLS):
        writers.stdin.write("another\n")
        child, word = writers.stdout.readline().split()
        assert word == "ready"
        first = writers.stdout.readline()
        time.sleep(chance.uniform(0.0, 0.25))
        os.kill(int(child), signal.SIGKILL)
        printed = [first, *iter(writers.stdout.readline, "gone\n")]
        acknowledged = max([acknowledged, *map(int, printed)])
        with closing(sqlite3.connect(path)) as link:
            assert link.execute("PRAGMA integrity_check").fetchone() == ("ok",)
            assert link.execute("PRAGMA foreign_key_check").fetchall() == []
            latest = link.execute("SELECT latest_revision FROM pond").fetchone()[0]
            numbers = [row[0] for row in link.execute("SELECT number FROM revision ORDER BY number")]
            notes = link.execute(
                "SELECT number, content FROM revision_file JOIN blob USING (sha256) WHERE path = 'note.txt'"
            ).fetchall()
        assert latest >= acknowledged
        assert numbers == list(range(1, latest + 1))
        assert {number: bytes(text) for number, text in notes} == {
            number: f"note of {number}".encode() * 2000 for number in numbers[1:]
        }
    assert acknowledged > KILLS
