"""What a drag takes: a frame with 500 corners on a CPU slowed fourfold, and the time until the numbers stand there.

Run by hand: `python benchmarks/plan_drag.py`, where a Chromium is there. A server of its own holds the demo pond
and one whose shore has 500 corners. A frame is what one move of the pointer took of script, style and layout by the
browser's own count (`Performance.getMetrics`; painting is not in it). The bar is 16 ms a frame and 300 ms until a
moved diffuser's numbers stand in the table. On the shore's page those of the survey stand there first, and layout
and air follow: both are told. "Let go" is a drag by the mouse: from letting go until the survey's numbers of where the
corner was let go stand there, whatever else was under way.
"""

from __future__ import annotations

import json
import math
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from itertools import pairwise
from pathlib import Path
from typing import Any

from playwright.sync_api import Page, sync_playwright

from plumeline.demo import demo_folder
from plumeline.store import Folder, open_store, read_folder

CORNERS = 500
SLOWER = 4
MOVES = 25
FLAGS = ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking"]
WORK = ("ScriptDuration", "LayoutDuration", "RecalcStyleDuration")


def many_corners(folder: Folder) -> Folder:
    """Return the demo pond with its shore cut into 500 corners."""
    raw = json.loads(folder.files["outline.geojson"])
    shape = raw["features"][0]["geometry"] if "features" in raw else raw.get("geometry", raw)
    ring = shape["coordinates"][0]
    pairs = list(pairwise(ring))
    pieces = math.ceil(CORNERS / len(pairs))
    spread = [[a[k] + (b[k] - a[k]) * n / pieces for k in (0, 1)] for a, b in pairs for n in range(pieces)]
    spread = [spread[n * len(spread) // CORNERS] for n in range(CORNERS)]
    shape["coordinates"] = [[*spread, spread[0]]]
    job = folder.files["job.toml"].replace(b'name = "Hollow Oak"', b'name = "Many Corners"')
    return Folder("many", {**folder.files, "outline.geojson": json.dumps(raw).encode(), "job.toml": job})


def served(folder: Path) -> tuple[subprocess.Popen[str], str]:
    """Start a server with both ponds and return it and its address."""
    database = folder / "plumeline.sqlite3"
    store = open_store(database)
    oak = read_folder(demo_folder())
    for one in (oak, many_corners(oak)):
        store.ponds.add(one, author="bench", reason="bench")
    store.close()
    command = [sys.executable, "-m", "plumeline", "serve", "--database", str(database), "--port", "0"]
    found = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    assert found.stdout is not None
    words = found.stdout.readline()
    return found, next(word for word in words.split() if word.startswith("http")).rstrip("/.,")


def middle(page: Page, name: str) -> tuple[float, float]:
    """Return where a handle stands on the screen."""
    handle = page.locator(f'.handle[data-name="{name}"]')
    handle.scroll_into_view_if_needed()
    box = handle.bounding_box()
    assert box is not None
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def frames_ms(page: Page, name: str) -> dict[str, Any]:
    """Drag a thing and return what each move took of the page's thread, and the gaps between frames."""
    link = page.context.new_cdp_session(page)
    link.send("Performance.enable")
    link.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    x, y = middle(page, name)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 6, y + 6)

    def spent() -> dict[str, float]:
        rows = link.send("Performance.getMetrics")["metrics"]
        return {row["name"]: row["value"] for row in rows if row["name"] in WORK}

    took = []
    for n in range(MOVES):
        before = spent()
        page.mouse.move(x + 6 + 12 * math.sin(n / 5), y + 6 + 8 * math.cos(n / 5))
        page.evaluate("() => new Promise((done) => requestAnimationFrame(() => setTimeout(done)))")
        after = spent()
        took.append(1000.0 * sum(after[key] - before[key] for key in WORK))
    page.mouse.up()
    link.send("Emulation.setCPUThrottlingRate", {"rate": 1})
    took.sort()
    return {"median_ms": statistics.median(took), "p95_ms": took[int(0.95 * len(took))], "most_ms": took[-1]}


def taken_ms(page: Page) -> list[float]:
    """Wait for the numbers of what was moved last; return when they stood there, the server's share, and when all."""
    last = "allMs" if page.locator("#shore-form").count() else "tookMs"
    page.wait_for_function(f"() => document.getElementById('plan').dataset.{last}")
    found = page.locator("#plan").evaluate(
        "(box, last) => [box.dataset.tookMs, box.dataset.serverMs, box.dataset[last]].map(Number)", last
    )
    return [float(value) for value in found]


def forgotten(page: Page) -> None:
    """Take away what the page says of the last answer."""
    page.evaluate(
        "() => { for (const key of ['tookMs', 'allMs']) delete document.getElementById('plan').dataset[key]; }"
    )


def summed_up(rows: list[list[float]]) -> dict[str, Any]:
    """Return median and most of each column."""
    columns = [sorted(row[k] for row in rows) for k in range(3)]
    return {
        f"{name}_{what}_ms": value
        for name, column in zip(("shown", "server", "all"), columns, strict=True)
        for what, value in (("median", statistics.median(column)), ("most", column[-1]))
    }


def shown_ms(page: Page, name: str) -> dict[str, Any]:
    """Nudge a thing and return what the page says of the time until the numbers stood there, and of the server's."""
    rows = []
    handle = page.locator(f'.handle[data-name="{name}"]')
    for n in range(12):
        forgotten(page)
        handle.focus()
        page.keyboard.press("ArrowLeft" if n % 4 < 2 else "ArrowUp")
        rows.append(taken_ms(page))
    return summed_up(rows)


def let_go_ms(page: Page, name: str) -> dict[str, Any]:
    """Drag a thing by the mouse and return the same from where it was let go."""
    rows = []
    for n in range(8):
        x, y = middle(page, name)
        page.mouse.move(x, y)
        page.mouse.down()
        for k in range(1, 9):
            page.mouse.move(x + (1.5 if n % 2 else -1.5) * k, y + 0.5 * k)
            page.wait_for_timeout(16)
        forgotten(page)
        page.mouse.up()
        rows.append(taken_ms(page))
    return summed_up(rows)


def main() -> int:
    """Print what was measured."""
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    with tempfile.TemporaryDirectory() as place, sync_playwright() as player:
        server, url = served(Path(place))
        browser = player.chromium.launch(executable_path=chromium, args=FLAGS)
        try:
            time.sleep(8.0)  # the server warms up beside its start
            page = browser.new_page(viewport={"width": 1280, "height": 900})
            found: dict[str, Any] = {}
            for pond, what, name in (
                ("many-corners", "shore", "c40"), ("hollow-oak", "shore", "c5"), ("hollow-oak", "plan", "B"),
            ):  # fmt: skip
                page.goto(f"{url}/ponds/{pond}/{what}")
                page.wait_for_selector(f"html[data-ready={what}]")
                count = page.locator(".handle").count()
                found[f"{pond}, {what}, {count} things"] = frames_ms(page, name)
                page.wait_for_timeout(1500)
                found[f"{pond}, {what}: numbers"] = shown_ms(page, name)
                # 500 corners lie so close that a drag of a few pixels makes the shore cross itself
                if (pond, what) == ("hollow-oak", "shore"):
                    found[f"{pond}, {what}: let go"] = let_go_ms(page, name)
        finally:
            browser.close()
            server.terminate()
            server.wait(20)
    for key, row in found.items():
        print(key, {name: round(value, 1) for name, value in row.items()})
    return 0


if __name__ == "__main__":
    sys.exit(main())
