"""What can go wrong with an air line, as networks that can be solved."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from plumeline.pairs import pair
from plumeline.sources import read_table
from plumeline.stages.air.network import (
    AirNetwork,
    Branch,
    Diffuser,
    Leak,
    LossPoint,
    OpenEnd,
    Part,
    Pipe,
    SiteCurve,
    Valve,
    WaterPlug,
)
from plumeline.stages.air.results import MANIFOLD
from plumeline.stages.air.words import feet_depth, psi_difference, small

OPENED = "valve opened too far"
BLED = "shut, the air behind it gone"
NOTHING, NONE_OF_THESE, WRONG_GAUGE, LOW_POND = "nothing wrong", "none of these", "wrong gauge", "low pond"
ALL = "all"
COMPRESSOR_GAUGE, PORT_GAUGE = "compressor gauge", "port gauge"
# severities at which each fault is solved; between them its gauges are taken as straight. The ends lie where a gauge
# just tells and where the air is nearly gone
HOLES_M = (0.001, 0.0015, 0.0022, 0.0032, 0.0047, 0.007, 0.012)
VALVE_LOSS_NUMBERS = (50.0, 200.0, 1000.0, 5000.0)
OPENED_FRACTIONS = (0.0, 0.15, 0.5)  # of the heads that it is set to burn
BURNS_NUMBER = 20.0  # heads under which a valve is as good as open
FOULED_PA = (2000.0, 4000.0, 7000.0, 12000.0)
DEPTHS_M = ((-1.0, -0.6, -0.3), (0.3, 0.6, 1.0))
WORN_FRACTIONS = (0.85, 0.7, 0.5, 0.35)
PLUGS_M = (0.1, 0.25, 0.5, 0.9)
TRUNK_LOSS_NUMBERS = (100.0, 500.0, 2000.0, 8000.0)
LEVELS_M = (-0.15, -0.3, -0.6, -1.0)
# how far what is on no list throws each gauge: off a sound line, or off a listed fault that it is much like (judgement)
BLURS_PA = (3000.0, 7000.0, 14000.0, 28000.0)
GUISE_BLURS_PA = (1500.0, 5000.0)


def _signed(height_m: float) -> str:
    """Return a change of depth or level with its sign, as "-2.0 ft (-0.60 m)"."""
    return pair(f"{height_m / 0.3048:+.1f} ft", f"{height_m:+.2f} m")


def _of_depth(height_m: float) -> str:
    return f"{_signed(height_m)} of depth"


def _more_pressure(pressure_pa: float) -> str:
    return f"{psi_difference(pressure_pa)} more"


def _more_heads(loss_number: float) -> str:
    return f"K {loss_number:.0f} more"


Change = Callable[[AirNetwork], AirNetwork]
BranchChange = Callable[[Branch], Branch]


@dataclass(frozen=True)
class Case:
    """One fault at one place in one severity.

    Attributes:
        cause: its name in sources/faults.csv.
        place: a diffuser's name, the trunk, a gauge, or all.
        severity: in words; empty where it has none.
        weight: of its share of the prior, of all places and severities together one a cause.
        change: the network with it.
        gauge: the gauge that is wrong; empty for every other cause.
        family: of a row of severities between which its gauges are straight; empty for one that stands alone.
        blur_pa: how far it may throw any gauge either way.
        guise: it does so from where any of the other cases would put the gauge, not from a sound line.
    """

    cause: str
    place: str
    severity: str
    weight: float
    change: Change
    gauge: str = ""
    family: str = ""
    blur_pa: float = 0.0
    guise: bool = False


def _same(network: AirNetwork) -> AirNetwork:
    return network


def with_branch(name: str, change: BranchChange) -> Change:
    """Return the change of one branch, or of every diffuser's."""

    def changed(network: AirNetwork) -> AirNetwork:
        def hit(branch: Branch) -> bool:
            return branch.name == name or (name == ALL and branch.outlet is not None)

        branches = tuple(change(item) if hit(item) else item for item in network.branches)
        return replace(network, branches=branches)

    return changed


def with_parts(change: Callable[[Part], Part]) -> BranchChange:
    """Return the change of every part of a branch."""
    return lambda branch: replace(branch, parts=tuple(change(part) for part in branch.parts))


def _closed(part: Part) -> Part:
    return replace(part, opening_fraction=0.0) if isinstance(part, Valve) else part


shut_valves = with_parts(_closed)
"""The change of a branch whose valves are shut."""


def _opened(part: Part) -> Part:
    return replace(part, loss_number=0.0) if isinstance(part, Valve) and not part.is_shut else part


def full_open(network: AirNetwork) -> AirNetwork:
    """Return a network whose valves, but the shut ones, stand full open."""
    return with_branch(ALL, with_parts(_opened))(network)


def _throttled(loss_number: float) -> BranchChange:
    def throttled(part: Part) -> Part:
        if not isinstance(part, Valve) or part.is_shut:
            return part
        return replace(part, loss_number=part.heads_number + loss_number)

    return with_parts(throttled)


def _too_far(share_fraction: float) -> BranchChange:
    def opened(part: Part) -> Part:
        if not isinstance(part, Valve) or part.is_shut:
            return part
        return replace(part, loss_number=share_fraction * part.heads_number)

    return with_parts(opened)


def burned_number(branch: Branch) -> float:
    """Return the velocity heads that a branch's valves burn as set."""
    return sum(part.heads_number for part in branch.parts if isinstance(part, Valve) and not part.is_shut)


def fouled_by(more_pa: float) -> BranchChange:
    """Return the change of a branch whose membrane takes so much more at any flow."""

    def changed(branch: Branch) -> Branch:
        outlet = branch.outlet
        if not isinstance(outlet, Diffuser):
            return branch
        points = outlet.membrane or (LossPoint(0.0, 0.0),)
        fouled = tuple(replace(point, pressure_pa=point.pressure_pa + more_pa) for point in points)
        return replace(branch, outlet=replace(outlet, membrane=fouled))

    return changed


def _headless(branch: Branch) -> Branch:
    depth_m = branch.outlet.depth_m if branch.outlet is not None else 0.0
    return replace(branch, outlet=OpenEnd(depth_m))


def _deeper(by_m: float) -> BranchChange:
    def changed(branch: Branch) -> Branch:
        if branch.outlet is None:
            return branch
        return replace(branch, outlet=replace(branch.outlet, depth_m=max(branch.outlet.depth_m + by_m, 0.05)))

    return changed


def _plug(height_m: float) -> BranchChange:
    return lambda branch: replace(branch, parts=(*branch.parts, WaterPlug(height_m)))


def _clogged(loss_number: float) -> BranchChange:
    def changed(branch: Branch) -> Branch:
        first = next(part for part in branch.parts if isinstance(part, Pipe))
        clogged = replace(first, loss_number=first.loss_number + loss_number)
        return with_parts(lambda part: clogged if part is first else part)(branch)

    return changed


def with_flow(fraction: float) -> Change:
    """Return the change of a compressor that gives so much of its air."""

    def changed(network: AirNetwork) -> AirNetwork:
        flow = tuple(fraction * value for value in network.source.flow_kg_s)
        return replace(network, source=SiteCurve(network.source.pressure_pa, flow))

    return changed


def _hole(branch: str, after: int, diameter_m: float) -> Change:
    return lambda network: replace(network, leaks=(*network.leaks, Leak(branch, after, diameter_m)))


def at_level(network: AirNetwork, level_m: float) -> AirNetwork:
    """Return the network under water that stands so much higher over every diffuser."""
    return with_branch(ALL, _deeper(level_m))(network) if level_m else network


Row = tuple[str, str, Change, str]
"""Place, severity in words, change, family."""


def _each(
    place: str,
    values: tuple[float, ...],
    words: Callable[[float], str],
    make: Callable[[float], BranchChange],
) -> list[Row]:
    """Return a row for each severity of a fault at one branch."""
    return [
        (place, words(value), with_branch(place, make(value)), f"{place} {values[0]:g}") for value in values
    ]


def cases(network: AirNetwork, *, level_read: bool) -> tuple[Case, ...]:
    """Return every fault, place and severity of a network that is sound, which stands first.

    Args:
        network: the sound network, its trunk the branch named as the manifold.
        level_read: the water's level was read with every gauge: then a low pond is no riddle.
    """
    rows = {**_at_branches(network), **_at_trunk(network)}
    if not level_read:
        rows[LOW_POND] = [
            ("", f"{_signed(level_m)} of water", with_branch(ALL, _deeper(level_m)), "low")
            for level_m in LEVELS_M
        ]
    found = [Case(NOTHING, "", "", 1.0, _same)]
    found += [
        Case(cause, place, words, 1.0 / len(listed), change, family=family)
        for cause, listed in rows.items()
        for place, words, change, family in listed
    ]
    found += [Case(WRONG_GAUGE, gauge, "", 0.5, _same, gauge) for gauge in (COMPRESSOR_GAUGE, PORT_GAUGE)]
    for blurs_pa, guise in ((BLURS_PA, False), (GUISE_BLURS_PA, True)):
        found += [
            Case(NONE_OF_THESE, "", "", 0.5 / len(blurs_pa), _same, blur_pa=blur_pa, guise=guise)
            for blur_pa in blurs_pa
        ]
    return tuple(found)


def _at_branches(network: AirNetwork) -> dict[str, list[Row]]:
    """Return what can befall one diffuser's branch, or all their membranes, by cause."""
    names = network.outlet_names
    valves = [row for name in names for row in _each(name, VALVE_LOSS_NUMBERS, _more_heads, _throttled)]
    for name in names:
        shut, family = with_branch(name, shut_valves), f"{name} shut"
        valves += [(name, "shut", shut, family), (name, BLED, shut, family)]
    burning = [name for name in names if burned_number(network.branch(name)) > BURNS_NUMBER]
    opened = [
        (
            name,
            "full open" if not part else f"{100.0 * part:.0f} % of its K",
            with_branch(name, _too_far(part)),
            name,
        )
        for name in burning
        for part in OPENED_FRACTIONS
    ]
    fouled = (*names, ALL) if len(names) > 1 else names
    found = {
        "blocked or closed valve": valves,
        "fouled membrane": [
            row for name in fouled for row in _each(name, FOULED_PA, _more_pressure, fouled_by)
        ],
        "lost diffuser head": [(name, "", with_branch(name, _headless), "") for name in names],
        "diffuser off depth or buried": [
            row for name in names for depths in DEPTHS_M for row in _each(name, depths, _of_depth, _deeper)
        ],
    }
    return {**found, OPENED: opened} if opened else found


def _at_trunk(network: AirNetwork) -> dict[str, list[Row]]:
    """Return what can befall the machine and the pipes, by cause."""
    names = network.outlet_names
    trunk = network.branch(MANIFOLD)
    holes = [(f"segment {k} of the trunk", MANIFOLD, k) for k in range(1, len(trunk.parts) + 1)]
    holes += [(f"{name} at the manifold", name, 1) for name in names]
    found: dict[str, list[Row]] = {
        "leak": [
            (place, f"a hole of {small(size_m)}", _hole(branch, after, size_m), place)
            for place, branch, after in holes
            for size_m in HOLES_M
        ],
        "worn compressor": [
            ("", f"{100.0 * part:.0f} % of its air left", with_flow(part), "worn") for part in WORN_FRACTIONS
        ],
        "water in a low point": [
            (
                "the trunk" if name == MANIFOLD else name,
                f"{feet_depth(height_m)} of water",
                with_branch(name, _plug(height_m)),
                name,
            )
            for name in (MANIFOLD, *names)
            for height_m in PLUGS_M
        ],
    }
    if any(isinstance(part, Pipe) for part in trunk.parts):
        found["blocked trunk"] = [
            ("the trunk", _more_heads(loss), with_branch(MANIFOLD, _clogged(loss)), "trunk")
            for loss in TRUNK_LOSS_NUMBERS
        ]
    return found


def prior_of(cause: str) -> float:
    """Return how likely a cause is before any gauge is read, not yet of a sum of one."""
    return next(float(row["prior_number"]) for row in read_table("faults") if row["cause"] == cause)


def check_of(cause: str) -> str:
    """Return what proves a cause on the spot."""
    return next(row["check"] for row in read_table("faults") if row["cause"] == cause)
