"""The commissioning sheet on paper: its cautions, its numbers and its boxes, on one page or two."""

from datetime import UTC, date, datetime
from io import BytesIO

import pytest
from pypdf import PdfReader

from plumeline.job.document import AirSystem, Compressor, CurvePoint, Diffuser, Job, PipeSegment, Pond, Site
from plumeline.pairs import said
from plumeline.paper.figures import pressure
from plumeline.paper.sheet import render_sheet
from plumeline.stages.air import air
from plumeline.stages.air.commissioning import BEFORE_FIRST_AIR, commissioning
from plumeline.stages.air.faults import GaugeReading

DAY = date(2026, 8, 12)
NOON = datetime(2026, 8, 12, 12, tzinfo=UTC)


@pytest.fixture(scope="module")
def job():
    """Three typed diffusers."""
    diffusers = tuple(
        Diffuser(name=name, depth_m=depth_m, branch_length_m=40.0)
        for name, depth_m in (("A", 3.6), ("B", 3.0), ("C", 2.4))
    )
    curve = tuple(
        CurvePoint(pressure_pa=p, intake_flow_m3_s=q)
        for p, q in ((0.0, 2.4e-3), (7e4, 1.9e-3), (1.4e5, 1.2e-3))
    )
    line = AirSystem(
        compressor=Compressor(curve=curve, relief_pressure_pa=1.4e5),
        trunk=(PipeSegment(pipe="pe-3/4", length_m=90.0),),
        diffusers=diffusers,
    )
    site = Site(latitude_deg=36.0, longitude_deg=-80.0, elevation_m=0.0)
    return Job(id="sheet", name="Sheet", date=DAY, site=site, pond=Pond(), air=line)


def words_of(pdf):
    """Return the words of a PDF, and how many pages it has."""
    reader = PdfReader(BytesIO(pdf))
    return " ".join(" ".join(page.extract_text() for page in reader.pages).split()), len(reader.pages)


@pytest.mark.parametrize("system", ["us", "si"])
def test_the_sheet_holds_every_number_and_every_caution(job, system):
    """Every expected gauge, every standing, what must be true before the first air; the same bytes twice."""
    found = commissioning(job, air(job), water_level_m=0.05)
    pdf = render_sheet(found, job, DAY, system)
    words, pages = words_of(pdf)
    assert pages <= 2
    assert pdf == render_sheet(found, job, DAY, system)
    for item in found.expected:
        assert pressure(item.expected_pa, system) in words
        assert item.state.lower() in words.lower()
    for line in BEFORE_FIRST_AIR:
        assert said(line, system) in words
    assert "licensed electrician" in words
    assert {"us": "never 100 psi", "si": "never 690 kPa"}[system] in words
    assert ("psig" in words) == (system == "us")
    assert "\N{WORD JOINER}" not in words


def test_what_was_read_stands_in_its_box(job):
    """A gauge 3 psi over what it must show is marked, and named below."""
    line = air(job)
    read = GaugeReading(NOON, "compressor", line.balanced.compressor_pressure_pa + 2.07e4, 0.0, row=2)
    found = commissioning(job, line, readings=(read,))
    words, _pages = words_of(render_sheet(found, job, DAY))
    assert "+3.0 !" in words
    assert "1 of 1 gauges disagree, marked !: compressor (valves set)" in words
