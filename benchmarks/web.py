"""What the web app takes: the list of 5,000 ponds against an empty page, first paint on a slow CPU, sizes, requests.

Run by hand: `python benchmarks/web.py [--ponds 5000]`; the paints need a Chromium. One server holds the demo pond so
many times, each copy with its job, what stands against it and a plan that names what is due, so that the list reads
as much as a shop's does. Its times are of whole answers over one connection, taken in turn with those of the
yardstick: the empty bin of the same server, with its frame, guard and database. Pages are asked for once before they
are timed, each paint in a context of its own with nothing cached, CPU slowed fourfold (painting is in it, the
server's work too). Sizes are what one page asked for, each address once, compressed with gzip -9.
"""

from __future__ import annotations

import argparse
import gzip
import http.client
import json
import os
import re
import shutil
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from contextlib import closing
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from pathlib import Path
from urllib.parse import urlsplit

from playwright.sync_api import Browser, Response, sync_playwright

import plumeline
from plumeline.demo import demo_folder
from plumeline.store import open_store, read_folder
from plumeline.web.standing import standing_warnings
from plumeline.web.work import Designs

PONDS, TIMES, SLOWER, PAINTS = 5_000, 40, 4, 3
LIST_RATIO, LIST_MS, PAINT_MS, CAPTURE_BYTES, PLAN_BYTES = 20.0, 200.0, 1000.0, 60_000, 100_000
FLAGS = ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking"]
EMPTY = "/bin"
BARRED = "all ponds, the first hundred"
LISTS = {
    BARRED: "/",
    "all ponds, a search that finds ten": "/?search=Hollow+Oak+0042",
    "all ponds, as JSON": "/api/v1/ponds",
    "from the field": "/captures",
    "the ponds that a phone takes along": "/api/v1/capture/ponds",
}
"""The bar is on the first; the others are told."""
PAGES = (
    "/", "/ponds/hollow-oak", "/ponds/hollow-oak/survey", "/ponds/hollow-oak/reading", "/ponds/hollow-oak/layout",
    "/ponds/hollow-oak/air", "/ponds/hollow-oak/startup", "/ponds/hollow-oak/visits", "/ponds/hollow-oak/papers",
    "/ponds/hollow-oak/plan", "/ponds/hollow-oak/shore", "/ponds/hollow-oak/captures", "/captures", "/capture",
)  # fmt: skip
OURS = ("document", "script", "stylesheet", "manifest")
SQL = """
INSERT INTO pond SELECT id || :n, name || ' ' || :n, 1, created_at, folder_name FROM pond WHERE id = :of;
INSERT INTO revision SELECT pond_id || :n, number, saved_at, author, reason, last_reading_at, job_sha256, findings, job
  FROM revision WHERE pond_id = :of;
INSERT INTO revision_file SELECT pond_id || :n, number, path, sha256 FROM revision_file WHERE pond_id = :of;
INSERT INTO pond_place SELECT pond_id || :n, number, content FROM pond_place WHERE pond_id = :of;
INSERT INTO standing SELECT pond_id || :n, number, program, warnings FROM standing WHERE pond_id = :of;
INSERT INTO run
  (id, pond_id, number, state, attempts, doing, share_fraction, asked_at, started_at, ended_at, program, words)
  SELECT 'run' || :n, :of || :n, 1, 'done', 1, '', 1.0, saved_at, saved_at, saved_at, :program, ''
  FROM revision WHERE pond_id = :of;
INSERT INTO run_file VALUES ('run' || :n, 'due.json', :sha256);
"""


def fill(path: Path, ponds: int) -> None:
    """Make a database with the demo pond so many times."""
    store = open_store(path)
    made = store.ponds.add(read_folder(demo_folder()), author="bench", reason="bench")
    store.ponds.stands(made.pond_id, 1, standing_warnings(made, Designs()), plumeline.__version__)
    store.close()
    due = [
        ["visit", (datetime.now(UTC) + timedelta(days=day)).isoformat(), f"read the water, day {day}"]
        for day in range(-20, 20)
    ]
    data = json.dumps(due).encode()
    digest = sha256(data).hexdigest()
    with closing(sqlite3.connect(path)) as link, link:
        link.execute("INSERT INTO blob VALUES (?, ?, ?)", (digest, len(data), data))
        words = [part for part in SQL.split(";") if part.strip()]
        for number in range(1, ponds):
            given = {
                "n": f" {number:05d}",
                "of": made.pond_id,
                "program": plumeline.__version__,
                "sha256": digest,
            }
            for part in words:
                link.execute(part, {key: given[key] for key in re.findall(r":(\w+)", part)})


def served(database: Path) -> tuple[subprocess.Popen[str], str]:
    """Start a server and return it and its address."""
    command = [sys.executable, "-m", "plumeline", "serve", "--database", str(database), "--port", "0"]
    environment = {**os.environ, "PLUMELINE_HOME": str(database.parent)}
    found = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment)
    assert found.stdout is not None
    address = re.search(r"https?://[^/ ]+", found.stdout.readline())
    assert address is not None
    return found, address[0]


def asked_ms(link: http.client.HTTPConnection, path: str) -> float:
    """Ask for a page and return how long the whole answer took."""
    begun = time.perf_counter()
    link.request("GET", path)
    answer = link.getresponse()
    answer.read()
    assert answer.status == 200, (path, answer.status)
    return 1e3 * (time.perf_counter() - begun)


def lists(url: str) -> dict[str, tuple[float, float]]:
    """Return median and ratio to the empty page of each list, the pages asked for in turn."""
    link = http.client.HTTPConnection(urlsplit(url).netloc, timeout=120)
    paths = {"empty page": EMPTY, **LISTS}
    for name, path in paths.items():
        print(f"{name}, asked for the first time: {asked_ms(link, path):.0f} ms", flush=True)
    took: dict[str, list[float]] = {name: [] for name in paths}
    for _ in range(TIMES):
        for name, path in paths.items():
            took[name].append(asked_ms(link, path))
    link.close()
    medians = {name: statistics.median(times) for name, times in took.items()}
    return {name: (value, value / medians["empty page"]) for name, value in medians.items()}


class Seen:
    """One page opened once: when something was first painted, what it asked for, and what of that was not ours."""

    def __init__(self, browser: Browser, url: str, path: str) -> None:
        context = browser.new_context(viewport={"width": 390, "height": 844})
        page = context.new_page()
        self._answers: dict[str, Response] = {}
        context.on("response", lambda answer: self._answers.setdefault(answer.url, answer))
        asked: list[str] = []
        context.on("request", lambda request: asked.append(request.url))
        page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
        page.goto(url + path, wait_until="load")
        page.wait_for_function("() => performance.getEntriesByName('first-contentful-paint').length")
        self.paint_ms = float(
            page.evaluate("() => performance.getEntriesByName('first-contentful-paint')[0].startTime")
        )
        page.wait_for_timeout(1000)
        self.elsewhere = [one for one in asked if not one.startswith((url + "/", "data:", "blob:"))]
        self.asked = len(asked)
        self.size_bytes = sum(
            len(gzip.compress(answer.body(), 9))
            for answer in list(self._answers.values())
            if answer.request.resource_type in OURS and answer.ok
        )
        context.close()


def paints(url: str) -> tuple[dict[str, tuple[float, int]], int, list[str]]:
    """Return first paint and size of each page, how many requests there were, and which of them left our host."""
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    found, asked, elsewhere = dict[str, tuple[float, int]](), 0, list[str]()
    with sync_playwright() as player:
        browser = player.chromium.launch(executable_path=chromium, args=FLAGS)
        Seen(browser, url, "/bin")  # the browser's own first page
        for path in PAGES:
            seen = [Seen(browser, url, path) for _ in range(PAINTS + 1)][1:]
            found[path] = statistics.median(one.paint_ms for one in seen), seen[-1].size_bytes
            asked += sum(one.asked for one in seen)
            elsewhere += [there for one in seen for there in one.elsewhere]
        browser.close()
    return found, asked, elsewhere


def _line(what: str, found: str, bar: str, held: bool) -> bool:
    print(f"{what}: {found} (bar {bar}){'' if held else '  DOES NOT HOLD'}", flush=True)
    return held


def main() -> int:
    """Print what was measured; return 1 where a bar does not hold."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n", 1)[0])
    parser.add_argument("--ponds", type=int, default=PONDS)
    ponds = parser.parse_args().ponds
    with tempfile.TemporaryDirectory() as place:
        database = Path(place) / "plumeline.sqlite3"
        fill(database, ponds)
        print(f"{ponds} ponds, {database.stat().st_size / 1e6:.0f} MB; load {os.getloadavg()[0]:.1f}")
        server, url = served(database)
        try:
            time.sleep(20.0)  # the server warms up beside its start
            held = [True]
            for name, (value, ratio) in lists(url).items():
                said = f"{value:.1f} ms, {ratio:.1f} times"
                bar = f"{LIST_RATIO:.0f} times, goal {LIST_MS:.0f} ms"
                if name != BARRED:
                    print(f"{name}: {said}")
                else:
                    held.append(_line(name, said, bar, ratio <= LIST_RATIO))
            pages, asked, elsewhere = paints(url)
        finally:
            server.terminate()
            server.wait(120)
    limits = {"/capture": CAPTURE_BYTES, "/ponds/hollow-oak/plan": PLAN_BYTES}
    for path, (paint_ms, size_bytes) in pages.items():
        held.append(
            _line(f"{path} first paint", f"{paint_ms:.0f} ms", f"{PAINT_MS:.0f} ms", paint_ms < PAINT_MS)
        )
        if path in limits:
            bar = limits[path]
            held.append(_line(f"{path} size", f"{size_bytes} B", f"{bar} B", size_bytes <= bar))
    held.append(_line(f"requests off our host, of {asked}", str(len(elsewhere)), "0", not elsewhere))
    print(f"load at the end {os.getloadavg()[0]:.1f}")
    return int(not all(held))


if __name__ == "__main__":
    sys.exit(main())
