"""Where the diffusers stand: the job's places kept, the others chosen."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import hypot

import numpy as np
import shapely
from scipy.spatial.distance import cdist

from plumeline.errors import InputError
from plumeline.job.document import Diffuser, Job
from plumeline.notices import Notice, caution
from plumeline.stages.layout.choose import Choice, Task, choose
from plumeline.stages.layout.parts import Cells, allowed, at_depth, deep, parts_of
from plumeline.stages.layout.paths import Water
from plumeline.stages.layout.together import Joint, Lines, Serving, choose_together
from plumeline.stages.survey import Survey
from plumeline.units import both

DEEP_SHARES = (0.8, 0.7, 0.6, 0.5, 0.4, 0.25)
DEEPER_SHARES = (0.9, 0.95)
"""Tried where the wish is just missed: closer together in deeper water, each plume lifts more."""
MOST_DIFFUSERS = 12
SPACING_DEPTHS = 2.0
"""Boils reach out half the depth; two of them stand at least twice the depth apart. Judgement."""
DAY_S = 86400.0
XY = tuple[float, float]


@dataclass(frozen=True, eq=False)
class Standing:
    """A diffuser with its place: membrane and bottom depth, and whether the place is the job's own."""

    diffuser: Diffuser
    xy: tuple[float, float]
    depth_m: float
    bottom_m: float
    given: bool


@dataclass(frozen=True, eq=False)
class Picked:
    """Where diffusers without a place of their own would serve best, and the task behind it.

    Attributes:
        rest: the diffusers.
        pool: cells that are candidates.
        task: over those.
        choice: the candidates that serve best.
        notices: that there is no room for so many.
    """

    rest: list[Diffuser]
    pool: np.ndarray
    task: Task
    choice: Choice
    notices: tuple[Notice, ...]


@dataclass(frozen=True, eq=False)
class Placed:
    """Every diffuser in its place, what there is to say, and the manifold's place with them."""

    standing: list[Standing]
    notices: tuple[Notice, ...]
    joint: Joint


@dataclass(frozen=True, eq=False)
class Ground:
    """All that placing needs to know of the pond."""

    survey: Survey
    water: Water
    cells: Cells
    free: np.ndarray
    part_xy: np.ndarray
    part_volume_m3: np.ndarray
    base_m: float


def ground_of(job: Job, survey: Survey, water: Water, cells: Cells) -> Ground:
    """Return the pond made ready for placing.

    Raises:
        InputError: keep-out zones leave no water.
    """
    free = allowed(job, survey, cells)
    if not free.any():
        raise InputError(
            "the keep-out zones leave no water for a diffuser.",
            remedy="Make them smaller.",
            place="wishes.keep_out",
        )
    part_xy, part_volume = parts_of(cells, survey.area_m2)
    return Ground(survey, water, cells, free, part_xy, part_volume, job.air.base_height_m)


def keep_out_notices(ground: Ground) -> tuple[Notice, ...]:
    """Return that the keep-out zones cover the deep water, where they do."""
    deepest_m = float(ground.cells.depth_m.max())
    free_m = float(ground.cells.depth_m[ground.free].max())
    if free_m >= DEEP_SHARES[0] * deepest_m:
        return ()
    text = (
        f"The keep-out zones cover all the deep water: the pond is {both(deepest_m, 'm')} deep, outside them "
        f"{both(free_m, 'm')}. What lies below stays unmixed; make the zones smaller, or agree on one place in them."
    )
    return (caution("keep-out-deep", text),)


def membrane_depth(ground: Ground, bottom_m: float) -> float:
    """Return the depth of a membrane on its base, at least half way down in very shallow water."""
    return max(bottom_m - ground.base_m, 0.5 * bottom_m)


def stand_given(ground: Ground, diffuser: Diffuser) -> tuple[Standing, tuple[Notice, ...]]:
    """Return a diffuser at the job's own place, its depth read from the basin unless given.

    Raises:
        InputError: the place is more than 3 m outside the water of a known outline.
    """
    assert diffuser.place is not None
    x_m, y_m = ground.survey.plane.to_xy(diffuser.place)
    notices: list[Notice] = []
    bottom_m = ground.survey.depth_at(x_m, y_m)
    if bottom_m < 0.3:
        away_m = float(shapely.distance(shapely.Point(x_m, y_m), ground.survey.polygon))
        if away_m > 3.0 and not ground.survey.outline_assumed:
            raise InputError(
                f"diffuser '{diffuser.name}' stands {both(away_m, 'm')} outside the water.",
                remedy="Check its place, and that longitude and latitude are not swapped.",
                place="air.diffusers",
            )
        off = np.hypot(*(ground.cells.xy - np.array([x_m, y_m])).T)
        off[ground.cells.depth_m < min(0.6, 0.5 * ground.survey.max_depth_m)] = np.inf
        nearest = int(np.argmin(off))
        x_m, y_m = (float(value) for value in ground.cells.xy[nearest])
        bottom_m = float(ground.cells.depth_m[nearest])
        text = (
            f"Diffuser {diffuser.name} stands on the shore or outside; moved {both(off[nearest], 'm')} into "
            "the water."
        )
        notices.append(caution("diffuser-moved", text))
    standing, more = _with_depth(ground, diffuser, (x_m, y_m), bottom_m, given=True)
    return standing, (*notices, *more)


def _with_depth(
    ground: Ground, diffuser: Diffuser, xy: tuple[float, float], bottom_m: float, *, given: bool
) -> tuple[Standing, tuple[Notice, ...]]:
    notices: tuple[Notice, ...] = ()
    depth_m = membrane_depth(ground, bottom_m) if diffuser.depth_m is None else diffuser.depth_m
    deepest_m = ground.survey.max_depth_m
    if depth_m > deepest_m + 0.15:
        text = (
            f"No place is deep enough for diffuser {diffuser.name}: it is given a depth of {both(depth_m, 'm')}, "
            f"and the survey finds no water deeper than {both(deepest_m, 'm')}. The depth given is used, for air "
            "and plume alike: sound there, or give a depth that the pond has."
        )
        notices = (caution("nowhere-deep-enough", text),)
    elif depth_m > bottom_m + 0.15:
        text = (
            f"Diffuser {diffuser.name} is given a depth of {both(depth_m, 'm')} where the survey finds "
            "the bottom at "
            f"{both(bottom_m, 'm')}; the depth given is used. Sound there."
        )
        notices = (caution("diffuser-below-bottom", text),)
    elif diffuser.depth_m is not None and depth_m < bottom_m - ground.base_m - 1.0 and given:
        text = (
            f"Diffuser {diffuser.name} is given a depth of {both(depth_m, 'm')}, "
            f"{both(bottom_m - depth_m, 'm')} above the "
            "bottom that the survey finds there; the depth given is used."
        )
        notices = (caution("diffuser-high", text),)
    return Standing(diffuser, xy, depth_m, bottom_m, given), notices


def pick_rest(
    ground: Ground,
    placed: list[Standing],
    rest: list[Diffuser],
    share_fraction: tuple[float, ...] = DEEP_SHARES,
) -> Picked:
    """Return places for diffusers without one: the deepest water first, then the shortest ways for all water.

    Candidates are cells at least 80 % of the greatest depth deep; where the spacing finds no room there, 70
    % and so on down to 25 %. A diffuser that is given a depth stands where the bottom has that depth.
    """
    spacing_m = SPACING_DEPTHS * ground.survey.max_depth_m
    deepest_m = float(ground.cells.depth_m[ground.free].max())
    for share in share_fraction:
        pool, slots = _slots(ground, placed, rest, share * deepest_m)
        task = _task(ground, placed, pool, slots, spacing_m)
        chosen = choose(task)
        if chosen.spaced:
            break
    notices: tuple[Notice, ...] = ()
    if not chosen.spaced:
        text = f"The pond has no room for {len(placed) + len(rest)} diffusers {both(spacing_m, 'm')} apart."
        notices = (caution("diffusers-crowded", text),)
    return Picked(rest, pool, task, chosen, notices)


def stand_rest(
    ground: Ground, picked: Picked, candidates: tuple[int, ...]
) -> tuple[list[Standing], tuple[Notice, ...]]:
    """Return the diffusers without a place of their own at candidates of the pool, and what there is to say."""
    found: list[Standing] = []
    notices = picked.notices
    for diffuser, candidate in zip(picked.rest, candidates, strict=True):
        cell = int(picked.pool[candidate])
        x_m, y_m = (float(value) for value in ground.cells.xy[cell])
        standing, more = _with_depth(
            ground, diffuser, (x_m, y_m), float(ground.cells.depth_m[cell]), given=False
        )
        found.append(standing)
        notices += more
    return found, notices


def _slots(
    ground: Ground, placed: list[Standing], rest: list[Diffuser], floor_m: float
) -> tuple[np.ndarray, tuple[np.ndarray, ...]]:
    """Return the cells that are candidates, and for each diffuser the numbers of its own among them."""
    cells, free = ground.cells, ground.free
    deepest = int(np.argmax(np.where(free, cells.depth_m, -1.0)))
    have_deep = any(item.bottom_m > cells.depth_m[deepest] - 0.3 for item in placed)
    lists: list[np.ndarray] = []
    for diffuser in rest:
        if diffuser.depth_m is not None:
            lists.append(at_depth(cells, free, diffuser.depth_m + ground.base_m))
        elif not have_deep:
            lists.append(np.array([deepest]))
            have_deep = True
        else:
            lists.append(deep(cells, free, floor_m))
    pool = np.unique(np.concatenate([np.zeros(0, dtype=int), *lists]))
    return pool, tuple(np.searchsorted(pool, found) for found in lists)


def _task(
    ground: Ground,
    placed: list[Standing],
    pool: np.ndarray,
    slots: tuple[np.ndarray, ...],
    spacing_m: float,
) -> Task:
    xy = ground.cells.xy[pool]
    way = ground.water.distances(xy, ground.part_xy)
    fixed = _xy_of(placed)
    fixed_way = ground.water.distances(fixed, ground.part_xy).min(axis=0, initial=np.inf)
    fixed_apart = cdist(xy, fixed).min(axis=1, initial=np.inf)
    return Task(slots, way, ground.part_volume_m3, fixed_way, cdist(xy, xy), fixed_apart, spacing_m)


def place_all(
    ground: Ground,
    listed: tuple[Diffuser, ...],
    turnover_per_day: float,
    flow_at: Callable[[float], float],
    lines_to: Callable[[np.ndarray, list[tuple[Diffuser, XY]], list[Diffuser]], Lines],
) -> Placed:
    """Return every diffuser in its place: those listed, or as many as the wanted flow needs; with the manifold's.

    Args:
        ground: the pond.
        listed: diffusers of the job; none of them lets the number be found.
        turnover_per_day: wanted turnovers a day.
        flow_at: water lifted by one plume [m³/s] from a membrane's depth [m].
        lines_to: lines from each place of the manifold to candidates (k, 2), for placed diffusers and for the rest.
    """
    notices: tuple[Notice, ...] = ()
    given: dict[int, Standing] = {}
    for index, diffuser in enumerate(listed):
        if diffuser.place is not None:
            given[index], more = stand_given(ground, diffuser)
            notices += more
    rest = [index for index in range(len(listed)) if index not in given]
    placed = list(given.values())
    wanted_m3_s = turnover_per_day * ground.survey.volume_m3 / DAY_S
    if listed:
        picked = pick_rest(ground, placed, [listed[index] for index in rest])
    else:
        picked = _enough(ground, wanted_m3_s, flow_at)
        rest = list(range(len(picked.rest)))
    at = [(item.diffuser, item.xy) for item in placed]
    lines = lines_to(ground.cells.xy[picked.pool], at, picked.rest)
    serving = _serving(ground, placed, picked, turnover_per_day, flow_at)
    joint = choose_together(picked.task, lines, serving, picked.choice)
    found, more = stand_rest(ground, picked, joint.candidates)
    standing = given | dict(zip(rest, found, strict=True))
    return Placed([standing[index] for index in range(len(standing))], notices + more, joint)


def _serving(
    ground: Ground,
    placed: list[Standing],
    picked: Picked,
    turnover_per_day: float,
    flow_at: Callable[[float], float],
) -> Serving:
    """Return what plumes can serve at the wanted rate, of each candidate and of those that are placed."""
    turn_m3 = DAY_S / turnover_per_day

    def can_m3(diffuser: Diffuser, cell_index: int) -> float:
        depth_m = diffuser.depth_m or membrane_depth(ground, float(ground.cells.depth_m[cell_index]))
        return flow_at(depth_m) * turn_m3

    can = np.zeros((len(picked.rest), len(picked.pool)))
    for slot, candidates in enumerate(picked.task.slot_candidates):
        can[slot, candidates] = [can_m3(picked.rest[slot], int(picked.pool[one])) for one in candidates]
    fixed_can = np.array([flow_at(item.depth_m) * turn_m3 for item in placed])
    return Serving(can, fixed_can, ground.water.distances(_xy_of(placed), ground.part_xy))


def _enough(ground: Ground, wanted_m3_s: float, flow_at: Callable[[float], float]) -> Picked:
    """Return as many diffusers as lift the wanted flow, the least number, where they serve best."""

    def lifts(picked: Picked) -> bool:
        standing = stand_rest(ground, picked, picked.choice.candidates)[0]
        return sum(flow_at(item.depth_m) for item in standing) >= wanted_m3_s

    found: Picked | None = None
    for count in range(1, MOST_DIFFUSERS + 1):
        named = [Diffuser(name=f"D{n + 1}") for n in range(count)]
        more = pick_rest(ground, [], named)
        if found is not None and more.notices:
            return found
        found = more
        if lifts(found):
            return found
        for share in DEEPER_SHARES:
            closer = pick_rest(ground, [], named, (share,))
            if not closer.notices and lifts(closer):
                return closer
    assert found is not None
    return found


def _xy_of(placed: list[Standing]) -> np.ndarray:
    return np.array([item.xy for item in placed], dtype=float).reshape(-1, 2)


def least_spacing(standing: list[Standing]) -> float | None:
    """Return the least distance between two diffusers [m], or None."""
    pairs = [
        hypot(a.xy[0] - b.xy[0], a.xy[1] - b.xy[1]) for n, a in enumerate(standing) for b in standing[:n]
    ]
    return min(pairs) if pairs else None
