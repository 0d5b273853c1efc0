"""What is asked beside the plan itself: rivals, values of readings, what follows completion, what changed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from plumeline.stages.startup.aftermath import days_off, kept_running
from plumeline.stages.startup.changes import what_changed
from plumeline.stages.startup.families import customs
from plumeline.stages.startup.final import Final, final_run
from plumeline.stages.startup.known import Known
from plumeline.stages.startup.promise import comparison
from plumeline.stages.startup.result import Comparison, DaysOff, KeptRunning, VisitValue
from plumeline.stages.startup.scene import Scene, StopTable, some_of
from plumeline.stages.startup.schedule import NOTHING, Schedule
from plumeline.stages.startup.search import Found, Progress
from plumeline.stages.startup.tree import Tally, run_all
from plumeline.stages.startup.value import values_of, visit_value, would_read

COMPARISON_MEMBERS = 300
SIDE_MEMBERS = 100  # for waiting, what follows completion
STOP_MEMBERS = 200  # for stop readings, which are a fifth surer of twice as many


def comparisons(fresh: Scene, horizon_d: int, tally: Tally, progress: Progress) -> tuple[Comparison, ...]:
    """Return the lines of what every plan is compared with, all from one hour and on the same ponds."""
    member = np.arange(min(COMPARISON_MEMBERS, fresh.members))
    rivals = customs(horizon_d)

    def told(count: int) -> None:
        progress("scoring what it is compared with", count / (len(rivals) + 1))

    still, *others = run_all(fresh, member, [NOTHING, *rivals], promise=None, tally=tally, told=told)
    return tuple(comparison(outcome, still) for outcome in (still, *others))


@dataclass
class Beside:
    """What is asked beside the plan itself, on members of the search ensemble."""

    known: Known
    scene: Scene
    found: Found
    chosen: Schedule
    table: StopTable
    tally: Tally
    progress: Progress

    def readings(self, still_dawn_mg_l: NDArray[np.float64], thermocline_m: float) -> Any:
        """Return what readings not yet taken are worth."""
        would = would_read(self.known.job, self.scene, still_dawn_mg_l, thermocline_m, self.known.seed)
        return values_of(would, self.found.judged, self.found.order, self.known.promise)

    def visit(self, gone_d: int) -> VisitValue | None:
        """Return what one more visit would save, its day counted from the first run."""
        some = self.found.order[:SIDE_MEMBERS]
        found = visit_value(self.scene, self.found.best, some, self.table, self.tally)
        return found and replace(found, day_number=found.day_number + gone_d)

    @cached_property
    def _complete(self) -> tuple[Scene, Final]:
        few = some_of(self.scene, self.found.order[:SIDE_MEMBERS])
        return few, final_run(few, self.chosen, self.table)

    def running(self) -> tuple[KeptRunning, ...]:
        """Return the running times after completion."""
        few, final = self._complete
        return kept_running(few, final.complete, SIDE_MEMBERS, self.tally)

    def off(self) -> DaysOff | None:
        """Return how long the air may fail after completion."""
        few, final = self._complete
        return days_off(few, final.complete, self.known.promise, SIDE_MEMBERS, self.tally)

    def changes(self) -> tuple[str, ...]:
        """Return what changed since the plan before the newest readings."""
        return what_changed(
            self.known.job, self.scene, self.found, self.known.promise,
            draw=lambda job: self.known.draw(SIDE_MEMBERS, self.known.seed, 3, job),
            scene_of=lambda ensemble: self.known.scene(ensemble, self.known.seed),
            progress=self.progress,
        )  # fmt: skip
