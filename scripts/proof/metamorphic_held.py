"""The schedule held fixed: what more debt, a cloudier week and more sulphide do to each pond's refuge."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scripts.proof.made_ponds import Made, steps_of

from plumeline.kernels import column_index as ix
from plumeline.stages.column.march import AirPlan, Columns, march
from plumeline.stages.column.run import standing

Array = NDArray[np.float64]

DAYS = 7
MINUTES_BY_DAY = (30, 60, 120, 240, 480, 960, 1440)
FIRST_HOUR = 9
CLOUD_FRACTION = 0.4
"""A cloudier week takes so much of the sunlight away, and gives the sky the warmth of so much more cloud."""
STEFAN_BOLTZMANN_W_M2_K4 = 5.670374e-8


def more_debt(columns: Columns) -> Columns:
    """Return the ensemble with twice the iron and slow debt."""
    state = columns.state.copy()
    state[ix.DEBT_A] *= 2.0
    state[ix.DEBT_C] *= 2.0
    return replace(columns, state=state)


def more_sulphide(columns: Columns) -> Columns:
    """Return the ensemble with twice the sulphide, and at least 0.2 mg/L in the lower half."""
    state = columns.state.copy()
    deep = columns.grid.centre_m > 0.5 * columns.grid.centre_m[-1]
    state[ix.SULPHIDE] *= 2.0
    state[ix.SULPHIDE, deep] = np.maximum(state[ix.SULPHIDE, deep], 0.2)
    return replace(columns, state=state)


def duller(columns: Columns) -> Columns:
    """Return the ensemble with less sunlight in every hour ahead, and the sky as it was."""
    weather = columns.weather.copy()
    weather[ix.SHORTWAVE, columns.hour :] *= 1.0 - CLOUD_FRACTION
    return replace(columns, weather=weather)


def cloudier(columns: Columns) -> Columns:
    """Return the ensemble with less sunlight in every hour ahead, and the longwave of the cloud that takes it."""
    made = duller(columns)
    weather = made.weather
    ahead = slice(columns.hour, None)
    black = STEFAN_BOLTZMANN_W_M2_K4 * (weather[ix.AIR_TEMPERATURE, ahead] + 273.15) ** 4
    # Crawford & Duchon 1999: the sky's emissivity goes to 1 by the part that is covered
    weather[ix.SKY, ahead] += CLOUD_FRACTION * np.maximum(black - weather[ix.SKY, ahead], 0.0)
    return made


def dimmer_for_algae(columns: Columns) -> Columns:
    """Return the ensemble whose algae see so much less light, while the water is warmed as before.

    Production goes by light over I_K, so I_K raised by as much is the duller week for the algae alone.
    """
    parameters = columns.parameters.copy()
    parameters[ix.I_K] /= 1.0 - CLOUD_FRACTION
    return replace(columns, parameters=parameters)


CHANGES: dict[str, Callable[[Columns], Columns]] = {
    "more debt": more_debt,
    "more sulphide": more_sulphide,
    "a cloudier week": cloudier,
    "less light, the same sky": duller,
    "less light for the algae, the same heat": dimmer_for_algae,
}


LIFTED = ", ammonia's limit lifted"
"""Asked again without it: what oxidises gives carbon dioxide, pH falls, and less of the ammonia is un-ionised."""
JUDGED_ALONE = ("more debt", "less light for the algae, the same heat")


def without_ammonia(columns: Columns) -> Columns:
    """Return the ensemble with fish that no ammonia harms."""
    limits = columns.limits.copy()
    limits[ix.LIMIT_AMMONIA] = 1e6
    return replace(columns, limits=limits)


def asked() -> tuple[str, ...]:
    """Return the names of all comparisons: the changes, and two of them with ammonia's limit lifted."""
    return (*CHANGES, *(name + LIFTED for name in JUDGED_ALONE))


def fixed_plan(made: Made, columns: Columns) -> AirPlan:
    """Return the discs along the schedule that is held fixed."""
    return made.air(steps_of(columns.weather.shape[1], columns.hour + FIRST_HOUR, MINUTES_BY_DAY))


def ponds(made: Made, members: int, seed: int) -> Columns:
    """Return ponds of the priors that stand at the reading, a week of weather ahead."""
    hours = 24 * DAYS + FIRST_HOUR
    return standing(made.job(), made.grid(), made.limits(), members, seed, hours).columns


def compared(made: Made, columns: Columns, name: str) -> dict[str, Any]:
    """Return how the refuge of each member changes under one change, the schedule held.

    Counts the members whose least refuge rose, and those in which any hour's rose; a rise is over round-off.
    """
    plan = fixed_plan(made, columns)
    hours = columns.weather.shape[1]
    if name.endswith(LIFTED):
        columns = without_ammonia(columns)
    change = CHANGES[name.removesuffix(LIFTED)]
    before = march(columns, plan, hours).records[ix.REFUGE, columns.hour :]
    after = march(change(columns), plan, hours).records[ix.REFUGE, columns.hour :]
    return {"name": made.name, "change": name, **rises(before, after)}


def rises(before: Array, after: Array) -> dict[str, Any]:
    """Return counts and sizes of the rises of a refuge (hours, members)."""
    gain = after - before
    least = after.min(axis=0) - before.min(axis=0)
    whole = after.mean(axis=0) - before.mean(axis=0)
    over = 1e-9
    return {
        "members": before.shape[1],
        "least_rose": int((least > over).sum()),
        "least_fell": int((least < -over).sum()),
        "least_rise_fraction": float(least.max()),
        "mean_rose": int((whole > over).sum()),
        "mean_rise_fraction": float(whole.max()),
        "hour_rose": int((gain > over).any(axis=0).sum()),
        "hours_rose": int((gain > over).sum()),
        "hours": int(gain.size),
        "hour_rise_fraction": float(gain.max()),
        "mean_fall_fraction": float(-gain.mean()),
    }
