"""Muck from probe pairs: volumes against closed forms and ponds whose muck is known, and what stands on it.

No published set of probes is known to us: the truths are formulas made here, none of the surface's family.
"""

from __future__ import annotations

import numpy as np
import pytest
from tests.natural_ponds import NaturalPond, by_line, natural_pond
from tests.published.test_natural_ponds import job_of

from plumeline.job.document import Job
from plumeline.stages.layout.bases import PLATE_M, THIN_M, base_notices, base_of
from plumeline.stages.survey import survey


def with_muck(job: Job, muck_m: list[float | None]) -> Job:
    soundings = tuple(
        item.model_copy(update={"muck_m": thick})
        for item, thick in zip(job.pond.soundings, muck_m, strict=True)
    )
    return job.model_copy(update={"pond": job.pond.model_copy(update={"soundings": soundings})})


def muck_at(pond: NaturalPond, rng_number: int, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Return an invented muck: more in the deep, a fan before one shore, swells; none by some of the shore."""
    rng = np.random.default_rng([55, rng_number])
    size, most = pond.size_m, rng.uniform(0.2, 0.9)
    deep = np.clip(pond.depth_m(x, y) / pond.deep_m, 0.0, None) ** rng.uniform(0.3, 1.4)
    turn = rng.uniform(0, 2 * np.pi)
    away = np.hypot(x - size * np.cos(turn), y - size * np.sin(turn))
    fan = rng.uniform(0.0, 0.8) * np.exp(-((away / (0.5 * size)) ** 2))
    swell = 1 + 0.2 * np.sin(rng.uniform(1, 4) * x / size + rng.uniform(0, 6)) * np.sin(3 * y / size)
    return np.asarray(most * (deep + fan) * swell)


def probed(number: int, count: int) -> tuple[float, Job]:
    """Return the true volume of a pond's muck and a job with probes: 0.08 m of error a pair, to an inch."""
    pond, rng = natural_pond(number), np.random.default_rng([56, number])
    log = by_line(pond, count, rng)
    read = muck_at(pond, number, log.xy[:, 0], log.xy[:, 1]) + rng.normal(0, 0.08, len(log.xy))
    x_low, y_low, x_high, y_high = pond.polygon.bounds
    x, y = np.meshgrid(np.linspace(x_low, x_high, 300), np.linspace(y_low, y_high, 300))
    import shapely

    inside = shapely.contains_xy(pond.polygon, x, y)
    true_m3 = float(muck_at(pond, number, x[inside], y[inside]).mean()) * pond.polygon.area
    thick = np.round(np.clip(read, 0, None) / 0.0254) * 0.0254
    return true_m3, with_muck(job_of(pond, log), [float(one) for one in thick])


def test_even_muck_is_area_times_thickness() -> None:
    """0.5 m everywhere, 30 probes: volume A · 0.5 within 2 %, thickness and error at a place alike."""
    pond = natural_pond(3)
    job = job_of(pond, by_line(pond, 30, np.random.default_rng(1)))
    got = survey(with_muck(job, [0.5] * len(job.pond.soundings)))
    assert got.muck is not None
    assert got.muck.volume_m3 == pytest.approx(0.5 * got.area_m2, rel=0.02)
    thick_m, error_m = got.muck.grid.at(0.0, 0.0)
    assert thick_m == pytest.approx(0.5, abs=0.05)
    assert error_m < 0.1


def test_the_90_percent_band_of_the_muck_holds_on_natural_ponds() -> None:
    """Twenty ponds, 12 to 45 probes: the band holds the true muck in 15 at least (a true 90 % fails that 1 in 90)."""
    held, error = [], []
    for number in range(20):
        true_m3, job = probed(number, int(np.random.default_rng([57, number]).integers(12, 46)))
        muck = survey(job).muck
        assert muck is not None
        held.append(muck.volume_p05_m3 <= true_m3 <= muck.volume_p95_m3)
        error.append(muck.volume_m3 / true_m3 - 1)
    assert sum(held) >= 15, (held, error)
    assert np.sqrt(np.mean(np.square(error))) < 0.15, error


def test_probes_too_few_are_said_and_draw_nothing() -> None:
    """Two probes: none; five: drawn, with a caution and its band."""
    pond = natural_pond(3)
    job = job_of(pond, by_line(pond, 20, np.random.default_rng(1)))
    count = len(job.pond.soundings)
    two = survey(with_muck(job, [0.4, 0.5] + [None] * (count - 2)))
    assert two.muck is None
    assert "muck-few" in {item.code for item in two.notices}
    five = survey(with_muck(job, [0.4, 0.5, 0.3, 0.6, 0.2] + [None] * (count - 5)))
    assert five.muck is not None
    assert five.muck.probe_count == 5
    assert "muck-few" in {item.code for item in five.notices}
    assert survey(job).muck is None


def test_no_muck_leaves_the_survey_as_it_was() -> None:
    """Probes say nothing of depths: the same volume with and without them."""
    pond = natural_pond(2)
    job = job_of(pond, by_line(pond, 20, np.random.default_rng(1)))
    plain, soft = survey(job), survey(with_muck(job, [0.3] * len(job.pond.soundings)))
    assert plain.volume_m3 == soft.volume_m3


@pytest.mark.parametrize(
    ("thick_m", "stands_on", "legs"),
    [
        (0.0, "its usual base", False),
        (0.3, "a wide base plate", False),
        (0.9, "a stand with legs to firm bottom", True),
    ],
)
def test_what_a_diffuser_stands_on_follows_from_the_muck(thick_m: float, stands_on: str, legs: bool) -> None:
    """None, a foot, three feet (common practice, no published source); legs are the muck's upper end and the base."""
    pond = natural_pond(3)
    job = job_of(pond, by_line(pond, 40, np.random.default_rng(1)))
    muck = survey(with_muck(job, [thick_m] * len(job.pond.soundings))).muck
    base = base_of(muck, 0.0, 0.0, 0.3)
    assert base is not None
    assert base.stands_on == stands_on
    assert THIN_M < PLATE_M
    if legs:
        assert base.legs_m == pytest.approx(base.upper_m + 0.3)
        assert base.upper_m >= base.muck_m
        assert [item.code for item in base_notices({"D1": base})] == ["muck-deep"]
    else:
        assert base.legs_m is None
    assert base_of(None, 0.0, 0.0, 0.3) is None
