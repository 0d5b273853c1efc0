"""A client that saves on a real server which is taken away, again and again: what was answered is there."""

from __future__ import annotations

import http.client
import json
import os
import random
import signal
import sqlite3
import subprocess
import sys
import threading
import time
from contextlib import closing

from tests.every_write import small_oak

from plumeline.store import open_store

GONE = (http.client.HTTPException, ConnectionError, TimeoutError, OSError)
HEADERS = {"Content-Type": "application/json", "X-Plumeline": "1"}


class Client:
    """Saves a pond's job again and again by the JSON API, and remembers what was answered.

    Attributes:
        acknowledged: the name that was saved, by revision.
        number: the latest revision that it knows.
    """

    def __init__(self, port_number, pond, number, job, word):
        self._link = http.client.HTTPConnection("127.0.0.1", port_number, timeout=60)
        self._pond, self._job, self._word = pond, job, word
        self.number = number
        self.acknowledged = {}

    def save(self):
        """Save the job under another name, on the latest revision."""
        name = f"{self._word} {self.number + 1}"
        body = json.dumps({**self._job, "name": name})
        self._link.request(
            "PUT", f"/api/v1/ponds/{self._pond}?made_on_number={self.number}", body=body, headers=HEADERS
        )
        answer = self._link.getresponse()
        told = answer.read()
        assert answer.status == 200, (answer.status, told[:300])
        self.number += 1
        self.acknowledged[self.number] = name

    def save_until_gone(self):
        """Save until the server is gone."""
        try:
            while True:
                self.save()
        except GONE:
            return

    def close(self):
        """Let go."""
        self._link.close()


def prepared(database):
    """Make a database with a pond; return its id and its job as the API takes it."""
    store = open_store(database)
    made = store.ponds.add(small_oak(), author="office", reason="import")
    job = json.loads(made.job.model_dump_json())
    store.close()
    return made.pond_id, job


def killed_while_saving(server, *, kills, seed, most_s=0.4, at_start_share=0.2):
    """Kill a server while a client saves, start it, look, and go on; return what was counted.

    Args:
        server: not started; its database is made here.
        kills: how many.
        seed: of the moments.
        most_s: a round is killed within so many seconds of its first answer, or of its first request.
        at_start_share: share of the kills that come while the server starts.
    """
    chance = random.Random(seed)
    pond, job = prepared(server.database)
    acknowledged, found = {}, {"kills": 0, "at_start": 0, "saves": 0, "unanswered_kept": 0}
    server.start()
    latest, done = 1, 0
    while done < kills:
        client = Client(server.port_number, pond, latest, job, f"round {done}")
        # most rounds wait for the first answer: a server that has just started takes its time over it
        if chance.random() < 0.75:
            client.save()
        ender = threading.Timer(chance.uniform(0.0, most_s), server.kill)
        ender.start()
        client.save_until_gone()
        ender.join()
        client.close()
        acknowledged |= client.acknowledged
        done += 1
        if done < kills and chance.random() < at_start_share:
            _killed_at_start(server, chance)
            done += 1
            found["at_start"] += 1
        server.start()
        before, latest = latest, _looked_at(server.database, pond, acknowledged)
        found["saves"] += len(client.acknowledged)
        found["unanswered_kept"] += latest - before - len(client.acknowledged)
        acknowledged = {number: name for number, name in acknowledged.items() if number == latest}
    server.kill()
    return {**found, "kills": done}


def _killed_at_start(server, chance):
    """Start the server and take it away before it says that it listens."""
    command = [sys.executable, "-m", "plumeline", "serve", "--database", str(server.database), "--port", "0"]
    environment = {**os.environ, "PLUMELINE_HOME": str(server.folder)}
    child = subprocess.Popen(
        command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=environment, start_new_session=True
    )
    time.sleep(chance.uniform(0.1, 1.5))
    os.killpg(child.pid, signal.SIGKILL)
    child.wait()


def _looked_at(database, pond, acknowledged):
    """Return the latest revision, after a look that all is sound and everything answered is there."""
    with closing(sqlite3.connect(database, timeout=60)) as link:
        assert link.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert link.execute("PRAGMA foreign_key_check").fetchall() == []
        latest = link.execute("SELECT latest_revision FROM pond WHERE id = ?", (pond,)).fetchone()[0]
        numbers = [row[0] for row in link.execute("SELECT number FROM revision ORDER BY number")]
        assert numbers == list(range(1, latest + 1))
        for number, name in acknowledged.items():
            row = link.execute("SELECT job FROM revision WHERE number = ?", (number,)).fetchone()
            assert row is not None, f"revision {number} was answered and is lost"
            assert json.loads(row[0])["name"] == name
    return latest
