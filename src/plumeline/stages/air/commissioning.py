"""The commissioning sheet: what every gauge must show at today's water, and what was read beside it.

The sheet has one block for each standing of the valves: all full open, each alone, as set, each shut in turn. Alone
comes before the valves are set, full open: a throttled branch alone would drive the compressor against its relief
valve, and a valve that has been set is not moved again.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from plumeline.errors import InputError
from plumeline.job.document import Commissioned, Job
from plumeline.notices import Notice, caution, danger, note
from plumeline.pairs import pair
from plumeline.stages.air.fault_bench import (
    BORE_FRACTION,
    CURVE_FRACTION,
    GAUGE_SD_PA,
    LEVEL_SD_M,
    MEMBRANE_PA,
    VALVE_FRACTION,
)
from plumeline.stages.air.fault_growth import latest_visit
from plumeline.stages.air.faults import FaultsFound, GaugeReading, check_readings, faults
from plumeline.stages.air.job_line import job_line
from plumeline.stages.air.network import COMPRESSOR
from plumeline.stages.air.old_pipe import Belief, bore_quantile_m
from plumeline.stages.air.reading_days import early_notices, since_built
from plumeline.stages.air.results import MANIFOLD, AirResult, ValveSetting
from plumeline.stages.air.sheet_bands import DRAW_COUNT, SoundLines, ValveState
from plumeline.stages.air.sheet_compare import Comparison, compare, state_of
from plumeline.stages.air.solving import build_network, unreachable
from plumeline.stages.air.words import feet_depth, psi, psi_difference

BEFORE_FIRST_AIR = (
    "The relief valve is in its place and set before the first start, and nothing can shut it off.",
    "The route was walked and every joint looked at; plastic begins only where the air has cooled.",
    "Wiring, disconnect and GFCI protection are done by the licensed electrician; nobody is in the water.",
    "Nobody stands over the pipe or in line with an open end; eyes covered; never "
    f"{pair('100 psi', '690 kPa')} of air in the line.",
    "No valve is shut so that all are: the compressor would run against its relief valve.",
    "Off, locked and bled to zero before any joint is opened.",
)
STEPS = (
    "Read the staff gauge and the air at the intake; write down day, hour and who reads. One gauge, carried from port "
    "to port, is best.",
    "All valves full open, five minutes of air: read the compressor, the manifold and each port.",
    "Still full open, each branch alone: open the one, then shut the others; read the compressor and that port.",
    "Set the valves as the air plan says, and mark the handles. Read every gauge.",
    "Shut one valve at a time by its mark, the others as set; read the compressor and the open ports; open it again "
    "to its mark.",
    "What disagrees is read a second time, with another gauge, before anything is dug up.",
)
"""The order in which the sheet is filled."""
ONE_STEPS = (STEPS[0], "Five minutes of air: read the compressor, the manifold and the port.", STEPS[-1])
"""The same with one diffuser, whose valve stands full open."""


@dataclass(frozen=True)
class Expected:
    """One gauge in one standing of the valves.

    Attributes:
        state: in words.
        open_ports: as a file of gauges says it.
        place: compressor, manifold or a port.
        expected_pa: on the line as it is drawn.
        p05_pa: of 100 sound lines 5 read less.
        p95_pa: of 100 sound lines 5 read more.
    """

    state: str
    open_ports: str
    place: str
    expected_pa: float
    p05_pa: float
    p95_pa: float


@dataclass(frozen=True)
class CommissioningResult:
    """The sheet, and what was read.

    Attributes:
        water_level_m: of today, over the level at which the diffusers' depths hold.
        intake_degc: air that the compressor draws today.
        level_read: somebody read it.
        relief_pressure_pa: setting of the relief valve.
        expected: every gauge of the sheet, in the order of the work.
        over_relief: standings in which the gauge may reach the relief valve's setting: they are left out.
        before_first_air: what must be true first.
        steps: of the reading.
        valves: how each is set, in words.
        readings: of the last visit of the file; none without one.
        comparison: what was read beside what is expected; None without readings.
        missing: gauges of the sheet that nobody read, with their standing.
        suspects: what may be wrong where readings disagree; None where none does.
        accepted: the record that the job holds already; None without one.
        notices: what can hurt, what is open.
        assumptions: what the answer rests on.
    """

    water_level_m: float
    intake_degc: float
    level_read: bool
    relief_pressure_pa: float
    expected: tuple[Expected, ...]
    over_relief: tuple[str, ...]
    before_first_air: tuple[str, ...]
    steps: tuple[str, ...]
    valves: tuple[str, ...]
    readings: tuple[GaugeReading, ...]
    comparison: Comparison | None
    missing: tuple[str, ...]
    suspects: FaultsFound | None
    accepted: Commissioned | None
    notices: tuple[Notice, ...]
    assumptions: tuple[str, ...]


def sheet_states(names: tuple[str, ...]) -> dict[str, ValveState]:
    """Return the standings of the valves that a sheet asks for, by their words, in the order of the work."""
    if len(names) == 1:
        return {"valves set": ValveState()}
    return {
        "all full open": ValveState(full_open=True),
        **{f"{name} alone, full open": ValveState((name,), full_open=True) for name in names},
        "valves set": ValveState(),
        **{f"{name} shut": ValveState(tuple(other for other in names if other != name)) for name in names},
    }


def state_words(state: ValveState, names: tuple[str, ...]) -> str:
    """Return how the valves stand, in the sheet's words where it asks for that, else by the open ports."""
    given = state
    if state.open_ports is not None:
        ordered = tuple(name for name in names if name in state.open_ports)
        given = replace(state, open_ports=None if ordered == names else ordered)
    known = {value: words for words, value in sheet_states(names).items()}
    if given in known:
        return known[given]
    if given.open_ports is None:
        return "valves set"
    return f"{' '.join(given.open_ports)} alone{', full open' if given.full_open else ', as set'}"


def commissioning(
    job: Job,
    line: AirResult,
    *,
    water_level_m: float | None = None,
    intake_degc: float | None = None,
    readings: tuple[GaugeReading, ...] = (),
    seed: int = 1,
) -> CommissioningResult:
    """Return the commissioning sheet of a job's air line, and what was read beside it.

    Args:
        job: the job.
        line: its air line, as the air stage answers.
        water_level_m: today's water over the level at which the diffusers' depths hold; None where nobody read it.
        intake_degc: today's air where the compressor stands; the line's own when None.
        readings: of the visits; the last day counts, of those on which the line was there.
        seed: of the drawn lines.

    Raises:
        InputError: a port that is not there, a gauge behind a shut valve, no reading of after the line was built, a
            diffuser out of the water.
        ModelError: the line has no operating point.
    """
    _job, belief, _branches, choice = job_line(job, line.branches)
    never = unreachable(choice.line)
    drawn = choice.line if intake_degc is None else replace(choice.line, intake_degc=intake_degc)
    network = build_network(drawn, loss_number=choice.loss_number, shut=never)
    names = tuple(name for name in network.outlet_names if name not in never)
    there, early = since_built(job, readings)
    if early and not there:
        raise early[0][1]
    visit = latest_visit(there) if there else ()
    if visit:
        check_readings(network, visit)
    level_m, level_read = _level(water_level_m, visit)
    lines = SoundLines(network, seed, level_read=level_read, old_bore=_old_bores(belief))
    expected, over = _sheet(lines, names, level_m, line.relief_pressure_pa)
    if not expected:
        raise InputError(
            f"at this water the relief valve, at {psi(line.relief_pressure_pa)}, opens however the valves stand: no "
            "gauge can be read.",
            remedy="Check the water's level, and the setting of the relief valve.",
            place="air.compressor",
        )
    comparison = None
    if visit:
        states = tuple(state_words(state_of(item), names) for item in visit)
        comparison = compare(lines, visit, states, level_m)
    disagrees = comparison is not None and not comparison.agrees
    return CommissioningResult(
        water_level_m=level_m,
        intake_degc=drawn.intake_degc,
        level_read=level_read,
        relief_pressure_pa=line.relief_pressure_pa,
        expected=expected,
        over_relief=over,
        before_first_air=BEFORE_FIRST_AIR,
        steps=STEPS if len(names) > 1 else ONE_STEPS,
        valves=tuple(_valve_words(item) for item in line.valves if item.name in names),
        readings=visit,
        comparison=comparison,
        missing=_missing(expected, comparison) if visit else (),
        suspects=faults(network, _levelled(visit, level_m, level_read=level_read)) if disagrees else None,
        accepted=job.as_built.commissioned if job.as_built else None,
        notices=(
            *_notices(line, over, never, comparison, level_read=level_read),
            *early_notices(early),
            *_levels_differ(visit),
        ),
        assumptions=_assumptions(belief),
    )


def _valve_words(item: ValveSetting) -> str:
    """Return how a valve is set by the numbers of the sheet, which hold at today's water."""
    if item.loss_number <= 0.0:
        return f"Valve {item.name} stands full open."
    burned = psi_difference(item.pressure_drop_pa)
    return f"Valve {item.name} is closed until port {item.name} shows its number of “valves set”: it burns {burned}."


def _level(given_m: float | None, visit: tuple[GaugeReading, ...]) -> tuple[float, bool]:
    """Return the water's level of the visit, and whether somebody read it."""
    read = [item.water_level_m for item in visit if item.water_level_m is not None]
    if given_m is not None:
        return given_m, True
    if not read:
        return 0.0, False
    return read[-1], len(read) == len(visit)


def _levelled(
    visit: tuple[GaugeReading, ...], level_m: float, *, level_read: bool
) -> tuple[GaugeReading, ...]:
    """Return the readings with the visit's level where a row has none of its own and somebody read it."""
    if not level_read:
        return visit
    return tuple(
        item if item.water_level_m is not None else replace(item, water_level_m=level_m) for item in visit
    )


def _old_bores(belief: Belief | None) -> dict[int, Callable[[float], float]] | None:
    """Return what an old pipe's bore is over its middle at a probability, by piece of the trunk."""
    if belief is None:
        return None
    classes, middle_m = belief.classes, belief.bore_m
    return {piece: lambda u: bore_quantile_m(classes, u) / middle_m for piece in belief.pieces}


def _sheet(
    lines: SoundLines, names: tuple[str, ...], level_m: float, relief_pa: float
) -> tuple[tuple[Expected, ...], tuple[str, ...]]:
    """Return every gauge of the sheet, and the standings left out because the relief valve may open."""
    found: list[Expected] = []
    over = []
    for words, state in sheet_states(names).items():
        shown, drawn = lines.gauges(state, level_m)
        places = [
            place
            for place in shown
            if place in (COMPRESSOR, MANIFOLD) or place in (state.open_ports or names)
        ]
        noise_pa = lines.noise(len(places))
        rows = []
        for k, place in enumerate(places):
            low, high = np.quantile(drawn[place] + noise_pa[:, k], (0.05, 0.95))
            rows.append(
                Expected(words, state.written, place, shown[place], max(float(low), 0.0), float(high))
            )
        if rows[0].expected_pa >= relief_pa:
            over.append(words)
        else:
            found += rows
    return tuple(found), tuple(over)


def _missing(expected: tuple[Expected, ...], comparison: Comparison | None) -> tuple[str, ...]:
    """Return what of the sheet was not read, a line for each standing of the valves."""
    read = {(row.state, row.reading.place) for row in comparison.rows} if comparison else set()
    left: dict[str, list[str]] = {}
    for item in expected:
        if (item.state, item.place) not in read:
            left.setdefault(item.state, []).append(item.place)
    return tuple(f"{state}: {', '.join(places)}" for state, places in left.items())


def _notices(
    line: AirResult,
    over: tuple[str, ...],
    never: frozenset[str],
    comparison: Comparison | None,
    *,
    level_read: bool,
) -> tuple[Notice, ...]:
    """Return what can hurt and what is open."""
    told = [
        danger(
            "air-under-pressure",
            f"The line holds compressed air. The relief valve is set to {psi(line.relief_pressure_pa)} before the "
            "first start; off, locked and bled to zero before a joint is opened; never "
            f"{pair('100 psi', '690 kPa')} of air in it.",
        )
    ]
    if over:
        told.append(
            caution(
                "sheet-over-relief",
                f"Left out of the sheet, for the relief valve would open at {psi(line.relief_pressure_pa)}: "
                f"{'; '.join(over)}.",
            )
        )
    if never:
        told.append(
            caution(
                "sheet-unreached", f"{', '.join(sorted(never))}: the compressor never reaches it; valve shut."
            )
        )
    if not level_read:
        told.append(
            note(
                "no-level",
                f"The staff gauge was not read: the bands hold {pair('half a foot', '15 cm')} of doubt for it. Give "
                "--level, or the column water_level_m.",
            )
        )
    if line.compressor_chosen:
        told.append(
            caution(
                "sheet-compressor-chosen",
                "No compressor is named, and the sheet holds for one of an invented curve: put the one that stands "
                "there, with its maker's curve, into [air.compressor].",
            )
        )
    if comparison is not None and not comparison.agrees:
        told.append(_disagreement(comparison))
    return tuple(told)


def _levels_differ(visit: tuple[GaugeReading, ...]) -> tuple[Notice, ...]:
    """Return what is said where one visit has several levels."""
    read = [item.water_level_m for item in visit if item.water_level_m is not None]
    if not read or max(read) - min(read) <= LEVEL_SD_M:
        return ()
    return (
        caution(
            "levels-differ",
            f"The rows of one visit give the water from {feet_depth(min(read))} to {feet_depth(max(read))}: each is "
            "held against its own. Check them; a pond does not move so far in a day.",
        ),
    )


def _disagreement(comparison: Comparison) -> Notice:
    """Return what is said of readings that no sound line shows."""
    rows = comparison.disagreeing
    if rows:
        where = ", ".join(f"{row.reading.place} ({row.state})" for row in rows)
        words = f"{len(rows)} of {len(comparison.rows)} gauges disagree with a sound line: {where}."
    else:
        words = (
            f"Each gauge alone agrees, yet together they fit no sound line: of {comparison.draw_count} drawn, "
            f"{comparison.as_far_count} lie as far off."
        )
    return caution(
        "sheet-disagrees",
        f"{words} Read them again with another gauge; then look with `plumeline faults` at the same file.",
    )


def _assumptions(belief: Belief | None) -> tuple[str, ...]:
    """Return what the sheet rests on."""
    old = ("The old pipe's bore is drawn from what its print line and tests say of it.",)
    return (
        "The line is the job's: pipes, depths and compressor as air solves them, valves as it sets them.",
        f"Bands are of {DRAW_COUNT} sound lines: bores within {100.0 * BORE_FRACTION:.0f} %, the compressor's curve "
        f"within {100.0 * CURVE_FRACTION:.0f} %, membranes within {psi_difference(MEMBRANE_PA)}, what valves burn "
        f"within {100.0 * VALVE_FRACTION:.0f} %, the level within "
        f"{pair('2 in', '5 cm')} where it was read, the gauge within {psi_difference(GAUGE_SD_PA)} (one standard "
        "deviation each: judgement), the same as in faults.",
        "The limit beyond which a gauge disagrees is the one that the worst gauge of a sound line passes once in 20 "
        "visits.",
        *(old if belief is not None and belief.pieces else ()),
    )
