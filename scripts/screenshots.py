"""Pictures of the pages for the README, of the invented demo pond; `--all DIR` takes every page, to be looked at.

    python scripts/screenshots.py                 # docs/images/*.png, each under 150 kB
    python scripts/screenshots.py --all /tmp/look # every page at 390 and 1280 px, light and dark, and as printed

Needs the packages of the tests and a Chromium; speaks to loopback alone.
"""

from __future__ import annotations

import argparse
import io
import sys
import tempfile
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, sync_playwright

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))
from tests.browser.conftest import FLAGS, Server, chromium_path  # noqa: E402

from plumeline.demo import demo_folder  # noqa: E402
from plumeline.store import open_store, read_folder  # noqa: E402

OAK = "/ponds/hollow-oak"
README = (
    ("pond", OAK, 1280, 900),
    ("move-on-the-plan", f"{OAK}/plan", 1280, 900),
    ("phone", f"{OAK}/layout", 390, 800),
)
ALL = ("/", "/ponds/new", "/bin", "/api", "/pair", "/captures", "/nowhere", *(f"{OAK}{rest}" for rest in (
    "", "/survey", "/reading", "/layout", "/plan", "/air", "/startup", "/files", "/files/edit?path=job.toml",
    "/history", "/visits", "/papers", "/links", "/captures",
)))  # fmt: skip
MOST_BYTES = 150_000
COLOURS = 64
START_MS = 180_000
"""The first page that needs the kernels may wait until they are compiled."""


def main() -> int:
    """Take the pictures; 1 where one is too large for the README."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--all", type=Path, metavar="DIR", help="take every page into this folder")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="plumeline-pictures-") as place:
        store = open_store(Path(place) / "plumeline.sqlite3")
        store.ponds.add(read_folder(demo_folder()), author="office", reason="demo")
        store.close()
        server = Server(Path(place)).start()
        try:
            with sync_playwright() as playwright:
                browser = playwright.chromium.launch(executable_path=chromium_path(), args=list(FLAGS))
                if asked.all:
                    take_all(browser, server.url, asked.all)
                    return 0
                return take_readme(browser, server.url)
        finally:
            server.stop()


def take_readme(browser: Browser, url: str) -> int:
    """Take the pictures of the README."""
    folder = ROOT / "docs" / "images"
    folder.mkdir(exist_ok=True)
    too_large = 0
    for name, path, width_px, height_px in README:
        context = browser.new_context(viewport={"width": width_px, "height": height_px}, color_scheme="light")
        page = context.new_page()
        page.set_default_timeout(START_MS)
        page.goto(url + path)
        page.wait_for_load_state("networkidle")
        file = folder / f"{name}.png"
        picture = Image.open(io.BytesIO(page.screenshot()))
        picture.convert("RGB").quantize(COLOURS).save(file, optimize=True)
        size_bytes = file.stat().st_size
        too_large += size_bytes > MOST_BYTES
        print(f"{file.relative_to(ROOT)}: {size_bytes / 1000:.0f} kB")
        context.close()
    return 1 if too_large else 0


def take_all(browser: Browser, url: str, folder: Path) -> None:
    """Take every page at two widths, in both modes, and as it is printed."""
    folder.mkdir(parents=True, exist_ok=True)
    for width_px in (390, 1280):
        for mode in ("light", "dark"):
            context = browser.new_context(viewport={"width": width_px, "height": 900}, color_scheme=mode)
            page = context.new_page()
            page.set_default_timeout(START_MS)
            for path in ALL:
                name = path.strip("/").replace("/", "_").replace("?", "_") or "all"
                page.goto(url + path)
                page.screenshot(path=folder / f"{name}-{width_px}-{mode}.png", full_page=True)
                if (width_px, mode) == (1280, "light"):
                    page.pdf(path=folder / f"{name}.pdf", format="Letter")
            context.close()


if __name__ == "__main__":
    raise SystemExit(main())
