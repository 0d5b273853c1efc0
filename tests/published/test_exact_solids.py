"""Volumes of solids with closed forms, areas on the ellipsoid, and the handbook's rule.

Sources: elementary geometry; pyproj.Geod (Karney 2013, J. Geodesy 87:43) for areas on the WGS 84 ellipsoid;
USDA NRCS 1997, Agriculture Handbook 590 (volume = 0.4 x greatest depth x area).
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from math import cos, degrees, pi, radians, sin

import numpy as np
import pytest
from pyproj import Geod

from plumeline.job.document import Job, LocalPoint, Point, Pond, Shape, Site, Sounding
from plumeline.stages.survey import survey, volume_from_shape

RADIUS_M, DEEP_M = 45.0, 4.0
SITE = Site(latitude_deg=36.0, longitude_deg=-79.5, elevation_m=200.0)


def job(pond: Pond) -> Job:
    return Job(id="solid", name="solid", date=date(2025, 8, 1), site=SITE, pond=pond)


def round_pond(depth: Callable[[np.ndarray], np.ndarray], spacing_m: float = 3.0) -> Job:
    """A round pond sounded without error on a square grid."""
    turn = np.linspace(0, 2 * np.pi, 720, endpoint=False)
    shore = tuple(LocalPoint(x_m=RADIUS_M * cos(a), y_m=RADIUS_M * sin(a)) for a in turn)
    line = np.arange(-RADIUS_M, RADIUS_M + 0.1, spacing_m)
    x, y = (values.ravel() for values in np.meshgrid(line, line))
    r = np.hypot(x, y)
    keep = r < RADIUS_M - 0.2
    depths = depth(r[keep])
    soundings = tuple(
        Sounding(place=LocalPoint(x_m=a, y_m=b), depth_m=float(z))
        for a, b, z in zip(x[keep], y[keep], depths, strict=True)
    )
    return job(Pond(outline=(shore,), soundings=soundings))


def cap(r: np.ndarray) -> np.ndarray:
    """Cap of a sphere, DEEP_M deep."""
    sphere = (RADIUS_M**2 + DEEP_M**2) / (2 * DEEP_M)
    return np.sqrt(sphere**2 - r**2) - (sphere - DEEP_M)


TOP = pi * RADIUS_M**2
FLOOR_M = 30.0
SOLIDS = {
    "cone": (lambda r: DEEP_M * (1 - r / RADIUS_M), TOP * DEEP_M / 3, 0.002),
    "paraboloid": (lambda r: DEEP_M * (1 - (r / RADIUS_M) ** 2), TOP * DEEP_M / 2, 0.002),
    "cap": (cap, pi * DEEP_M * (3 * RADIUS_M**2 + DEEP_M**2) / 6, 0.002),
    "frustum": (
        lambda r: np.minimum(DEEP_M, DEEP_M * (RADIUS_M - r) / (RADIUS_M - FLOOR_M)),
        pi * DEEP_M / 3 * (RADIUS_M**2 + RADIUS_M * FLOOR_M + FLOOR_M**2),
        0.003,
    ),
    "hemisphere": (lambda r: np.sqrt(RADIUS_M**2 - r**2), 2 / 3 * pi * RADIUS_M**3, 0.004),
}


@pytest.mark.parametrize("name", SOLIDS)
def test_volume_of_a_solid_meets_its_closed_form(name: str) -> None:
    """Dense soundings without error: within 0.2 to 0.4 %, and within the stated band."""
    depth, true_m3, limit = SOLIDS[name]
    got = survey(round_pond(depth))
    assert got.volume_m3 == pytest.approx(true_m3, rel=limit)
    assert got.volume_p05_m3 < true_m3 < got.volume_p95_m3
    assert got.area_m2 == pytest.approx(TOP, rel=2e-4)
    # neither the foot of a bank nor a flat floor is a fault of the sounder; the tip of the cone looks like one
    assert len(got.left_out) == (name == "cone")


def test_hypsograph_of_a_cone_is_the_square_of_the_height() -> None:
    """A(z) = A₀ (1 − z/H)² and V(z) = V₀ (1 − z/H)³, within 1 % of the surface's."""
    depth, true_m3, _ = SOLIDS["cone"]
    got = survey(round_pond(depth)).hypsograph
    for part in (0.1, 0.25, 0.5, 0.75, 0.9):
        assert got.area_at(part * DEEP_M) == pytest.approx(TOP * (1 - part) ** 2, abs=0.01 * TOP)
        assert got.volume_below(part * DEEP_M) == pytest.approx(
            true_m3 * (1 - part) ** 3, abs=0.005 * true_m3
        )


@pytest.mark.parametrize("shape", ["cone", "paraboloid", "trough"])
def test_shape_estimate_gives_the_closed_form(shape: str) -> None:
    """V/(A z) is 1/3 for a cone, 1/2 for a paraboloid and for a prism on its edge."""
    ratio = {"cone": 1 / 3, "paraboloid": 1 / 2, "trough": 1 / 2}[shape]
    assert volume_from_shape(6475.0, 4.267, shape).volume_m3 == pytest.approx(
        ratio * 6475.0 * 4.267, rel=1e-5
    )


def test_shape_estimate_gives_the_prismoidal_formula_for_a_pit() -> None:
    """A pit of 40 ft by 100 ft at the bottom, 12 ft deep, sides 2:1: (A + 4B + C) z/6."""
    top, middle, floor = 88 * 148, 64 * 124, 40 * 100
    true_ft3 = (top + 4 * middle + floor) * 12 / 6
    foot = 0.3048
    got = volume_from_shape(top * foot**2, 12 * foot, Shape.STEEP)
    assert got.volume_m3 == pytest.approx(true_ft3 * foot**3, rel=1e-3)


@pytest.mark.parametrize(
    ("name", "exponent"), [("cone", 2.0), ("bowl", 1.5), ("paraboloid", 1.0), ("unknown", 1 / 0.43 - 1)]
)
def test_handbook_rule_holds_within_its_class_of_shapes(name: str, exponent: float) -> None:
    """0.4 A z (Handbook 590) lies in the 90 % band of each class with A(z) = A₀ (1 − z/H)^q, q 1 to 2."""
    got = survey(job(Pond(area_m2=6475.0, max_depth_m=4.267, shape=Shape(name))))
    assert got.volume_p05_m3 < 0.4 * 6475.0 * 4.267 < got.volume_p95_m3
    assert got.volume_m3 == pytest.approx(6475.0 * 4.267 / (1 + exponent), rel=2e-3)


def test_unknown_shape_holds_cone_and_paraboloid_in_its_band() -> None:
    """The band of a pond of unknown shape reaches from under A z/3 to over A z/2."""
    got = survey(job(Pond(area_m2=6475.0, max_depth_m=4.267)))
    assert got.volume_p05_m3 < 6475.0 * 4.267 / 3
    assert got.volume_p95_m3 > 6475.0 * 4.267 / 2


@pytest.mark.parametrize("latitude", [0.5, 36.0, -43.0, 66.0])
def test_area_meets_the_geodesic_area(latitude: float) -> None:
    """An irregular shore: within 1e-7 of pyproj.Geod's area on the ellipsoid; islands taken out."""
    site = Site(latitude_deg=latitude, longitude_deg=20.0, elevation_m=100.0)

    def ring(size_m: float, corners: int) -> tuple[Point, ...]:
        found = []
        for n in range(corners):
            turn = 2 * pi * n / corners
            r = size_m * (1 + 0.3 * cos(2 * turn) + 0.1 * sin(5 * turn))
            east = degrees(r * cos(turn) / (6371000 * cos(radians(latitude))))
            north = latitude + degrees(r * sin(turn) / 6371000)
            found.append(Point(longitude_deg=20.0 + east, latitude_deg=north))
        return tuple(found)

    shore, island = ring(60.0, 90), ring(10.0, 30)
    geod = Geod(ellps="WGS84")
    areas = [
        abs(geod.polygon_area_perimeter([p.longitude_deg for p in r], [p.latitude_deg for p in r])[0])
        for r in (shore, island)
    ]
    pond = Pond(outline=(shore, island), max_depth_m=3.0)
    got = survey(Job(id="a", name="a", date=date(2025, 8, 1), site=site, pond=pond))
    assert got.area_m2 == pytest.approx(areas[0] - areas[1], rel=1e-7)
