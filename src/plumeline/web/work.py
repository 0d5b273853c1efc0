"""The stages as pages show them: the same functions, the same tables and the same notices as the shell's."""

from __future__ import annotations

import dataclasses
import json
from dataclasses import dataclass
from typing import Any

from plumeline.charts import Chart, hypsograph_chart
from plumeline.cli.stage_work import Asked, latest_day, places_of, sized_pond
from plumeline.errors import PlumelineError
from plumeline.files.json_values import json_value
from plumeline.job.document import Job
from plumeline.notices import Notice, Severity
from plumeline.pairs import unmarked
from plumeline.stages.air import AirResult
from plumeline.stages.column import screened
from plumeline.stages.layout import Layout
from plumeline.stages.plan import all_notices
from plumeline.stages.plume import PlumeResult
from plumeline.stages.reading import Reading
from plumeline.stages.reading import reading as reading_stage
from plumeline.stages.sizing import Sized
from plumeline.stages.survey import Survey
from plumeline.stages.survey import survey as survey_stage
from plumeline.store import Revision
from plumeline.units.showing import System
from plumeline.web.recent import Recent

KEPT = 16
"""Revisions whose results are kept in memory."""


def asked_of(revision: Revision) -> Asked:
    """Return a revision's job as a command would ask for it."""
    job = revision.job
    job = job.model_copy(update={"date": latest_day(job)})
    return Asked(job, job.seed, job.date, revision.notices)


@dataclass(frozen=True)
class Design:
    """Every stage before the start-up, of one revision."""

    asked: Asked
    survey: Survey
    reading: Reading
    sized: Sized

    @property
    def lacking(self) -> PlumelineError | None:
        """Return why there is no layout: there is one."""
        return None

    @property
    def job(self) -> Job:
        """Return what was known."""
        return self.asked.job

    @property
    def layout(self) -> Layout:
        """Return where everything lies."""
        return self.sized.layout

    @property
    def air(self) -> AirResult:
        """Return the air line."""
        return self.sized.air

    @property
    def plume(self) -> PlumeResult:
        """Return what each diffuser lifts."""
        return self.sized.plume

    def notices(self, stage: str) -> tuple[Notice, ...]:
        """Return what a stage and those before it warn of, as its command does."""
        basin, sized = self.survey, self.sized
        groups: dict[str, tuple[Any, ...]] = {
            "survey": (basin,),
            "reading": (basin, self.reading),
            "layout": (basin, sized, sized.plume, sized.layout),
            "air": (basin, sized, sized.air),
        }
        return all_notices(self.asked.notices, *(part.notices for part in groups[stage]))

    def warnings(self) -> tuple[Notice, ...]:
        """Return the dangers and cautions of all stages, the gravest first, each once."""
        return grave(all_notices(*(self.notices(stage) for stage in ("reading", "layout", "air"))))

    def result(self, stage: str) -> Any:
        """Return the result of a stage."""
        return {"survey": self.survey, "reading": self.reading, "layout": self.layout, "air": self.air}[stage]

    def document(self, stage: str) -> dict[str, Any]:
        """Return a stage's result as the command prints it with --json."""
        more = {}
        if stage == "layout":
            more = {"plume": json_value(self.plume), "places": places_of(self.survey, self.sized)}
        return stage_document(self, stage, more)

    def hypsograph(self, units: System) -> Chart:
        """Return the chart of the basin."""
        return hypsograph_chart(self, units)


def stage_document(design: Any, stage: str, more: dict[str, Any] | None = None) -> dict[str, Any]:
    """Return a stage's result as the command prints it with --json.

    Args:
        design: a `Design`, or what is known without a layout.
        stage: its name.
        more: further parts of the document.
    """
    found = json_value(design.result(stage))
    found.pop("notices", None)
    notices = [
        {key: str(value) for key, value in dataclasses.asdict(n).items()} for n in design.notices(stage)
    ]
    return {**design.asked.head, stage: found, **(more or {}), "notices": notices}


class Designs:
    """The designs of the revisions looked at last, each made once."""

    def __init__(self) -> None:
        self._made: Recent[tuple[str, int], Design] = Recent(KEPT)

    def of(self, revision: Revision) -> Design:
        """Return the design of a revision.

        Raises:
            PlumelineError: a stage can't give an answer for this pond.
        """
        key = (revision.pond_id, revision.number)
        return self._made.of(key, lambda: _design(asked_of(revision)))


def _design(asked: Asked) -> Design:
    basin, sized = sized_pond(asked)
    job, doubts = screened(asked.job)
    water = reading_stage(job, basin)
    return Design(asked, basin, dataclasses.replace(water, notices=(*doubts, *water.notices)), sized)


def warnings_as_read(revision: Revision) -> tuple[Notice, ...]:
    """Return the dangers and cautions that stand against a pond as surveyed and read, the gravest first."""
    asked = asked_of(revision)
    basin = survey_stage(asked.job, asked.seed)
    job, doubts = screened(asked.job)
    water = reading_stage(job, basin)
    return grave(all_notices(asked.notices, basin.notices, doubts, water.notices))


def grave(notices: tuple[Notice, ...]) -> tuple[Notice, ...]:
    """Return the notices that stand against a pond: all but mere notes."""
    return tuple(notice for notice in notices if notice.severity != Severity.NOTE)


def plain(document: dict[str, Any]) -> dict[str, Any]:
    """Return a document whose sentences hold each value in both systems, without marks."""
    found: dict[str, Any] = json.loads(unmarked(json.dumps(document, ensure_ascii=False, allow_nan=False)))
    return found
