"""One diffuser's plumes in given water: the central case in full, and the band that the priors leave."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from plumeline.errors import RangeError
from plumeline.kernels.plume import (
    END_DEPTH,
    END_OXYGEN,
    END_TEMPERATURE,
    FLOW,
    NEUTRAL_DEPTH,
    OXYGEN_LEFT,
    OXYGEN_UPTAKE,
    RECORD_COLUMNS,
    START_DEPTH,
    SURFACED,
    fill_setting,
    rise_all,
)
from plumeline.kernels.plume_samples import (
    DRAW_ALPHA,
    DRAW_BUBBLE_RADIUS,
    DRAW_FROUDE,
    DRAW_LAMBDA,
    DRAW_SOURCE_RADIUS,
    DRAW_TRANSFER,
    OUT_COLUMNS,
    OUT_FLOW,
    OUT_SURFACES,
    plume_samples,
)
from plumeline.kernels.rise import SETTING_COUNT
from plumeline.kernels.solubility import OXYGEN_MOLAR_MASS_G_MOL, PROGRAM_LAW, oxygen_share
from plumeline.science.air import STANDARD_PRESSURE_PA, STANDARD_TEMPERATURE_K
from plumeline.stages.plume.draws import Source, central_draw
from plumeline.stages.plume.water import Water

Array = npt.NDArray[np.float64]

MOST_PLUMES = 16
GAS_CONSTANT = 8.314462618


@dataclass(frozen=True)
class Peel:
    """Where a plume turns back: the water it lets go, where that rests, the oxygen taken up so far."""

    depth_m: float
    water_flow_m3_s: float
    neutral_depth_m: float
    oxygen_transfer_efficiency: float


@dataclass(frozen=True)
class Lift:
    """The plumes over one diffuser in the central case.

    Attributes:
        water_flow_m3_s: flow of the first plume at the surface, or at its peel.
        reaches_surface: whether the water of the first plume arrives.
        stall_depth_m: depth of the first peel, None when it surfaces.
        neutral_depth_m: where the water of the first plume comes to rest unmixed, None without a plume.
        oxygen_transfer_efficiency: share of the oxygen taken up by the first plume.
        oxygen_transfer_efficiency_to_surface: that share on the whole way, restarted plumes included.
        oxygen_supplied_kg_s: oxygen in the air.
        temperature_degc, do_mg_l: of the first plume's water where it ends, None without a plume.
        peels: each place where a plume turns back, from the lowest up.
        path_depth_m, path_radius_m: the first plume's radius on its way up, for drawing.
    """

    water_flow_m3_s: float
    reaches_surface: bool
    stall_depth_m: float | None
    neutral_depth_m: float | None
    oxygen_transfer_efficiency: float
    oxygen_transfer_efficiency_to_surface: float
    oxygen_supplied_kg_s: float
    temperature_degc: float | None
    do_mg_l: float | None
    peels: tuple[Peel, ...]
    path_depth_m: tuple[float, ...]
    path_radius_m: tuple[float, ...]


def air_mol_s(air_m3_s: float) -> float:
    """Return the dry air of a standard flow (68 °F, dry, 14.696 psia) in mol/s."""
    return air_m3_s * STANDARD_PRESSURE_PA / (GAS_CONSTANT * STANDARD_TEMPERATURE_K)


def check_diffuser(depth_m: float, air_m3_s: float, source: Source) -> None:
    """Raise for a diffuser that no pond has.

    Raises:
        RangeError: depth, air, α or a radius outside what the plume model covers.
    """
    for name, value, low, high in (
        ("depth_m", depth_m, 0.3, 60.0),
        ("air_m3_s", air_m3_s, 0.0, 0.1),
        ("disc_radius_m", source.disc_radius_m, 0.01, 2.0),
        ("alpha_number", source.alpha_number, 0.02, 0.2),
        ("bubble_radius_m", source.bubble_radius_m, 1e-4, 0.02),
    ):
        if value is not None and not low <= value <= high:
            raise RangeError(
                f"{name} = {value:g} is outside {low:g} to {high:g}, which the plume model covers.",
                remedy="Check the value and its unit.",
                place=name,
            )


def solve_lift(
    water: Water, depth_m: float, air_m3_s: float, source: Source, surface_pressure_pa: float
) -> Lift:
    """Solve the plumes over one diffuser in the central case.

    Args:
        water: what it rises through.
        depth_m: depth of the membrane [m].
        air_m3_s: standard flow of air [m³/s].
        source: what is known of the source of bubbles.
        surface_pressure_pa: air pressure at the pond [Pa].
    Returns:
        The plumes.
    Raises:
        RangeError: see `check_diffuser`.
    """
    check_diffuser(depth_m, air_m3_s, source)
    interface_m, ambient = water.segments(depth_m, surface_pressure_pa)
    air = air_mol_s(air_m3_s)
    records, trace = central_rise(interface_m, ambient, depth_m, air, source, surface_pressure_pa)
    return _lift_of(records, trace, air, source.disc_radius_m)


def central_rise(
    interface_m: Array, ambient: Array, depth_m: float, dry_air_mol_s: float, source: Source,
    surface_pressure_pa: float,
) -> tuple[Array, Array]:  # fmt: skip
    """Return the records of all plumes over one diffuser in the central case, and the first one's trace.

    Args:
        interface_m: borders of the layers that they rise through, from `Water.segments`.
        ambient: the layers, from there too.
        depth_m: depth of the membrane [m].
        dry_air_mol_s: of the diffuser.
        source: what is known of the source of bubbles.
        surface_pressure_pa: air pressure at the pond [Pa].
    """
    draw, setting = central_draw(source)[0], np.empty(SETTING_COUNT)
    fill_setting(
        draw[DRAW_ALPHA], draw[DRAW_FROUDE], draw[DRAW_LAMBDA], draw[DRAW_SOURCE_RADIUS], draw[DRAW_TRANSFER],
        surface_pressure_pa, PROGRAM_LAW, setting,
    )  # fmt: skip
    withdrawn, records = np.zeros((MOST_PLUMES, len(ambient))), np.zeros((MOST_PLUMES, RECORD_COLUMNS))
    trace = np.full((MOST_PLUMES, len(interface_m), 3), np.nan)
    count = rise_all(
        depth_m, dry_air_mol_s, draw[DRAW_BUBBLE_RADIUS], interface_m, ambient, setting, 1, withdrawn, trace,
        records,
    )  # fmt: skip
    return records[:count], trace[0]


def _lift_of(records: Array, trace: Array, air: float, disc_radius_m: float) -> Lift:
    """Return the records of all plumes as a `Lift`."""
    oxygen = oxygen_share(PROGRAM_LAW) * air
    supplied = oxygen * OXYGEN_MOLAR_MASS_G_MOL * 1e-3
    if len(records) == 0:
        return Lift(0.0, False, None, None, 0.0, 0.0, supplied, None, None, (), (), ())
    first = records[0]
    surfaces = bool(first[SURFACED] > 0.0)
    taken = np.cumsum(records[:, OXYGEN_UPTAKE]) / oxygen
    peels = tuple(
        Peel(float(row[END_DEPTH]), float(row[FLOW]), float(row[NEUTRAL_DEPTH]), float(so_far))
        for row, so_far in zip(records, taken, strict=True)
        if row[SURFACED] == 0.0
    )
    passed = trace[np.isfinite(trace[:, 0])][::-1]
    return Lift(
        water_flow_m3_s=float(first[FLOW]),
        reaches_surface=surfaces,
        stall_depth_m=None if surfaces else float(first[END_DEPTH]),
        neutral_depth_m=float(first[NEUTRAL_DEPTH]),
        oxygen_transfer_efficiency=float(taken[0]),
        oxygen_transfer_efficiency_to_surface=float(1.0 - records[-1, OXYGEN_LEFT] / oxygen),
        oxygen_supplied_kg_s=supplied,
        temperature_degc=float(first[END_TEMPERATURE]),
        do_mg_l=float(first[END_OXYGEN] * OXYGEN_MOLAR_MASS_G_MOL),
        peels=peels,
        path_depth_m=(float(first[START_DEPTH]), *(float(depth) for depth in passed[:, 0])),
        path_radius_m=(disc_radius_m, *(float(radius) for radius in passed[:, 1])),
    )


def solve_draws(
    water: Water, depth_m: float, air_m3_s: float, draws: Array, surface_pressure_pa: float
) -> tuple[Array, Array]:
    """Solve the plumes over one diffuser once for each draw.

    Args:
        water: what they rise through.
        depth_m: depth of the membrane [m].
        air_m3_s: standard flow of air [m³/s].
        draws: from `prior_draws`, shape (n, DRAW_COLUMNS).
        surface_pressure_pa: air pressure at the pond [Pa].
    Returns:
        Flow of the first plume where it ends [m³/s] and whether it surfaces (1 or 0), each of shape (n,).
    """
    interface_m, ambient = water.segments(depth_m, surface_pressure_pa)
    out = np.empty((len(draws), OUT_COLUMNS))
    air = air_mol_s(air_m3_s)
    plume_samples(
        interface_m, ambient, depth_m, air, surface_pressure_pa, PROGRAM_LAW, 1, MOST_PLUMES, draws, out
    )
    return out[:, OUT_FLOW], out[:, OUT_SURFACES]
