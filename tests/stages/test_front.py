"""The alternatives of a pond: what is marked, and that each figure is the stages' own."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from importlib import resources
from pathlib import Path

import pytest

from plumeline.charts.front import front_chart
from plumeline.cli.show_front import front_blocks, sentence
from plumeline.files.job_folder import check_job
from plumeline.job.document import Diffuser, Job
from plumeline.stages.front import Front, beats, front
from plumeline.stages.sizing import agreed
from plumeline.stages.survey import Survey, survey

MEMBERS = 6


def demo() -> Job:
    folder = Path(str(resources.files("plumeline.demo") / "hollow-oak"))
    job = check_job(folder, today=date(2026, 8, 11)).job
    assert job is not None
    return job


@pytest.fixture(scope="module")
def pond() -> tuple[Job, Survey]:
    job = demo()
    return job, survey(job, 1)


@pytest.fixture(scope="module")
def found(pond: tuple[Job, Survey]) -> Front:
    return front(*pond, seed=1, members=MEMBERS)


def test_the_own_number_is_the_layout_that_every_other_stage_sees(
    pond: tuple[Job, Survey], found: Front
) -> None:
    """Three diffusers listed: the same places, turnover and power as sizing gives."""
    here = agreed(*pond)
    own = next(item for item in found.works if item.diffuser_count == found.listed_count)
    assert own.found is not None
    assert own.found.layout == here.layout
    assert own.turnover_per_day == here.layout.turnover_per_day
    assert own.power_w == here.air.wire_power_w


def test_least_number_is_the_first_that_meets_both(found: Front) -> None:
    """Every smaller number misses turnover or mixing."""
    assert found.least_count is not None
    for item in found.works:
        met = item.turnover_per_day >= 0.995 * found.wanted_turnover_per_day
        assert item.enough == (met and item.mixed_members >= 0.9 * item.members)
        assert item.enough or item.diffuser_count != found.least_count
        assert not item.enough or item.diffuser_count >= found.least_count


def test_more_turnover_wanted_than_one_plume_gives_asks_for_more(pond: tuple[Job, Survey]) -> None:
    """One plume turns the demo over about 2.3 times a day: a wish of 2.9 takes at least two."""
    job = pond[0].model_copy(update={"wishes": pond[0].wishes.model_copy(update={"turnover_per_day": 2.9})})
    got = front(job, pond[1], seed=1, members=MEMBERS)
    assert got.least_count is not None
    assert got.least_count >= 2
    assert not got.works[0].enough


def test_little_air_does_not_mix_the_simulated_water(pond: tuple[Job, Survey]) -> None:
    """A compressor of a hundredth of the flow leaves the layers standing in at least one pond."""
    job, basin = pond
    assert job.air.compressor is not None
    weak = tuple(
        point.model_copy(update={"intake_flow_m3_s": point.intake_flow_m3_s / 100.0})
        for point in job.air.compressor.curve
    )
    machine = job.air.compressor.model_copy(update={"curve": weak})
    air = job.air.model_copy(update={"compressor": machine, "diffusers": (Diffuser(name="A"),)})
    got = front(job.model_copy(update={"air": air}), basin, seed=1, members=MEMBERS)
    one = got.works[0]
    assert one.mixed_members < one.members
    assert not one.enough


def test_an_alternative_as_good_and_cheaper_beats(found: Front) -> None:
    """Cheaper and else the same beats; dearer and better served does not."""
    item = found.works[0]
    assert beats(item, replace(item, cost_money=item.cost_money + 50.0))
    assert not beats(item, item)
    assert not beats(item, replace(item, cost_money=item.cost_money + 50.0, turnover_per_day=9.0))


def test_what_is_on_the_front_is_beaten_by_nothing(found: Front) -> None:
    """And what is not on it is beaten by something."""
    for item in found.works:
        assert item.on_front != any(beats(other, item) for other in found.works)


def test_table_chart_and_sentence_say_the_same_numbers(found: Front) -> None:
    """Each alternative is a line of the table and a row of the chart's twin."""
    text = "\n".join(front_blocks(found, "us"))
    rows = front_chart(found, sentence(found)).twins[0].rows
    assert len(rows) == len(found.works)
    for item in found.works:
        assert f"{item.turnover_per_day:.2f}" in text
        assert f"{item.mixed_members} of {item.members}" in text
