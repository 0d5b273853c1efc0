"""The main job as a person does it on a phone: from an empty database by ten answers to the start-up plan's PDF."""

from __future__ import annotations

import io
import os
import time
from pathlib import Path

import pypdf
import pytest
from tests.browser.conftest import Server

ANSWERS = {
    "Name of the pond": "Test pond",
    "Day of the plan": "2026-08-11",
    "Latitude, longitude": "35.91, -79.72, 680 ft",
    "Time zone": "America/New_York",
    "Area of the water": "1.6 acre",
    "Greatest depth": "14 ft",
    "Secchi depth": "2 ft",
    "At the surface": "84 degF, 7.5 mg/L",
    "Over the bottom": "64 degF, 0.1 mg/L",
    "Smell of rotten eggs": "faint",
    "Trench from the power": "430 ft",
    "Compressor above the water": "12 ft",
    "Power there": "120 V, 20 A",
    "Fish": "bluegill, largemouth bass",
}
PLAN_S = 400
PHONE = {"width": 390, "height": 844}


FEW_PONDS = Path(__file__).parent / "few_ponds"


@pytest.fixture
def server(tmp_path):
    """A server with an empty database; its start-ups ask a quarter of the ponds, or all (PLUMELINE_TEST_PONDS=all)."""
    found = {}
    if os.environ.get("PLUMELINE_TEST_PONDS") != "all":
        found = {
            "PYTHONPATH": os.pathsep.join(
                [str(FEW_PONDS), *os.environ.get("PYTHONPATH", "").split(os.pathsep)]
            )
        }
    server = Server(tmp_path, environment=found).start()
    yield server
    server.stop()


@pytest.fixture
def phone(chromium, server):
    """A page the size of a phone, before a server without a pond."""
    context = chromium.new_context(viewport=PHONE, has_touch=True, is_mobile=True)
    page = context.new_page()
    page.goto(server.url)
    yield page
    context.close()


def narrow(page):
    """Hold a page to the phone's width, once its style sheet is there."""
    page.wait_for_load_state()
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]


def to_the_pond(page, press):
    """Answer the ten questions, look at how they were understood, keep the pond."""
    press(page.get_by_role("link", name="New pond"))
    for label, words in ANSWERS.items():
        page.get_by_label(label).fill(words)
    narrow(page)
    press(page.get_by_role("button", name="Show how it is understood"))
    page.get_by_text("This is how it was understood").wait_for()
    shown = page.locator("main").inner_text()
    for words in ("1.6 acre = 6475 m²", "12 ft = 3.66 m", "120 V; 20 A", "84 degF = 28.9 °C; 7.5 mg/L"):
        assert words in shown
    narrow(page)
    press(page.get_by_role("button", name="Keep this pond"))
    page.get_by_role("heading", name="Test pond").wait_for()
    narrow(page)
    assert page.locator("figure svg:visible").count() == 2


def test_from_nothing_to_the_plan_by_touch(phone):
    """Ten answers, one look, one tap, and a PDF of the plan within a quarter of an hour; each page fits the phone."""
    began_s = time.monotonic()
    to_the_pond(phone, lambda found: found.tap())
    phone.get_by_role("link", name="To the start-up plan").tap()
    phone.get_by_role("button", name="Make the start-up plan").tap()
    phone.get_by_role("progressbar").wait_for()
    narrow(phone)
    phone.reload()
    link = phone.get_by_role("link", name="The plan for crew and customer (PDF)")
    link.wait_for(timeout=PLAN_S * 1000)
    narrow(phone)
    with phone.expect_download() as waiting:
        link.tap()
    pages = pypdf.PdfReader(io.BytesIO(waiting.value.path().read_bytes())).pages
    text = " ".join(pages[0].extract_text().split())
    assert "Test pond" in text
    ponds = "2000" if os.environ.get("PLUMELINE_TEST_PONDS") == "all" else "500"
    assert f"of {ponds} simulated ponds" in text
    assert len(pages) >= 2
    assert time.monotonic() - began_s < 15 * 60


def test_the_same_by_keys_alone(phone):
    """No pointer: each control is reached by Tab and pressed by Enter; the run is asked for, shown, and cancelled."""

    def press(found):
        handle = found.element_handle()
        for _ in range(80):
            if handle.evaluate("(element) => element === document.activeElement"):
                break
            phone.keyboard.press("Tab")
        else:
            pytest.fail(f"Tab never came to {found}")
        outline = handle.evaluate("(element) => getComputedStyle(element).outlineStyle")
        assert outline != "none", "where the keys are can be seen"
        phone.keyboard.press("Enter")
        phone.wait_for_load_state()

    to_the_pond(phone, press)
    press(phone.get_by_role("link", name="To the start-up plan"))
    press(phone.get_by_role("button", name="Make the start-up plan"))
    phone.get_by_role("progressbar").wait_for()
    press(phone.get_by_role("button", name="Cancel"))
    phone.get_by_text("The plan was cancelled.").wait_for(timeout=20_000)
