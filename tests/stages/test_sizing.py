"""Places and air line agree as they say: one more round by hand gives the same places and the air that is told."""

from __future__ import annotations

import pytest
from tests.cli.conftest import TEN_ANSWERS

from plumeline.files.job_folder import check_job
from plumeline.stages.air import air
from plumeline.stages.layout import layout
from plumeline.stages.plume import water_flow_by_depth
from plumeline.stages.sizing import CLOSE_FRACTION, agreed, branches_of
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
