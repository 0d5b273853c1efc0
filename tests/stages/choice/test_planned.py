"""The job's own design among the combinations: a quote offers what a plan simulates, be it the cheapest or not."""

from dataclasses import replace
from datetime import date

import pytest
from tests.stages.choice.test_service import a_job

from plumeline.demo import demo_folder
from plumeline.errors import ModelError
from plumeline.files.job_folder import load_job
from plumeline.job.document import Compressor, PipeSegment
from plumeline.paper.quote import render_choice
from plumeline.paper.what_to_buy import document_of
from plumeline.stages.air import air
from plumeline.stages.choice import OwnDesign, choose, design_of
from plumeline.stages.choice.catalogue import catalogue_of
from plumeline.stages.choice.combos import combine
from plumeline.stages.choice.stage import _fields
from plumeline.stages.choice.terms import terms_of
from plumeline.stages.choice.trunks import trunk_options
from plumeline.stages.sizing import sizing
from plumeline.stages.survey import survey
from plumeline.units import plain

DAY = date(2026, 8, 11)


@pytest.fixture(scope="module")
def oak():
    """The demo's job, its basin, its design, and the choice told against that."""
    job = load_job(demo_folder(), today=DAY)
    basin = survey(job, 1)
    sized = sizing(job, basin, seed=1)
    return job, basin, sized, choose(job, basin, design_of(sized))


def test_the_design_is_the_one_that_the_air_stage_solved(oak):
    """Machine, trunk, diffusers, gauge, air, turnovers, hot discharge are the plan's own; others cost less."""
    _job, _basin, sized, found = oak
    own, line = found.planned, sized.air
    assert own.machine == line.compressor_words
    # its relief valve is the one that the page of the air line sets
    assert own.relief_margin_pa == line.relief_pressure_pa - line.balanced.compressor_pressure_pa
    assert own.trunk == "pe-3/4"
    assert own.diffuser_count == len(sized.layout.diffusers) == 3
    assert own.compressor_pressure_pa == line.balanced.compressor_pressure_pa
    assert own.air_per_diffuser_m3_s == min(one.flow_standard_m3_s for one in line.balanced.branches)
    assert own.turnover_per_day == sized.layout.turnover_per_day
    assert own.hot_outlet_degc == line.hot_outlet_temperature_degc
    assert found.winner.total_money < own.total_money
    assert found.winner.machine != own.machine


def test_it_is_counted_as_the_same_combination_is(oak):
    """What `combine` makes of the same machine, trunk and diffusers costs the same; its plumes are rounded by 2 %."""
    job, basin, _sized, found = oak
    terms = terms_of(job)
    entry = next(e for e in catalogue_of(job, terms)[0] if e.origin == "job" and e.count == 1)
    option = next(o for o in trunk_options(job) if o.name == "pe-3/4")
    field = next(f for f in _fields(job, basin)[0] if len(f.branches) == 3)
    same = combine(job, entry, option, field, terms)
    own = found.planned
    assert own.key == same.key
    assert own.cost == same.cost
    assert own.failures == same.failures == ()
    assert same.turnover_per_day == pytest.approx(own.turnover_per_day, rel=0.02)
    assert replace(own, turnover_per_day=same.turnover_per_day) == same


def test_the_others_are_told_against_it(oak):
    """Each by how much it costs less or more than the design, with the sum worked out here."""
    *_, found = oak
    own = found.planned
    for item in found.verdicts:
        if not item.works or item.reason == "chosen":
            continue
        step = item.best.total_money - own.total_money
        assert item.extra_money == pytest.approx(step)
        assert item.reason.startswith(f"{plain(abs(step), 0)} USD {'cheaper' if step < 0 else 'dearer'}")
    assert any("cheaper" in item.reason for item in found.verdicts)
    cheaper = next(one for one in found.notices if one.code == "choice-own-cheaper")
    assert f"{plain(own.total_money - found.winner.total_money, 0)} USD less" in cheaper.text
    assert "No plan was made for any of them" in cheaper.text


@pytest.mark.parametrize("system", ["us", "si"])
def test_the_page_offers_it(oak, system):
    """The first words, the first row of costs and the figures are the design's."""
    job, _basin, sized, found = oak
    page = document_of(found, job, DAY, system)
    assert page["summary"].startswith(
        f"This design, the one that the start-up plan is made for: {sized.air.compressor_words}, pe-3/4, 3 diffusers"
    )
    assert page["costs"]["rows"][0][0].startswith("this design: rocking-piston, 1/2 hp class")
    assert page["costs"]["rows"][0][-1] == plain(found.planned.total_money, 0)
    assert page["figures"][0][1] == ("6.22 psig" if system == "us" else "42.9 kPa gauge")


def test_no_page_is_made_without_a_design(oak):
    """The cheapest alone is advice to the contractor, nothing to quote."""
    job, basin, *_ = oak
    with pytest.raises(ModelError, match="no design to quote"):
        render_choice(choose(job, basin), job, DAY)


def test_a_design_over_its_limits_says_so_and_still_has_its_cost():
    """A machine that is driven past its pressure for all day: counted, and told what it is over."""
    job = a_job()
    piece = PipeSegment(pipe="pe-1", length_m=130.0, cover_m=0.5, start_elevation_m=3.0, end_elevation_m=0.0)
    mixed = PipeSegment(pipe="pe-1/2", length_m=20.0, cover_m=0.5)
    line = job.air.model_copy(
        update={"compressor": Compressor(name="diaphragm 80 W class"), "trunk": (piece, mixed)}
    )
    job = job.model_copy(update={"air": line})
    design = OwnDesign(air(job))
    found = choose(job, design=design)
    own = found.planned
    assert own.trunk == "pe-1 and pe-1/2"
    assert own.failures
    assert own.cost.total_money > 0.0
    told = [one.text for one in found.notices if one.code == "choice-own-limit"]
    assert len(told) == len(own.failures)
    assert all(own.words in text for text in told)
