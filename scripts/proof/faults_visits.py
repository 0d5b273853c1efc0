"""Visits to foreign air lines: a fault is planted, gauges and boils are read, and the program is told what was read."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

import numpy as np
from numpy.typing import NDArray
from tests.truth import airline as a
from tests.truth import airline_faults as truth

from plumeline.stages.air.faults import GaugeReading
from plumeline.stages.air.network import (
    COMPRESSOR,
    STANDARD_DENSITY_KG_M3,
    AirNetwork,
    Branch,
    Diffuser,
    LossPoint,
    Pipe,
    SiteCurve,
    Valve,
)
from plumeline.stages.air.results import MANIFOLD

Array = NDArray[np.float64]

NOON = datetime(2026, 8, 11, 12, tzinfo=UTC)
FLOWING_KG_S = 1e-6
STAFF_MARK_M = 0.05
UNIFORMS = 6
SOUND, LISTED, OFF = "sound", "listed", "off the list"


@dataclass(frozen=True)
class Visit:
    """What is read on a visit of one kind.

    Attributes:
        name: of the kind.
        looks: of each gauge, which branch stands alone (None: all as set) and its place (0 compressor, 1 manifold, 2…
            ports).
        level_read: the staff gauge was read.
        boils: the boils were looked at, all as set.
    """

    name: str
    looks: tuple[tuple[int | None, int], ...]
    level_read: bool
    boils: bool


def visits(branches: int) -> tuple[Visit, ...]:
    """Return the five kinds of visit to a line."""
    ports = tuple((None, 2 + k) for k in range(branches))
    alone = tuple((k, 0) for k in range(branches))
    return (
        Visit("one gauge", ((None, 0),), True, False),
        Visit("compressor and manifold", ((None, 0), (None, 1)), True, False),
        Visit("every gauge and the boils", ((None, 0), (None, 1), *ports), True, True),
        Visit("the same without the level", ((None, 0), (None, 1), *ports), False, True),
        Visit("each branch alone", ((None, 0), *alone), True, False),
    )


@dataclass(frozen=True)
class Seen:
    """One visit that was made.

    Attributes:
        kind: what was planted.
        world: the line with it.
        gauges_pa: what was read, in the order of the looks.
        level_m: what the staff gauge read; None where it was not.
        boils: which diffusers bubbled; None where nobody looked.
    """

    kind: truth.Kind
    world: truth.World
    gauges_pa: Array
    level_m: float | None
    boils: NDArray[np.bool_] | None


def sort_of(kind: truth.Kind) -> str:
    """Return whether a kind is a sound line, a fault on the list or one off it."""
    return {truth.SOUND: SOUND, truth.OFF_LIST: OFF}.get(kind.cause, LISTED)


def planted(
    line: truth.World, visit: Visit, generator: np.random.Generator, sort: str
) -> tuple[truth.Kind, truth.World, float]:
    """Return a kind, a line off by what is not known of it with that fault, and the water's level over the mark."""
    found = truth.kinds(line, level_read=visit.level_read)
    odds = truth.odds_of(found)
    odds = np.where([sort_of(kind) == sort for kind in found], odds, 0.0)
    kind = found[int(generator.choice(len(found), p=odds / odds.sum()))]
    z = generator.standard_normal(truth.unknowns(line))
    world = truth.unsure(line, z)
    kind.change(world, generator.random(UNIFORMS))
    return kind, world, truth.LEVEL_SPREAD * float(z[3])


def made(line: truth.World, visit: Visit, generator: np.random.Generator, sort: str) -> Seen:
    """Make one visit."""
    kind, world, level_m = planted(line, visit, generator, sort)
    gauges_pa = np.array([read(world, alone, place, generator) for alone, place in visit.looks])
    boils = None
    if visit.boils:
        bubbling = world.shown(None)[1] > FLOWING_KG_S
        boils = np.where(generator.random(len(bubbling)) < truth.BOIL_SEEN, bubbling, ~bubbling)
    staff_m = level_m + world.staff_off + truth.LEVEL_SD * generator.standard_normal()
    level_m = STAFF_MARK_M * round(staff_m / STAFF_MARK_M)
    return Seen(kind, world, gauges_pa, level_m if visit.level_read else None, boils)


def read(world: truth.World, alone: int | None, place: int, generator: np.random.Generator) -> float:
    """Return what a gauge of the truth reads [Pa]."""
    shown_pa = float(world.shown(alone)[0][place])
    return max(shown_pa + truth.GAUGE_SD * float(generator.standard_normal()), 0.0)


def names_of(branches: int) -> tuple[str, ...]:
    """Return the ports' names."""
    return tuple(chr(ord("A") + k) for k in range(branches))


def place_of(place: int) -> str:
    """Return a place as the program names it."""
    return (COMPRESSOR, MANIFOLD, *names_of(26))[place]


def readings_of(seen: Seen, visit: Visit, branches: int) -> tuple[GaugeReading, ...]:
    """Return a visit as the program is told it."""
    names = names_of(branches)
    boils = None if seen.boils is None else tuple(n for n, b in zip(names, seen.boils, strict=True) if b)
    return tuple(
        GaugeReading(
            NOON,
            place_of(place),
            float(pa),
            seen.level_m,
            None if alone is None else (names[alone],),
            boils if k == 0 else None,
        )
        for k, ((alone, place), pa) in enumerate(zip(visit.looks, seen.gauges_pa, strict=True))
    )


def told_line(line: truth.World) -> AirNetwork:
    """Return a line as a job would tell it: its lengths and bores, points of its curves, valves as set."""
    source = line.source
    pressure_pa = np.linspace(0.0, 0.9 * source[a.SHUT_OFF], 7)
    flow_kg_s = source[a.AIR0] * (1.0 - (pressure_pa / source[a.SHUT_OFF]) ** source[a.SAG])
    trunk = tuple(Pipe(row[a.LENGTH], row[a.BORE], loss_number=row[a.HEADS]) for row in line.trunk)
    branches = [Branch(MANIFOLD, parts=trunk)]
    for name, row in zip(names_of(len(line.branches)), line.branches, strict=True):
        mass = np.array([0.0, 0.25, 0.5, 1.0, 1.5, 3.0, 6.0]) * 6e-4
        points = tuple(
            LossPoint(m / STANDARD_DENSITY_KG_M3, row[a.OPENS] + row[a.STIFF] * m ** row[a.BEND])
            for m in mass
        )
        parts = (
            Valve(row[a.VALVE_BORE], loss_number=float(row[a.VALVE])),
            Pipe(row[a.B_LENGTH], row[a.B_BORE]),
        )
        branches.append(Branch(name, MANIFOLD, parts, Diffuser(row[a.DEPTH], points)))
    curve = SiteCurve(tuple(pressure_pa.tolist()), tuple(flow_kg_s.tolist()))
    return AirNetwork(curve, tuple(branches), ambient_pressure_pa=float(source[a.OUTSIDE]))


def entropy_bits(probability: Array) -> float:
    """Return the entropy of some probabilities [bits]."""
    some = probability[probability > 0.0]
    return float(-(some * np.log2(some)).sum())


def outcome(seen: Seen, odds: dict[str, float]) -> dict[str, Any]:
    """Return what an observer said of a visit: the likeliest cause, and all odds."""
    return {"first": max(odds, key=lambda cause: odds[cause]), "odds": odds, "truth": odds[seen.kind.cause]}
