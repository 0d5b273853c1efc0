"""Gas pressure of the water over days of air: deep bubbles dissolve nitrogen, the surface lets it go again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from plumeline.kernels.plume import NITROGEN_UPTAKE
from plumeline.kernels.rise import NITROGEN
from plumeline.notices import Notice, caution
from plumeline.science.gases import OXYGEN_IN_AIR_FRACTION, k600_cole_caraco_1998
from plumeline.science.water import (
    GRAVITY_M_S2,
    density_chen_millero_1986,
    vapour_pressure_benson_krause_1980,
)
from plumeline.stages.plume.draws import Source
from plumeline.stages.plume.lift import air_mol_s, central_rise
from plumeline.stages.plume.water import Water
from plumeline.units import both

LIGHT_WIND_M_S = 2.0
"""Wind that lets the gas go: a sheltered pond on a light day. Judgement; still air keeps more in."""
GAS_LIMIT_FRACTION = 1.10
"""Total gas over that in balance with the air at which fish near the surface are hurt: U.S. EPA 1986, Quality
Criteria for Water, EPA 440/5-86-001, gases, total dissolved."""
PROBE_FRACTION, LEAST_PROBE_FRACTION, ROUNDS = 0.2, 1e-3, 3
DAY_S = 86400.0


@dataclass(frozen=True)
class GasPressure:
    """What the water comes to with the air on day and night, mixed and in balance with the bubbles.

    Attributes:
        uptake_mol_s: nitrogen that the bubbles give water in balance with the air.
        no_uptake_fraction: excess of nitrogen at which they give no more.
        surface_m2: through which it leaves.
        velocity_m_s: gas transfer velocity of the surface.
        saturated_mol_m3: nitrogen in balance with the air.
        excess_fraction: excess of nitrogen in the end.
        dry_fraction: part of the gas pressure in balance that is nitrogen's and argon's.
        total_fraction: total gas pressure over that of the air.
        days_number: time in which two thirds of it are reached [d].
        made_up_depth_m: depth under which the water's own pressure makes up for it.
    """

    uptake_mol_s: float
    no_uptake_fraction: float
    surface_m2: float
    velocity_m_s: float
    saturated_mol_m3: float
    excess_fraction: float
    dry_fraction: float
    total_fraction: float
    days_number: float
    made_up_depth_m: float


def gas_notices(found: GasPressure | None) -> tuple[Notice, ...]:
    """Return what fish near the surface face, where it is over the criterion."""
    if found is None or found.total_fraction <= GAS_LIMIT_FRACTION:
        return ()
    text = (
        "Bubbles from such a depth dissolve nitrogen too. With the air on day and night the mixed water goes towards "
        f"{found.total_fraction:.0%} of the gas pressure that it has in balance with the air, two thirds of the way in "
        f"some {max(found.days_number, 1.0):.0f} days; still air keeps more in. Over {GAS_LIMIT_FRACTION:.0%} (the "
        "criterion of the U.S. EPA) gas bubbles grow in fish that stay near the surface; the water's own pressure "
        f"spares those deeper than {both(found.made_up_depth_m, 'm')}. Read total gas pressure in the upper water in "
        "the first weeks; fewer hours of air, or diffusers set shallower, keep it lower."
    )
    return (caution("gas-pressure", text),)


def gas_pressure(
    water: Water,
    ends_m3_s: Sequence[tuple[float, float]],
    source: Source,
    surface_pressure_pa: float,
    surface_m2: float,
    volume_m3: float,
) -> GasPressure:
    """Return the gas pressure of a pond whose air runs day and night.

    Nitrogen that bubbles give, F (1 − x/x₀), is what leaves the surface, k A C x; oxygen is taken as in balance with
    the air. F and x₀ from the plumes in the water as read and in the same with the
    nitrogen of the end, found in three rounds.

    Args:
        water: the water as read.
        ends_m3_s: depth [m] and standard flow of air [m³/s] of each diffuser.
        source: what is known of the source of bubbles.
        surface_pressure_pa: air pressure at the pond [Pa].
        surface_m2: of the pond.
        volume_m3: of the pond.
    """

    def given_mol_s(extra_fraction: float) -> float:
        return sum(
            _uptake_mol_s(water, z, air, source, surface_pressure_pa, extra_fraction) for z, air in ends_m3_s
        )

    _, ambient = water.segments(max(z for z, _ in ends_m3_s), surface_pressure_pa)
    saturated_mol_m3 = float(ambient[0, NITROGEN])
    velocity_m_s = k600_cole_caraco_1998(LIGHT_WIND_M_S)
    leaving_mol_s = velocity_m_s * surface_m2 * saturated_mol_m3
    uptake, excess = given_mol_s(0.0), PROBE_FRACTION
    for _ in range(ROUNDS):
        # the line from none to the excess found before: the next is closer
        no_uptake = excess * uptake / max(uptake - given_mol_s(excess), 1e-12)
        excess = max(uptake / (leaving_mol_s + uptake / no_uptake), LEAST_PROBE_FRACTION)
    temperature_degc, salinity_g_kg = water.temperature_degc[0], water.salinity_g_kg[0]
    vapour_pa = vapour_pressure_benson_krause_1980(temperature_degc)
    dry = (1.0 - OXYGEN_IN_AIR_FRACTION) * (1.0 - vapour_pa / surface_pressure_pa)
    total = 1.0 + dry * excess
    weight = density_chen_millero_1986(temperature_degc, salinity_g_kg) * GRAVITY_M_S2
    days = volume_m3 * saturated_mol_m3 / (leaving_mol_s + uptake / no_uptake) / DAY_S
    return GasPressure(
        uptake_mol_s=uptake,
        no_uptake_fraction=no_uptake,
        surface_m2=surface_m2,
        velocity_m_s=velocity_m_s,
        saturated_mol_m3=saturated_mol_m3,
        excess_fraction=excess,
        dry_fraction=dry,
        total_fraction=total,
        days_number=days,
        made_up_depth_m=(total - 1.0) * surface_pressure_pa / weight,
    )


def _uptake_mol_s(
    water: Water,
    depth_m: float,
    air_m3_s: float,
    source: Source,
    surface_pressure_pa: float,
    extra_fraction: float,
) -> float:
    """Return the nitrogen that one diffuser's plumes give water with so much more nitrogen than in balance [mol/s]."""
    interface_m, ambient = water.segments(depth_m, surface_pressure_pa)
    ambient[:, NITROGEN : NITROGEN + 2] *= 1.0 + extra_fraction
    air = air_mol_s(air_m3_s)
    records, _ = central_rise(interface_m, ambient, depth_m, air, source, surface_pressure_pa)
    return float(records[:, NITROGEN_UPTAKE].sum())
