"""The air stage: from the plug to the bubbles."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from plumeline.errors import ModelError
from plumeline.job.document import Compressor, Job
from plumeline.pairs import pair
from plumeline.stages.air import cautions
from plumeline.stages.air.choosing import (
    DEFAULT_SOIL_DEGC,
    HOT_DAY_DEGC,
    TRUNK_DROP_SHARE_FRACTION,
    Choice,
    trunk_words,
)
from plumeline.stages.air.electrical import electrical
from plumeline.stages.air.ends import ends
from plumeline.stages.air.heat import HotDay, derated_line, heat_notices, hot_day
from plumeline.stages.air.job_line import JobLine, job_line
from plumeline.stages.air.line import line_points
from plumeline.stages.air.network import FLOW_BASIS, FLOW_BASIS_SI, STANDARD_DENSITY_KG_M3
from plumeline.stages.air.noise import noise, unknown_noise
from plumeline.stages.air.power import adiabatic_power_w, wire_power_w
from plumeline.stages.air.results import AirResult, BranchSpec, Gauge, OperatingPoint
from plumeline.stages.air.route import RouteResult, line_state, plugged, route, with_plugged_gauge
from plumeline.stages.air.settings import balancing, valve_settings
from plumeline.stages.air.solving import Line, build_network, solve, unreachable
from plumeline.stages.air.verdict import prove
from plumeline.stages.air.words import degf, psi_difference, scfm

if TYPE_CHECKING:
    from plumeline.stages.air.accepted_line import AcceptedLine


def air(job: Job, branches: tuple[BranchSpec, ...] = ()) -> AirResult:
    """Solve the air line of a job: compressor, trunk, manifold, valves, branches, membranes and water.

    Args:
        job: the job; where it names no compressor or no trunk, they are chosen here and that is said.
        branches: the branches from the manifold; those of the diffusers typed into the job when empty.

    Returns:
        Operating points, gauges, valve settings, temperatures and notices.

    Raises:
        InputError: a pipe, branch, curve or route that can't be used.
        ModelError: a compressor that can't reach any diffuser.
    """
    return air_on(job_line(job, branches))


def air_on(found: JobLine) -> AirResult:
    """Return the same of a line that is worked out: what stands around it, gauges, heat, ends, power, noise."""
    job, belief, branches, choice = found
    line, balanced = choice.line, choice.point
    opened, alone, one_shut = solve(line, "valves open"), _each_alone(choice), _each_shut(choice)
    hot = hot_day(line, balanced)
    others = (opened, *alone, *one_shut)
    relief_pa, relief_notices = cautions.relief_setting(line, balanced, others, hot)
    relief_notices += cautions.beyond_curve(line, balanced.compressor_pressure_pa)
    valves = valve_settings(line, balanced, choice.loss_number)
    flow_kg_s = balanced.flow_standard_m3_s * STANDARD_DENSITY_KG_M3
    temperatures = line_points(line.trunk, flow_kg_s, line.intake_degc, line.soil_degc)
    on_land = _with_dips_full(choice, route(job, line_state(line, balanced, temperatures)))
    shore = ends(job, line, balanced, others, relief_pa, choice.loss_number, on_land)
    proof = prove(belief, line, balanced, choice.wanted_flow_standard_m3_s, relief_pa) if belief else None
    power_w = wire_power_w(line, balanced)
    kept = _accepted(job, choice)
    loud = noise(job, line.machine)
    power = electrical(job, line.machine, power_w, shore.siphon.heights if shore.siphon else None)
    return AirResult(
        compressor=_compressor(job, choice, relief_pa),
        compressor_words=line.machine.words,
        compressor_chosen=choice.compressor_chosen,
        trunk_chosen=choice.trunk_chosen,
        barometric_pressure_pa=line.ambient_pressure_pa,
        intake_temperature_degc=line.intake_degc,
        branches=branches,
        trunk=line.trunk,
        wanted_flow_standard_m3_s=choice.wanted_flow_standard_m3_s,
        valves_open=opened,
        balanced=balanced,
        alone=alone,
        one_shut=one_shut,
        derated=_derated(choice, hot),
        valves=valves,
        balancing=balancing(line, job.air.balance, opened, balanced, valves),
        outlet_temperature_degc=line.outlet_degc(balanced.compressor_pressure_pa),
        hot_outlet_temperature_degc=hot.outlet_degc,
        line_temperatures=temperatures,
        metal_length_m=hot.metal_length_m,
        relief_pressure_pa=relief_pa,
        relief_given=line.machine.relief_given,
        stored_energy_j=cautions.stored_energy_j(line, balanced.compressor_pressure_pa),
        adiabatic_power_w=adiabatic_power_w(line, balanced),
        wire_power_w=power_w,
        gauges=_gauges(balanced, others),
        notices=(
            *choice.notices,
            *cautions.unused_lines(job, branches),
            *trunk_words(choice),
            *cautions.flow_notices(line, balanced, choice.wanted_flow_standard_m3_s),
            *cautions.split_notices(opened, balanced, line),
            *cautions.membrane_notices(job, balanced, opened, alone),
            *heat_notices(line, hot),
            *relief_notices,
            # low points are the route's to tell where there is one
            *([] if job.route else cautions.low_point_notices(line)),
            *cautions.compressed_gas_notices(line, balanced, relief_pa),
            *(loud.notices if loud else (unknown_noise(line.machine),)),
            *power.notices,
            *(on_land.notices if on_land else ()),
            *(proof.notices if proof else ()),
            *shore.notices,
            *(kept.notices if kept else ()),
        ),
        assumptions=(
            *_assumptions(job, choice),
            *power.assumptions,
            *(on_land.assumptions if on_land else ()),
            *(proof.assumptions if proof else ()),
            *shore.assumptions,
        ),
        heat=hot,
        noise=loud,
        electrical=power,
        route=on_land,
        old_pipe=proof,
        ends=shore,
        accepted=kept,
    )


def _accepted(job: Job, choice: Choice) -> AcceptedLine | None:
    """Return the gauges accepted at commissioning beside this line; None where nothing was accepted."""
    if job.as_built is None or job.as_built.commissioned is None:
        return None
    # few jobs have a record, and what weighs gauges is slow to load
    from plumeline.stages.air.accepted_line import accepted_line

    never, intake_degc = unreachable(choice.line), job.as_built.commissioned.intake_temperature_degc
    line = choice.line if intake_degc is None else replace(choice.line, intake_degc=intake_degc)
    return accepted_line(job, build_network(line, loss_number=choice.loss_number, shut=never))


def _with_dips_full(choice: Choice, found: RouteResult | None) -> RouteResult | None:
    """Return a route with the gauge at the compressor, valves as set, when every dip is full of water."""
    if found is None or not found.plug_pressure_pa:
        return found
    never = unreachable(choice.line)
    try:
        point = solve(plugged(choice.line, found), "dips full", loss_number=choice.loss_number, shut=never)
    except ModelError:
        return with_plugged_gauge(found, None)
    return with_plugged_gauge(found, point.compressor_pressure_pa)


def _each_alone(choice: Choice) -> tuple[OperatingPoint, ...]:
    """Return the point of each branch that can be reached with its valve open and all others shut."""
    line, never = choice.line, unreachable(choice.line)
    names = frozenset(spec.name for spec in line.branches)
    return tuple(
        solve(line, f"{spec.name} alone", shut=names - {spec.name})
        for spec in line.branches
        if spec.name not in never
    )


def _each_shut(choice: Choice) -> tuple[OperatingPoint, ...]:
    """Return the point with the valves as set and one of them shut, for each branch that flows."""
    line, never = choice.line, unreachable(choice.line)
    live = [spec.name for spec in line.branches if spec.name not in never]
    if len(live) < 2:
        return ()
    return tuple(
        solve(line, f"{name} shut", loss_number=choice.loss_number, shut=never | {name}) for name in live
    )


def _derated(choice: Choice, hot: HotDay) -> OperatingPoint | None:
    """Return the point with the valves as set on a hot day behind a dirty filter; None where no air passes."""
    line = derated_line(choice.line, hot)
    shut = unreachable(choice.line)
    try:
        return solve(line, "hot day, dirty filter", loss_number=choice.loss_number, shut=shut)
    except ModelError:
        return None


def _compressor(job: Job, choice: Choice, relief_pa: float) -> Compressor:
    """Return the compressor as a part of a job, with the relief setting and where it stands."""
    given = job.air.compressor
    place = {"relief_pressure_pa": relief_pa, "elevation_m": given.elevation_m if given else None}
    return choice.line.machine.as_compressor().model_copy(update=place)


def _gauges(balanced: OperatingPoint, others: tuple[OperatingPoint, ...]) -> tuple[Gauge, ...]:
    """Return the readings to expect: valves set at every place, other cases at compressor and manifold."""
    flow = balanced.flow_standard_m3_s
    gauges = [
        Gauge(balanced.case, "compressor", balanced.compressor_pressure_pa, flow),
        Gauge(balanced.case, "manifold", balanced.manifold_pressure_pa, flow),
    ]
    gauges += [
        Gauge(balanced.case, f"port {branch.name}", branch.port_pressure_pa, branch.flow_standard_m3_s)
        for branch in balanced.branches
        if not branch.shut
    ]
    gauges += [
        Gauge(balanced.case, f"end of {item.name}", item.pressure_pa, item.flow_standard_m3_s)
        for item in balanced.junctions
    ]
    for point in others:
        gauges.append(Gauge(point.case, "compressor", point.compressor_pressure_pa, point.flow_standard_m3_s))
        gauges.append(Gauge(point.case, "manifold", point.manifold_pressure_pa, point.flow_standard_m3_s))
    return tuple(gauges)


def _membrane_words(line: Line) -> str:
    """Return what the membranes are taken to lose."""
    if line.membrane or all(spec.membrane for spec in line.branches):
        return "Membranes lose what their curves say, at the flow of each."
    return f"Membrane loss {psi_difference(line.membrane_loss_pa)} at any flow: no curve is given."


def _assumptions(job: Job, choice: Choice) -> tuple[str, ...]:
    """Return what the answer rests on beyond the job's own words."""
    line = choice.line
    words = [
        f"Flows of air are counted at {pair(FLOW_BASIS, FLOW_BASIS_SI)}; gauges are over the air pressure of the site.",
        "Gauges hold for today's water level: "
        f"{pair('one foot less water is 0.43 psi less', '10 cm less water is 0.98 kPa less')}.",
        "Friction by Churchill 1977; the intake air is counted dry (humid heat takes 3 to 5 % of it).",
        "The compressor's curve is free air at its intake; its pressure axis is scaled with the site's air "
        "pressure, for a piston loses volume with the pressure ratio.",
        _membrane_words(line),
    ]
    if line.machine.open_power_fraction is not None:
        words.append(
            "Power from the wall of a generic machine rises straight with the gauge, from "
            f"{line.machine.open_power_fraction:.0%} of its rating at an open outlet to all of it at its highest "
            "pressure (invented, sources/compressor_care.csv); the quote's energy is counted with the same."
        )
    if job.air.intake_temperature_degc is None:
        words.append(f"Intake air at {degf(HOT_DAY_DEGC)}, a hot day: none is given.")
    if job.air.soil_temperature_degc is None:
        words.append(f"Soil at the pipe {degf(DEFAULT_SOIL_DEGC)}: none is given.")
    if job.air.air_per_diffuser_m3_s is None:
        wanted = scfm(choice.wanted_flow_standard_m3_s)
        words.append(f"Wanted flow {wanted} a diffuser: common practice, no published source.")
    if choice.trunk_chosen:
        words.append(
            f"The trunk is chosen to lose under {100.0 * TRUNK_DROP_SHARE_FRACTION:.0f} % of the gauge."
        )
    if any(piece.material == "unknown" for piece in line.trunk):
        words.append(
            f"A piece of trunk is known by its bore alone: taken as plastic, limit {degf(60.0)}. The print "
            "line on the pipe's wall tells more."
        )
    return tuple(words)
