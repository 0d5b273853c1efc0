"""What the job leaves open: the machine, the trunk's pipe, the branches typed in without a layout."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from plumeline.errors import DepthError, InputError, ModelError
from plumeline.job.document import Diffuser, Job, MembranePoint
from plumeline.notices import Notice, caution, note
from plumeline.science.gases import pressure_icao_1993
from plumeline.science.water import density_chen_millero_1986, salinity_hill_1986
from plumeline.stages.air.line import (
    DESIGN_PIPES,
    designed_trunk,
    given_lines,
    given_trunk,
    losses_of,
    pipe_row,
)
from plumeline.stages.air.machine import Machine, generic_machines, given_machine
from plumeline.stages.air.network import Branch, LossPoint, in_order
from plumeline.stages.air.results import MANIFOLD, BranchSpec, OperatingPoint, TrunkPiece
from plumeline.stages.air.solving import Line, settled, solve_balanced, unreachable
from plumeline.stages.air.words import psi, psi_difference, scfm

DEFAULT_FLOW_STANDARD_M3_S = 1.3 * 4.719474432e-4
"""Air for one diffuser where the job wants no other: common practice, no published source."""
TRUNK_DROP_SHARE_FRACTION = 0.10
"""Greatest share of the compressor's gauge pressure that a trunk designed here may lose."""
HOT_DAY_DEGC = 35.0
"""Intake where the job gives none: a hot day, 95 °F."""
DEFAULT_SOIL_DEGC = 20.0
DEFAULT_WATER_DEGC = 20.0
CONTINUOUS_NUMBER = 1.25
"""A circuit carries 125 % of a load that runs for hours: for the licensed electrician."""


@dataclass(frozen=True)
class Choice:
    """A line at its temperatures, its balanced point, and what was chosen on the way."""

    line: Line
    point: OperatingPoint
    loss_number: tuple[float, ...]
    wanted_flow_standard_m3_s: float
    compressor_chosen: bool
    trunk_chosen: bool
    notices: tuple[Notice, ...]


def typed_branches(job: Job) -> tuple[BranchSpec, ...]:
    """Return the branches of the diffusers whose depth and length the job types in.

    Raises:
        InputError: there is no diffuser, or one has no depth or no branch length.
    """
    diffusers = job.listed_diffusers
    if not diffusers:
        raise InputError(
            "there is no diffuser to feed.",
            remedy="Give the diffusers with depth and branch_length, or a pond to lay them out in.",
            place="air.diffusers",
        )
    branches = []
    for index, diffuser in enumerate(diffusers):
        place = f"air.diffusers[{index}]"
        if diffuser.depth_m is None or diffuser.branch_length_m is None:
            missing = "depth" if diffuser.depth_m is None else "branch_length"
            raise InputError(
                f"diffuser {diffuser.name} has no {missing}.", remedy=f"Give its {missing}.", place=place
            )
        bore_m, roughness_m = diffuser.branch_bore_m, job.air.roughness_m
        if bore_m is None:
            row = pipe_row(diffuser.branch_pipe or job.air.branch_pipe, place)
            bore_m, roughness_m = float(row["bore_m"]), float(row["roughness_m"])
        branches.append(
            BranchSpec(
                diffuser.name,
                diffuser.depth_m,
                diffuser.branch_length_m,
                bore_m,
                roughness_m,
                hangs_from=diffuser.hangs_from,
                loss_number=losses_of(diffuser.fittings, bore_m),
                valve=diffuser.valve,
                check_valve_pa=diffuser.check_valve_pa,
                standing_water_m=diffuser.standing_water_m,
                membrane=_curve(diffuser.membrane),
                served_volume_m3=diffuser.served_volume_m3,
            )
        )
    return tuple(branches)


def with_parts(spec: BranchSpec, typed: Diffuser | None) -> BranchSpec:
    """Return a laid branch with valve, fittings, check valve, standing water and membrane of the job's diffuser."""
    if typed is None:
        return spec
    return replace(
        spec,
        loss_number=losses_of(typed.fittings, spec.bore_m),
        valve=typed.valve,
        check_valve_pa=typed.check_valve_pa,
        standing_water_m=typed.standing_water_m,
        membrane=_curve(typed.membrane),
    )


def _curve(points: tuple[MembranePoint, ...]) -> tuple[LossPoint, ...]:
    """Return a membrane's curve."""
    return tuple(LossPoint(point.air_m3_s, point.loss_pa) for point in points)


def check_branches(branches: tuple[BranchSpec, ...]) -> None:
    """Refuse branches that no pipe can be.

    Raises:
        InputError: a length, bore or depth not over zero, a share not over zero, or a name used twice.
    """
    names = [branch.name for branch in branches]
    twice = {name for name in names if names.count(name) > 1}
    if twice:
        raise InputError(f"two branches are named {min(twice)!r}.", remedy="Give each its own name.")
    for branch in branches:
        for what, value in (
            ("length", branch.length_m),
            ("bore", branch.bore_m),
            ("depth", branch.depth_m),
            ("share", branch.share_number),
        ):
            if not value > 0.0:
                raise InputError(
                    f"branch {branch.name} has a {what} of {value:g}.",
                    remedy=f"Give a {what} over zero.",
                    place=branch.name,
                )


def check_lines(job: Job, branches: tuple[BranchSpec, ...]) -> None:
    """Refuse lines and diffusers that hang from what is not there, and lines in a loop, which is named.

    Raises:
        InputError: such a one.
    """
    lines = {line.name: line.hangs_from for line in job.air.lines}
    known = [MANIFOLD, *lines]
    for kind, name, above in (
        *(("line", line.name, line.hangs_from) for line in job.air.lines),
        *(("diffuser", spec.name, spec.hangs_from) for spec in branches),
    ):
        if above not in known:
            raise InputError(
                f"{kind} {name} hangs from {above!r}, which is not there.",
                remedy=f"It may hang from {', '.join(known)}.",
                place=f"air.{kind}s",
            )
    in_order((Branch(MANIFOLD), *(Branch(line.name, line.hangs_from) for line in job.air.lines)))


def _water_degc(job: Job) -> float:
    """Return the mean temperature [°C] of the last profile, else a summer value."""
    if job.latest_profile is None:
        return DEFAULT_WATER_DEGC
    points = job.latest_profile.points
    return sum(point.temperature_degc for point in points) / len(points)


def line_of(
    job: Job, machine: Machine, trunk: tuple[TrunkPiece, ...], branches: tuple[BranchSpec, ...]
) -> Line:
    """Return the line of a job with one machine and one trunk."""
    elevation_m = job.site.elevation_m
    if job.air.compressor is not None and job.air.compressor.elevation_m is not None:
        elevation_m = job.air.compressor.elevation_m
    intake_degc, soil_degc = job.air.intake_temperature_degc, job.air.soil_temperature_degc
    water_degc = _water_degc(job)
    return Line(
        machine=machine,
        trunk=trunk,
        branches=branches,
        ambient_pressure_pa=pressure_icao_1993(elevation_m),
        intake_degc=HOT_DAY_DEGC if intake_degc is None else intake_degc,
        soil_degc=DEFAULT_SOIL_DEGC if soil_degc is None else soil_degc,
        water_degc=water_degc,
        water_density_kg_m3=density_chen_millero_1986(water_degc, water_salt_g_kg(job)),
        membrane_loss_pa=job.air.membrane_loss_pa,
        lines=given_lines(job, branches),
        membrane=_curve(job.air.membrane),
        filter_loss_pa=job.air.filter_loss_pa,
        cabinet=job.air.cabinet,
    )


def water_salt_g_kg(job: Job) -> float:
    """Return the salt of the water over the membranes: of the last profile's mean conductivity, 0 where none was read.

    Sea water weighs 2.7 % more than fresh water, and the gauge with it.
    """
    profile = job.latest_profile
    read = [] if profile is None else [point.conductivity_us_cm for point in profile.points]
    known = [one for one in read if one is not None and one > 0.0]
    return salinity_hill_1986(sum(known) / len(known)) if known else 0.0


def fits_power(job: Job, machine: Machine) -> bool:
    """Return whether a machine's voltage and 125 % of its current fit the power the job names."""
    volts, amps = job.power.volts, job.power.amps
    if volts is not None and machine.volts_v is not None and abs(volts / machine.volts_v - 1.0) > 0.15:
        return False
    current_a = machine.running_current_a
    return amps is None or current_a is None or CONTINUOUS_NUMBER * current_a * machine.count <= amps


def _with_trunk(job: Job, machine: Machine, branches: tuple[BranchSpec, ...]) -> Choice:
    """Return the choice for one machine: the given trunk, or the smallest that keeps the drop small."""
    given = given_trunk(job)
    options = [given] if given else [designed_trunk(job, pipe) for pipe in DESIGN_PIPES]
    wanted = job.air.air_per_diffuser_m3_s or DEFAULT_FLOW_STANDARD_M3_S
    choice = None
    for trunk in options:
        line = line_of(job, machine, trunk, branches)
        shut = unreachable(line)
        line = settled(line, shut if len(shut) < len(branches) else frozenset())
        point, losses = solve_balanced(line, "valves set", shut)
        choice = Choice(line, point, losses, wanted, False, not given, ())
        if point.trunk_drop_pa <= TRUNK_DROP_SHARE_FRACTION * point.compressor_pressure_pa:
            break
    assert choice is not None
    return choice


def _candidates() -> Iterator[Machine]:
    """Yield generic machines, one of each by power, then two of each, and so on."""
    for count in (1, 2, 3, 4):
        for machine in generic_machines():
            yield replace(machine, count=count)


def _meets(choice: Choice) -> bool:
    """Return whether a machine gives every diffuser its wanted flow within its own pressure limit."""
    limit_pa = choice.line.machine.max_pressure_pa
    enough = all(
        branch.flow_standard_m3_s >= choice.wanted_flow_standard_m3_s * spec.share_number
        for branch, spec in zip(choice.point.branches, choice.line.branches, strict=True)
    )
    return enough and (limit_pa is None or choice.point.compressor_pressure_pa <= limit_pa)


def choose(job: Job, branches: tuple[BranchSpec, ...]) -> Choice:
    """Return the job's line, with the machine and the trunk's pipe chosen where the job leaves them open.

    Raises:
        InputError: a pipe, curve or route that can't be used.
        DepthError: no machine reaches the depth.
    """
    machine = given_machine(job)
    if machine is not None:
        return _with_trunk(job, machine, branches)
    best: Choice | None = None
    for respect_power in (True, False):
        for candidate in _candidates():
            if respect_power and not fits_power(job, candidate):
                continue
            try:
                choice = _with_trunk(job, candidate, branches)
            except ModelError:
                continue
            limit_pa = candidate.max_pressure_pa
            if limit_pa is not None and choice.point.compressor_pressure_pa > limit_pa:
                # a machine that is driven beyond its own limit is no answer
                continue
            if best is None or choice.point.flow_standard_m3_s > best.point.flow_standard_m3_s:
                best = choice
            if _meets(choice):
                return replace(choice, compressor_chosen=True, notices=_chosen_words(job, choice))
    if best is None:
        raise DepthError(
            "no generic compressor reaches this depth within its own pressure limit.",
            remedy="Give a compressor with its own curve, or set the diffusers shallower.",
            place="air.compressor",
        )
    return replace(best, compressor_chosen=True, notices=_chosen_words(job, best))


def _chosen_words(job: Job, choice: Choice) -> tuple[Notice, ...]:
    """Return what is said of a machine that was chosen here."""
    machine, point = choice.line.machine, choice.point
    count = f"{machine.count} × " if machine.count > 1 else ""
    meets = (
        "the least power in the generic table that gives"
        if _meets(choice)
        else "the one of most air in the generic table, though it does not give"
    )
    words = (
        f"No compressor is named; taken: {count}{machine.words}, {meets} each diffuser "
        f"{scfm(choice.wanted_flow_standard_m3_s)} at {psi(point.compressor_pressure_pa)}. Its curve is "
        "invented, for planning only: put the maker's curve in before buying."
    )
    notices = [note("air-compressor-chosen", words)]
    if not fits_power(job, machine):
        words = (
            f"{count}{machine.words} needs more than the power named (125 % of its running current, or "
            "another voltage): ask the licensed electrician."
        )
        notices.append(caution("air-power-short", words))
    return tuple(notices)


def trunk_words(choice: Choice) -> tuple[Notice, ...]:
    """Return what is said of the trunk: chosen here, or losing more than the stated share."""
    point = choice.point
    share_fraction = point.trunk_drop_pa / point.compressor_pressure_pa
    part = f"{psi_difference(point.trunk_drop_pa)}, {100.0 * share_fraction:.0f} % of the compressor's gauge"
    limit = f"{100.0 * TRUNK_DROP_SHARE_FRACTION:.0f} %"
    if share_fraction > TRUNK_DROP_SHARE_FRACTION:
        words = f"The trunk loses {part}, over {limit}: take a larger bore, or a second line beside it."
        return (caution("air-trunk-loss", words),)
    if choice.trunk_chosen:
        pipe = choice.line.trunk[0].pipe
        words = f"No trunk is named; taken: {pipe}, the smallest tried that loses under {limit} ({part})."
        return (note("air-trunk-chosen", words),)
    return ()
