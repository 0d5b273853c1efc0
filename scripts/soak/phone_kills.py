"""A real browser killed again and again while somebody types: what was typed more than a second before is there.

Run from the top of the tree: python -m scripts.soak.phone_kills [--kills N] [--state FILE]
With a file it goes on where it was.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import signal
import tempfile
import time
from pathlib import Path

from playwright.sync_api import Playwright, sync_playwright
from tests.browser.conftest import FLAGS, Server, chromium_path
from tests.browser.test_capture_phone import PHONE, browsers

ALLOWED_S = 1.0


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


def main() -> None:
    """Kill it as often as asked, print what was counted as JSON."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=500)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--state", type=Path)
    args = parser.parse_args()
    counted = {"kills": 0, "letters_over_a_second_old": 0, "lost": 0}
    if args.state and args.state.exists():
        counted = json.loads(args.state.read_text(encoding="utf-8"))
    with tempfile.TemporaryDirectory(prefix="plumeline-soak-") as place, sync_playwright() as driver:
        server = Server(Path(place)).start()
        try:
            while counted["kills"] < args.kills:
                number = counted["kills"]
                chance = random.Random(f"{args.seed} {number}")
                older, lost = one_kill(driver, server.url, Path(place) / f"phone-{number}", chance)
                counted["kills"] += 1
                counted["letters_over_a_second_old"] += older
                counted["lost"] += lost
                if args.state:
                    args.state.write_text(json.dumps(counted), encoding="utf-8")
        finally:
            server.stop()
    print(json.dumps(counted))
    if counted["lost"]:
        raise SystemExit(1)


if __name__ == "__main__":
    main()
