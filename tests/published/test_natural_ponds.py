"""Twenty natural ponds whose water is known by quadrature, sounded by weighted line and by sonar.

Source of the truth: the ponds' own formulas (tests/natural_ponds.py), with no code of the package. None of them is
of the family that the surface is fitted by.
"""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
import shapely
from tests.natural_ponds import COUNT, Log, NaturalPond, by_line, by_sonar, lanes, natural_pond

from plumeline.job.document import Job, LocalPoint, Pond, Site, Sounding
from plumeline.stages.survey import Survey, survey


def job_of(pond: NaturalPond, log: Log) -> Job:
    """Return the job of a pond with what was read in it; the outline as somebody walks it, every third corner."""
    rings = (pond.polygon.exterior, *pond.polygon.interiors)
    shore = tuple(
        tuple(LocalPoint(x_m=x, y_m=y) for x, y in list(ring.coords)[:-1][:: 3 if n == 0 else 1])
        for n, ring in enumerate(rings)
    )
    soundings = tuple(
        Sounding(place=LocalPoint(x_m=x, y_m=y), depth_m=z, row=n + 2)
        for n, ((x, y), z) in enumerate(zip(log.xy, log.depth_m, strict=True))
    )
    return Job(
        id="natural", name="natural", date=date(2026, 8, 1),
        site=Site(latitude_deg=36.0, longitude_deg=-79.5, elevation_m=200.0),
        pond=Pond(outline=shore, soundings=soundings),
    )  # fmt: skip


def row(pond: NaturalPond, got: Survey) -> tuple[float, float, float]:
    """Return whether the band held, the error and the stated standard error, of the true volume."""
    true_m3 = pond.volume_m3(400)
    held = got.volume_p05_m3 <= true_m3 <= got.volume_p95_m3
    return float(held), got.volume_m3 / true_m3 - 1, got.volume_se_m3 / true_m3


@pytest.fixture(scope="module")
def by_kind() -> dict[str, np.ndarray]:
    """Rows for every pond: two surveys by line, one by sonar."""
    found: dict[str, list[tuple[float, float, float]]] = {"line": [], "sonar": []}
    for number in range(COUNT):
        pond = natural_pond(number)
        for turn in range(2):
            rng = np.random.default_rng([5, number, turn])
            found["line"].append(
                row(pond, survey(job_of(pond, by_line(pond, int(rng.integers(12, 61)), rng))))
            )
        rng = np.random.default_rng([6, number])
        log = by_sonar(pond, rng, lines=int(rng.integers(6, 14)), transducer_m=0.0, faults=False)
        found["sonar"].append(row(pond, survey(job_of(pond, log))))
    return {kind: np.array(rows) for kind, rows in found.items()}


def test_the_ponds_true_water_is_known_to_a_ten_thousandth() -> None:
    """Half the nodes give the same water within 1e-4, a plain sum over the polygon within 5e-4 (its own error)."""
    for number in range(COUNT):
        pond = natural_pond(number)
        true_m3 = pond.volume_m3()
        assert pond.polygon.is_valid
        assert pond.volume_m3(600) == pytest.approx(true_m3, rel=1e-4)
        x_low, y_low, x_high, y_high = pond.polygon.bounds
        cell = max(x_high - x_low, y_high - y_low) / 350
        x, y = np.meshgrid(
            np.arange(x_low + cell / 2, x_high, cell), np.arange(y_low + cell / 2, y_high, cell)
        )
        inside = shapely.contains_xy(pond.polygon, x, y)
        depth = pond.depth_m(x[inside], y[inside])
        assert depth.min() >= 0.0
        assert depth.mean() * pond.polygon.area == pytest.approx(true_m3, rel=5e-4)


@pytest.mark.parametrize("kind", ["line", "sonar"])
def test_the_90_percent_band_holds_on_natural_ponds(kind: str, by_kind: dict[str, np.ndarray]) -> None:
    """40 surveys by line, 20 by sonar: 75 to 100 % hold (a true 90 % fails that less than once in 100 runs).

    With the errors of a sonar log's pings counted as independent this was 35 %.
    """
    assert by_kind[kind][:, 0].mean() >= 0.75, by_kind[kind]


@pytest.mark.parametrize("kind", ["line", "sonar"])
def test_the_stated_error_is_of_the_size_of_the_error(kind: str, by_kind: dict[str, np.ndarray]) -> None:
    """Root mean square error against the root mean square of what is stated: between 0.6 and 1.5; no bias."""
    rows = by_kind[kind]
    root, stated = (float(np.sqrt((rows[:, n] ** 2).mean())) for n in (1, 2))
    assert 0.6 < root / stated < 1.5
    assert root < 0.045
    assert abs(float(rows[:, 1].mean())) < 0.015


def test_a_track_is_told_from_single_soundings_and_its_lines_are_left_out_whole() -> None:
    """Ten lanes: so many blocks, and both ways to draw the bottom have an error; by line it is no track."""
    pond = natural_pond(0)
    log = by_sonar(pond, np.random.default_rng(1), lines=10, transducer_m=0.0, faults=False)
    got = survey(job_of(pond, log))
    assert got.taken_under_way
    assert len(np.unique(log.line)) - 2 <= got.blocks_count <= len(np.unique(log.line)) + 3
    assert {item.name for item in got.tried} == {"smooth", "facets"}
    assert sum(item.taken for item in got.tried) == 1
    single = survey(job_of(pond, by_line(pond, 60, np.random.default_rng(1))))
    assert not single.taken_under_way


def along_and_across(pond: NaturalPond, rng: np.random.Generator) -> Log:
    """Return what a boat reads that goes along the old channel and across the pond in close lanes."""
    tracks = [pond.channel_xy(1.2), *lanes(pond, np.pi / 2, 24)]
    xy = np.concatenate(tracks)
    line = np.concatenate([np.full(len(track), n) for n, track in enumerate(tracks)])
    read = pond.depth_m(xy[:, 0], xy[:, 1]) + rng.normal(0, 0.03, len(xy))
    return Log(xy, np.clip(read, 0, None), line, np.zeros(len(xy), int), np.full(len(xy), ""))


@pytest.mark.parametrize("number", [5, 13, 17])
def test_an_old_channel_sounded_along_is_not_blurred(number: int) -> None:
    """Along its middle the surface is right to 15 % of the channel's own depth; smooth alone blurs pond 5 by 24 %."""
    pond = natural_pond(number)
    assert pond.channel is not None
    got = survey(job_of(pond, along_and_across(pond, np.random.default_rng(3))))
    middle = pond.channel_xy(3.0)
    error = got.grid.sample(middle[:, 0], middle[:, 1]) - pond.depth_m(middle[:, 0], middle[:, 1])
    assert np.sqrt((error**2).mean()) < 0.15 * pond.channel[0]
    assert next(item.name for item in got.tried if item.taken) == ("facets" if number == 5 else "smooth")
