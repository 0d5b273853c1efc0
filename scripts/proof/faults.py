"""Faults: a thousand planted in foreign air lines, and how near the program comes to the best that can be said.

Five lines are solved by a solver of their own (tests/truth/airline.py); faults on the list and off it are planted
there, gauges err, and the program is told what a job would tell it: lengths, bores, curves, valves as set.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
from scripts.proof.faults_best import Best, catalogue
from scripts.proof.faults_report import PLOT, draw, report
from scripts.proof.faults_visits import (
    LISTED,
    OFF,
    SOUND,
    Seen,
    Visit,
    entropy_bits,
    made,
    names_of,
    outcome,
    place_of,
    read,
    readings_of,
    told_line,
    visits,
)
from scripts.proof.pieces import Pieces, seconds_left
from tests.truth import airline_faults as truth

from plumeline.stages.air.fault_bench import Bench
from plumeline.stages.air.faults import GaugeReading, by_cause, faults, weights

__all__ = ["TITLE", "gather", "report", "study"]

TITLE = "Faults: what the gauges tell"
SEED = 60_411
# of each line and kind of visit: 1,000 faults, 15 % of them off the list, and sound lines as often as they come
COUNTS = {LISTED: 34, OFF: 6, SOUND: 11}
QUICK_COUNTS, QUICK_FINENESS = {LISTED: 5, OFF: 1, SOUND: 2}, 0.1
QUICK_LINES = ("two, short",)
LINE_S = 45.0  # a line that is begun with less is not finished
ANSWERS = 8
LEAST_BITS = 0.3  # of doubt before a next reading is worth comparing


def study(work: Path, *, quick: bool) -> dict[str, Any]:
    """Visit every line, or the smallest, and keep each kind of visit as it is finished."""
    pieces = Pieces(work / "visits.jsonl")
    lines = truth.lines()
    for number, (name, line) in enumerate(lines.items()):
        if quick and name not in QUICK_LINES:
            continue
        kinds = visits(len(line.branches))
        left = [(k, visit) for k, visit in enumerate(kinds) if f"{name}: {visit.name}" not in pieces]
        if not left or (seconds_left() < LINE_S and not quick):
            continue
        found = catalogue(line, SEED + number, QUICK_FINENESS if quick else 1.0)
        program = Program(line)
        for k, visit in left:
            # what is planted does not hang on how many readings the program asks for
            planting, asking = (np.random.default_rng([SEED, number, k, part]) for part in (0, 1))
            best = Best(line, found, visit)
            rows = [
                program.told(visit, best, made(line, visit, planting, sort), asking)
                for sort, count in (QUICK_COUNTS if quick else COUNTS).items()
                for _ in range(count)
            ]
            pieces.add(f"{name}: {visit.name}", {"line": name, "visit": visit.name, "rows": rows})
    return gather(work)


def gather(work: Path) -> dict[str, Any]:
    """Return the visits that are finished."""
    pieces = list(Pieces(work / "visits.jsonl"))
    if not pieces:
        return {}
    groups = sum(len(visits(len(line.branches))) for line in truth.lines().values())
    rows = [
        {**row, "line": piece["line"], "visit": piece["visit"]} for piece in pieces for row in piece["rows"]
    ]
    draw(rows, work / PLOT)
    planted = sum(row["cause"] != truth.SOUND for row in rows)
    return {
        "rows": rows,
        "seeds": str(SEED),
        "finished": f"{planted} faults and {len(rows) - planted} sound lines",
        "undone": groups - len(pieces),
    }


class Program:
    """The program at one line; what it has solved it keeps from visit to visit."""

    def __init__(self, line: truth.World) -> None:
        self.branches = len(line.branches)
        self.network = told_line(line)
        self.benches = {read: Bench(self.network, level_read=read) for read in (True, False)}

    def odds(self, readings: tuple[GaugeReading, ...]) -> dict[str, float]:
        """Return the probability of each cause."""
        bench = self.benches[readings[0].water_level_m is not None]
        return dict(by_cause(bench, weights(bench, readings)))

    def told(self, visit: Visit, best: Best, seen: Seen, generator: np.random.Generator) -> dict[str, Any]:
        """Return what program, best observer and mutant said of a visit, and what the next reading told."""
        readings = readings_of(seen, visit, self.branches)
        found = faults(self.network, readings, self.benches[visit.level_read])
        odds = dict(found.cause_probability)
        prior = self.benches[visit.level_read]
        return {
            "cause": seen.kind.cause,
            "place": seen.kind.place,
            "program": outcome(seen, odds),
            "place_said": next((row.place for row in found.ranked if row.cause == seen.kind.cause), ""),
            "best": outcome(seen, best.odds(seen)),
            "mutant": outcome(seen, self.odds(readings[:1])),
            "prior": outcome(seen, dict(by_cause(prior, np.exp(prior.log_prior)))),
            "next": self._next(seen, readings, found.checks, odds, generator),
        }

    def _next(
        self,
        seen: Seen,
        readings: tuple[GaugeReading, ...],
        checks: Any,
        odds: dict[str, float],
        generator: np.random.Generator,
    ) -> dict[str, Any] | None:
        """Return what the chosen reading told and what another, drawn at random, did; None with little doubt left."""
        before = entropy_bits(np.array(list(odds.values())))
        if before < LEAST_BITS:
            return None
        other = checks[1 + int(generator.integers(len(checks) - 1))]
        told: dict[str, Any] = {"before": before, "log_before": float(np.log(odds[seen.kind.cause]))}
        for name, check in (("chosen", checks[0]), ("random", other)):
            alone = len(check.open_ports) == 1 and self.branches > 1
            number = names_of(self.branches).index(check.open_ports[0]) if alone else None
            place = [place_of(k) for k in range(2 + self.branches)].index(check.place)
            after = []
            for _ in range(ANSWERS):
                answer_pa = read(seen.world, number, place, generator)
                more = GaugeReading(
                    readings[0].time,
                    check.place,
                    answer_pa,
                    seen.level_m,
                    check.open_ports if alone else None,
                )
                later = self.odds((*readings, more))
                after.append(
                    (entropy_bits(np.array(list(later.values()))), float(np.log(later[seen.kind.cause])))
                )
            told[name] = {"what": check.what, "bits": check.information_number}
            told[name]["entropy"], told[name]["log"] = np.mean(after, axis=0).tolist()
        return told
