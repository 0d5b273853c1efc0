"""Places on natural ponds against the optimum of the integer programme on the same grid, and their lines."""

from __future__ import annotations

from datetime import date
from itertools import combinations

import numpy as np
import pytest
import shapely
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_matrix
from scipy.spatial.distance import cdist
from tests.natural_ponds import NaturalPond, by_line, natural_pond

from plumeline.job.document import AirSystem, Diffuser, Job, LocalPoint, Pond, Site, Sounding
from plumeline.stages.layout import layout, parts, placing
from plumeline.stages.layout.choose import Choice, Task, choose
from plumeline.stages.layout.parts import parts_of, wet_cells
from plumeline.stages.layout.paths import Water
from plumeline.stages.survey import Survey, survey

SITES = 60
SITE = Site(latitude_deg=36.0, longitude_deg=-79.5, elevation_m=200.0)


def job_of(pond: NaturalPond, count: int = 3) -> Job:
    """Return the pond sounded by line in fifty places."""
    log = by_line(pond, 50, np.random.default_rng(4))
    rings = [pond.polygon.exterior, *pond.polygon.interiors]
    outline = tuple(tuple(LocalPoint(x_m=x, y_m=y) for x, y in list(ring.coords)[:-1]) for ring in rings)
    soundings = tuple(
        Sounding(place=LocalPoint(x_m=x, y_m=y), depth_m=z)
        for (x, y), z in zip(log.xy, log.depth_m, strict=True)
    )
    air = AirSystem(diffusers=tuple(Diffuser(name=f"D{n}") for n in range(count)))
    whole = Pond(outline=outline, soundings=soundings)
    return Job(id="natural", name="natural", date=date(2026, 8, 1), site=SITE, pond=whole, air=air)


def sixty_sites(basin: Survey, slots: int, spacing_depths: float) -> Task:
    """Return sixty sites over the deep half of the water, with the ways that the layout itself uses."""
    cells, water = wet_cells(basin), Water(basin.polygon)
    part_xy, volume = parts_of(cells, basin.area_m2)
    keep = np.flatnonzero(cells.depth_m > 0.5 * cells.depth_m.max())
    xy = cells.xy[keep[np.linspace(0, len(keep) - 1, SITES).astype(int)]]
    return Task(
        slot_candidates=(np.arange(SITES),) * slots,
        way_m=water.distances(xy, part_xy),
        volume_m3=volume,
        fixed_way_m=np.full(len(volume), np.inf),
        apart_m=cdist(xy, xy),
        fixed_apart_m=np.full(SITES, np.inf),
        spacing_m=spacing_depths * basin.max_depth_m,
    )


def optimum_m4(task: Task, slots: int, taken: tuple[int, ...] = ()) -> float:
    """The p-median with spacing as a 0/1 programme (ReVelle & Swain 1970), by scipy's HiGHS to its own optimum.

    ``taken`` are sites where one stands in any case.
    Only the sites are whole: with them fixed each part goes to its nearest, so the rest comes out whole by itself.
    """
    n, m = task.way_m.shape
    near = [(i, k) for i, k in combinations(range(n), 2) if task.apart_m[i, k] < task.spacing_m]
    served = n + np.arange(n * m).reshape(n, m)
    each, there = np.arange(m), m + np.arange(n * m)
    rows = [np.tile(each, n), there, there, np.full(n, m + n * m)]
    columns = [served.ravel(), served.ravel(), np.repeat(np.arange(n), m), np.arange(n)]
    values = [np.ones(n * m), np.ones(n * m), -np.ones(n * m), np.ones(n)]
    for row, pair in enumerate(near, start=m + n * m + 1):
        rows.append(np.full(2, row))
        columns.append(np.array(pair))
        values.append(np.ones(2))
    count = m + n * m + 1 + len(near)
    matrix = coo_matrix(
        (np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))), (count, n + n * m)
    ).tocsr()
    low, high = (
        np.full(count, -np.inf),
        np.concatenate([np.ones(m), np.zeros(n * m), [slots], np.ones(len(near))]),
    )
    low[:m], low[m + n * m] = 1.0, slots
    found = milp(
        np.concatenate([np.zeros(n), (task.way_m * task.volume_m3).ravel()]),
        constraints=LinearConstraint(matrix, low, high),
        integrality=np.concatenate([np.ones(n), np.zeros(n * m)]),
        bounds=Bounds(np.isin(np.arange(n + n * m), taken).astype(float), 1),
    )
    assert found.success, found.message
    return float(found.fun)


@pytest.mark.parametrize(("number", "slots", "spacing_depths"), [(0, 3, 2.0), (3, 5, 1.0), (7, 4, 2.0)])
def test_sixty_sites_are_within_two_percent_of_the_integer_programme(
    number: int, slots: int, spacing_depths: float
) -> None:
    """On a natural pond's own grid, ways through its water, spacing kept: HiGHS says how good it could be."""
    task = sixty_sites(survey(job_of(natural_pond(number))), slots, spacing_depths)
    best, got = optimum_m4(task, slots), choose(task)
    assert got.spaced
    assert best <= got.cost_m4 * (1 + 1e-6)
    print(f"pond {number}, {slots} of {SITES}: {got.cost_m4 / best:.5f} of the optimum")
    assert got.cost_m4 <= 1.02 * best


@pytest.mark.parametrize(("number", "count"), [(1, 3), (5, 4)])
def test_the_layout_s_own_grid_is_within_two_percent_of_the_integer_programme(
    number: int, count: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The very task that the stage makes, thinned by itself to sixty places at most; the first in the deepest water."""
    made: list[tuple[Task, Choice]] = []

    def kept(task: Task) -> Choice:
        made.append((task, choose(task)))
        return made[-1][1]

    monkeypatch.setattr(parts, "CANDIDATES", SITES)
    monkeypatch.setattr(placing, "choose", kept)
    given = job_of(natural_pond(number), count)
    found = layout(
        given, survey(given), flow_per_diffuser_water_m3_s=lambda depth_m: 0.008 * depth_m ** (5 / 3)
    )
    task, got = made[-1]
    assert got.spaced
    assert len(found.diffusers) == count
    assert 20 < len(task.way_m) <= SITES
    first, *rest = task.slot_candidates
    assert all(np.array_equal(np.union1d(one, first), np.arange(len(task.way_m))) for one in rest)
    best = optimum_m4(task, count, (int(first[0]),))
    print(f"pond {number}, {count} of {len(task.way_m)}: {got.cost_m4 / best:.5f} of the optimum")
    assert best * (1 - 1e-6) <= got.cost_m4 <= 1.02 * best


@pytest.mark.parametrize("number", [2, 5, 7, 8])
def test_lines_neither_cross_each_other_nor_land(number: int) -> None:
    """Six branches on a natural pond with coves and an island: none leaves the water by more than the tolerance.

    Two may run along each other or meet at a corner of the shore; none goes over to the other's other side.
    """
    basin = survey(job_of(natural_pond(number), 6))
    got = layout(
        job_of(natural_pond(number), 6),
        basin,
        flow_per_diffuser_water_m3_s=lambda depth_m: 0.008 * depth_m ** (5 / 3),
    )
    lines = [shapely.LineString(item.branch_path_xy) for item in got.diffusers]
    tolerance_m = Water(basin.polygon).tolerance_m + 0.05
    for line in lines:
        assert basin.polygon.buffer(tolerance_m).covers(line)
    for one, other in combinations(lines, 2):
        assert not crosses(one, other)


def crosses(one: shapely.LineString, other: shapely.LineString) -> bool:
    """Return whether two lines cut through each other between their corners."""
    for a in zip(one.coords, one.coords[1:], strict=False):
        for b in zip(other.coords, other.coords[1:], strict=False):
            first, second = shapely.LineString(a), shapely.LineString(b)
            if first.crosses(second):
                at = first.intersection(second)
                ends = shapely.MultiPoint([*a, *b])
                if at.distance(ends) > 1e-6:
                    return True
    return False


def test_what_crosses_is_seen() -> None:
    """The check itself: an X crosses; a V, and two lines along each other, do not."""
    slant = shapely.LineString([(0, 0), (2, 2)])
    assert crosses(slant, shapely.LineString([(0, 2), (2, 0)]))
    assert not crosses(slant, shapely.LineString([(0, 0), (2, 0)]))
    assert not crosses(slant, shapely.LineString([(0, 0), (3, 3)]))


@pytest.mark.parametrize("turn_number", range(4))
def test_lines_round_an_island_in_a_bent_pond_neither_cross_nor_land(turn_number: int) -> None:
    """A horseshoe with an island in its bend, the manifold on each side of the gap: the lines stay in the water."""
    shore = [(-60, -50), (-60, 50), (60, 50), (60, -50), (25, -50), (25, 10), (-25, 10), (-25, -50)]
    island = [(-8, 22), (-8, 38), (8, 38), (8, 22)]
    turn = np.radians(90.0 * turn_number)
    bent = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    rings = [tuple(LocalPoint(x_m=x, y_m=y) for x, y in np.array(ring) @ bent) for ring in (shore, island)]
    places = [(-42, -40), (-42, 20), (0, 44), (42, 20), (42, -40)]
    spots = [LocalPoint(x_m=x, y_m=y) for x, y in np.array(places) @ bent]
    water = shapely.Polygon(np.array(shore) @ bent, [np.array(island) @ bent])
    soundings = tuple(
        Sounding(
            place=LocalPoint(x_m=x, y_m=y),
            depth_m=min(3.0, 0.25 * water.boundary.distance(shapely.Point(x, y))),
        )
        for x in range(-55, 60, 10)
        for y in range(-55, 60, 10)
        if water.contains(shapely.Point(x, y))
    )
    air = AirSystem(
        diffusers=tuple(Diffuser(name=f"D{n}", place=spot) for n, spot in enumerate(spots)),
        manifold=LocalPoint(**dict(zip(("x_m", "y_m"), np.array([-25, -45]) @ bent, strict=True))),
    )
    pond = Pond(outline=tuple(rings), soundings=soundings)
    given = Job(id="bent", name="bent", date=date(2026, 8, 1), site=SITE, pond=pond, air=air)
    basin = survey(given)
    got = layout(given, basin, flow_per_diffuser_water_m3_s=lambda depth_m: 0.008 * depth_m ** (5 / 3))
    lines = [shapely.LineString(item.branch_path_xy) for item in got.diffusers]
    # up the leg, across, and down to the far one: Pythagoras
    assert max(line.length for line in lines) == pytest.approx(55 + 50 + np.hypot(17, 50), rel=2e-3)
    for line in lines:
        assert water.buffer(Water(basin.polygon).tolerance_m + 0.05).covers(line)
    for one, other in combinations(lines, 2):
        assert not crosses(one, other)
