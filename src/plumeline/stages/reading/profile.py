"""One profile as lines over depth: what was read, and what had to be assumed where nothing was read."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from plumeline.errors import InputError
from plumeline.job.document import Profile, ProfilePoint, SmellStrength
from plumeline.notices import Notice, caution
from plumeline.pairs import pair
from plumeline.science.water import density_chen_millero_1986, salinity_hill_1986
from plumeline.sources.priors import prior
from plumeline.stages.checked import checked
from plumeline.stages.reading.slices import Array, crossings_m
from plumeline.stages.reading.strata import Strata, strata
from plumeline.units import both

REDUCED_FULL_MG_L = 0.5
REDUCED_NONE_MG_L = 2.0
"""Oxygen up to which water is wholly of the kind that owes oxygen, and from which not at all (judgement)."""

SMELL_WEIGHT = {SmellStrength.NONE: 0.0, SmellStrength.FAINT: 0.5, SmellStrength.STRONG: 1.0}
"""Smelling water owes oxygen whatever the meter says (judgement)."""


TRANSITION_M = 0.5
"""Half the height over which chemistry changes from above to below a pond's thermocline (judgement)."""


@dataclass(frozen=True, eq=False)
class Lines:
    """A profile as straight lines between the readings, held constant beyond its ends.

    Attributes:
        points: the readings, from the top down.
        depth_m, temperature_degc, do_mg_l, salinity_g_kg, density_kg_m3: shape (k,).
        smell_weight_fraction: 0 no smell, 1 strong; shape (k,).
        strata: the layers.
        notices: what was odd about the profile.
    """

    points: tuple[ProfilePoint, ...]
    depth_m: tuple[float, ...]
    temperature_degc: tuple[float, ...]
    do_mg_l: tuple[float, ...]
    salinity_g_kg: tuple[float, ...]
    density_kg_m3: tuple[float, ...]
    smell_weight_fraction: tuple[float, ...]
    strata: Strata
    notices: tuple[Notice, ...]

    def line(self, values: Sequence[float]) -> Callable[[Array], Array]:
        """Return a function of depth [m] through values at the readings, shape (k,)."""
        return lambda depth_m: np.interp(depth_m, self.depth_m, values)

    def owing_fraction(self, depth_m: Array) -> Array:
        """Return how far water at depths [m] is of the kind that owes oxygen, 0 to 1."""
        oxygen = np.interp(depth_m, self.depth_m, self.do_mg_l)
        smell = np.interp(depth_m, self.depth_m, self.smell_weight_fraction)
        by_oxygen = (REDUCED_NONE_MG_L - oxygen) / (REDUCED_NONE_MG_L - REDUCED_FULL_MG_L)
        return np.maximum(np.clip(by_oxygen, 0.0, 1.0), smell)

    def corners_m(self, *oxygen_limits_mg_l: float) -> tuple[float, ...]:
        """Return depths at which an integral over this profile has a corner."""
        limits = (REDUCED_FULL_MG_L, REDUCED_NONE_MG_L, *oxygen_limits_mg_l)
        crossed = [depth for limit in limits for depth in crossings_m(self.depth_m, self.do_mg_l, limit)]
        return (*self.depth_m, *crossed)


def lines_of(profile: Profile) -> Lines:
    """Return a profile as lines over depth.

    Args:
        profile: the readings

    Returns:
        the lines

    Raises:
        InputError: two readings at one depth.
    """
    points = tuple(sorted(profile.points, key=lambda point: point.depth_m))
    depth = tuple(point.depth_m for point in points)
    twice = [depth[i] for i in range(1, len(depth)) if depth[i] == depth[i - 1]]
    if twice:
        raise InputError(
            f"profile {profile.id} has two readings at {both(twice[0], 'm')}.",
            remedy="Keep one reading for each depth.",
            place="profiles.csv",
        )
    salinity, notices = _salinity_g_kg(points, depth)
    temperature = tuple(point.temperature_degc for point in points)
    density = tuple(density_chen_millero_1986(t, salt) for t, salt in zip(temperature, salinity, strict=True))
    smell = tuple(0.0 if point.smell is None else SMELL_WEIGHT[point.smell] for point in points)
    layers = strata(depth, temperature, density)
    oxygen = tuple(point.do_mg_l for point in points)
    return Lines(points, depth, temperature, oxygen, salinity, density, smell, layers, notices)


def _salinity_g_kg(
    points: tuple[ProfilePoint, ...], depth_m: tuple[float, ...]
) -> tuple[tuple[float, ...], tuple[Notice, ...]]:
    """Return salinity at every reading; zero where conductivity was never read."""
    read = [
        (point.depth_m, point.conductivity_us_cm) for point in points if point.conductivity_us_cm is not None
    ]
    if not read:
        return (0.0,) * len(points), ()
    caveats: dict[str, Notice] = {}
    values: list[float] = []
    at, conductivity = zip(*read, strict=True)
    for depth in depth_m:
        one = float(np.interp(depth, at, conductivity))
        value, odd = checked(salinity_hill_1986, outside="caveat", conductivity_us_cm=one)
        values.append(value)
        caveats.update({notice.code: notice for notice in odd})
    return tuple(values), tuple(caveats.values())


@dataclass(frozen=True)
class Filled:
    """A quantity at every reading: as read, between readings, or from a prior where nothing was near.

    Attributes:
        value: at each reading, shape (k,), in the quantity's unit.
        assumed: True where a prior had a part in it, shape (k,).
    """

    value: tuple[float, ...]
    assumed: tuple[bool, ...]

    @property
    def all_assumed(self) -> bool:
        """True when nothing was read."""
        return all(self.assumed)


def anchors_of(
    lines: Lines, read: Sequence[float | None], surface_prior: str, bottom_prior: str
) -> list[tuple[float, float, bool]]:
    """Return the points between which a quantity is straight: depth [m], value, and whether it is a prior's.

    Args:
        lines: the profile
        read: the quantity at each reading, None where not read, shape (k,)
        surface_prior: row of sources/priors.csv
        bottom_prior: row of sources/priors.csv
    """
    known = [(z, value, False) for z, value in zip(lines.depth_m, read, strict=True) if value is not None]
    middle = lines.strata.seasonal_thermocline_depth_m
    if middle is None:
        return known or [(0.0, prior(surface_prior).mode, True)]
    upper = [entry for entry in known if entry[0] <= middle]
    lower = [entry for entry in known if entry[0] > middle]
    last = upper[-1] if upper else (0.0, prior(surface_prior).mode, True)
    first = lower[0] if lower else (lines.depth_m[-1], prior(bottom_prior).mode, True)
    over = max(middle - TRANSITION_M, last[0], lines.depth_m[0])
    under = min(middle + TRANSITION_M, first[0], lines.depth_m[-1])
    return [*upper, (over, *last[1:]), (under, *first[1:]), *lower]


def filled(lines: Lines, read: Sequence[float | None], surface_prior: str, bottom_prior: str) -> Filled:
    """Return a quantity at every reading, with priors for a layer in which it was never read.

    A reading stands for its whole layer, above or below the seasonal thermocline; a layer without one takes
    the prior; between the layers the line is straight. In a mixed column there is one layer, with the
    surface's prior.

    Args:
        lines: the profile
        read: the quantity at each reading, None where not read, shape (k,)
        surface_prior: row of sources/priors.csv
        bottom_prior: row of sources/priors.csv

    Returns:
        values and marks
    """
    anchors = anchors_of(lines, read, surface_prior, bottom_prior)
    at = [entry[0] for entry in anchors]
    value = np.interp(lines.depth_m, at, [entry[1] for entry in anchors])
    guessed = np.interp(lines.depth_m, at, [float(entry[2]) for entry in anchors])
    return Filled(tuple(float(v) for v in value), tuple(bool(g > 1e-6) for g in guessed))


def odd_notices(lines: Lines, deepest_m: float) -> tuple[Notice, ...]:
    """Return what is odd about a profile in this pond: one point, too short, too deep, heavy water on light.

    Args:
        lines: the profile
        deepest_m: greatest depth of the pond [m]

    Returns:
        cautions
    """
    found = list(lines.notices)
    last = lines.depth_m[-1]
    if len(lines.depth_m) < 3:
        found.append(
            caution(
                "profile-few-points",
                f"The profile has {len(lines.depth_m)} reading{'s' if len(lines.depth_m) > 1 else ''}: where "
                f"the layers lie can't be told. Read every {pair('2 ft', '0.5 m')} from top to bottom.",
            )
        )
    if last > deepest_m + 0.3:
        found.append(
            caution(
                "profile-deeper-than-pond",
                f"The profile goes to {both(last, 'm')} but the survey's deepest water is {both(deepest_m, 'm')}: "
                "the readings below that count for nothing. Check units, level and soundings.",
            )
        )
    elif deepest_m - last > max(0.6, 0.15 * deepest_m):
        found.append(
            caution(
                "profile-stops-short",
                f"The deepest reading is at {both(last, 'm')} and the pond goes to {both(deepest_m, 'm')}: the water "
                "below is taken to be like the last reading; it is likely worse.",
            )
        )
    heavier = [lines.density_kg_m3[i] - lines.density_kg_m3[i + 1] for i in range(len(lines.depth_m) - 1)]
    if heavier and max(heavier) > 0.1:
        at = lines.depth_m[heavier.index(max(heavier)) + 1]
        found.append(
            caution(
                "profile-upside-down",
                f"At {both(at, 'm')} lighter water lies under heavier water. Unless salts hold it there, "
                "a reading is wrong or the meter was not given time.",
            )
        )
    return tuple(found)
