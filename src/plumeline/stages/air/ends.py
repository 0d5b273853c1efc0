"""The two ends of the air line: the valve box at the shore, and what the compressor stands behind.

Parts with counts and sizes, the riser and its drain, the pond that would run back, the pressure that stays in the line
when the machine stops, and the tubing in the water.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from plumeline.job.document import Job
from plumeline.notices import Notice, note
from plumeline.pairs import pair
from plumeline.stages.air.condensate import condensate_kg_d
from plumeline.stages.air.network import GRAVITY_M_S2
from plumeline.stages.air.profile import DESIGN_COVER_M
from plumeline.stages.air.restart import LINEAR, Restart, restart
from plumeline.stages.air.results import MANIFOLD, OperatingPoint
from plumeline.stages.air.route import DEFAULT_HUMIDITY_FRACTION, GALLON_KG, RouteResult
from plumeline.stages.air.siphon import HIGH_WATER_M, SiphonRisk, siphon
from plumeline.stages.air.solving import Line
from plumeline.stages.air.tubing import BarbLoss, TubingState, barbs, tubing, tubing_notices
from plumeline.stages.air.valve_box import Label, PartRow, box_parts, labels, machine_parts
from plumeline.stages.air.words import feet_depth, psi_difference, psi_fine

BOX_MARGIN_M = 0.3
"""Floor of the valve box over the highest water: one foot; common practice, no published source."""
DRIP_LEG_M = 0.3
"""Length of a drip leg under the riser's foot: one foot of the trunk's pipe; common practice, no published source."""
LEAST_BARB_PA = 69.0
"""Less than a hundredth of a psi is not worth a word."""
BARB_SHARE_FRACTION = 0.05
"""Barbs that cost more than this of a branch's other losses are worth a wider fitting: judgement."""


@dataclass(frozen=True)
class Riser:
    """The pipe from the trench up into the valve box, and the water at its foot."""

    height_m: float
    """From the trunk in the ground up to the header."""
    box_over_water_m: float
    """Least height of the box's floor over today's water."""
    water_kg_d: float
    """Water that comes to its foot on a day as hot and damp as the intake's."""
    leg_kg: float
    """What one foot of drip leg of the trunk's size holds."""
    leg_d: float | None
    """Days until it is full; None where no water comes."""
    plug_pressure_pa: float
    """What a riser full of water would add to the gauge."""


@dataclass(frozen=True)
class EndsResult:
    """The shore end and the compressor's end of the line."""

    parts: tuple[PartRow, ...]
    labels: tuple[Label, ...]
    riser: Riser
    siphon: SiphonRisk | None
    """None where no height of the compressor is known."""
    restart: Restart | None
    """None where no diffuser runs."""
    tubing: tuple[TubingState, ...]
    barbs: tuple[BarbLoss, ...]
    notices: tuple[Notice, ...]
    assumptions: tuple[str, ...]


def ends(
    job: Job,
    line: Line,
    balanced: OperatingPoint,
    others: tuple[OperatingPoint, ...],
    relief_pa: float,
    loss_number: tuple[float, ...] | None,
    route: RouteResult | None,
) -> EndsResult:
    """Return what the two ends of a line need.

    Args:
        job: the job.
        line: its line.
        balanced: where it works, valves set.
        others: all other settings of the valves that are looked at.
        relief_pa: setting of the relief valve [Pa].
        loss_number: of the valves as set.
        route: its way on land; None without route.csv.
    """
    highest_pa = max(point.compressor_pressure_pa for point in (balanced, *others))
    back = siphon(job, line, route.run if route else ())
    held = restart(job, line, balanced, loss_number)
    losses, states = barbs(job, line, balanced), tubing(job, line)
    riser = _riser(job, line, balanced, route, back)
    drip = bool(route and any(item.at_compressor for item in route.low_points))
    loop_m = back.loop_over_compressor_m if back else None
    parts = tuple(
        row for hub in _hubs(line) for row in box_parts(job, line, highest_pa, losses, hub)
    ) + machine_parts(line, relief_pa, highest_pa, held, loop_m, drip)
    return EndsResult(
        parts=parts,
        labels=labels(line, balanced),
        riser=riser,
        siphon=back,
        restart=held,
        tubing=states,
        barbs=losses,
        notices=(
            *(back.notices if back else ()),
            *(held.notices if held else ()),
            *tubing_notices(states),
            *_barb_notices(losses, balanced),
            *_riser_notices(riser),
        ),
        assumptions=_assumptions(back, held),
    )


def _hubs(line: Line) -> list[str]:
    """Return the places where branches hang: the manifold, and the ends of lines that carry some."""
    used = {spec.hangs_from for spec in line.branches} | {item.hangs_from for item in line.lines}
    return [name for name in (MANIFOLD, *(item.name for item in line.lines)) if name in used]


def _riser(
    job: Job, line: Line, point: OperatingPoint, route: RouteResult | None, back: SiphonRisk | None
) -> Riser:
    """Return the riser at the shore: all water that has fallen out and not stayed in a dip comes to its foot."""
    trunk = line.trunk[-1]
    high_m = back.heights.high_water_m if back else HIGH_WATER_M
    over_m = high_m + BOX_MARGIN_M
    covers = [piece.cover_m for piece in line.trunk if piece.cover_m > 0.0]
    cover_m = covers[-1] if covers else (DESIGN_COVER_M if route else 0.0)
    given = job.air.intake_humidity_fraction
    water_kg_d = (
        route.to_the_pond_kg_d
        if route
        else condensate_kg_d(
            point.flow_standard_m3_s,
            point.manifold_pressure_pa,
            line.intake_degc,
            DEFAULT_HUMIDITY_FRACTION if given is None else given,
            trunk.end_temperature_degc,
            line.ambient_pressure_pa,
        )
    )
    water_kg_d = max(water_kg_d, 0.0)
    leg_kg = line.water_density_kg_m3 * 0.25 * math.pi * trunk.bore_m**2 * DRIP_LEG_M
    height_m = cover_m + over_m
    return Riser(
        height_m=height_m,
        box_over_water_m=over_m,
        water_kg_d=water_kg_d,
        leg_kg=leg_kg,
        leg_d=leg_kg / water_kg_d if water_kg_d > 1e-6 else None,
        plug_pressure_pa=line.water_density_kg_m3 * GRAVITY_M_S2 * height_m,
    )


def gallons(mass_kg: float) -> str:
    """Return a mass of water as a volume, as "0.46 gal (1.74 L)"."""
    return pair(f"{mass_kg / GALLON_KG:.2f} gal", f"{mass_kg:.2f} L")


def _riser_notices(riser: Riser) -> list[Notice]:
    """Return what is said of the water at the foot of the box's riser."""
    if riser.leg_d is None or riser.water_kg_d < 0.005:
        return []
    hours = 24.0 * riser.leg_d
    full = f"{riser.leg_d:.0f} days" if riser.leg_d >= 2.0 else f"{hours:.2g} h"
    words = (
        f"Up to {gallons(riser.water_kg_d)} of water a day comes to the foot of the riser under the valve box; "
        f"{pair('a foot', '30 cm')} of drip leg ({gallons(riser.leg_kg)}) is full in {full}, and a riser full of water "
        f"would add {psi_difference(riser.plug_pressure_pa)}. Put a drain at its foot and open it at every visit (on "
        "damp days more often), or let the header lie no higher than the trunk."
    )
    return [note("air-riser-drain", words)]


def _barb_notices(losses: tuple[BarbLoss, ...], point: OperatingPoint) -> list[Notice]:
    """Return a note where the barbs cost branches a real part of what they lose otherwise."""
    heavy = []
    for item in losses:
        state = point.branch(item.name)
        other_pa = state.port_pressure_pa - state.needed_pressure_pa
        runs = not (item.in_network or state.shut or state.dead)
        if runs and item.pressure_pa >= max(BARB_SHARE_FRACTION * other_pa, LEAST_BARB_PA):
            heavy.append(f"the {item.count} of {item.name} {psi_fine(item.pressure_pa)}")
    if not heavy:
        return []
    words = (
        f"Barbs lose what the network does not have: {', '.join(heavy)}. List them as fittings of the diffuser "
        '(name = "barb"), or take full-bore fittings.'
    )
    return [note("air-barbs", words)]


def _assumptions(back: SiphonRisk | None, held: Restart | None) -> tuple[str, ...]:
    words = [
        "The valve box, riser and compressor's end are a usual set of parts (common practice, no published source); "
        "counts and sizes are of this line.",
        "Barbs by a table of usual bores (from memory); their loss stands beside the answer unless the job lists them.",
    ]
    if back is not None and not back.heights.high_water_given:
        words.append(
            f"The highest water is taken {feet_depth(HIGH_WATER_M)} over today's: power.high_water is not given."
        )
    if held is not None and held.drive != LINEAR and not held.start_pressure_given:
        named = "" if held.motor_given else " (the job names none)"
        words.append(
            f"Starting against pressure: a {held.motor}{named} with {100.0 * held.motor_low_fraction:.0f} to "
            f"{100.0 * held.motor_high_fraction:.0f} % of its full-load torque, one cylinder at its worst place, full "
            "load at the machine's highest working gauge (from memory and judgement; the maker's sheet beats it)."
        )
    return tuple(words)
