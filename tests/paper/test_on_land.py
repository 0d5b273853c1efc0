"""The route and the pipe in the ground on paper: no trench is dated without its ticket."""

import dataclasses
from datetime import date
from io import BytesIO

import pytest
from pypdf import PdfReader

from plumeline.drawing import route_scene, svg
from plumeline.job.document import HoldTest, OldPipe, OpenEndTest, PipeSegment, RoutePoint, Trench
from plumeline.paper.on_land import REFUSED, UNDATED, old_pipe_part, route_part
from plumeline.paper.output import SOMETIMES, plan_files
from plumeline.stages.air import BranchSpec, air

DAY = date(2026, 8, 11)
TICKET = {"locate_ticket": "T-4711", "ticket_expires": date(2026, 8, 30), "dig_date": date(2026, 8, 20)}


def on_land(plan, crossing="", **trench):
    """Return the plan with a route, an old pipe and a trench in its air line."""
    heights = ((0.0, 211.0, ""), (36.0, 208.6, "drive"), (55.0, 209.5, crossing), (100.0, 207.6, ""))
    route = tuple(
        RoutePoint(station_m=at, elevation_m=high, cover_m=0.45, soil="clay", crossing=what)
        for at, high, what in heights
    )
    old = OldPipe(
        length_m=90.0,
        open_end_test=OpenEndTest(air_m3_s=1.65e-3, inlet_pressure_pa=2300.0, temperature_degc=20.0),
        hold_test=HoldTest(start_pressure_pa=6e4, end_pressure_pa=5.9e4, minutes=30, temperature_degc=18.0),
    )
    trunk = (
        PipeSegment(pipe="steel-3/4", length_m=10.0),
        PipeSegment(pipe="old-pipe", length_m=90.0, cover_m=0.45),
    )
    line = plan.job.air.model_copy(update={"trunk": trunk, "old_pipe": old})
    job = plan.job.model_copy(update={"air": line, "route": route, "trench": Trench(**trench)})
    branches = tuple(
        BranchSpec(item.name, item.depth_m, item.branch_length_m, item.branch_bore_m)
        for item in plan.layout.diffusers
    )
    return dataclasses.replace(plan, job=job, air=air(job, branches))


def text_of(pdf):
    """Return the words of a PDF, one blank between them."""
    return " ".join(" ".join(page.extract_text() for page in PdfReader(BytesIO(pdf)).pages).split())


def test_with_a_ticket_the_trench_is_dated_on_paper(small_plan):
    """Ticket and expiry stand in the line; the profile is drawn; verdict and kinds are printed."""
    plan = on_land(small_plan, **TICKET)
    files = plan_files(plan, "us", DAY)
    assert set(SOMETIMES) <= set(files)
    words = text_of(files["plan.pdf"])
    for part in (
        "Trench on 2026-08-20",
        "T-4711",
        "2026-08-30",
        "The line on land",
        "The pipe in the ground",
    ):
        assert part in words


@pytest.mark.parametrize("lacks", ["locate_ticket", "ticket_expires"])
def test_without_a_ticket_or_its_expiry_no_date_stands_on_paper(small_plan, lacks):
    """The day of the dig does not appear anywhere in what is printed of the route."""
    plan = on_land(small_plan, **{name: value for name, value in TICKET.items() if name != lacks})
    part = route_part(plan.air, "us")
    assert part["dated"] == UNDATED
    assert UNDATED.endswith("Do not dig.")
    words = text_of(plan_files(plan, "us", DAY)["plan.pdf"])
    assert "Trench on" not in words
    assert "2026-08-20" not in words


def test_a_dam_is_refused_on_paper(small_plan):
    """With a ticket in order and a dam on the way there is neither date nor soil."""
    part = route_part(on_land(small_plan, "the dam", **TICKET).air, "us")
    assert part["dated"] == REFUSED
    assert not any("Trench:" in words for words in part["words"])


def test_the_drawing_names_what_it_shows(small_plan):
    """Low point, crossing, compressor, pipe and ground are named in words; the dam is."""
    picture = svg(route_scene(on_land(small_plan, "the dam", **TICKET).air.route, "si"))
    for words in ("low point", "drive", "compressor", "air line", "ground", "DAM: no trench"):
        assert words in picture


def test_a_job_without_either_prints_neither(small_plan):
    """The demo of the tests has no route and no old pipe."""
    assert route_part(small_plan.air, "us") is None
    assert old_pipe_part(small_plan.air, "us") is None
    assert "route.svg" not in plan_files(small_plan, "us", DAY)
