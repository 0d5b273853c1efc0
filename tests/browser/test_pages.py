"""Every page on a rendered screen."""

from __future__ import annotations

import pytest
from axe_playwright_python.sync_playwright import Axe

PATHS = ("/", "/ponds/new", "/api", "/pair", *(f"/ponds/hollow-oak{rest}" for rest in (
    "", "/survey", "/reading", "/layout", "/air", "/startup", "/files", "/files/edit?path=job.toml", "/history",
    "/visits", "/papers", "/links", "/workings/survey", "/workings/survey/volume",
)))  # fmt: skip
"""Every page of the demo pond's server."""


@pytest.mark.parametrize("path", PATHS)
def test_axe_finds_nothing(page, oak_server, path):
    """axe-core finds no fault of accessibility (WCAG 2.2 A and AA, best practices too)."""
    page.goto(oak_server.url + path)
    for summary in page.locator(".twin summary").all():
        summary.click()  # a closed table is not looked at
    found = Axe().run(page).response["violations"]
    assert not [(item["id"], [node["html"][:120] for node in item["nodes"][:3]]) for item in found]
