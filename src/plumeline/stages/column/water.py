"""The water as it was read: every quantity by layer, measured where it was and a prior where it was not."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from plumeline.job.document import Job, Profile, ProfilePoint, SmellStrength
from plumeline.kernels import column_index as ix
from plumeline.kernels.column_rates import fill_carbon
from plumeline.science.water import salinity_hill_1986
from plumeline.stages.column.grid import Grid
from plumeline.stages.reading.mixing import ALKALINITY_MG_PER_MOL_M3, DEFAULT_ALKALINITY_MG_L

Array = NDArray[np.float64]

DEFAULT_SALINITY_G_KG = 0.1
DEFAULT_SECCHI_M = 0.8
OLD_MATTER_SHARE = 0.4  # of the water's respiration, on matter that its bloom did not make lately: judgement
OWN_EXTINCTION_1_M = 0.25  # of visible light, by all but the bloom
SMELL_SHARE = {
    # how much of the sulphide prior a smell stands for where sulphide was not read: judgement
    None: 1.0,
    SmellStrength.NONE: 0.15,
    SmellStrength.FAINT: 0.5,
    SmellStrength.STRONG: 1.0,
}
PH_ERROR_NUMBER = 0.1  # a field meter's bias for the day: judgement; H₂S and ammonia turn on it
FOUL_STEP_FRACTION = 0.3  # of the debts, between two readings, from which the value goes with the oxygen
FOUL_OXYGEN_MG_L = 1.0
MOST_GRADIENT_POWER = 2.0
AEROBIC_AMMONIA_FRACTION = 0.1  # surface over bottom ammonia of a layered pond, the priors' medians


@dataclass(frozen=True)
class WaterRead:
    """One profile laid on the layers.

    Attributes:
        temperature_degc: by layer.
        do_mg_l: by layer.
        reduced_fraction: how much of the bottom water's debts a layer may hold, 1 without oxygen, 0 above 3 mg/L.
        rise_fraction: how far a layer lies from the end of the oxygen, 0, to the bottom, 1.
        ammonia_rise_fraction, sulphide_rise_fraction: the same to the uppermost foul reading of each, 1 below it.
        salinity_g_kg: by layer.
        ph_number: by layer; NaN where it was not read anywhere.
        alkalinity_mg_l: by layer, as CaCO₃.
        ammonia_mg_l: by layer; NaN where it was not read.
        sulphide_mg_l: by layer; NaN where it was not read.
        smell: strongest smell noted.
        assumed: plain words for what was not read.
    """

    temperature_degc: Array
    do_mg_l: Array
    reduced_fraction: Array
    rise_fraction: Array
    ammonia_rise_fraction: Array
    sulphide_rise_fraction: Array
    salinity_g_kg: Array
    ph_number: Array
    alkalinity_mg_l: Array
    ammonia_mg_l: Array
    sulphide_mg_l: Array
    smell: SmellStrength | None
    assumed: tuple[str, ...]


def _along(profile: Profile, grid: Grid, value: Callable[[ProfilePoint], float | None]) -> Array:
    """Return a quantity by layer, linear between the depths where it was read, held beyond them."""
    pairs = [(point.depth_m, value(point)) for point in profile.points]
    known = [(depth, number) for depth, number in pairs if number is not None]
    if not known:
        return np.full(grid.layers, np.nan)
    depths, numbers = zip(*known, strict=True)
    return np.asarray(np.interp(grid.centre_m, depths, numbers))


def _reduced(do_mg_l: Array) -> Array:
    """Return how much of the bottom water's debts water of some oxygen holds, 0 to 1."""
    return np.clip((3.0 - do_mg_l) / 2.5, 0.0, 1.0)


def _rise(grid: Grid, do_mg_l: Array) -> Array:
    """Return how far each layer lies from the end of the oxygen, 0, to the bottom, 1; 1 where there is no end."""
    foul = np.flatnonzero(_reduced(do_mg_l) >= 0.5)
    if len(foul) == 0 or foul[0] == grid.layers - 1:
        return np.ones(grid.layers)
    top, bottom = grid.interface_depth_m[foul[0]], grid.centre_m[-1]
    return np.asarray(np.clip((grid.centre_m - top) / (bottom - top), 0.0, 1.0))


def _rise_to(
    profile: Profile, grid: Grid, rise_fraction: Array, value: Callable[[ProfilePoint], float | None]
) -> Array:
    """Return the rise of each layer to that of the uppermost reading in water without oxygen, 1 below it."""
    foul = [p.depth_m for p in profile.points if value(p) is not None and p.do_mg_l <= FOUL_OXYGEN_MG_L]
    if not foul:
        return np.ones(grid.layers)
    there = float(rise_fraction[grid.layer_at(min(foul))])
    return np.ones(grid.layers) if there <= 0.0 else np.minimum(rise_fraction / there, 1.0)


def _with_oxygen(
    profile: Profile,
    grid: Grid,
    value: Callable[[ProfilePoint], float | None],
    *,
    aerobic_fraction: float | None = None,
) -> Array:
    """Return what comes and goes with oxygen by layer: read at a few depths, it turns where the oxygen ends.

    pH, ammonia and sulphide are read near the surface and the bottom as a rule, and change at the oxycline: laid
    out straight by depth, foul water would lie where fish were seen to live, and a green pond's pH where there
    is no light. Between two readings of which one is foul and the other not, the value goes with the oxygen.

    Args:
        profile: the profile.
        grid: the layers.
        value: the quantity of a point, or None where it was not read.
        aerobic_fraction: part of a lone foul reading that water with oxygen holds; the reading itself when None.
    """
    known = [(point.depth_m, number) for point in profile.points if (number := value(point)) is not None]
    if not known:
        return np.full(grid.layers, np.nan)
    oxygen_depth_m = [point.depth_m for point in profile.points]
    oxygen = [point.do_mg_l for point in profile.points]
    layer = _reduced(np.interp(grid.centre_m, oxygen_depth_m, oxygen))
    read = _reduced(np.interp([depth for depth, _ in known], oxygen_depth_m, oxygen))
    found = _along(profile, grid, value)
    for k in range(len(known) - 1):
        if abs(read[k + 1] - read[k]) >= FOUL_STEP_FRACTION:
            between = (grid.centre_m > known[k][0]) & (grid.centre_m < known[k + 1][0])
            share = np.clip((layer - read[k]) / (read[k + 1] - read[k]), 0.0, 1.0)
            found[between] = (known[k][1] + share * (known[k + 1][1] - known[k][1]))[between]
    depth, number = known[0]
    if aerobic_fraction is not None and read[0] >= FOUL_STEP_FRACTION:
        above = grid.centre_m < depth
        share = np.clip(layer / read[0], 0.0, 1.0)
        found[above] = (number * (aerobic_fraction + (1.0 - aerobic_fraction) * share))[above]
    return found


def _reader(profiles: Sequence[Profile], value: Callable[[ProfilePoint], float | None]) -> Profile:
    """Return the first profile that read a quantity; the first of all where none did."""
    return next(
        (item for item in profiles if any(value(point) is not None for point in item.points)), profiles[0]
    )


def water_read(profile: Profile, grid: Grid, others: Sequence[Profile] = ()) -> WaterRead:
    """Lay a profile on the layers and say what was not read.

    Args:
        profile: the profile: its temperature and oxygen, and all else that it read.
        grid: the layers.
        others: profiles of the same water, the nearest first: chemistry that the first did not read is theirs.
    """
    every = (profile, *others)
    oxygen = _along(profile, grid, lambda p: p.do_mg_l)
    by_salt = _reader(every, lambda p: p.conductivity_us_cm)
    by_alkalinity = _reader(every, lambda p: p.alkalinity_mg_l)
    by_ph = _reader(every, lambda p: p.ph)
    by_ammonia = _reader(every, lambda p: p.ammonia_mg_l)
    by_sulphide = _reader(every, lambda p: p.sulphide_mg_l)
    conductivity = _along(by_salt, grid, lambda p: p.conductivity_us_cm)
    alkalinity = _along(by_alkalinity, grid, lambda p: p.alkalinity_mg_l)
    ph = _with_oxygen(by_ph, grid, lambda p: p.ph)
    ammonia = _with_oxygen(
        by_ammonia, grid, lambda p: p.ammonia_mg_l, aerobic_fraction=AEROBIC_AMMONIA_FRACTION
    )
    sulphide = _with_oxygen(by_sulphide, grid, lambda p: p.sulphide_mg_l, aerobic_fraction=0.0)
    assumed: list[str] = []
    if np.isnan(conductivity).all():
        salinity = np.full(grid.layers, DEFAULT_SALINITY_G_KG)
        assumed.append(f"salinity {DEFAULT_SALINITY_G_KG} g/kg from top to bottom (conductivity not read)")
    else:
        salinity = np.array([salinity_hill_1986(float(value)) for value in conductivity])
    if np.isnan(alkalinity).all():
        alkalinity = np.full(grid.layers, DEFAULT_ALKALINITY_MG_L)
        assumed.append(f"alkalinity {DEFAULT_ALKALINITY_MG_L:g} mg/L as CaCO₃ (not read)")
    for name, values in (("pH", ph), ("ammonia", ammonia), ("sulphide", sulphide)):
        if np.isnan(values).all():
            assumed.append(f"{name} drawn from the table of priors (not read)")
    rise = _rise(grid, oxygen)
    order = {SmellStrength.NONE: 0, SmellStrength.FAINT: 1, SmellStrength.STRONG: 2}
    by_smell = next(
        (item for item in every if any(point.smell is not None for point in item.points)), profile
    )
    smells = [point.smell for point in by_smell.points if point.smell is not None]
    return WaterRead(
        _along(profile, grid, lambda p: p.temperature_degc),
        oxygen,
        _reduced(oxygen),
        rise,
        _rise_to(by_ammonia, grid, rise, lambda p: p.ammonia_mg_l),
        _rise_to(by_sulphide, grid, rise, lambda p: p.sulphide_mg_l),
        salinity,
        ph,
        alkalinity,
        ammonia,
        sulphide,
        max(smells, key=lambda smell: order[smell]) if smells else None,
        tuple(assumed),
    )


def bloom_and_extinction(draws: dict[str, Array], job: Job) -> tuple[Array, Array]:
    """Return the chlorophyll [µg/L] and the extinction of all else [1/m] of each member: the Secchi disc holds both."""
    whole = draws["light_constant"] / (job.pond.secchi_depth_m or DEFAULT_SECCHI_M)
    most = np.maximum(whole - OWN_EXTINCTION_1_M, 0.1) / ix.CHLOROPHYLL_EXTINCTION_M2_MG
    bloom = np.minimum(draws["chlorophyll"], most)
    return bloom, np.maximum(whole - ix.CHLOROPHYLL_EXTINCTION_M2_MG * bloom, OWN_EXTINCTION_1_M)


def fresh_matter(draws: dict[str, Array], chlorophyll_ug_l: Array) -> Array:
    """Return what the bloom has left behind (layers, members) [g O₂/m³]: with it the water breathes as drawn.

    It is only a start: within days it comes to what the bloom gives off less what bacteria use.
    """
    share = (1.0 - OLD_MATTER_SHARE) * draws["water_respiration"] / draws["fresh_decay"]
    return np.asarray(share * chlorophyll_ug_l / draws["chlorophyll"])


def first_state(water: WaterRead, draws: dict[str, Array], job: Job, seed: int) -> tuple[Array, Array]:
    """Return every member's state at the reading (STATES, layers, members) and its own extinction_1_m [1/m].

    A member sees the profile through its own meter error (0.3 °C, 0.5 mg/L and 0.1 of pH the whole profile
    over, for a meter's bias is one for the day); what was not read comes from its draws.
    """
    generator = np.random.default_rng(seed)
    members = len(draws["chlorophyll"])
    layers = len(water.temperature_degc)
    state = np.zeros((ix.STATES, layers, members))
    # what the bed gives off stands highest above it: from a deep water mixed within itself, power 0, to one where
    # it only seeps upward, power 2 (judgement); one reading near the bottom, or one bottle, tells of the foot alone
    power = MOST_GRADIENT_POWER * np.random.default_rng(seed + 1).random(members)
    reduced = water.reduced_fraction[:, None] * water.rise_fraction[:, None] ** power
    bias_degc = 0.3 * generator.standard_normal(members)
    bias_mg_l = 0.5 * generator.standard_normal(members)
    state[ix.TEMPERATURE] = water.temperature_degc[:, None] + bias_degc
    # a meter's bias scales away where there is no oxygen: zero is read as zero
    share = np.minimum(water.do_mg_l / 2.0, 1.0)[:, None]
    state[ix.OXYGEN] = np.maximum(water.do_mg_l[:, None] + share * bias_mg_l, 0.0)
    state[ix.SALT] = water.salinity_g_kg[:, None]
    chlorophyll, extinction_1_m = bloom_and_extinction(draws, job)
    state[ix.CHLOROPHYLL] = chlorophyll * (1.0 - 0.8 * water.reduced_fraction[:, None])
    state[ix.FRESH] = fresh_matter(draws, state[ix.CHLOROPHYLL])
    state[ix.DEBT_A] = draws["debt_a"] * reduced
    scatter = np.exp(0.2 * generator.standard_normal(members))
    if np.isnan(water.sulphide_mg_l).all():
        share_of_prior = SMELL_SHARE[water.smell]
        state[ix.SULPHIDE] = draws["debt_b"] / ix.SULPHIDE_DEMAND * share_of_prior * reduced
    else:
        state[ix.SULPHIDE] = (
            water.sulphide_mg_l[:, None] * scatter * water.sulphide_rise_fraction[:, None] ** power
        )
    state[ix.DEBT_C] = draws["debt_c"] * (0.1 + 0.9 * reduced)
    scatter = np.exp(0.15 * generator.standard_normal(members))
    if np.isnan(water.ammonia_mg_l).all():
        top, low = draws["surface_ammonia"], draws["bottom_ammonia"]
        state[ix.AMMONIA] = top + (low - top) * reduced
    else:
        least = water.ammonia_mg_l.min()
        more = (water.ammonia_mg_l - least)[:, None] * water.ammonia_rise_fraction[:, None] ** power
        state[ix.AMMONIA] = (least + more) * scatter
    if np.isnan(water.ph_number).all():
        top, low = draws["surface_ph"], draws["bottom_ph"]
        ph = top + (low - top) * reduced
    else:
        ph = water.ph_number[:, None] + PH_ERROR_NUMBER * generator.standard_normal(members)
    alkalinity = water.alkalinity_mg_l / ALKALINITY_MG_PER_MOL_M3
    state[ix.ALKALINITY] = alkalinity[:, None]
    fill_carbon(alkalinity, ph, state)
    return state, extinction_1_m
