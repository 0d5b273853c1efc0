"""Eight clients write 500 times each while four read, through the real server, in both journals.

Beside it stands what the disk itself takes: the same items written bare, one a commit, by one connection to a file of
its own in the same folder and minute. On a busy machine both grow, and their ratio tells what is ours.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import time
import uuid
from contextlib import closing
from pathlib import Path
from typing import Any

from scripts.proof.pieces import Pieces, seconds_left
from scripts.soak.row import Row, none_of
from tests.browser.conftest import Server
from tests.capture_items import item, text
from tests.many_clients import at_once, prepared, share

TITLE = "Many clients at once"
CLIENTS, READERS, WRITES, SAVES = 8, 4, 500, 25
BARE_WRITES = 200
QUICK_WRITES, QUICK_SAVES = 30, 3
P99_MS = 250.0
PATCH = """
import plumeline.store.engine
plumeline.store.engine.journal_for = lambda numbers: "wal"
"""


def study(work: Path, *, quick: bool) -> dict[str, Any]:
    """Hand over items from the field, then save whole jobs; the write-ahead journal is forced for its turn."""
    pieces, undone = Pieces(work / "times.jsonl"), []
    for journal in ("truncate", "wal"):
        for kind, count in (
            ("items", QUICK_WRITES if quick else WRITES),
            ("saves", QUICK_SAVES if quick else SAVES),
        ):
            key = f"{journal} {kind}"
            if key in pieces:
                continue
            if seconds_left() < 60.0:
                undone.append(key)
                continue
            pieces.add(
                key, {"journal": journal, "kind": kind, **_measured(work / "server", journal, kind, count)}
            )
    return {"found": [dict(piece) for piece in pieces], "undone": ", ".join(undone)}


def _measured(folder: Path, journal: str, kind: str, count: int) -> dict[str, Any]:
    shutil.rmtree(folder, ignore_errors=True)
    (folder / "patch").mkdir(parents=True)
    if journal == "wal":
        # read at the start of the server and of its worker alike
        (folder / "patch" / "sitecustomize.py").write_text(PATCH, encoding="utf-8")
    path = os.pathsep.join([str(folder / "patch"), os.environ.get("PYTHONPATH", "")])
    server = Server(folder, environment={"PYTHONPATH": path})
    ponds = prepared(server.database, CLIENTS)
    server.start()
    every = 1 if kind == "saves" else 0
    try:
        # what is slow the first time is not what is measured
        at_once(server, ponds, writes=1, readers=1, save_every=every)
        times = at_once(server, ponds, writes=count, readers=READERS, save_every=every, number=1 + every)
        mode = _mode(server)
        bare_s = _bare_s(folder / "bare.sqlite3", journal)
    finally:
        server.stop()
    assert mode == journal, f"the server ran with {mode}"
    seconds = times.saves_s if kind == "saves" else times.items_s
    locked = [answer for answer in times.refused if answer[0] == 503]
    return {
        "writes": len(seconds), "reads": len(times.reads_s), "refused": len(times.refused), "locked": len(locked),
        "median_ms": 1e3 * share(seconds, 0.5), "p99_ms": 1e3 * share(seconds, 0.99), "worst_ms": 1e3 * max(seconds),
        "read_p99_ms": 1e3 * share(times.reads_s, 0.99),
        "bare_median_ms": 1e3 * share(bare_s, 0.5), "bare_p99_ms": 1e3 * share(bare_s, 0.99),
    }  # fmt: skip


def _bare_s(path: Path, journal: str) -> list[float]:
    """Return how long items take that are written one a commit with nothing of ours around [s]."""
    found = []
    with closing(sqlite3.connect(path, isolation_level=None)) as link:
        link.execute(f"PRAGMA journal_mode={journal}")
        link.execute("PRAGMA synchronous=FULL")
        link.execute("CREATE TABLE bare (id TEXT PRIMARY KEY, content BLOB)")
        for count in range(BARE_WRITES):
            made = item("note", count, id=str(uuid.uuid4()))
            begun = time.monotonic()
            link.execute("BEGIN IMMEDIATE")
            link.execute("INSERT INTO bare VALUES (?, ?)", (made["id"], text(made)))
            link.execute("COMMIT")
            found.append(time.monotonic() - begun)
    return found


def _mode(server: Server) -> str:
    with closing(sqlite3.connect(server.database)) as link:
        found = str(link.execute("PRAGMA journal_mode").fetchone()[0])
    # a rollback journal is not kept in the file: of the kinds of it, any but the write-ahead one
    return "wal" if found == "wal" else "truncate"


def rows(results: dict[str, Any]) -> list[Row]:
    """Return errors and times of each journal and kind of write."""
    found = []
    for one in results["found"]:
        what = "items from the field" if one["kind"] == "items" else "saves of a whole job"
        words = f"{CLIENTS} clients, {one['writes']} {what}, {READERS} readers with {one['reads']} pages, "
        words += f"`{one['journal']}` journal"
        found.append(none_of(words, one["refused"], f"answers other than done ({one['locked']} locked)"))
        text = f"p99 {one['p99_ms']:.0f} ms (median {one['median_ms']:.0f}, worst {one['worst_ms']:.0f})"
        if one["kind"] == "items":
            found.append(Row("the same", text, f"{P99_MS:.0f} ms", one["p99_ms"] <= P99_MS))
            bare = f"{one['bare_median_ms']:.1f} ms (99 of 100 within {one['bare_p99_ms']:.1f}); the server's p99 is "
            bare += f"{one['p99_ms'] / one['bare_median_ms']:.0f} times the median, for {CLIENTS} in turn"
            found.append(Row("such an item written bare, one a commit, by nobody but one connection", bare))
        else:
            found.append(Row("the same, each save read back before its answer", text))
    return found
