"""A pipe that is in the ground already: what is believed of it, what that does to the line, and a verdict."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum

from plumeline.errors import InputError
from plumeline.job.document import Job, OldPipe, PipeSegment
from plumeline.notices import Notice
from plumeline.science.gases import pressure_icao_1993
from plumeline.stages.air.pipe_classes import (
    OTHER,
    UNKNOWN,
    BoreClass,
    believed_classes,
    classes_of,
    read_print_line,
)
from plumeline.stages.air.proving import (
    BORE_ERROR_FRACTION,
    BoreTest,
    Leak,
    bore_classes,
    hold_test,
    surprise_number,
)

OLD_PIPE = "old-pipe"
"""Name of a piece of trunk that is the pipe in the ground."""
LEAST_PROBABILITY = 1e-4
"""Kinds less likely than this are left out of the network's bands."""


class Verdict(StrEnum):
    """What to do with an old pipe."""

    USABLE = "usable"
    BELOW = "usable-below"
    LEAK = "leak"
    REPLACE = "replace"
    UNPROVEN = "unproven"


@dataclass(frozen=True)
class PressureBand:
    """A gauge pressure over the bores that the pipe may have: 5 %, middle, 95 %."""

    p05_pa: float
    p50_pa: float
    p95_pa: float


@dataclass(frozen=True)
class FlowBand:
    """Air of one diffuser over the bores that the pipe may have, the valves set anew for each."""

    name: str
    p05_standard_m3_s: float
    p50_standard_m3_s: float
    p95_standard_m3_s: float


@dataclass(frozen=True)
class LineBands:
    """The line's operating point, valves set, drawn over the bores that the old pipe may have."""

    compressor: PressureBand
    manifold: PressureBand
    trunk_drop: PressureBand
    flows: tuple[FlowBand, ...]
    enough_probability: float
    """That every diffuser gets its wanted air within the compressor's and the relief valve's pressure."""
    bore_count: int
    """Bores drawn."""


@dataclass(frozen=True)
class Belief:
    """What is believed of an old pipe before the line is solved."""

    old: OldPipe
    classes: tuple[BoreClass, ...]
    printed: bool
    """The print line names one kind: no test changes it."""
    print_unread: bool
    """A print line is given, and no pipe of the tables agrees with it."""
    surprise_number: float | None
    """Standard errors between the open-end gauge and the leading kind's; None without such a test."""
    ambient_pressure_pa: float
    pieces: tuple[int, ...]
    """Which pieces of the trunk it is; none where it carries no air."""

    @property
    def bore_m(self) -> float:
        """The middle bore."""
        return bore_quantile_m(self.classes, 0.5)


@dataclass(frozen=True)
class OldPipeProof:
    """What an old pipe is worth."""

    length_m: float
    print_line: str
    printed: bool
    classes: tuple[BoreClass, ...]
    bore_m: float
    bore_p05_m: float
    bore_p95_m: float
    leak: Leak | None
    leak_at_working_standard_m3_s: float | None
    leak_share_fraction: float | None
    """Of the compressor's air, at the working pressure."""
    working_pressure_pa: float
    test_pressure_pa: float
    """The most at a test: 1.5 × working, and no more than the relief valve."""
    test_energy_j: float
    high_test_energy_j: float
    """At 100 psi, which is never done with air."""
    proven_pressure_pa: float | None
    """Two thirds of the pressure it held; None without a hold test."""
    rating_pa: float | None
    """Least rating of the kinds it may be, at the soil's temperature; None where none is known."""
    bands: LineBands | None
    """None where the pipe carries no air in this line."""
    verdict: Verdict
    verdict_words: str
    notices: tuple[Notice, ...]
    assumptions: tuple[str, ...]


def bore_nodes(classes: tuple[BoreClass, ...]) -> tuple[tuple[float, float], ...]:
    """Return bores [m] and their weights, which sum to 1: every likely kind, with the spread within it.

    Three places a kind (Gauss–Hermite: exact for cubics of the spread), nine over a kind that spans bores.
    """
    found: list[tuple[float, float]] = []
    for item in classes:
        if item.probability < LEAST_PROBABILITY:
            continue
        if item.name == UNKNOWN:
            step = (item.high_bore_m - item.low_bore_m) / 9.0
            found += [(item.low_bore_m + step * (n + 0.5), item.probability / 9.0) for n in range(9)]
            continue
        for score, weight in ((-math.sqrt(3.0), 1.0 / 6.0), (0.0, 2.0 / 3.0), (math.sqrt(3.0), 1.0 / 6.0)):
            found.append((item.bore_m * math.exp(BORE_ERROR_FRACTION * score), item.probability * weight))
    total = sum(weight for _, weight in found)
    return tuple(sorted((bore_m, weight / total) for bore_m, weight in found))


def quantile(pairs: list[tuple[float, float]], probability: float) -> float:
    """Return the value below which a share of the weight lies, of (value, weight) pairs of any unit."""
    ordered = sorted(pairs)
    total, below = sum(weight for _, weight in ordered), 0.0
    for value, weight in ordered:
        below += weight
        if below >= probability * total * (1.0 - 1e-12):
            return value
    return ordered[-1][0]


def bore_quantile_m(classes: tuple[BoreClass, ...], probability: float) -> float:
    """Return the bore [m] that the pipe is under with a probability."""
    return quantile(list(bore_nodes(classes)), probability)


def believe(job: Job) -> tuple[Job, Belief | None]:
    """Return a job whose trunk has the old pipe's middle bore, and what is believed of that pipe.

    Raises:
        InputError: tests that can't be, or a size and material that no table has.
    """
    old = job.air.old_pipe
    if old is None:
        if any(piece.pipe == OLD_PIPE for piece in job.air.trunk):
            raise InputError(
                "a piece of trunk is an old pipe, and none is described.",
                remedy="Describe it in [air.old_pipe], or name the pipe.",
                place="air.trunk",
            )
        return job, None
    ambient_pa = pressure_icao_1993(job.site.elevation_m)
    names = read_print_line(old.print_line) if old.print_line else ()
    before = classes_of(names) if names else believed_classes(old.nominal, old.material)
    test = _open_end(old, ambient_pa)
    printed = bool(names) and len(before) == 1
    classes = before
    if test is not None and not printed:
        classes = _after(test, before)
    elif test is None and len(before) > 1:
        # what fits no size can't be guessed at without a test
        left = [item for item in before if item.name != OTHER]
        total = sum(item.probability for item in left)
        classes = tuple(replace(item, probability=item.probability / total) for item in left)
    classes = tuple(sorted(classes, key=lambda item: -item.probability))
    trunk, pieces = _trunk(job, old, classes)
    belief = Belief(
        old=old,
        classes=classes,
        printed=printed,
        print_unread=bool(old.print_line) and not names,
        surprise_number=None if test is None else surprise_number(test, classes[0]),
        ambient_pressure_pa=ambient_pa,
        pieces=pieces,
    )
    return job.model_copy(update={"air": job.air.model_copy(update={"trunk": trunk})}), belief


def _after(test: BoreTest, before: tuple[BoreClass, ...]) -> tuple[BoreClass, ...]:
    """Return the kinds after the open-end test."""
    return bore_classes(
        test.flow_standard_m3_s,
        test.length_m,
        test.inlet_pressure_pa,
        test.temperature_degc,
        test.ambient_pressure_pa,
        test.gauge_error_pa,
        test.flow_error_fraction,
        before=before,
    )


def _open_end(old: OldPipe, ambient_pa: float) -> BoreTest | None:
    given = old.open_end_test
    if given is None:
        return None
    return BoreTest(
        given.air_m3_s,
        old.length_m,
        given.inlet_pressure_pa,
        given.temperature_degc,
        ambient_pa,
        given.gauge_error_pa,
        given.flow_error_fraction,
    )


def _trunk(
    job: Job, old: OldPipe, classes: tuple[BoreClass, ...]
) -> tuple[tuple[PipeSegment, ...], tuple[int, ...]]:
    """Return the trunk with the old pipe's bore in it, and which pieces it is."""
    bore_m = bore_quantile_m(classes, 0.5)
    lead = classes[0]
    if not 0.5 * lead.bore_m < bore_m < 1.1 * lead.bore_m:
        # many kinds as likely as each other: the first of them may be a pipe that the middle bore has no room in
        lead = min(classes, key=lambda item: abs(item.bore_m - bore_m))
    known = lead.name not in (OTHER, UNKNOWN)
    pipe = {"pipe": lead.name if known else "", "bore_m": bore_m}
    segments = job.air.trunk
    if not segments:
        rise_m = job.air.rise_m
        segments = (
            PipeSegment(
                pipe=OLD_PIPE,
                length_m=old.length_m,
                cover_m=old.cover_m,
                start_elevation_m=rise_m,
                end_elevation_m=None if rise_m is None else 0.0,
            ),
        )
    pieces = tuple(index for index, piece in enumerate(segments) if piece.pipe == OLD_PIPE)
    trunk = tuple(
        piece.model_copy(update=pipe) if index in pieces else piece for index, piece in enumerate(segments)
    )
    built = job.as_built is not None and bool(job.as_built.trunk)
    return trunk, () if built else pieces


def hold_of(belief: Belief) -> Leak | None:
    """Return what the hold test says, at the middle bore; None without one."""
    old, test = belief.old, belief.old.hold_test
    if test is None:
        return None
    return hold_test(
        old.length_m,
        belief.bore_m,
        test.start_pressure_pa,
        test.end_pressure_pa,
        60.0 * test.minutes,
        test.temperature_degc,
        test.end_temperature_degc,
        belief.ambient_pressure_pa,
    )
