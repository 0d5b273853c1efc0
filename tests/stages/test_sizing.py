"""Places and air line agree as they say: one more round by hand gives the same places and the air that is told."""

from __future__ import annotations

from datetime import date

import pytest
from tests.cli.conftest import TEN_ANSWERS

from plumeline.demo import demo_folder
from plumeline.files.job_folder import check_job
from plumeline.stages.air import air
from plumeline.stages.front import front
from plumeline.stages.layout import layout
from plumeline.stages.plume import water_flow_by_depth
from plumeline.stages.sizing import CLOSE_FRACTION, NUMBER_GIVEN, agreed, branches_of
from plumeline.stages.survey import survey


@pytest.mark.parametrize("more", ["", '\n[[air.diffusers]]\nname = "A"\n\n[[air.diffusers]]\nname = "B"\n'])
def test_the_fixed_point_that_is_told_is_one(tmp_path, more):
    """Number left open, and two without places: redone from the stages alone."""
    (tmp_path / "job.toml").write_text(TEN_ANSWERS + more, encoding="utf-8")
    job = check_job(tmp_path).job
    basin = survey(job)
    found = agreed(job, basin)
    told = found.layout.agreement
    assert told.round_count == found.round_count
    assert told.change_fraction == pytest.approx(
        abs(told.air_after_m3_s / told.air_before_m3_s - 1), abs=1e-12
    )
    assert told.change_fraction < CLOSE_FRACTION
    again = layout(job, basin, flow_per_diffuser_water_m3_s=water_flow_by_depth(job, told.air_before_m3_s))
    assert [(item.x_m, item.y_m) for item in again.diffusers] == [
        (item.x_m, item.y_m) for item in found.layout.diffusers
    ]
    flows = [item.flow_standard_m3_s for item in air(job, branches_of(again, job)).balanced.branches]
    running = [flow for flow in flows if flow > 0.0]
    assert told.air_after_m3_s == pytest.approx(sum(running) / len(running), rel=1e-9)
    after = layout(job, basin, flow_per_diffuser_water_m3_s=water_flow_by_depth(job, told.air_after_m3_s))
    assert len(after.diffusers) == len(found.layout.diffusers), "a fixed point: the next round places as many"


def test_an_open_number_is_the_least_that_the_simulated_water_mixes_by(tmp_path):
    """The same number as the table of the alternatives names, and what the water said of it is that table's."""
    (tmp_path / "job.toml").write_text(TEN_ANSWERS, encoding="utf-8")
    job = check_job(tmp_path).job
    basin = survey(job)
    found = agreed(job, basin, seed=3)
    other = front(job, basin, seed=3)
    row = next(item for item in other.works if item.enough)
    last = found.layout.agreement.mixing[-1]
    assert last.diffuser_count == len(found.layout.diffusers) == other.least_count
    assert (last.mixed_members, last.members) == (row.mixed_members, row.members)


def test_water_that_no_number_mixes_keeps_the_least_and_is_said(tmp_path):
    """A compressor of a hundredth of the flow: three numbers tried, none mixes a pond, the first is kept."""
    job = check_job(demo_folder(), today=date(2026, 8, 11)).job
    weak = tuple(
        point.model_copy(update={"intake_flow_m3_s": point.intake_flow_m3_s / 100})
        for point in job.air.compressor.curve
    )
    machine = job.air.compressor.model_copy(update={"curve": weak})
    air_wish = job.air.model_copy(update={"compressor": machine, "diffusers": ()})
    wishes = job.wishes.model_copy(update={"turnover_per_day": 0.1})
    job = job.model_copy(update={"air": air_wish, "wishes": wishes})
    found = agreed(job, survey(job))
    checks = found.layout.agreement.mixing
    assert [item.diffuser_count for item in checks] == [1, 2, 3]
    assert all(item.mixed_members == 0 for item in checks)
    assert len(found.layout.diffusers) == 1
    assert "column-not-mixed" in {notice.code for notice in found.notices}


def test_named_diffusers_are_not_put_to_the_water(tmp_path):
    """Their number is the job's: nothing is run, and the page says so."""
    job = check_job(demo_folder(), today=date(2026, 8, 11)).job
    found = agreed(job, survey(job))
    assert found.layout.agreement.mixing == ()
    assert NUMBER_GIVEN in found.layout.assumptions
