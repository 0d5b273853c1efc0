"""Where to sound next: what is promised of a place comes about, and no other place is better."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
import shapely
from tests.natural_ponds import by_line, natural_pond

from plumeline.job.document import Job, LocalPoint, Pond, Site, Sounding
from plumeline.stages.survey import Survey, survey

POND = natural_pond(11)


def surveyed(xy: np.ndarray, depth_m: np.ndarray) -> Survey:
    """Return the survey of pond 11 from soundings of shape (n, 2) and (n)."""
    shore = tuple(LocalPoint(x_m=x, y_m=y) for x, y in list(POND.polygon.exterior.coords)[:-1:3])
    soundings = tuple(
        Sounding(place=LocalPoint(x_m=x, y_m=y), depth_m=max(z, 0.0), row=n + 2)
        for n, ((x, y), z) in enumerate(zip(xy, depth_m, strict=True))
    )
    site = Site(latitude_deg=36.0, longitude_deg=-79.5, elevation_m=200.0)
    pond = Pond(outline=(shore,), soundings=soundings)
    return survey(Job(id="next", name="next", date=date(2026, 8, 1), site=site, pond=pond))


@pytest.fixture(scope="module")
def first() -> tuple[np.ndarray, np.ndarray, Survey]:
    log = by_line(POND, 20, np.random.default_rng(4))
    west = log.xy[:, 0] < np.quantile(log.xy[:, 0], 0.7)
    return log.xy[west], log.depth_m[west], surveyed(log.xy[west], log.depth_m[west])


def test_places_lie_in_the_water_and_each_takes_something_off(
    first: tuple[np.ndarray, np.ndarray, Survey],
) -> None:
    """Six at most, all inside the shore, the error falls with each; the first is in the part nobody sounded."""
    xy, _, got = first
    assert 1 <= len(got.next_soundings) <= 6
    errors = [got.volume_se_m3, *(item.volume_se_after_m3 for item in got.next_soundings)]
    assert all(np.diff(errors) < 0)
    assert all(shapely.contains_xy(POND.polygon, item.x_m, item.y_m) for item in got.next_soundings)
    assert got.next_soundings[0].x_m > xy[:, 0].max()


def test_what_is_promised_comes_about(first: tuple[np.ndarray, np.ndarray, Survey]) -> None:
    """Sounded there, the error falls to what was said within a third, and below that of chance places."""
    xy, depth, got = first
    there = np.array([(item.x_m, item.y_m) for item in got.next_soundings])

    def after(places: np.ndarray) -> float:
        read = POND.depth_m(places[:, 0], places[:, 1])
        return surveyed(np.vstack([xy, places]), np.append(depth, read)).volume_se_m3

    done = after(there)
    assert done == pytest.approx(got.next_soundings[-1].volume_se_after_m3, rel=0.35)
    rng, chance = np.random.default_rng(8), []
    for _ in range(5):
        low, high = POND.polygon.bounds[:2], POND.polygon.bounds[2:]
        drawn = rng.uniform(low, high, (80, 2))
        wet = drawn[shapely.contains_xy(POND.polygon, drawn[:, 0], drawn[:, 1])]
        chance.append(after(wet[: len(there)]))
    assert done < np.mean(chance)


def test_soundings_along_one_line_promise_a_line_across_what_it_brings() -> None:
    """The first place lies off the line; the error that one line leaves unsaid is in what is promised until then."""
    west, east = POND.polygon.bounds[0], POND.polygon.bounds[2]
    x = np.linspace(west, east, 60)
    xy = np.column_stack([x, np.full(60, POND.polygon.centroid.y)])
    xy = xy[shapely.contains_xy(POND.polygon, xy[:, 0], xy[:, 1])][::4]
    depth = POND.depth_m(xy[:, 0], xy[:, 1])
    got = surveyed(xy, depth)
    assert "soundings-one-line" in {notice.code for notice in got.notices}
    there = np.array([(item.x_m, item.y_m) for item in got.next_soundings])
    assert abs(there[0, 1] - xy[0, 1]) > 5.0
    errors = [got.volume_se_m3, *(item.volume_se_after_m3 for item in got.next_soundings)]
    assert all(np.diff(errors) < 0)
    for count in (1, len(there)):
        places = there[:count]
        read = POND.depth_m(places[:, 0], places[:, 1])
        done = surveyed(np.vstack([xy, places]), np.append(depth, read)).volume_se_m3
        assert errors[count] == pytest.approx(done, rel=0.35), (count, errors, done)
