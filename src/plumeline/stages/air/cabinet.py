"""How much warmer than outside the air in a cabinet gets: waste heat and sun against draught, fan and walls."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from plumeline.job.document import Answer, Cabinet, Housing
from plumeline.science.air import density_clapeyron_1834, discharge_temperature_mills_2004
from plumeline.science.cabinet import (
    HEAT_CAPACITY_J_KG_K,
    heat_carried_ashrae_2021,
    sol_air_excess_ashrae_2021,
    stack_flow_ashrae_2021,
)

USUAL_SURFACE_M2 = 1.86
"""Walls and roof of a cube of 2 ft: common practice, no published source."""
USUAL_VENT_M2 = 0.0387
"""Free area of a louvre, 60 sq in, one below and one above: common practice, no published source."""
USUAL_HEIGHT_M = 0.457
"""From the low louvre to the high one, 18 in: common practice, no published source."""
WALL_W_M2_K = 5.6
"""Sheet metal between still air (8.3 W/m² K) and a light wind (17): ASHRAE films, from memory."""
OUTSIDE_W_M2_K = 17.0
"""Heat transfer outside a wall in a light summer wind: ASHRAE, from memory."""
SUN_W_M2 = 300.0
"""Mean over all walls of a cabinet in a high sun of 900 W/m²: a third of its surface faces it, from memory."""
ABSORBED_FRACTION = 0.6
"""Of sun on paint of a middle colour: from memory."""
LEAST_WASTE_FRACTION = 0.3
"""Of the power stays in the cabinet, whatever the curve says: a small motor's own loss, from memory."""
WANTED_RISE_K = 5.0 / 0.9
"""Rise that fan and openings are sized for: 10 °F, the low end of common practice (10 to 30 °F)."""
MOST_RISE_K = 400.0
HALVINGS_COUNT = 60


@dataclass(frozen=True)
class CabinetHeat:
    """The air that the compressor draws, against the air outside, and where the heat goes."""

    housing: Housing
    rise_k: float
    waste_heat_w: float
    """Power from the wall less what the pressed air takes along."""
    sun_heat_w: float
    by_air_w: float
    """What leaves with the air that moves through."""
    by_walls_w: float
    vent_flow_m3_s: float
    """Air that moves through, by fan or by its own warmth, without what the compressor draws."""
    vent_area_m2: float
    """Free area of the low openings; the high ones have as much."""
    fan_flow_m3_s: float
    shaded: bool
    wanted_rise_k: float
    vent_area_wanted_m2: float | None
    """Free area, low and high each, that would do without a fan; None where no cabinet is counted."""
    fan_flow_wanted_m3_s: float | None
    """Fan that would do."""
    assumed: tuple[str, ...] = ()
    """What was not known and counted as usual."""


@dataclass(frozen=True)
class Inside:
    """What runs in the cabinet, on the day asked for."""

    power_w: float
    flow_kg_s: float
    """Pressed air of all machines."""
    pressure_ratio_number: float
    compression_efficiency: float
    outside_degc: float
    ambient_pressure_pa: float

    @property
    def density_kg_m3(self) -> float:
        """Density of the air outside."""
        return density_clapeyron_1834(self.ambient_pressure_pa, self.outside_degc + 273.15)

    def waste_w(self, rise_k: float) -> float:
        """Return the heat left in the cabinet: the power less what the pressed air takes along."""
        intake_k = self.outside_degc + 273.15 + rise_k
        outlet_k = discharge_temperature_mills_2004(
            intake_k, self.pressure_ratio_number, self.compression_efficiency
        )
        taken_w = self.flow_kg_s * HEAT_CAPACITY_J_KG_K * (outlet_k - intake_k)
        return max(self.power_w - taken_w, LEAST_WASTE_FRACTION * self.power_w)


@dataclass(frozen=True)
class _Box:
    """A cabinet with every figure filled in."""

    surface_m2: float
    vent_area_m2: float
    vent_height_m: float
    fan_flow_m3_s: float
    shaded: bool

    @property
    def wall_w_k(self) -> float:
        return WALL_W_M2_K * self.surface_m2

    @property
    def sun_w(self) -> float:
        if self.shaded:
            return 0.0
        return self.wall_w_k * sol_air_excess_ashrae_2021(ABSORBED_FRACTION, SUN_W_M2, OUTSIDE_W_M2_K)

    def through_m3_s(self, rise_k: float, outside_degc: float) -> float:
        """Return the air that moves through it at a rise."""
        draught = stack_flow_ashrae_2021(self.vent_area_m2, self.vent_height_m, rise_k, outside_degc)
        return max(self.fan_flow_m3_s, draught)

    def by_air_w(self, rise_k: float, inside: Inside) -> float:
        """Return the heat that air takes out of it, the compressor's own draught with it."""
        drawn_m3_s = inside.flow_kg_s / inside.density_kg_m3
        moved_m3_s = self.through_m3_s(rise_k, inside.outside_degc) + drawn_m3_s
        return heat_carried_ashrae_2021(moved_m3_s, inside.density_kg_m3, rise_k)

    def left_w(self, rise_k: float, inside: Inside) -> float:
        """Return what goes out less what comes in: rises with the rise, nothing at the balance."""
        out_w = self.by_air_w(rise_k, inside) + self.wall_w_k * rise_k
        return out_w - inside.waste_w(rise_k) - self.sun_w


def cabinet_heat(cabinet: Cabinet | None, inside: Inside) -> CabinetHeat:
    """Return the rise of the air that the compressor draws over the air outside, in the steady state.

    Args:
        cabinet: what the compressor stands in; counted as a usual cabinet where that is not known.
        inside: what runs in it.
    """
    given = cabinet or Cabinet()
    if given.housing in (Housing.ROOM, Housing.OPEN):
        return CabinetHeat(
            given.housing, 0.0, inside.waste_w(0.0), 0.0, inside.waste_w(0.0), 0.0, 0.0, 0.0, 0.0,
            given.shade is Answer.YES, WANTED_RISE_K, None, None,
        )  # fmt: skip
    box, assumed = _filled(given)
    rise_k = _root(lambda rise: box.left_w(rise, inside), MOST_RISE_K)
    return CabinetHeat(
        housing=given.housing,
        rise_k=rise_k,
        waste_heat_w=inside.waste_w(rise_k),
        sun_heat_w=box.sun_w,
        by_air_w=box.by_air_w(rise_k, inside),
        by_walls_w=box.wall_w_k * rise_k,
        vent_flow_m3_s=box.through_m3_s(rise_k, inside.outside_degc),
        vent_area_m2=box.vent_area_m2,
        fan_flow_m3_s=box.fan_flow_m3_s,
        shaded=box.shaded,
        wanted_rise_k=WANTED_RISE_K,
        vent_area_wanted_m2=_wanted_vent_m2(box, inside),
        fan_flow_wanted_m3_s=_wanted_fan_m3_s(box, inside),
        assumed=assumed,
    )


def _filled(given: Cabinet) -> tuple[_Box, tuple[str, ...]]:
    """Return a cabinet with the usual figures where none are given, and which those are."""
    assumed = []
    if given.housing is Housing.UNKNOWN:
        assumed.append("that it is a cabinet")
    if given.surface_m2 is None:
        assumed.append("walls and roof")
    if given.vent_area_m2 is None or given.vent_height_m is None:
        assumed.append("louvres")
    if given.fan_flow_m3_s is None:
        assumed.append("no fan")
    if given.shade is Answer.UNKNOWN:
        assumed.append("sun on it")
    box = _Box(
        surface_m2=given.surface_m2 or USUAL_SURFACE_M2,
        vent_area_m2=given.vent_area_m2 or USUAL_VENT_M2,
        vent_height_m=given.vent_height_m or USUAL_HEIGHT_M,
        fan_flow_m3_s=given.fan_flow_m3_s or 0.0,
        shaded=given.shade is Answer.YES,
    )
    return box, tuple(assumed)


def _root(rising: Callable[[float], float], upper: float) -> float:
    """Return where a rising function passes nought, between nought and a bound, by halving."""
    low, high = 0.0, upper
    for _ in range(HALVINGS_COUNT):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if rising(middle) < 0.0 else (low, middle)
    return 0.5 * (low + high)


def _wanted_vent_m2(box: _Box, inside: Inside) -> float:
    """Return the free area, low and high each, that holds the wanted rise without a fan."""
    still = replace(box, fan_flow_m3_s=0.0)
    return _root(lambda area: replace(still, vent_area_m2=area).left_w(WANTED_RISE_K, inside), 50.0)


def _wanted_fan_m3_s(box: _Box, inside: Inside) -> float:
    """Return the fan that holds the wanted rise where nothing moves by itself."""
    shut = replace(box, vent_area_m2=0.0)
    return _root(lambda flow: replace(shut, fan_flow_m3_s=flow).left_w(WANTED_RISE_K, inside), 50.0)
