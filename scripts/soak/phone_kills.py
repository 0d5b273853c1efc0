"""A real browser killed again and again while somebody types: what was typed more than a second before is there."""

from __future__ import annotations

import os
import random
import shutil
import signal
import time
from pathlib import Path
from typing import Any

from playwright.sync_api import Playwright, sync_playwright
from scripts.proof.pieces import Pieces, seconds_left
from scripts.soak.row import Row, none_of
from tests.browser.conftest import FLAGS, Server, chromium_path
from tests.browser.test_capture_phone import PHONE, browsers

TITLE = "The phone's browser is killed"
COUNT, QUICK, SEED = 500, 3, 1
ALLOWED_S, LONGEST_S = 1.0, 60.0


def study(work: Path, *, quick: bool) -> dict[str, Any]:
    """Type and kill, each time with a browser folder of its own and its own seed."""
    pieces, undone = Pieces(work / "kills.jsonl"), 0
    place = work / "server"
    shutil.rmtree(place, ignore_errors=True)
    place.mkdir(parents=True)
    with sync_playwright() as driver:
        server = Server(place).start()
        try:
            for number in range(QUICK if quick else COUNT):
                if str(number) in pieces:
                    continue
                if seconds_left() < LONGEST_S and not quick:
                    undone += 1
                    continue
                folder = place / f"phone-{number}"
                older, lost = one_kill(driver, server.url, folder, random.Random(f"{SEED} {number}"))
                pieces.add(str(number), {"older": older, "lost": lost})
                shutil.rmtree(folder, ignore_errors=True)
        finally:
            server.stop()
    return {
        "kills": sum(1 for _ in pieces),
        "older": sum(piece["older"] for piece in pieces),
        "lost": sum(piece["lost"] for piece in pieces),
        "undone": f"{undone} kills" if undone else "",
    }


def rows(results: dict[str, Any]) -> list[Row]:
    """Return kills and letters."""
    words = f"{results['kills']} SIGKILLs of Chromium while somebody types a note: {results['older']} letters typed "
    words += f"more than {ALLOWED_S:.0f} s before"
    return [none_of(words, results["lost"], "of them lost")]


def one_kill(driver: Playwright, url: str, folder: Path, chance: random.Random) -> tuple[int, int]:
    """Type, kill, open again; return how many letters older than a second were typed, and how many of them are lost."""

    def opened():
        context = driver.chromium.launch_persistent_context(
            folder, executable_path=chromium_path(), args=list(FLAGS), viewport=PHONE
        )
        page = context.pages[0]
        page.goto(url + "/capture")
        page.wait_for_selector("html[data-ready=capture]")
        page.get_by_role("button", name="Note", exact=True).click()
        return context, page.get_by_label("Words")

    context, field = opened()
    field.fill("")
    typed_at = []
    until = time.monotonic() + chance.uniform(0.3, 4.0)
    while time.monotonic() < until:
        field.press_sequentially(chance.choice("abcdefgh"))
        typed_at.append(time.monotonic())
        time.sleep(chance.choice((0.01, 0.05, 0.2, 0.6)))
    killed_at = time.monotonic()
    for pid in browsers(folder):
        os.kill(pid, signal.SIGKILL)
    time.sleep(0.5)
    older = sum(at < killed_at - ALLOWED_S for at in typed_at)
    context, field = opened()
    there = len(field.input_value())
    context.close()
    return older, max(0, older - there)
