"""Ponds as nobody should bring them: each is refused or said in words that name the fault and the way out."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
import shapely
from tests.natural_ponds import natural_pond

from plumeline.errors import InputError
from plumeline.job.document import AirSystem, Diffuser, Job, LocalPoint, Pond, Site, Sounding
from plumeline.stages.layout import layout
from plumeline.stages.survey import survey

SITE = Site(latitude_deg=36.0, longitude_deg=-79.5, elevation_m=200.0)
POND = natural_pond(0)


def ring_of(corners: object) -> tuple[LocalPoint, ...]:
    return tuple(LocalPoint(x_m=float(x), y_m=float(y)) for x, y in corners)


def job_of(xy: np.ndarray, depth_m: np.ndarray, air: AirSystem | None = None) -> Job:
    soundings = tuple(
        Sounding(place=LocalPoint(x_m=x, y_m=y), depth_m=z) for (x, y), z in zip(xy, depth_m, strict=True)
    )
    pond = Pond(outline=(ring_of(list(POND.polygon.exterior.coords)[:-1]),), soundings=soundings)
    return Job(id="bad", name="bad", date=date(2026, 8, 1), site=SITE, pond=pond, air=air or AirSystem())


def places(turn_rad: float | None, count: int = 25) -> np.ndarray:
    """Return places in the water: along one line through its middle, or all over it."""
    if turn_rad is None:
        xy = np.random.default_rng(5).uniform(-150, 150, (6000, 2))
    else:
        way = np.array([np.cos(turn_rad), np.sin(turn_rad)])
        xy = (
            np.array(POND.polygon.representative_point().coords[0])
            + np.linspace(-300, 300, 3000)[:, None] * way
        )
    xy = xy[shapely.contains_xy(POND.polygon, xy[:, 0], xy[:, 1])]
    return xy[np.linspace(0, len(xy) - 1, count).astype(int)]


@pytest.mark.parametrize("turn_rad", [0.0, 0.7, 2.2])
def test_soundings_all_on_one_line_are_said(turn_rad: float) -> None:
    """Whichever way it runs; with five more across it nothing is said."""
    line = places(turn_rad)
    found = survey(job_of(line, POND.depth_m(line[:, 0], line[:, 1])))
    said = [item for item in found.notices if item.code == "soundings-one-line"]
    assert len(said) == 1
    assert "All 25 soundings" in said[0].text
    assert "Sound a line across" in said[0].text
    both = np.vstack([line, places(turn_rad + np.pi / 2, 7)])
    more = survey(job_of(both, POND.depth_m(both[:, 0], both[:, 1])))
    assert "soundings-one-line" not in {item.code for item in more.notices}


def test_no_place_deep_enough_is_said_once_and_the_depth_is_kept() -> None:
    """Soundings all shallower than a membrane that is asked for: the notice holds both depths."""
    xy = places(None)
    asked = AirSystem(diffusers=(Diffuser(name="A", depth_m=9.0),))
    given = job_of(xy, np.minimum(POND.depth_m(xy[:, 0], xy[:, 1]), 1.5), asked)
    basin = survey(given)
    got = layout(given, basin, flow_per_diffuser_water_m3_s=lambda depth_m: 0.008 * depth_m ** (5 / 3))
    said = [item for item in got.notices if item.code == "nowhere-deep-enough"]
    assert len(said) == 1
    assert "9.00 m" in said[0].text
    assert f"{basin.max_depth_m:.2f} m" in said[0].text
    assert got.diffusers[0].depth_m == 9.0
    assert "diffuser-below-bottom" not in {item.code for item in got.notices}


def test_an_outline_that_touches_itself_is_refused_with_the_place() -> None:
    """Two lobes that share one corner are two ponds: the words name where they touch."""
    lobes = [(-50, 0), (-30, 25), (0, 0), (30, 25), (50, 0), (30, -25), (0, 0), (-30, -25)]
    pond = Pond(outline=(ring_of(lobes),), max_depth_m=3.0)
    with pytest.raises(InputError, match=r"0 0.*Put its corners in order"):
        survey(Job(id="bad", name="bad", date=date(2026, 8, 1), site=SITE, pond=pond))
