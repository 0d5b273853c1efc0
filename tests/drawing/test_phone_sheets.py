"""Soundings, muck and route as drawn for a phone: nothing outside the sheet, nothing too small, the same marks."""

from __future__ import annotations

from datetime import date

import pytest
from tests.web.test_muck_page import soft_files

from plumeline.drawing import muck_scene, route_scene, sounded_scene, svg
from plumeline.drawing.plan_view import PHONE_SHEET
from plumeline.drawing.route import PHONE_ROUTE
from plumeline.drawing.scene import Linked, Text, text_width_mm
from plumeline.job.document import RoutePoint, Trench
from plumeline.stages.sizing import agreed
from plumeline.stages.survey import survey
from plumeline.store import Folder
from plumeline.store.ponds import look_through

SHOWN_PX, LEAST_PX = 358.0, 11.0
"""What a phone 390 px wide has beside its margins; the smallest letters on its plan and cut."""


HEIGHTS = ((0.0, 211.0, ""), (36.0, 208.6, "drive"), (55.0, 209.5, "the dam"), (100.0, 207.6, ""))
"""Station and elevation of the way to the water, and what it crosses: our invention, with a low point."""


@pytest.fixture(scope="module")
def soft():
    """The demo pond probed all over: its basin, its job, and a route through a dam."""
    _, job = look_through(Folder("water", soft_files()), date(2026, 8, 11))
    basin = survey(job, 1)
    route = tuple(
        RoutePoint(station_m=at, elevation_m=high, cover_m=0.45, soil="clay", crossing=what)
        for at, high, what in HEIGHTS
    )
    dug = job.model_copy(update={"route": route, "trench": Trench()})
    return basin, job, agreed(dug, basin).air.route


@pytest.fixture(params=["us", "si"])
def drawn(request, soft):
    """Each drawing as (for the page, for a phone)."""
    units, (*soft, route) = request.param, soft
    return {
        "soundings": [sounded_scene(*soft, units), sounded_scene(*soft, units, PHONE_SHEET)],
        "muck": [muck_scene(*soft, units), muck_scene(*soft, units, PHONE_SHEET)],
        "route": [route_scene(route, units), route_scene(route, units, PHONE_ROUTE)],
    }


def texts(scene):
    found = [shape for shape in scene.shapes if isinstance(shape, Text)]
    return found + [one for shape in scene.shapes if isinstance(shape, Linked) for one in shape.shapes
                    if isinstance(one, Text)]  # fmt: skip


@pytest.mark.parametrize("name", ["soundings", "muck", "route"])
def test_a_drawing_for_a_phone_fits_and_can_be_read(drawn, name):
    """Shown 358 px wide no letters are under 11 px, and no label sticks out of the sheet by more than its halo."""
    scene = drawn[name][1]
    px_mm = SHOWN_PX / scene.width_mm
    assert scene.width_mm < scene.height_mm
    for item in texts(scene):
        assert item.size_mm * px_mm >= LEAST_PX, item.words
        wide = text_width_mm(item.words, item.size_mm, bold=item.bold)
        left = item.x_mm - {"start": 0.0, "middle": wide / 2.0, "end": wide}[item.anchor]
        assert left >= -0.5, item.words
        assert left + wide <= scene.width_mm + 0.5, item.words
        assert 0.0 < item.y_mm <= scene.height_mm, item.words


@pytest.mark.parametrize("name", ["soundings", "muck", "route"])
def test_a_drawing_for_a_phone_shows_what_the_other_shows(drawn, name):
    """The same words but for the long ones of the route, the same sentence, the same tables."""
    page, phone = drawn[name]
    short = {text.words.partition(":")[0] for text in texts(phone)}
    missing = {text.words.partition(":")[0] for text in texts(page)} - short
    assert all(words.replace(".", "").isdigit() or words.startswith("distance") for words in missing), missing
    assert phone.twins == page.twins
    assert svg(phone) != svg(page)
