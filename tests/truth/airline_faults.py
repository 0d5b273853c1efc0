"""Faults of a foreign air line: five lines, what is not known of a sound one, faults on the list and off it.

Severities are of this file alone (judgement), continuous, by one uniform number each. How often each cause comes is
stated here too; the program's own odds are judgement of the same kind. A gauge errs by a quarter of a psi, a staff
gauge by two inches and is read to the nearest two.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from tests.truth import airline as a

PSI = 6894.757
INCH = 0.0254
FOOT = 0.3048
GAUGE_SD = 0.25 * PSI
LEVEL_SD = 2.0 * INCH
LEVEL_SPREAD = 0.15  # how ponds stand about their mark [m]
BOIL_SEEN = 0.95
MACHINE_SD, TRUNK_SD, TUBING_SD, VALVE_SD, MEMBRANE_SD = 0.05, 0.02, 0.02, 0.10, 0.10 * PSI
SCFM = 5.68e-4  # kg/s

# how often each comes, of all visits; a fault off the list is 15 % of the faults
SOUND, OFF_LIST, WRONG, LOW = "nothing wrong", "none of these", "wrong gauge", "low pond"
ODDS = {
    "leak": 0.16,
    "blocked or closed valve": 0.10,
    "valve opened too far": 0.04,
    "fouled membrane": 0.16,
    "lost diffuser head": 0.05,
    "diffuser off depth or buried": 0.07,
    "worn compressor": 0.09,
    "water in a low point": 0.06,
    "blocked trunk": 0.03,
    LOW: 0.04,
    WRONG: 0.05,
}
OFF_LIST_OF_FAULTS = 0.15
SOUND_OF_VISITS = 0.22


@dataclass
class World:
    """A line as it is: its arrays, gauges that are off [Pa], what hangs at each port, the staff gauge's shift."""

    source: np.ndarray
    trunk: np.ndarray
    branches: np.ndarray
    compressor_off: float = 0.0
    port_off: float = 0.0
    behind: np.ndarray = field(default_factory=lambda: np.zeros(0, dtype=int))
    staff_off: float = 0.0

    def copy(self) -> World:
        """Return a line of its own."""
        arrays = self.source.copy(), self.trunk.copy(), self.branches.copy()
        return World(*arrays, self.compressor_off, self.port_off, self.behind.copy(), self.staff_off)

    def shown(self, alone: int | None) -> tuple[np.ndarray, np.ndarray]:
        """Return gauges (compressor, manifold, each port) and air of each outlet, all valves as set or one alone.

        Lines that were swapped answer under the other's name.
        """
        branches = self.branches
        if alone is not None:
            branches = branches.copy()
            branches[:, a.SHUT] = 1.0
            at = self.behind[alone]
            branches[at, a.SHUT] = self.branches[at, a.SHUT]
        gauges, air = np.zeros(2 + len(branches)), np.zeros(len(branches))
        a.solve(self.source, self.trunk, branches, gauges, air)
        gauges[2:] = gauges[2:][self.behind] + self.port_off
        gauges[0] += self.compressor_off
        gauges[1] += self.port_off
        return gauges, air


Change = Callable[[World, np.ndarray], None]


@dataclass(frozen=True)
class Kind:
    """A cause at a place: how much of its cause it is, and what four uniform numbers make of it."""

    cause: str
    place: str
    share: float
    change: Change
    draws: int = 40  # severities of the full enumeration


def _line(source, trunk, branches) -> World:
    """Return a line whose valves are set for equal air."""
    shut_off, air0, sag = source
    head = np.array([air0 * SCFM, shut_off * PSI, sag, 100_500.0, 998.0, 1e9, 0.0, 287.0 * 297.0, 1.84e-5])
    pipe = np.array([[feet * FOOT, inch * INCH, heads, 0.0, 0.0, 0.5] for feet, inch, heads in trunk])
    rows = np.zeros((len(branches), 15))
    rows[:, [a.VALVE_BORE, a.BEND, a.B_WHERE, a.HELD]] = 0.5 * INCH, 0.7, 0.5, 1.0
    for row, (feet, inch, deep, opens, stiff) in zip(rows, branches, strict=True):
        row[[a.B_LENGTH, a.B_BORE, a.DEPTH, a.OPENS, a.STIFF]] = (
            feet * FOOT, inch * INCH, deep * FOOT, opens * PSI, stiff
        )  # fmt: skip
    world = World(head, pipe, rows, behind=np.arange(len(rows)))
    _balance(world)
    return world


def _balance(world: World) -> None:
    """Set the valves for equal air: the neediest open, the others burn what is left over."""
    air = 0.8 * world.source[a.AIR0] / len(world.branches)
    for _ in range(30):
        found = np.zeros(3)
        needs = []
        for row in world.branches:
            bare = row.copy()
            bare[a.VALVE] = 0.0
            needs.append(a.at_air(air, bare, world.source, found))
        most = max(needs)
        area = math.pi * world.branches[:, a.VALVE_BORE] ** 2 / 4.0
        ports = np.array(needs)
        world.branches[:, a.VALVE] = (most**2 - ports**2) / ((air / area) ** 2 * world.source[a.GAS])
        before, (_, given) = air, world.shown(None)
        air = float(given.mean())
        if abs(air - before) < 1e-4 * air:
            return


def lines() -> dict[str, World]:
    """Return five sound lines by name: two to six diffusers, piston and vane machines (invented)."""
    return {
        "two, short": _line((32.0, 2.6, 1.3), ((120.0, 0.824, 6.0), (60.0, 0.824, 4.0)),
                            ((100.0, 0.5, 8.0, 0.5, 1.2e5), (140.0, 0.5, 10.0, 0.5, 1.2e5))),
        "three, long": _line((30.0, 3.2, 1.2), ((200.0, 0.824, 8.0), (230.0, 0.824, 6.0)),
                             ((100.0, 0.5, 8.0, 0.4, 1.5e5), (150.0, 0.5, 9.0, 0.4, 1.5e5),
                              (220.0, 0.5, 11.0, 0.4, 1.5e5))),
        "four, vane": _line((14.0, 6.4, 1.6), ((300.0, 1.049, 6.0), (150.0, 1.049, 6.0)),
                            ((80.0, 0.5, 7.0, 0.4, 1.0e5), (120.0, 0.5, 9.0, 0.4, 1.0e5),
                             (160.0, 0.5, 10.0, 0.4, 1.0e5), (200.0, 0.5, 12.0, 0.4, 1.0e5))),
        "four, deep": _line((38.0, 4.4, 1.1), ((60.0, 0.824, 5.0), (400.0, 1.049, 9.0)),
                            ((120.0, 0.5, 12.0, 0.7, 2.0e5), (180.0, 0.5, 15.0, 0.7, 2.0e5),
                             (240.0, 0.5, 18.0, 0.7, 2.0e5), (300.0, 0.5, 20.0, 0.7, 2.0e5))),
        "six, flat": _line((26.0, 7.2, 1.3), ((250.0, 1.049, 8.0), (120.0, 1.049, 5.0)),
                           tuple((feet, 0.5, deep, 0.5, 1.3e5) for feet, deep in
                                 ((60.0, 9.0), (100.0, 9.5), (140.0, 10.0), (180.0, 10.5), (220.0, 11.0),
                                  (260.0, 11.5)))),
    }  # fmt: skip


def unknowns(world: World) -> int:
    """Return how many things are not known of a sound line."""
    return 4 + 2 * len(world.branches)


def unsure(world: World, z: np.ndarray) -> World:
    """Return a sound line off by so many standard deviations in each: machine, pipes, level, membranes, valves."""
    found = world.copy()
    found.source[a.AIR0] *= 1.0 + MACHINE_SD * z[0]
    found.trunk[:, a.BORE] *= 1.0 + TRUNK_SD * z[1]
    rows, count = found.branches, len(found.branches)
    rows[:, a.B_BORE] *= 1.0 + TUBING_SD * z[2]
    rows[:, a.DEPTH] += LEVEL_SPREAD * z[3]
    rows[:, a.OPENS] += MEMBRANE_SD * z[4 : 4 + count]
    rows[:, a.VALVE] *= np.maximum(1.0 + VALVE_SD * z[4 + count :], 0.1)
    return found


def _log(low: float, high: float, u: float) -> float:
    return float(low * (high / low) ** u)


def _hole_in_trunk(s: int) -> Change:
    def change(w: World, u: np.ndarray) -> None:
        w.trunk[s, a.HOLE], w.trunk[s, a.WHERE] = _log(0.001, 0.012, u[0]), 0.02 + 0.96 * u[1]

    return change


def _hole_at_port(k: int) -> Change:
    def change(w: World, u: np.ndarray) -> None:
        w.branches[k, a.PORT_HOLE] = _log(0.001, 0.012, u[0])

    return change


def _valve(k: int) -> Change:
    def change(w: World, u: np.ndarray) -> None:
        if u[0] > 0.7:
            # the membrane holds the air behind it, or lets it go in time
            w.branches[k, a.SHUT], w.branches[k, a.HELD] = 1.0, min(2.0 * u[1], 1.0)
        else:
            w.branches[k, a.VALVE] += _log(40.0, 6000.0, u[0] / 0.7)

    return change


def _opened(k: int) -> Change:
    def change(w: World, u: np.ndarray) -> None:
        w.branches[k, a.VALVE] *= 0.5 * u[0]

    return change


def _fouled(rows: tuple[int, ...]) -> Change:
    def change(w: World, u: np.ndarray) -> None:
        more = _log(1800.0, 13000.0, u[0])
        for k in rows:
            w.branches[k, a.OPENS] += 0.8 * more
            w.branches[k, a.STIFF] += 0.2 * more / (0.8 * SCFM) ** w.branches[k, a.BEND]

    return change


def _headless(k: int) -> Change:
    def change(w: World, _u: np.ndarray) -> None:
        w.branches[k, a.OPENS], w.branches[k, a.BEND], w.branches[k, a.STIFF] = 0.0, 2.0, 5e7

    return change


def _off_depth(k: int) -> Change:
    def change(w: World, u: np.ndarray) -> None:
        by = (0.25 + 0.85 * abs(2.0 * u[0] - 1.0)) * (1.0 if u[0] > 0.5 else -1.0)
        w.branches[k, a.DEPTH] = max(w.branches[k, a.DEPTH] + by, 0.1)

    return change


def _worn(w: World, u: np.ndarray) -> None:
    part = 0.3 + 0.58 * u[0]
    w.source[a.AIR0] *= part
    w.source[a.SHUT_OFF] *= 1.0 - 0.15 * (1.0 - part)


def _wet_trunk(s: int) -> Change:
    def change(w: World, u: np.ndarray) -> None:
        w.trunk[s, a.PLUG] = 9790.0 * _log(0.08, 0.95, u[0])

    return change


def _wet_branch(k: int) -> Change:
    def change(w: World, u: np.ndarray) -> None:
        w.branches[k, a.B_PLUG] = 9790.0 * _log(0.08, 0.95, u[0])

    return change


def _blocked(s: int) -> Change:
    def change(w: World, u: np.ndarray) -> None:
        w.trunk[s, a.HEADS] += _log(80.0, 9000.0, u[0])

    return change


def _low(w: World, u: np.ndarray) -> None:
    w.branches[:, a.DEPTH] = np.maximum(w.branches[:, a.DEPTH] - 0.15 - 0.9 * u[0], 0.1)


def _wrong(name: str) -> Change:
    def change(w: World, u: np.ndarray) -> None:
        side = 2.0 * u[0] - 1.0
        setattr(w, name, (0.8 + 5.2 * abs(side)) * PSI * math.copysign(1.0, side))

    return change


def _kinked(k: int) -> Change:
    def change(w: World, u: np.ndarray) -> None:
        w.branches[k, a.B_HEADS] = _log(60.0, 6000.0, u[0])

    return change


def _weeping(w: World, u: np.ndarray) -> None:
    gauge = w.shown(None)[0][0]
    w.source[a.WEEP_AT] = (0.5 + 0.4 * u[1]) * gauge
    w.source[a.WEEP] = _log(0.1, 1.0, u[0]) * w.source[a.AIR0] / (gauge - w.source[a.WEEP_AT])


def _sea_hole(k: int) -> Change:
    def change(w: World, u: np.ndarray) -> None:
        w.branches[k, a.B_HOLE], w.branches[k, a.B_WHERE] = _log(0.001, 0.006, u[0]), 0.1 + 0.8 * u[1]

    return change


def _swapped(i: int, j: int) -> Change:
    def change(w: World, _u: np.ndarray) -> None:
        w.behind[i], w.behind[j] = j, i

    return change


def _staff(w: World, u: np.ndarray) -> None:
    side = 2.0 * u[0] - 1.0
    w.staff_off = (0.25 + 0.55 * abs(side)) * math.copysign(1.0, side)


def kinds(world: World, *, level_read: bool) -> tuple[Kind, ...]:
    """Return every cause at every place; the shares of a cause are one in sum."""
    trunk, count = range(len(world.trunk)), len(world.branches)
    names = [chr(ord("A") + k) for k in range(count)]
    found = [Kind(SOUND, "", 1.0, lambda _w, _u: None, 1)]

    def add(cause: str, rows: list[tuple[str, Change]], draws: int = 40) -> None:
        found.extend(Kind(cause, place, 1.0 / len(rows), change, draws) for place, change in rows)

    each = list(enumerate(names))
    add("leak", [(f"trunk {s}", _hole_in_trunk(s)) for s in trunk] + [(n, _hole_at_port(k)) for k, n in each])
    add("blocked or closed valve", [(n, _valve(k)) for k, n in each])
    add("valve opened too far", [(n, _opened(k)) for k, n in each if world.branches[k, a.VALVE] > 20.0])
    add(
        "fouled membrane",
        [(n, _fouled((k,))) for k, n in each] + [("all", _fouled(tuple(range(count))))] * max(count // 2, 1),
    )
    add("lost diffuser head", [(n, _headless(k)) for k, n in each], 1)
    add("diffuser off depth or buried", [(n, _off_depth(k)) for k, n in each])
    add("worn compressor", [("", _worn)], 80)
    add(
        "water in a low point",
        [(f"trunk {s}", _wet_trunk(s)) for s in trunk] + [(n, _wet_branch(k)) for k, n in each],
    )
    add("blocked trunk", [(f"trunk {s}", _blocked(s)) for s in trunk])
    if not level_read:
        add(LOW, [("", _low)], 80)
    add(WRONG, [("compressor gauge", _wrong("compressor_off")), ("port gauge", _wrong("port_off"))], 80)
    listed = tuple(found)
    found += _off_list(world, names, listed, level_read=level_read)
    return tuple(found)


def _off_list(world: World, names: list[str], listed: tuple[Kind, ...], *, level_read: bool) -> list[Kind]:
    """Return the faults on no list, alike in share: two at once, a kink or ice, a relief, a hole under water, swaps."""
    rows: list[tuple[str, list[Change], int]] = [
        ("two faults at once", [_two(listed)], 1200),
        ("tubing kinked or iced past the port", [_kinked(k) for k in range(len(names))], 40),
        ("relief valve weeping", [_weeping], 80),
        ("hole in the tubing under water", [_sea_hole(k) for k in range(len(names))], 40),
        ("lines swapped", [_swapped(i, j) for i in range(len(names)) for j in range(i)], 1),
    ]
    if level_read:
        rows.append(("staff gauge moved", [_staff], 80))
    return [
        Kind(OFF_LIST, place, 1.0 / len(rows) / len(changes), change, draws)
        for place, changes, draws in rows
        for change in changes
    ]


def _two(listed: tuple[Kind, ...]) -> Change:
    """Return two faults of different causes at once, by the odds of each; a low pond is not one of the line."""
    faults = [kind for kind in listed if kind.cause not in (SOUND, LOW)]
    odds = np.array([ODDS[kind.cause] * kind.share for kind in faults])

    def change(w: World, u: np.ndarray) -> None:
        first = faults[_pick(odds, u[0])]
        second = odds * [kind.cause != first.cause for kind in faults]
        first.change(w, u[2:4])
        faults[_pick(second, u[1])].change(w, u[4:6])

    return change


def _pick(weights: np.ndarray, u: float) -> int:
    return min(int(np.searchsorted(np.cumsum(weights) / weights.sum(), u)), len(weights) - 1)


def odds_of(found: tuple[Kind, ...]) -> np.ndarray:
    """Return how likely each kind is at a visit."""
    listed = sum(ODDS[cause] for cause in {kind.cause for kind in found} if cause in ODDS)
    faults = 1.0 - SOUND_OF_VISITS

    def one(kind: Kind) -> float:
        if kind.cause == SOUND:
            return SOUND_OF_VISITS
        if kind.cause == OFF_LIST:
            return faults * OFF_LIST_OF_FAULTS * kind.share
        return faults * (1.0 - OFF_LIST_OF_FAULTS) * ODDS[kind.cause] / listed * kind.share

    return np.array([one(kind) for kind in found])
