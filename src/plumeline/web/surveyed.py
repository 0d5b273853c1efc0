"""A pond as surveyed and read, where no layout can be made: its own stages need none, so their pages stand."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from functools import cached_property
from typing import Any, NoReturn

from plumeline.charts import Chart, hypsograph_chart
from plumeline.cli.stage_work import Asked
from plumeline.errors import PlumelineError
from plumeline.job.document import Job
from plumeline.notices import Notice
from plumeline.stages.column import screened
from plumeline.stages.plan import all_notices
from plumeline.stages.reading import Reading
from plumeline.stages.reading import reading as reading_stage
from plumeline.stages.survey import Survey
from plumeline.stages.survey import survey as survey_stage
from plumeline.store import Revision
from plumeline.units.showing import System
from plumeline.web.work import Design, Designs, asked_of, stage_document

STAGES = ("survey", "reading")
"""The stages that rest on no layout."""


@dataclass(frozen=True)
class Surveyed:
    """Survey and reading of one revision; whatever rests on a layout raises why there is none.

    Attributes:
        asked: the job.
        survey: the basin.
        lacking: why there is no layout.
    """

    asked: Asked
    survey: Survey
    lacking: PlumelineError

    @property
    def job(self) -> Job:
        """Return what was known."""
        return self.asked.job

    @cached_property
    def reading(self) -> Reading:
        """Return the water."""
        job, doubts = screened(self.job)
        water = reading_stage(job, self.survey)
        return dataclasses.replace(water, notices=(*doubts, *water.notices))

    @property
    def layout(self) -> NoReturn:
        """Raise why there is none."""
        raise self.lacking

    @property
    def air(self) -> NoReturn:
        """Raise why there is none."""
        raise self.lacking

    @property
    def plume(self) -> NoReturn:
        """Raise why there is none."""
        raise self.lacking

    def notices(self, stage: str) -> tuple[Notice, ...]:
        """Return what a stage and those before it warn of, as its command does."""
        water = self.reading.notices if stage == "reading" else ()
        return all_notices(self.asked.notices, self.survey.notices, water)

    def result(self, stage: str) -> Survey | Reading:
        """Return the result of a stage."""
        return self.survey if stage == "survey" else self.reading

    def document(self, stage: str) -> dict[str, Any]:
        """Return a stage's result as the command prints it with --json."""
        return stage_document(self, stage)

    def hypsograph(self, units: System) -> Chart:
        """Return the chart of the basin."""
        return hypsograph_chart(self, units)


def design_for(designs: Designs, revision: Revision, stage: str) -> Design | Surveyed:
    """Return a revision's design, or survey and reading alone where these are enough for a stage.

    Raises:
        PlumelineError: the stage can't give an answer for this pond.
    """
    try:
        return designs.of(revision)
    except PlumelineError as error:
        if stage not in STAGES:
            raise
        asked = asked_of(revision)
        return Surveyed(asked, survey_stage(asked.job, asked.seed), error)
