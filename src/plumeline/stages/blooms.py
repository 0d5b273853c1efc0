"""Does mixing beat the blue-greens in this pond? Its own diffusers, run all day, in part, and not at all."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from plumeline.errors import ModelError
from plumeline.job.document import Job
from plumeline.kernels import column_index as ix
from plumeline.notices import Notice, caution, note
from plumeline.sources.priors import prior
from plumeline.stages.column import AirPlan, believed, make_grid, refuge_for
from plumeline.stages.column.bluegreens import DAY_H, SPIN_UP_H, Regime, mixed, slowest_mode, stirring
from plumeline.stages.column.run import standing
from plumeline.stages.mixed import STANDARD_AIR_MOL_M3
from plumeline.stages.sizing import Sized
from plumeline.stages.survey import Survey
from plumeline.units import convert, show
from plumeline.units.showing import System

Array = NDArray[np.float64]

MEMBERS = 64
ACRE_M2 = 4046.8564224
OFTEN_ENOUGH_PROBABILITY = 0.9
"""Under this the words say that the air is often not enough (judgement)."""

NIGHT_FROM_H = 20

NIEUWE_MEER = (
    "Where mixing was strong enough it changed who wins: in Lake Nieuwe Meer blue-greens fell from about 90 % to under "
    "5 % of the algae, while the water became no clearer (Visser and others 1996; Jungo and others 2001)."
)
STRONGEST_SAID_FRACTION = 0.99
"""A diffusivity this near the greatest that an hour's dye can show is said as more than that."""

HEAT_WAVE = (
    "Air that ran in part of the day only failed against blue-greens in a heat wave (Jöhnk and others 2008)."
)


@dataclass(frozen=True)
class Blooms:
    """Whether the pond's air can hold buoyant blue-greens down.

    Attributes:
        depth_m: of the stirred water, H.
        members: simulated ponds.
        discs_per_acre_number: diffusers that carry air, by acre of surface.
        needed_m2_s: v H for the median rise speed: the diffusivity at which the Péclet number is 1.
        regimes: air all day, air in part of the day, no air.
        notices: warnings.
    """

    depth_m: float
    members: int
    discs_per_acre_number: float
    needed_m2_s: float
    regimes: tuple[Regime, ...]
    notices: tuple[Notice, ...]


def blooms(
    job: Job, basin: Survey, sized: Sized, *, seed: int, members: int = MEMBERS, run_hours_h: float = 12.0
) -> Blooms:
    """Return whether the sized air can hold buoyant blue-greens down, once the pond is through its start-up.

    Args:
        job: the job; its last profile is the reading
        basin: the surveyed pond
        sized: layout and air
        seed: seed of the ensemble
        members: simulated ponds
        run_hours_h: hours a day of the regime that runs in part, from 20:00 [h]

    Raises:
        ModelError: no diffuser carries air.
    """
    flows = [sized.air.diffuser_flow_standard_m3_s(item.name) for item in sized.layout.diffusers]
    live = [(item.depth_m, q) for item, q in zip(sized.layout.diffusers, flows, strict=True) if q > 0.0]
    if not live:
        raise ModelError("no diffuser carries air, so nothing is stirred.", place="air")
    depth, air_m3_s = (np.array(column) for column in zip(*live, strict=True))
    grid = make_grid(basin.hypsograph, basin.max_depth_m)
    refuge = refuge_for(job.fish, basin.area_m2, tuple(float(d) for d in depth))
    hours = SPIN_UP_H + DAY_H + 1
    # the rates that decide the stirring are not told by a reading of still water: drawn from the priors alone
    stand = standing(believed(job), grid, refuge.as_array(), members, seed, hours)
    columns = mixed(stand.columns)
    zone = ZoneInfo(job.site.time_zone)
    clock = np.array([(stand.start + timedelta(hours=h)).astimezone(zone).hour for h in range(hours)])
    mode = slowest_mode(grid, float(depth.max()))
    plans = {
        "air all day": np.ones(len(clock), dtype=bool),
        f"air {run_hours_h:g} h a day, from {NIGHT_FROM_H}:00": (clock - NIGHT_FROM_H) % 24 < run_hours_h,
        "no air": np.zeros(len(clock), dtype=bool),
    }
    regimes = tuple(
        stirring(columns, _plan(depth, air_m3_s * STANDARD_AIR_MOL_M3, on), clock, name, mode)
        for name, on in plans.items()
    )
    discs = len(live) / (basin.area_m2 / ACRE_M2)
    needed = prior("rise_speed").mode / 3600.0 * mode.depth_m
    return Blooms(
        mode.depth_m,
        members,
        discs,
        needed,
        regimes,
        (*_notices(regimes), *stand.notices),
    )


def _plan(depth_m: Array, air_mol_s: Array, on: NDArray[np.bool_]) -> AirPlan:
    """Return the diffusers, all of them on in the hours that are on."""
    steps = np.repeat(on, ix.STEPS_EACH_HOUR)[:, None] & np.ones(len(depth_m), dtype=bool)
    return AirPlan(depth_m, air_mol_s, steps.astype(np.uint8))


def of_hundred(probability: float) -> str:
    """Return a probability as so many in 100."""
    if probability < 0.005:
        return "under 1 in 100"
    if probability > 0.995:
        return "over 99 in 100"
    return f"{100.0 * probability:.0f} in 100"


def paragraph(found: Blooms, units: System) -> tuple[str, ...]:
    """Return what was found in words, sentence by sentence.

    Args:
        found: the result
        units: "us" or "si"
    """
    row = prior("rise_speed")
    slow, usual, fast = (_by_hour(value, units) for value in (row.low, row.mode, row.high))
    said = [
        f"Stirring is set against blue-greens that float up at {slow} to {fast}, {usual} in the middle: through these "
        f"{show(found.depth_m, 'm', units)} the middle one asks for {_cm2_s(found.needed_m2_s)}. One disc an acre "
        f"gives of order 0.6 cm²/s (own estimate), often not enough for large colonies; here there are "
        f"{found.discs_per_acre_number:.1f} an acre."
    ]
    for regime in found.regimes:
        middles = [regime.band_m2_s(hour)[1] for hour in range(DAY_H)]
        most = "over " if max(middles) > STRONGEST_SAID_FRACTION * regime.most_m2_s else ""
        worst = int(np.argmin(regime.holding_probability))
        said.append(
            f"{regime.name[:1].upper()}{regime.name[1:]}: {_cm2_s(min(middles))} to {most}{_cm2_s(max(middles))} "
            f"over the day (middle of {found.members} simulated ponds); the odds that it holds them down are least at "
            f"{worst:02d}:00, {of_hundred(regime.holding_probability[worst])}, and "
            f"{of_hundred(regime.all_day_probability)} in every hour of the day."
        )
    return (*said, HEAT_WAVE, NIEUWE_MEER, "Mixing is no cure that can be promised.")


def _by_hour(value_m_h: float, units: System) -> str:
    """Return a speed by the hour, as colonies are spoken of."""
    if units == "us":
        return f"{convert(value_m_h, 'm', 'ft'):.2g} ft an hour"
    return f"{value_m_h:.2g} m an hour"


def _cm2_s(value_m2_s: float) -> str:
    """Return a diffusivity in the unit of the literature."""
    return f"{value_m2_s * 1e4:.2g} cm²/s"


def _notices(regimes: tuple[Regime, ...]) -> tuple[Notice, ...]:
    """Warn where air all day is often not enough, and where air in part of the day is less than that."""
    always, part = regimes[0], regimes[1]
    found: list[Notice] = []
    if always.all_day_probability < OFTEN_ENOUGH_PROBABILITY:
        text = (
            "Against blue-greens this air is often not enough: the odds that it holds floating colonies down in "
            f"every hour of the day are {of_hundred(always.all_day_probability)}. Promise no cure."
        )
        found.append(caution("blooms-often-not-enough", text))
    else:
        text = "The stirring is strong against blue-greens; that is no promise of a cure."
        found.append(note("blooms-strong", text))
    if part.all_day_probability < always.all_day_probability - 0.02:
        text = f"With {part.name} it is less: {of_hundred(part.all_day_probability)}. {HEAT_WAVE}"
        found.append(caution("blooms-in-part", text))
    return tuple(found)
