"""Write tests/store/old/: a small database of every step of the tables, made by the program as it stood at that step.

    python scripts/dump_old_stores.py [STEP ...]

A tree of the last commit before the next step is checked out into a scratch folder, and its own program adds the demo
pond without its weather, saves it twice, makes a run, and writes what else it knew: items from the field, people,
links, the pairing, the bin. Its own backup of that is kept as text, and beside it what must be found in it. For a new
step, name here a commit of it.
"""

from __future__ import annotations

import argparse
import dataclasses
import gzip
import hashlib
import json
import os
import sqlite3
import subprocess
import sys
import tempfile
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[1]
OUT = ROOT / "tests" / "store" / "old"
COMMITS = {
    "0001": "678db4c38a3fb425ae70a5f322471964f5af1aae",
    "0002": "06667782c5fcfafee4b94562dd3c99c9afa364d9",
    "0003": "c464934df42dca78f52c0076c121c583756d9284",
    "0004": "3583bb1bcbea286306a8eb54aadf16625f024fa6",
    "0005": "7a9a6774e6c0d75771ecf810b159e69fe689514e",
    "0006": "f7829e80fa3dfc1d9b4369ca84d8725166e6bc20",
    "0007": "e5263094babe019bad4bb2db4977be0341f1f66e",
    "0008": "4e159117d741aaf69bd09c22cd1c4c26da32c473",
}
NOW = datetime(2026, 8, 11, 12, tzinfo=UTC)
PASSWORD = "a long and quiet pond"


def write(folder: Path) -> None:
    """Make a database with whichever program is imported, its backup as text, and what must be found in it."""
    from plumeline.demo import demo_folder
    from plumeline.store import Folder, open_store, read_folder
    from plumeline.store.backups import write_backup

    store: Any = open_store(folder / "plumeline.sqlite3", clock=lambda: NOW)
    whole = read_folder(demo_folder())
    small = Folder("oak", {name: data for name, data in whole.files.items() if name != "weather.csv"})
    pond = store.ponds.add(small, author="office", reason="import").pond_id
    files = {**small.files, "gate, and geese.txt": b"code: ask\r\n"}
    store.ponds.save_files(pond, files, expected_number=1, author="crew", reason="a note")
    job = store.ponds.revision(pond).job.model_copy(update={"name": "Hollow Oak, the lower"})
    now = store.ponds.save_job(pond, job, expected_number=2, author="office", reason="its name")
    store.ponds.stands(pond, 3, now.notices, "0")
    store.runs.ask(pond, 3, "0")
    store.runs.finish(store.runs.claim().id, {"plan.pdf": b"%PDF-1.7 no more than this"})
    _what_came_later(store, pond, small)
    found = {
        "names": [row.name for row in store.ponds.rows()],
        "files": {
            number: {
                name: hashlib.sha256(data).hexdigest()
                for name, data in store.ponds.folder(pond, number).files.items()
            }
            for number in (1, 2, 3)
        },
        "job": json.loads(store.ponds.revision(pond).job.model_dump_json()),
    }
    store.close()
    made = write_backup(folder / "plumeline.sqlite3", now=NOW)
    with closing(sqlite3.connect(made.path)) as link:
        lines = "\n".join(link.iterdump()) + "\n"
        tables = [row[0] for row in link.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        found["rows"] = {
            name: link.execute(f'SELECT count(*) FROM "{name}"').fetchone()[0] for name in tables
        }
    (folder / "dump.sql").write_text(lines, encoding="utf-8")
    (folder / "found.json").write_text(json.dumps(found, indent=1, sort_keys=True) + "\n", encoding="utf-8")


def _what_came_later(store: Any, pond: str, small: Any) -> None:
    sys.path.append(str(ROOT))
    if hasattr(store, "captures"):
        from tests.capture_items import item, text

        for kind in ("profile", "note"):
            store.captures.receive(text(item(kind, pond_id=pond)))
    if hasattr(store, "people"):
        from plumeline.store.people import Role

        store.people.use_code(store.people.add("Crew 1", Role.CREW), PASSWORD)
        store.people.sign_in("Crew 1", PASSWORD)
        link, _ = store.links.make(pond, "office")
        if hasattr(store, "quotes"):
            from plumeline.store.links import Papers

            run_id = store.runs.of_pond(pond)[0].id
            store.quotes.keep(
                pond, 1, 3, run_id, "office", {"us": b"%PDF-1.7 a quote", "si": b"%PDF-1.7 a quote in metres"}
            )
            store.links.accept(link.id, 3, "A Customer", Papers(1, run_id))
        else:
            store.links.accept(link.id, 3, "A Customer")
    if hasattr(store, "pairings"):
        from plumeline.store.pairings import Pairing

        given = {"scheme": "https", "host_name": "ponds.test", "port_number": 8621, "authority_print": "ab",
                 "machine_name": "office", "addresses": ("10.0.0.2",), "made_at": None}  # fmt: skip
        store.pairings.keep(Pairing(**{one.name: given[one.name] for one in dataclasses.fields(Pairing)}))
    if hasattr(store, "bin"):
        other = store.ponds.add(small, author="office", reason="import").pond_id
        store.bin.put(other, "office")


def old(step: str, commit: str) -> None:
    """Let the program of a commit make its database, and keep that as text."""
    with tempfile.TemporaryDirectory() as place:
        tree, folder = Path(place) / "tree", Path(place) / "made"
        folder.mkdir()
        tree.mkdir()
        packed = subprocess.run(["git", "archive", commit, "src"], cwd=ROOT, check=True, capture_output=True)
        subprocess.run(["tar", "-x", "-C", str(tree)], input=packed.stdout, check=True)
        environment = {**os.environ, "PYTHONPATH": str(tree / "src")}
        command = [sys.executable, str(Path(__file__).resolve()), "--child", str(folder)]
        subprocess.run(command, cwd=folder, env=environment, check=True)
        dump = (folder / "dump.sql").read_bytes()
        (OUT / f"{step}.sql.gz").write_bytes(gzip.compress(dump, 9, mtime=0))
        (OUT / f"{step}.json").write_bytes((folder / "found.json").read_bytes())


def main() -> None:
    """Write the steps that are named, or all."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n", 1)[0])
    parser.add_argument("steps", nargs="*", metavar="STEP", help=", ".join(COMMITS))
    parser.add_argument("--child", type=Path, help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.child:
        write(given.child)
        return
    OUT.mkdir(exist_ok=True)
    for step in given.steps or COMMITS:
        old(step, COMMITS[step])


if __name__ == "__main__":
    main()
