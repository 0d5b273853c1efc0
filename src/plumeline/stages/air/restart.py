"""What pressure stays in the line when the compressor stops, and whether its motor starts against it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from plumeline.errors import InputError
from plumeline.job.document import Job
from plumeline.notices import Notice, caution, note
from plumeline.science.air import GAS_CONSTANT_J_KG_K, adiabatic_power_perry_2008
from plumeline.sources import read_table
from plumeline.stages.air import tree
from plumeline.stages.air.machine import Machine
from plumeline.stages.air.network import STANDARD_DENSITY_KG_M3, AirNetwork, SiteCurve
from plumeline.stages.air.results import MANIFOLD, OperatingPoint
from plumeline.stages.air.solving import Line, build_network
from plumeline.stages.air.words import psi, psi_difference

Array = NDArray[np.float64]
DEFAULT_MOTOR = "permanent-split"
"""Taken where the job names no motor: usual on small machines, and the one that starts worst but for shaded poles."""
SETTLED_PA = 345.0
"""The line has come down when it is within this of what stays: 0.05 psi, a gauge's needle width."""
MECHANICAL_EFFICIENCY = 0.8
"""Work on the air over work at the shaft of a small machine: judgement."""
ROD_RATIO_NUMBER = 0.25
"""Crank radius over the length of the rod: a usual machine, from memory."""
ISENTROPIC_EXPONENT = 1.4
FULL_LOAD_PA = 172369.0
"""Gauge at which the motor is taken as fully loaded where the machine states none: 25 psi."""
SAMPLES = 64
ANY_PA = 2e6
"""End of a curve of one flow at any pressure."""
PISTON, VANE, LINEAR = "piston", "vane", "linear diaphragm"


@dataclass(frozen=True)
class Restart:
    """The line after the compressor has stopped, and the motor that has to start against it."""

    running_pressure_pa: float
    """Gauge at the compressor as it stops."""
    trapped_pressure_pa: float
    """Gauge that stays: water over the shallowest diffuser that runs, its membrane and check valves."""
    last_branch: str
    """The diffuser that lets air out the longest."""
    volume_m3: float
    """Inside trunk, lines and branches."""
    decay_s: float
    """Time through the diffusers until the gauge is within 0.05 psi of what stays."""
    motor: str
    motor_given: bool
    drive: str
    """piston, vane or linear diaphragm."""
    start_pressure_pa: float | None
    """Gauge against which the motor surely starts; None where it starts against any."""
    start_pressure_given: bool
    """By the maker's sheet, not worked out here."""
    torque_running_fraction: float
    """Torque to start against the running pressure, over the motor's full-load torque."""
    torque_trapped_fraction: float
    """The same against what stays trapped."""
    motor_low_fraction: float
    """Starting torque of such motors over their full-load torque, at the low end."""
    motor_high_fraction: float
    unloader: bool
    """Without one it may not start again, however long it is off."""
    off_s: float | None
    """Least time off without an unloader; None where no time is enough; 0 where it starts at once."""
    notices: tuple[Notice, ...]


def drive_of(machine: Machine) -> str:
    """Return how a machine compresses, by its name: a piston where nothing else is said."""
    name = f"{machine.name} {machine.words}".casefold()
    if "diaphragm" in name:
        return LINEAR
    return VANE if "vane" in name else PISTON


def starting_torque_fraction(
    drive: str, gauge_pressure_pa: float, full_load_pa: float, ambient_pressure_pa: float
) -> float:
    """Return the torque that starts a machine against a gauge pressure, over its motor's full-load torque.

    At full load the mean torque is the work of a turn by 2π, over the mechanical efficiency. From rest a piston must be
    pushed through its worst place; vanes take the pressure over the whole turn, for they leak while they stand. The
    friction of the bearings comes on top of both.

    Args:
        drive: piston or vane.
        gauge_pressure_pa: trapped behind the machine [Pa].
        full_load_pa: gauge at which the motor is fully loaded [Pa].
        ambient_pressure_pa: absolute, of the open air [Pa].
    """
    full = _turn_pa(full_load_pa, ambient_pressure_pa) / (2.0 * math.pi)
    friction = full / MECHANICAL_EFFICIENCY - full
    if drive == VANE:
        against = gauge_pressure_pa / (2.0 * math.pi)
    else:
        against = float(np.max(crank_torque_pa(gauge_pressure_pa, ambient_pressure_pa)[1]))
    return (against + friction) / (full / MECHANICAL_EFFICIENCY)


def _turn_pa(gauge_pressure_pa: float, ambient_pressure_pa: float) -> float:
    """Return the work of one turn by the swept volume [J/m³]: the ideal power at one cubic metre a second."""
    ratio_number = 1.0 + gauge_pressure_pa / ambient_pressure_pa
    return adiabatic_power_perry_2008(ambient_pressure_pa, 1.0, ratio_number)


def crank_geometry(angle_rad: Array) -> tuple[Array, Array]:
    """Return the part of the stroke that is left at crank angles from the bottom, and its change with the angle.

    Args:
        angle_rad: shape (n,) [rad].
    """
    sine, cosine = np.sin(angle_rad), np.cos(angle_rad)
    rod = np.sqrt(1.0 - (ROD_RATIO_NUMBER * sine) ** 2)
    # the way gone over the whole stroke, and its change with the angle
    gone = 0.5 * (1.0 - cosine) + (rod - 1.0) / (2.0 * ROD_RATIO_NUMBER)
    per_angle = 0.5 * sine - 0.5 * ROD_RATIO_NUMBER * sine * cosine / rod
    return np.maximum(1.0 - gone, 1e-9), per_angle


def crank_torque_pa(
    gauge_pressure_pa: float, ambient_pressure_pa: float, count: int = 721
) -> tuple[Array, Array]:
    """Return crank angles from the bottom [rad] and the torque of the stroke by the swept volume [J/m³].

    The cylinder fills at the air's own pressure, is compressed without heat until it opens against what is behind it,
    and pushes the rest out at that pressure; dead space is left out. T = p_g A ds/dφ.

    Args:
        gauge_pressure_pa: behind the machine [Pa].
        ambient_pressure_pa: absolute, of the open air [Pa].
        count: angles from the bottom to the top.
    """
    angle = np.linspace(0.0, math.pi, count)
    left, per_angle = crank_geometry(angle)
    squeezed_pa = ambient_pressure_pa * (left**-ISENTROPIC_EXPONENT - 1.0)
    return angle, np.minimum(squeezed_pa, gauge_pressure_pa) * per_angle


def surely_starts_pa(drive: str, fraction: float, full_load_pa: float, ambient_pressure_pa: float) -> float:
    """Return the gauge against which a motor of so much starting torque still starts [Pa]; 0 where none."""

    def over(gauge_pa: float) -> float:
        return starting_torque_fraction(drive, gauge_pa, full_load_pa, ambient_pressure_pa) - fraction

    if over(0.0) >= 0.0:
        return 0.0
    high_pa = full_load_pa
    while over(high_pa) < 0.0:
        high_pa *= 2.0
    return float(brentq(over, 0.0, high_pa, xtol=1.0))


def held_network(line: Line, loss_number: tuple[float, ...] | None, shut: frozenset[str]) -> AirNetwork:
    """Return what lets the air out: all that hangs from the manifold, without the trunk."""
    network = build_network(line, loss_number=loss_number, shut=shut)
    branches = tuple(replace(item, parts=()) if item.name == MANIFOLD else item for item in network.branches)
    return replace(network, branches=branches)


def outflow(network: AirNetwork, flow_kg_s: float) -> tuple[Array, Array]:
    """Return gauge pressures of the line, rising [Pa], and what leaves through the diffusers at each [kg/s].

    Args:
        network: what lets the air out.
        flow_kg_s: of the line at work; looked at from a ten-thousandth of it to its double.
    """
    source = SiteCurve((0.0, ANY_PA), (flow_kg_s, flow_kg_s))
    arrays = tree.compile_tree(replace(network, source=source)).arrays
    flows = flow_kg_s * np.geomspace(1e-4, 2.0, SAMPLES)
    pressures = [
        tree.run(arrays._replace(curve_mass_flow_kg_s=np.array([flow, flow]))).pressure_pa[0]
        for flow in flows
    ]
    return np.array(pressures) - arrays.ambient_pressure_pa, flows


def held_kg_pa(line: Line) -> tuple[float, float]:
    """Return the volume of the line [m³] and the air of one pascal in it [kg/Pa], each piece at its temperature."""
    pieces = [
        (piece.length_m, piece.bore_m, piece.mean_temperature_degc)
        for piece in (*line.trunk, *(item.piece for item in line.lines))
    ]
    pieces += [(spec.length_m, spec.bore_m, line.water_degc) for spec in line.branches]
    volumes = [0.25 * math.pi * bore_m**2 * length_m for length_m, bore_m, _ in pieces]
    per_pa = sum(
        volume_m3 / (GAS_CONSTANT_J_KG_K * (degc + 273.15))
        for volume_m3, (_, _, degc) in zip(volumes, pieces, strict=True)
    )
    return sum(volumes), per_pa


def decay_s(
    pressures_pa: Array, flows_kg_s: Array, per_pa_kg: float, start_pa: float, end_pa: float
) -> float:
    """Return the time in which the line falls from one gauge pressure to another through its diffusers [s].

    Isothermal: V dp/(R T) = −ṁ(p) dt. Each step takes its pressure over the mean of its two flows, which is exact where
    the pressure over what stays goes with the flow's square, as in a plain pipe.

    Args:
        pressures_pa: gauge pressures of the line, rising [Pa].
        flows_kg_s: what leaves at each [kg/s].
        per_pa_kg: air that one pascal is in the line [kg/Pa].
        start_pa: gauge pressure at the start [Pa].
        end_pa: gauge pressure at the end [Pa].
    """
    if start_pa <= end_pa:
        return 0.0
    levels, leaving = levels_between(pressures_pa, flows_kg_s, start_pa, end_pa)
    return float(per_pa_kg * np.sum(np.diff(levels) / leaving))


def levels_between(
    pressures_pa: Array, flows_kg_s: Array, start_pa: float, end_pa: float
) -> tuple[Array, Array]:
    """Return the gauge pressures from the end to the start, shape (n + 1,), and the mean flow of each step, shape (n,).

    Args:
        pressures_pa: gauge pressures of the line, rising [Pa].
        flows_kg_s: what leaves at each [kg/s].
        start_pa: gauge pressure at the start [Pa].
        end_pa: gauge pressure at the end [Pa].
    """
    between = pressures_pa[(pressures_pa > end_pa) & (pressures_pa < start_pa)]
    levels = np.concatenate(([end_pa], between, [start_pa]))
    flows = np.interp(levels, pressures_pa, flows_kg_s)
    return levels, 0.5 * (flows[1:] + flows[:-1])


def _motor(job: Job) -> tuple[str, bool, float, float]:
    """Return a motor's words, whether the job names it, and its starting torque, low and high."""
    rows = {row["motor"]: row for row in read_table("motor_starts")}
    asked = job.air.compressor.motor if job.air.compressor else ""
    if asked and asked not in rows:
        raise InputError(
            f"there is no kind of motor {asked!r}.",
            remedy=f"One of: {', '.join(rows)}.",
            place="air.compressor.motor",
        )
    row = rows[asked or DEFAULT_MOTOR]
    return row["words"], bool(asked), float(row["low_fraction"]), float(row["high_fraction"])


def restart(
    job: Job, line: Line, point: OperatingPoint, loss_number: tuple[float, ...] | None
) -> Restart | None:
    """Return what stays in the line when the compressor stops, and what that asks of its motor.

    Args:
        job: the job.
        line: its line.
        point: where it works, valves set.
        loss_number: of the valves as set.
    """
    live = [branch for branch in point.branches if not branch.shut and not branch.dead]
    if not live:
        return None
    specs = {spec.name: spec for spec in line.branches}
    stays = {
        branch.name: line.needed_pa(specs[branch.name]) + line.passed_pa(specs[branch.name])
        for branch in live
    }
    last = min(stays, key=lambda name: stays[name])
    shut = frozenset(branch.name for branch in point.branches if branch.shut)
    network = held_network(line, loss_number, shut)
    volume_m3, per_pa = held_kg_pa(line)
    running_pa, trapped_pa = point.compressor_pressure_pa, stays[last]
    # trunk and lines beyond take their check valves and water away before the diffusers
    lost_pa = line.passed_pa(specs[last])
    start_pa, stays_pa = running_pa - lost_pa, trapped_pa - lost_pa
    settled_pa = stays_pa + SETTLED_PA
    pressures, flows = outflow(network, point.flow_standard_m3_s * STANDARD_DENSITY_KG_M3)
    whole_s = decay_s(pressures, flows, per_pa, start_pa, settled_pa)
    words, given, low, high = _motor(job)
    drive, machine = drive_of(line.machine), job.air.compressor
    sheet_pa = machine.start_pressure_pa if machine else None
    full_pa, ambient_pa = line.machine.max_pressure_pa or FULL_LOAD_PA, line.ambient_pressure_pa
    limit_pa = sheet_pa
    if limit_pa is None and drive != LINEAR:
        limit_pa = surely_starts_pa(drive, low, full_pa, ambient_pa)
    off_s: float | None = 0.0
    if limit_pa is not None and limit_pa < running_pa:
        reached = limit_pa - lost_pa >= settled_pa
        off_s = decay_s(pressures, flows, per_pa, start_pa, limit_pa - lost_pa) if reached else None
        if not reached and limit_pa >= trapped_pa:
            off_s = whole_s
    found = Restart(
        running_pressure_pa=running_pa,
        trapped_pressure_pa=trapped_pa,
        last_branch=last,
        volume_m3=volume_m3,
        decay_s=whole_s,
        motor=words,
        motor_given=given,
        drive=drive,
        start_pressure_pa=limit_pa,
        start_pressure_given=sheet_pa is not None,
        torque_running_fraction=starting_torque_fraction(drive, running_pa, full_pa, ambient_pa),
        torque_trapped_fraction=starting_torque_fraction(drive, trapped_pa, full_pa, ambient_pa),
        motor_low_fraction=low,
        motor_high_fraction=high,
        unloader=off_s is None,
        off_s=off_s,
        notices=(),
    )
    return replace(found, notices=_notices(found))


def seconds_words(time_s: float) -> str:
    """Return a time as a person waits it: "40 s", "3 min"."""
    return f"{max(math.ceil(time_s), 1)} s" if time_s < 120.0 else f"{math.ceil(time_s / 60.0)} min"


def _notices(found: Restart) -> tuple[Notice, ...]:
    """Return what is said of the pressure that stays."""
    if found.drive == LINEAR:
        return ()
    stays = (
        f"When the compressor stops the line comes down from {psi(found.running_pressure_pa)} to "
        f"{psi(found.trapped_pressure_pa)} in {seconds_words(found.decay_s)}, and stays there behind the check valve: "
        f"the water over {found.last_branch}."
    )
    source = "its maker's sheet" if found.start_pressure_given else f"the torque of a {found.motor}"
    if not found.start_pressure_given and not found.motor_given:
        source += " (the job names none; the maker's sheet may say better)"
    limit = "" if found.start_pressure_pa is None else psi(found.start_pressure_pa)
    if found.unloader:
        words = (
            f"{stays} By {source} it surely starts against {limit} only. Fit an unloader: a valve that "
            "vents the stretch between compressor and check valve whenever it stops (or bleed it by hand before every "
            "start), else a short outage can stall and burn the motor, and the air is off until somebody comes."
        )
        return (caution("air-unloader", words),)
    if found.off_s:
        words = (
            f"{stays} By {source} it surely starts against {limit}: after every stop leave it off for "
            f"{seconds_words(found.off_s)} (a delay timer does it after an outage), or fit an unloader."
        )
        return (caution("air-off-time", words),)
    more = psi_difference((found.start_pressure_pa or 0.0) - found.running_pressure_pa)
    return (note("air-restart", f"{stays} The motor starts against that at once, with {more} to spare."),)
