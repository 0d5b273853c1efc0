"""The ensemble: members drawn from the priors and kept where they agree with what was read and seen.

Members run through the three days before the reading. Each is kept with a chance that falls with its
distance from the reading: the oxygen and warmth of the upper metre and
of the water from there to where the oxygen ends, the bottle, and whether the fish lived.
What is kept is a sample of the ponds that could be this one; a fresh seed gives a fresh sample.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from plumeline.errors import ModelError
from plumeline.job.document import Answer, Bottle, Job
from plumeline.kernels import column_index as ix
from plumeline.notices import Notice, caution
from plumeline.science.heat import open_wind_fraction_markfort_2010
from plumeline.stages.column.grid import Grid
from plumeline.stages.column.march import NEAR_SURFACE_M, Columns, Run, march, still
from plumeline.stages.column.priors import draw_priors
from plumeline.stages.column.water import WaterRead, first_state, water_read
from plumeline.stages.column.weather import WeatherBase, member_weather, weather_base
from plumeline.stages.reading import latest_profile
from plumeline.stages.reading.bottle import bottle_demand

Array = NDArray[np.float64]

LEAD_HOURS = 72  # run before the reading
BATCH = 2048  # ponds drawn at a time
DAY_S = 86400.0
OXYGEN_ERROR_MG_L = 2.0  # meter 0.5, place 0.7 and the model's own 1.8, together
WARMTH_ERROR_DEGC = 1.4
BOTTLE_ERROR_MG_L = 1.0
CONTROL_ERROR_MG_L = 0.4
HALF_LIFE_A_AT_MG_L = 8.0  # oxygen at which the table's half-lives hold: iron, air-saturated
HALF_LIFE_B_AT_MG_L = 5.0  # and sulphide


@dataclass(frozen=True)
class Ensemble:
    """Members that agree with the reading, standing at the hour of the reading.

    Attributes:
        columns: the ensemble; its weather starts `LEAD_HOURS` before hour `columns.hour`.
        start: time of hour 0 of the weather, UTC.
        local_hour: local clock hour at the start of each hour of weather.
        water: the reading by layer.
        tried: members drawn before enough were kept.
        notices: what had to be assumed.
        assumptions: in plain words.
    """

    columns: Columns
    start: datetime
    local_hour: NDArray[np.int64]
    water: WaterRead
    tried: int
    notices: tuple[Notice, ...]
    assumptions: tuple[str, ...]


def parameters_of(
    draws: dict[str, Array], extinction_1_m: Array, job: Job, area_m2: float, sulphide_read: bool
) -> Array:
    """Return the parameters of every member (PARAMETERS, members), in the units of the kernel."""
    members = len(extinction_1_m)
    values = np.zeros((ix.PARAMETERS, members))
    shelter = open_wind_fraction_markfort_2010(area_m2, job.pond.obstacle_height_m)
    rows = {
        ix.BULK: draws["bulk_exchange"] * 1e-3,
        ix.LONGWAVE: draws["longwave_factor"],
        ix.EXTINCTION: extinction_1_m,
        ix.PAR: draws["par_fraction"],
        # a pond among trees is not cut off from the wind: what falls under zero is folded back
        ix.OPEN_WIND: np.clip(np.abs(shelter + draws["open_wind_offset"]), 0.02, 1.0),
        ix.WIND: draws["wind_ratio"],
        ix.DIFFUSIVITY: draws["diffusivity_multiplier"],
        ix.K600_CALM: draws["k600_calm"] / DAY_S,
        ix.K600_WIND: draws["k600_wind_factor"],
        ix.SEDIMENT: draws["sediment_demand"] / DAY_S,
        ix.SEDIMENT_THETA: draws["sediment_theta"],
        ix.SEDIMENT_HALF: draws["sediment_half_saturation"],
        ix.SWEEP: draws["sweep_factor"],
        ix.RESPIRATION: draws["water_respiration"] / DAY_S,
        ix.RESPIRATION_THETA: draws["respiration_theta"],
        ix.P_MAX: draws["p_max"] / 3600.0,
        ix.I_K: draws["i_k"],
        ix.RATE_A: np.log(2.0) / (draws["half_life_a"] * 60.0) / HALF_LIFE_A_AT_MG_L,
        ix.RATE_S: np.log(2.0) / (draws["half_life_b"] * 3600.0) / HALF_LIFE_B_AT_MG_L,
        ix.RATE_C: draws["rate_c"] / DAY_S,
        ix.REDUCED_FLUX: draws["reduced_flux"] / DAY_S,
        ix.BOIL_TRANSFER: draws["boil_transfer"] / DAY_S,
        ix.BOIL_RADIUS: draws["boil_radius_ratio"],
        ix.BLOOM_LOSS: draws["bloom_loss"] / DAY_S,
        ix.CHLOROPHYLL_0: draws["chlorophyll"],
        ix.STIRRED_MUD: draws["stirred_mud"],
        ix.ALPHA: draws["plume_alpha"],
        ix.FROUDE: draws["plume_froude"],
        ix.LAMBDA: draws["plume_lambda"],
        ix.SOURCE_RADIUS: draws["plume_source_radius_ratio"] * job.air.disc_radius_m,
        ix.BUBBLE_RADIUS: draws["bubble_radius"] * 1e-3,
        ix.TRANSFER: draws["transfer_factor"],
        ix.REENTRAINMENT: draws["reentrainment"],
        ix.FREE_CONVECTION: draws["free_convection"],
        # a sulphide that was read is dissolved; the prior's pool holds iron sulphide and more
        ix.SULPHIDE_SHARE: np.ones(members) if sulphide_read else draws["sulphide_share"],
    }
    for index, row in rows.items():
        values[index] = row
    return values


@dataclass(frozen=True)
class _Drawn:
    """Ponds drawn from the priors, before any weather: state at the reading, draws, extinction_1_m."""

    state: Array
    draws: dict[str, Array]
    extinction_1_m: Array

    def take(self, chosen_index: NDArray[np.int64]) -> _Drawn:
        draws = {name: values[chosen_index] for name, values in self.draws.items()}
        return _Drawn(
            np.ascontiguousarray(self.state[:, :, chosen_index]), draws, self.extinction_1_m[chosen_index]
        )


def _draw(
    job: Job, grid: Grid, water: WaterRead, seed: int, generator: np.random.Generator
) -> tuple[_Drawn, int]:
    """Draw ponds, keep each by its agreement with the bottles, and return how many were drawn.

    Nothing has to be run for a bottle, so this comes first and spares most of the runs.
    """
    draws = draw_priors(BATCH, seed)
    state, extinction_1_m = first_state(water, draws, job, seed + 7)
    draws["chlorophyll"] = state[ix.CHLOROPHYLL].max(axis=0)
    drawn = _Drawn(state, draws, extinction_1_m)
    misfit = np.zeros(BATCH)
    for bottle in job.bottles:
        misfit += _bottle_misfit(bottle, grid, drawn)
    return drawn.take(np.flatnonzero(generator.random(BATCH) < np.exp(-0.5 * misfit))), BATCH


def _columns(job: Job, grid: Grid, limits: Array, base: WeatherBase, water: WaterRead, drawn: _Drawn, seed: int,
             ) -> Columns:  # fmt: skip
    members = len(drawn.extinction_1_m)
    nothing = np.zeros(members, dtype=np.int64)
    sulphide_read = not np.isnan(water.sulphide_mg_l).all()
    return Columns(
        grid,
        drawn.state,
        drawn.state[ix.TEMPERATURE].copy(),
        parameters_of(drawn.draws, drawn.extinction_1_m, job, float(grid.area_m2[0]), sulphide_read),
        member_weather(base, members, seed, LEAD_HOURS),
        limits,
        nothing.copy(),
        nothing - 1,
        nothing.copy(),
        np.zeros(1, dtype=np.int64),
    )


def _bottle_misfit(bottle: Bottle, grid: Grid, drawn: _Drawn) -> Array:
    """Return each member's squared distance from a bottle, in standard errors; bounds count one way only."""
    result = bottle_demand(bottle)
    draws = drawn.draws
    k = grid.layer_at(bottle.depth_m)
    a, s, c = (drawn.state[i, k] for i in (ix.DEBT_A, ix.SULPHIDE, ix.DEBT_C))
    # the column's own rates, in the bottle: as warm as the surface, where it hangs, and at its own oxygen
    warm = draws["respiration_theta"] ** (drawn.state[ix.TEMPERATURE, 0] - 20.0)
    share = bottle.bottom_share
    do_mg_l = share * bottle.bottom_do_mg_l + (1.0 - share) * bottle.surface_do_mg_l
    speed_a, speed_s = warm * do_mg_l / HALF_LIFE_A_AT_MG_L, warm * do_mg_l / HALF_LIFE_B_AT_MG_L
    debt_s = ix.SULPHIDE_DEMAND * s

    def paid(hours_h: float) -> Array:
        left_a = 0.5 ** (hours_h * 60.0 * speed_a / draws["half_life_a"])
        left_s = 0.5 ** (hours_h * speed_s / draws["half_life_b"])
        left_c = np.exp(-draws["rate_c"] * warm * hours_h / 24.0)
        return np.asarray(a * (1.0 - left_a) + debt_s * (1.0 - left_s) + c * (1.0 - left_c))

    expected = {"immediate": paid(0.25), "fast": paid(24.0)}
    misfit = np.zeros(len(drawn.extinction_1_m))
    for name, demand in (("immediate", result.immediate), ("fast", result.fast)):
        if demand is None:
            continue
        spread = np.hypot(BOTTLE_ERROR_MG_L + 0.2 * demand.demand_mg_l, demand.standard_error_mg_l)
        distance = (expected[name] - demand.demand_mg_l) / spread
        misfit += np.where(demand.censored, np.minimum(distance, 0.0), distance) ** 2
    if bottle.surface_after_24h_mg_l is not None:
        # the control bottle: what the surface water breathes in a dark day
        breath = bottle.surface_do_mg_l - bottle.surface_after_24h_mg_l
        misfit += ((draws["water_respiration"] * warm - breath) / (CONTROL_ERROR_MG_L + 0.3 * breath)) ** 2
    return misfit


def _earlier_misfit(job: Job, columns: Columns, run: Run, start: datetime) -> Array:
    """Return each member's squared distance from the earlier profiles of the three days, at 0.6 m."""
    misfit = np.zeros(columns.members)
    for profile in job.profiles[:-1]:
        hour = int((profile.time.astimezone(UTC) - start).total_seconds() // 3600)
        if not 0 <= hour < LEAD_HOURS:
            continue
        depths = [point.depth_m for point in profile.points]
        read = np.interp(NEAR_SURFACE_M, depths, [point.do_mg_l for point in profile.points])
        misfit += ((run.records[ix.NEAR_SURFACE_O2, hour] - read) / OXYGEN_ERROR_MG_L) ** 2
    return misfit


def _chance(job: Job, columns: Columns, run: Run, water: WaterRead, start: datetime) -> Array:
    """Return the chance with which each member is kept."""
    after = run.after
    grid = columns.grid
    top = grid.centre_m <= max(1.0, float(grid.centre_m[0]))
    # from there down to where the oxygen was read to end: how deep the fish can go
    below = ~top & (np.cumsum(water.do_mg_l < 2.0) == 0)
    misfit = _earlier_misfit(job, columns, run, start)
    for zone in (top, below):
        if not zone.any():
            continue
        weight = grid.volume_m3[zone] / grid.volume_m3[zone].sum()
        oxygen = weight @ after.state[ix.OXYGEN][zone] - weight @ water.do_mg_l[zone]
        warmth = weight @ after.state[ix.TEMPERATURE][zone] - weight @ water.temperature_degc[zone]
        misfit += (oxygen / OXYGEN_ERROR_MG_L) ** 2 + (warmth / WARMTH_ERROR_DEGC) ** 2
    lost = after.failed_step >= 0
    seen = {Answer.YES: 1.0, Answer.UNKNOWN: 0.3, Answer.NO: 0.05}
    answers = (job.fish.gasping_at_dawn, job.fish.kill_this_season)
    # a fish that was seen to gasp does not contradict a lost refuge; fish that lived well nearly do
    forgiven = max(seen[answer] for answer in answers)
    return np.exp(-0.5 * misfit) * np.where(lost, forgiven, 1.0)


def draw_ensemble(
    job: Job,
    grid: Grid,
    limits: Array,
    members: int,
    seed: int,
    horizon_hours: int,
    most_tries: int = 200_000,
) -> Ensemble:
    """Return `members` members that agree with the reading, by rejection from the priors.

    Args:
        job: the job; its last profile is the reading.
        grid: the layers.
        limits: limits of the refuge (LIMITS).
        members: members wanted.
        seed: a fresh seed gives a fresh ensemble.
        horizon_hours: hours of weather after the reading.
        most_tries: draws after which the best of those left over fill up, with a caution.
    """
    profile = latest_profile(job)
    water = water_read(profile, grid)
    start = profile.time.astimezone(UTC).replace(minute=0, second=0, microsecond=0)
    start -= timedelta(hours=LEAD_HOURS)
    base = weather_base(
        job, start, LEAD_HOURS + horizon_hours, float(water.temperature_degc[0]), float(grid.area_m2[0])
    )
    generator = np.random.default_rng(seed + 101)
    kept: list[Columns] = []
    spare: list[tuple[Array, Columns]] = []
    count = tried = batch = 0
    while count < members and tried < most_tries:
        drawn, size = _draw(job, grid, water, seed + 1009 * batch, generator)
        tried += size
        batch += 1
        if len(drawn.extinction_1_m) == 0:
            continue
        columns = _columns(job, grid, limits, base, water, drawn, seed + 1009 * batch + 13)
        run = march(columns, still(LEAD_HOURS), LEAD_HOURS)
        chance = _chance(job, columns, run, water, start)
        # the members stand at the reading as it was read, with the mud as warm as the run made it
        ready = replace(columns, bed_degc=run.after.bed_degc, hour=LEAD_HOURS)
        chosen = np.flatnonzero(generator.random(len(chance)) < chance)
        kept.append(ready.take(chosen))
        count += len(chosen)
        rest = np.setdiff1d(np.arange(len(chance)), chosen)
        spare = _nearest([*spare, (chance[rest], ready.take(rest))], members - count)
    if not kept:
        raise ModelError(
            f"none of {tried} simulated ponds agrees with the bottle test.",
            remedy="Look at bottle.csv again: depths, dilution, and which bottle is which.",
            place="bottle.csv",
        )
    notices = list(base.notices)
    if count < members:
        kept += [columns for _, columns in spare]
        notices.append(
            caution(
                "reading-unlikely",
                f"Of {tried} simulated ponds only {count} agree with the reading; the nearest others fill up. "
                "Read the water again, and check the meter, the area and the depths.",
            )
        )
    whole = _join(kept)
    whole = whole.take(np.arange(min(members, whole.members)))
    return Ensemble(
        whole, start, base.local_hour, water, tried, tuple(notices), tuple(water.assumed)
    )  # fmt: skip


def _nearest(parts: list[tuple[Array, Columns]], most: int) -> list[tuple[Array, Columns]]:
    """Return the `most` members of the greatest chance, as one part: more are never needed to fill up."""
    chance = np.concatenate([chances for chances, _ in parts])
    best = np.argsort(-chance, kind="stable")[: max(most, 0)]
    return [(chance[best], _join([columns for _, columns in parts]).take(best))]


def _join(parts: list[Columns]) -> Columns:
    """Return the members of several ensembles as one."""
    first = parts[0]
    return replace(
        first,
        state=np.concatenate([part.state for part in parts], axis=2),
        bed_degc=np.concatenate([part.bed_degc for part in parts], axis=1),
        parameters=np.concatenate([part.parameters for part in parts], axis=1),
        weather=np.concatenate([part.weather for part in parts], axis=2),
        under_steps=np.concatenate([part.under_steps for part in parts]),
        failed_step=np.concatenate([part.failed_step for part in parts]),
        cause=np.concatenate([part.cause for part in parts]),
    )
