"""Sound in the open: how a level falls with the distance, and what several like sources make."""

from __future__ import annotations

import math


def level_at_distance_iso_9613_1996(
    level_dba: float, reference_distance_m: float, distance_m: float
) -> float:
    """Sound level of a small source at a distance, from its level at another.

    Equation: L = L0 − 20 log10(r/r0); L0 the level at r0

    Args:
        level_dba: level at the reference distance [dB(A)].
        reference_distance_m: distance at which it was measured [m].
        distance_m: distance asked for [m].

    Returns:
        Level there [dB(A)].

    Valid range: a source small beside both distances, flat ground; what air, ground, walls and plants take
        is left out (it lowers the level), and so is what a wall behind the source throws back (it raises it).

    Source: ISO 9613-2:1996, geometrical divergence (from memory).

    >>> round(level_at_distance_iso_9613_1996(57.0, 1.0, 10.0), 6)
    37.0
    """
    return level_dba - 20.0 * math.log10(distance_m / reference_distance_m)


def distance_of_level_iso_9613_1996(
    level_dba: float, reference_distance_m: float, wanted_level_dba: float
) -> float:
    """Distance at which the sound of a small source has fallen to a level: the inverse of the level.

    Equation: r = r0 10^((L0 − L)/20); L0 the level at r0

    Args:
        level_dba: level at the reference distance [dB(A)].
        reference_distance_m: distance at which it was measured [m].
        wanted_level_dba: level looked for [dB(A)].

    Returns:
        Distance [m].

    Valid range: as for the level.

    Source: ISO 9613-2:1996, geometrical divergence (from memory).

    >>> round(distance_of_level_iso_9613_1996(57.0, 1.0, 37.0), 6)
    10.0
    """
    return float(reference_distance_m * 10.0 ** ((level_dba - wanted_level_dba) / 20.0))


def level_of_several_iso_3744_2010(level_dba: float, sources_number: float) -> float:
    """Level of several like sources side by side.

    Equation: L = L1 + 10 log10 n

    Args:
        level_dba: level of one [dB(A)].
        sources_number: how many, n [-].

    Returns:
        Level of all [dB(A)].

    Valid range: sources that do not run in step, close together beside the distance.

    Source: ISO 3744:2010, sum of sound energies (from memory).

    >>> round(level_of_several_iso_3744_2010(57.0, 2.0), 2)
    60.01
    """
    return level_dba + 10.0 * math.log10(sources_number)


RANGE: dict[str, dict[str, tuple[float, float]]] = {
    "level_at_distance_iso_9613_1996": {
        "level_dba": (0.0, 140.0),
        "reference_distance_m": (0.1, 10.0),
        "distance_m": (0.1, 5000.0),
    },
    "distance_of_level_iso_9613_1996": {
        "level_dba": (0.0, 140.0),
        "reference_distance_m": (0.1, 10.0),
        "wanted_level_dba": (0.0, 140.0),
    },
    "level_of_several_iso_3744_2010": {"level_dba": (0.0, 140.0), "sources_number": (1.0, 100.0)},
}
