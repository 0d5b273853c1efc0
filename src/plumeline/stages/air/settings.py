"""The valves for people: how each is set, the steps in the field, and what setting them costs."""

from __future__ import annotations

from dataclasses import replace

from plumeline.errors import InputError
from plumeline.job.document import Job
from plumeline.pairs import pair
from plumeline.science.air import adiabatic_power_perry_2008
from plumeline.stages.air.results import Balancing, BranchSpec, OperatingPoint, Share, ValveSetting
from plumeline.stages.air.solving import Line
from plumeline.stages.air.valves import closed_fraction, least_open_fraction
from plumeline.stages.air.words import psi, psi_difference, scfm

FULL_OPEN_NUMBER = 0.05
"""A valve that must burn fewer velocity heads than this stands full open."""


def with_shares(job: Job, branches: tuple[BranchSpec, ...]) -> tuple[BranchSpec, ...]:
    """Return the branches with the shares that the job's way of balancing asks for; their mean is 1.

    Raises:
        InputError: by volume, and a diffuser has none.
    """
    mode = job.air.balance
    if mode == "equal":
        return branches
    if mode == "depth":
        sizes = {spec.name: spec.depth_m for spec in branches}
    else:
        missing = [spec.name for spec in branches if spec.served_volume_m3 is None]
        if missing:
            raise InputError(
                f"the valves are to be set by volume, and diffuser {missing[0]} has no served_volume.",
                remedy="Give each diffuser its served_volume, or balance by depth or equally.",
                place="air.balance",
            )
        sizes = {spec.name: spec.served_volume_m3 or 0.0 for spec in branches}
    mean = sum(sizes.values()) / len(branches)
    return tuple(replace(spec, share_number=sizes[spec.name] / mean) for spec in branches)


def _opening_words(spec: BranchSpec, closed: float | None) -> str:
    """Return how far a valve is open, roughly, by its kind."""
    if closed is None:
        least = 100.0 * least_open_fraction(spec.valve)
        return f"a {spec.valve} valve would be under {least:.0f} % open (a needle valve is easier to set)"
    opened = 100.0 * (1.0 - closed)
    if spec.valve == "ball":
        return f"a ball valve is then roughly {opened:.0f} % open ({90.0 * closed:.0f}° of its quarter turn closed)"
    return f"a {spec.valve} valve is then roughly {opened:.0f} % of its turns open"


def valve_settings(line: Line, point: OperatingPoint, losses: tuple[float, ...]) -> tuple[ValveSetting, ...]:
    """Return how each valve is set at the balanced point, by its gauge first and by its handle roughly."""
    settings = []
    for spec, branch, loss in zip(line.branches, point.branches, losses, strict=True):
        closed = closed_fraction(spec.valve, loss)
        if branch.shut:
            words = "shut: the compressor can't reach this depth"
        elif loss <= FULL_OPEN_NUMBER:
            words, closed = "full open", 0.0
        else:
            words = (
                f"set by the gauge: {psi(branch.port_pressure_pa)} after the valve; "
                f"{_opening_words(spec, closed)}, real ones differ; it burns {psi_difference(branch.valve_drop_pa)}"
            )
        settings.append(
            ValveSetting(
                branch.name, branch.port_pressure_pa, branch.valve_drop_pa, loss, closed, words, spec.valve
            )
        )
    return tuple(settings)


def _shares(opened: OperatingPoint, balanced: OperatingPoint) -> tuple[Share, ...]:
    """Return each branch's share of the air, valves open and set."""
    return tuple(
        Share(
            branch.name,
            opened.branch(branch.name).flow_standard_m3_s / opened.flow_standard_m3_s,
            branch.flow_standard_m3_s / balanced.flow_standard_m3_s,
        )
        for branch in balanced.branches
    )


def _power_w(line: Line, point: OperatingPoint) -> float:
    """Return the power [W] of an ideal compression at a point."""
    ratio_number = 1.0 + point.compressor_pressure_pa / line.ambient_pressure_pa
    return adiabatic_power_perry_2008(line.ambient_pressure_pa, point.flow_intake_m3_s, ratio_number)


def balancing(
    line: Line, mode: str, opened: OperatingPoint, balanced: OperatingPoint, valves: tuple[ValveSetting, ...]
) -> Balancing:
    """Return how the valves are set in the field, and what the setting costs at the compressor."""
    return Balancing(
        mode=mode,
        cost_pa=balanced.compressor_pressure_pa - opened.compressor_pressure_pa,
        cost_w=_power_w(line, balanced) - _power_w(line, opened),
        shares=_shares(opened, balanced),
        procedure=_procedure(opened, balanced, valves),
    )


def _procedure(
    opened: OperatingPoint, balanced: OperatingPoint, valves: tuple[ValveSetting, ...]
) -> tuple[str, ...]:
    """Return the steps of setting the valves, the neediest diffuser first."""
    live = [(valve, balanced.branch(valve.name)) for valve in valves if not balanced.branch(valve.name).shut]
    if len(live) < 2:
        return ()
    needy = min(live, key=lambda item: item[0].loss_number)[0].name
    steps = [
        "Check the relief valve first, and that nobody works on the line. Count each handle's turns from shut to open.",
        f"Open all valves and start. The compressor's gauge should come to {psi(opened.compressor_pressure_pa)}; "
        "wait until it stands still.",
        f"Leave {needy} full open: it needs the most and gets what the others leave.",
    ]
    rest = sorted(
        (item for item in live if item[0].name != needy), key=lambda item: -item[0].pressure_drop_pa
    )
    for valve, branch in rest:
        target = f"{psi(valve.port_pressure_pa)} after the valve ({scfm(branch.flow_standard_m3_s)})"
        if valve.loss_number <= FULL_OPEN_NUMBER:
            steps.append(f"Leave {valve.name} full open too; its port should read {target}.")
        else:
            steps.append(f"Close {valve.name} slowly until its port gauge falls to {target}.")
    steps += [
        f"Closing one raises the others: go round again until no gauge moves. The manifold then reads "
        f"{psi(balanced.manifold_pressure_pa)} and the compressor {psi(balanced.compressor_pressure_pa)}.",
        "Look at the boils: alike where the flows are to be alike. Mark the handles, take them off or tie them, and "
        "write the gauges and the water level on the sheet.",
        f"Set them again when the water level has moved by {pair('a foot', '30 cm')} or a membrane was cleaned.",
    ]
    return tuple(steps)
