"""For a crew without GPS: bearings and distances from marks on the shore, the order of work, the depth to find."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import atan2, degrees, hypot

from plumeline.notices import Notice, caution
from plumeline.sources.priors import SCORE_95
from plumeline.units import half_band, show
from plumeline.units.showing import System

NARROW_DEG = 30.0
"""Under this angle between two sights a small error of one moves the place far. Judgement."""
LEAST_TOLERANCE_M = 0.3048
"""A weighted line in a drifting boat is no better than a foot. Judgement."""

GUESSED = (
    "Nobody sounded this pond, so the depths at the places are a guess from its shape and no check for the crew. Sound "
    "each place before its line is cut, and give the soundings."
)

XY = tuple[float, float]


@dataclass(frozen=True)
class Sight:
    """Where a place lies from a mark: true bearing [deg] and straight distance [m]."""

    mark: str
    bearing_deg: float
    distance_m: float


@dataclass(frozen=True)
class Stake:
    """One diffuser, or a bend of its line, as the crew finds it.

    Attributes:
        name: of the diffuser; of a bend "A, bend 1", counted from the manifold.
        order_number: 1 is let down first; the farthest goes first, so that no boat crosses a line that lies.
        sights: from each mark; from the manifold alone where the job has no marks.
        line_depth_m: what the weighted line must read before it is let go.
        tolerance_m: how far the line may read from that; None where nobody sounded, so that the depth is a guess.
        crossing_deg: angle between the two sights that cross best, 0 to 90; None with a single mark.
    """

    name: str
    order_number: int
    sights: tuple[Sight, ...]
    line_depth_m: float
    tolerance_m: float | None
    crossing_deg: float | None
    is_bend: bool = False


@dataclass(frozen=True)
class Bend:
    """A place that a line is led through, with the pond's depth there."""

    name: str
    xy: XY
    bottom_depth_m: float


def bend_name(diffuser: str, number: int) -> str:
    """Return what a bend is called: counted from the manifold."""
    return f"{diffuser}, bend {number}"


def sight(mark: str, from_xy: XY, to_xy: XY) -> Sight:
    """Return a sight from one place to another; the bearing is clockwise from true north."""
    east, north = to_xy[0] - from_xy[0], to_xy[1] - from_xy[1]
    return Sight(mark, degrees(atan2(east, north)) % 360.0, hypot(east, north))


def crossing(bearings_deg: list[float]) -> float | None:
    """Return the widest angle at which two of the sights cross, 0 to 90 [deg]; None for fewer than two."""
    angles = [
        min((a - b) % 180.0, (b - a) % 180.0) for n, a in enumerate(bearings_deg) for b in bearings_deg[:n]
    ]
    return max(angles, default=None)


def tolerance(depth_error_m: float, reading_error_m: float) -> float:
    """Return how far the line may read from the depth of the plan [m], at the right place, nine times of ten.

    Args:
        depth_error_m: standard error of the plan's depth there.
        reading_error_m: of a sounding, by the survey: the crew's line errs as those did.
    """
    return max(LEAST_TOLERANCE_M, SCORE_95 * hypot(depth_error_m, reading_error_m))


def line_words(stake: Stake, system: System) -> str:
    """Return what the weighted line must read before it is let go; where nobody sounded, that it is a guess."""
    depth = show(stake.line_depth_m, "m", system)
    if stake.tolerance_m is None:
        return f"{depth}? sound it"
    return f"{depth} ± {half_band(stake.tolerance_m, 'm', system)}"


def stakes_of(
    places: list[tuple[str, XY, float, float]],
    marks: list[tuple[str, XY]],
    tolerance_m: Callable[[XY], float | None],
    bends: Mapping[str, Sequence[Bend]],
) -> tuple[Stake, ...]:
    """Return the stakes in the order of work.

    Args:
        places: name, place, bottom's depth [m] and length of line [m] of each diffuser.
        marks: name and place of each mark.
        tolerance_m: how far the line may read from the depth at a place [m]; None where nobody sounded.
        bends: of the line of each diffuser that has any; they come with it, the one farthest out first.
    """
    order = sorted(places, key=lambda item: -item[3])
    found = []
    for number, (name, xy, bottom_m, _) in enumerate(order, start=1):
        for here in (Bend(name, xy, bottom_m), *reversed(bends.get(name, ()))):
            sights = tuple(sight(mark, at, here.xy) for mark, at in marks)
            angle = crossing([item.bearing_deg for item in sights])
            found.append(
                Stake(
                    here.name,
                    number,
                    sights,
                    here.bottom_depth_m,
                    tolerance_m(here.xy),
                    angle,
                    here.name != name,
                )
            )
    return tuple(found)


def stake_notices(stakes: tuple[Stake, ...]) -> tuple[Notice, ...]:
    """Return that some sights cross too flat to find a place by, and that the depths to find are a guess."""
    guessed = any(item.tolerance_m is None for item in stakes)
    return (*_flat_notices(stakes), *((caution("depths-guessed", GUESSED),) if guessed else ()))


def _flat_notices(stakes: tuple[Stake, ...]) -> tuple[Notice, ...]:
    flat = [item.name for item in stakes if item.crossing_deg is not None and item.crossing_deg < NARROW_DEG]
    if not flat:
        return ()
    text = (
        f"{', '.join(flat)}: the sights from the marks cross at under {NARROW_DEG:g}°, so the place is not sure; "
        "choose a mark farther along the shore, or measure the distances too."
    )
    return (caution("marks-narrow", text),)
