"""How sure a risk is by the number of ponds, and what it turns on: which priors, held high or low, move it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.stats import rankdata
from scripts.proof.made_ponds import TEN, Made, steps_of

from plumeline.kernels import column_index as ix
from plumeline.stages.column import draw_ensemble
from plumeline.stages.column.march import AirPlan, Columns, march
from plumeline.stages.column.run import standing

Array = NDArray[np.float64]

SEED = 21
DAYS = 7
MINUTES_BY_DAY = (30, 60, 120, 240, 480, 960, 1440)
"""The custom of doubling, held fixed: the study asks of the numbers, not of the plan."""
RUN_HOUR = 15
SIZES = (32, 64, 128, 256, 512)
LOW, HIGH = 0.1, 0.9
LEAST_SPREAD_FRACTION = 1e-9


@dataclass(frozen=True)
class Outcome:
    """What a fixed schedule did to an ensemble.

    Attributes:
        lost: whether each pond lost its refuge after the first run (members).
        least_fraction: least usable part of the volume from then on (members).
    """

    lost: NDArray[np.bool_]
    least_fraction: Array


def outcome(columns: Columns, made: Made, first_hour: int) -> Outcome:
    """March an ensemble along the fixed schedule to the end of its weather.

    Args:
        columns: the ensemble
        made: its pond
        first_hour: hour of its weather at which the first run starts
    """
    air = plan_of(made, columns.weather.shape[1], first_hour)
    before = march(columns, air, first_hour).after
    nothing = np.zeros(columns.members, dtype=np.int64)
    ready = replace(before, under_steps=nothing, failed_step=nothing - 1, cause=nothing.copy())
    run = march(ready, air, columns.weather.shape[1])
    return Outcome(run.after.failed_step >= 0, run.records[ix.REFUGE, first_hour:].min(axis=0))


def plan_of(made: Made, hours: int, first_hour: int) -> AirPlan:
    """Return the discs of a pond along the fixed schedule."""
    return made.air(steps_of(hours, first_hour, MINUTES_BY_DAY))


def first_run_hour(columns: Columns) -> int:
    """Return the hour of the weather at which the first run starts: the afternoon after the reading at dawn."""
    return columns.hour + RUN_HOUR - 6


def by_size(index: int, members: int) -> dict[str, Any]:
    """Return the spread of the risk between ensembles of each size, beside the binomial law's.

    A large ensemble of the priors is drawn once for each size anew, by blocks with seeds of their own, for a
    Latin hypercube is spread evenly within itself and blocks of a large one are not.
    """
    made = TEN[index]
    rows = []
    for size in SIZES:
        if size * 4 > members:
            continue
        risks = [_risk(made, size, SEED + 1000 * block + size) for block in range(members // size)]
        risk = float(np.mean(risks))
        rows.append(
            {
                "members": size,
                "blocks": len(risks),
                "risk": risk,
                "spread": float(np.std(risks, ddof=1)),
                "binomial": float(np.sqrt(risk * (1.0 - risk) / size)),
            }
        )
    return {"name": made.name, "rows": rows}


def _risk(made: Made, size: int, seed: int) -> float:
    hours = 24 * DAYS + RUN_HOUR
    columns = standing(made.job(), made.grid(), made.limits(), size, seed, hours).columns
    return float(outcome(columns, made, first_run_hour(columns)).lost.mean())


def conditioned(index: int, members: int) -> Columns:
    """Return an ensemble that agrees with the pond's reading, as the plan's does."""
    made = TEN[index]
    hours = 24 * DAYS + RUN_HOUR
    return draw_ensemble(made.job(), made.grid(), made.limits(), members, SEED, hours).columns


def factors(columns: Columns) -> dict[str, Array]:
    """Return what differs between the ponds of an ensemble, by name (members): parameters, water, weather."""
    found = {f"rate: {PARAMETER_NAMES[row]}": columns.parameters[row] for row in range(ix.PARAMETERS)}
    deep = columns.grid.centre_m > 0.5 * columns.grid.centre_m[-1]
    weight = columns.grid.volume_m3 / columns.grid.volume_m3[deep].sum()
    for row, name in WATER.items():
        found[f"water: {name} below"] = np.einsum("km,k->m", columns.state[row][deep], weight[deep])
    found["water: oxygen on top"] = columns.state[ix.OXYGEN, 0]
    found["water: warmth on top"] = columns.state[ix.TEMPERATURE, 0]
    found["water: pH on top (carbon)"] = -columns.state[ix.CARBON, 0]
    ahead = columns.weather[:, columns.hour :]
    for row, name in ((ix.AIR_TEMPERATURE, "warmth"), (ix.WIND_SPEED, "wind"), (ix.SHORTWAVE, "sun")):
        found[f"weather: {name}"] = ahead[row].mean(axis=0)
    return {name: value for name, value in found.items() if np.ptp(value) > LEAST_SPREAD_FRACTION}


WATER = {
    ix.DEBT_A: "iron debt", ix.SULPHIDE: "sulphide", ix.DEBT_C: "slow debt", ix.AMMONIA: "ammonia",
    ix.CARBON: "inorganic carbon", ix.CHLOROPHYLL: "chlorophyll",
}  # fmt: skip
RATES = """
    BULK LONGWAVE EXTINCTION PAR OPEN_WIND WIND DIFFUSIVITY K600_CALM K600_WIND SEDIMENT SEDIMENT_THETA SEDIMENT_HALF
    SWEEP RESPIRATION RESPIRATION_THETA P_MAX I_K RATE_A RATE_S RATE_C REDUCED_FLUX BOIL_TRANSFER BOIL_RADIUS
    BLOOM_LOSS CHLOROPHYLL_0 STIRRED_MUD ALPHA FROUDE LAMBDA SOURCE_RADIUS BUBBLE_RADIUS TRANSFER REENTRAINMENT
    SULPHIDE_SHARE FREE_CONVECTION K600_LAW BLOOM_TURNOVER BLOOM_MOST FRESH_DECAY FRESH_SETTLING
"""
PARAMETER_NAMES = {getattr(ix, name): name.lower().replace("_", " ") for name in RATES.split()}


def ranked(columns: Columns, found: Outcome) -> list[dict[str, Any]]:
    """Return each factor's rank correlation with the least refuge, and the part of the losses it explains."""
    target = rankdata(found.least_fraction)
    lost = found.lost.astype(float)
    rows = []
    for name, value in factors(columns).items():
        rank = rankdata(value)
        if np.std(target) == 0.0 or np.std(rank) == 0.0:
            continue
        rows.append(
            {
                "factor": name,
                "correlation": float(np.corrcoef(rank, target)[0, 1]),
                "explained": explained_fraction(rank, lost),
            }
        )
    return sorted(rows, key=lambda row: -abs(row["correlation"]))


def explained_fraction(rank: Array, lost: Array, classes: int = 8) -> float:
    """Return the part of the variance of a loss that knowing the factor's class takes away, chance taken off.

    The first-order index by classes of equal size (Saltelli and others 2008, Global Sensitivity Analysis, ch. 4),
    less what classes of so many members show by chance: (classes − 1)/(members − 1).
    """
    if lost.std() == 0.0:
        return 0.0
    split = np.array_split(np.argsort(rank, kind="stable"), classes)
    between = sum(len(part) * (lost[part].mean() - lost.mean()) ** 2 for part in split) / len(lost)
    chance = (classes - 1) / (len(lost) - 1)
    return float(between / lost.var() - chance)


def held(columns: Columns, made: Made, name: str) -> dict[str, Any]:
    """Return the risk with one factor at its low and at its high end in every pond, all else as drawn."""
    first = first_run_hour(columns)
    values = factors(columns)[name]
    found: dict[str, Any] = {"factor": name}
    for end, share in (("low", LOW), ("high", HIGH)):
        changed = with_factor(columns, name, float(np.quantile(values, share)))
        result = outcome(changed, made, first)
        found[f"{end}_risk"] = float(result.lost.mean())
        found[f"{end}_least"] = float(np.median(result.least_fraction))
    return found


def with_factor(columns: Columns, name: str, value: float) -> Columns:
    """Return the ensemble with one factor at one value in every pond: rates set, water and weather scaled."""
    kind, what = name.split(": ", 1)
    now = factors(columns)[name]
    if kind == "rate":
        parameters = columns.parameters.copy()
        parameters[{text: row for row, text in PARAMETER_NAMES.items()}[what]] = value
        return replace(columns, parameters=parameters)
    state, weather = columns.state.copy(), columns.weather.copy()
    if kind == "weather":
        row = {"warmth": ix.AIR_TEMPERATURE, "wind": ix.WIND_SPEED, "sun": ix.SHORTWAVE}[what]
        if what == "warmth":
            weather[row] += value - now
        else:
            weather[row] *= value / np.maximum(now, 1e-9)
        return replace(columns, weather=weather)
    if what.endswith(" below"):
        row = {text: row for row, text in WATER.items()}[what.removesuffix(" below")]
        state[row] *= value / np.maximum(now, 1e-9)
    elif what == "pH on top (carbon)":
        state[ix.CARBON] *= value / now
    else:
        row = ix.OXYGEN if what.startswith("oxygen") else ix.TEMPERATURE
        state[row] = np.maximum(state[row] + (value - now) * (state[row] / state[row, 0]), 0.0)
    return replace(columns, state=state)
