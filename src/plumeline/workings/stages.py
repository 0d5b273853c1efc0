"""The workings of each stage's page: what rests on what, made in that order."""

from __future__ import annotations

from functools import cached_property

from plumeline.errors import PlumelineError
from plumeline.stages.air.job_line import job_line
from plumeline.stages.plan import Designed
from plumeline.units.showing import System
from plumeline.workings.air import AirValues, air_book
from plumeline.workings.air_network import NetworkValues
from plumeline.workings.air_points import PointValues
from plumeline.workings.book import Book
from plumeline.workings.files import Files
from plumeline.workings.layout import LayoutValues, drawing_sentences, layout_book
from plumeline.workings.plumes import PlumeValues
from plumeline.workings.reading import ReadingValues, reading_book
from plumeline.workings.survey import SurveyValues, survey_book
from plumeline.workings.survey_notices import survey_notices
from plumeline.workings.value import relation


class Values:
    """The values of all stages of one job, each made when it is asked for.

    Attributes:
        design: the stages.
        files: the job.
        units: the system of units.
    """

    def __init__(self, design: Designed, files: Files, units: System) -> None:
        self.design, self.files, self.units = design, files, units

    @cached_property
    def basin(self) -> SurveyValues:
        """The survey's values."""
        return SurveyValues(self.design.survey, self.files, self.units)

    @cached_property
    def reading(self) -> ReadingValues:
        """The reading's values."""
        return ReadingValues(self.design.reading, self.basin, self.files, self.units)

    @cached_property
    def network(self) -> NetworkValues:
        """The air line's values."""
        air = self.design.air
        choice = job_line(self.files.job, air.branches).choice
        return NetworkValues(air, choice.line, choice.loss_number, self.files, self.units, self.layout)

    @cached_property
    def layout(self) -> LayoutValues:
        """The layout's values."""
        return LayoutValues(self.design.layout, self.basin, self.files)

    @cached_property
    def air(self) -> AirValues:
        """The values of the air line's page."""
        return AirValues(PointValues(self.network))

    @cached_property
    def plumes(self) -> PlumeValues:
        """The plumes' values."""
        air = self.design.air.balanced
        flows = {
            one.name: self.network.flow(air, one.name) for one in air.branches if one.flow_standard_m3_s > 0.0
        }
        return PlumeValues(self.design.plume, self.files, flows, self.files.job.seed)


def make_book(
    stage: str, design: Designed, files: Files, units: System, values: Values | None = None
) -> Book:
    """Return the workings of a stage's page.

    Args:
        stage: survey, reading, layout or air; pond for the page of the pond itself, with the sentences under its
            drawings and what stands against it.
        design: the stages.
        files: the job.
        units: the system of units.
        values: of these stages, where some were made before.
    """
    values = values or Values(design, files, units)
    book = _pond_book(values, units) if stage == "pond" else _stage_book(stage, values, units)
    # the notices of the job's files stand on every page
    survey_notices(book, values.basin)
    return book


def _pond_book(values: Values, units: System) -> Book:
    """Return what sentences and notices of all stages may show."""
    book = Book(units)
    for stage in ("reading", "layout", "air"):
        for place, pool in _stage_book(stage, values, units).places.items():
            if place[0] == "notice" or (place[0] == "sentence" and stage == "layout"):
                book.at(*place, values=pool)
    return book


def _stage_book(stage: str, values: Values, units: System) -> Book:
    if stage == "survey":
        book = survey_book(values.basin, units)
    elif stage == "reading":
        book = reading_book(values.reading, units)
    elif stage == "layout":
        book = layout_book(values.layout, values.plumes, units)
    else:
        return air_book(values.air, units)
    try:
        water, laid = values.reading, values.layout
    except PlumelineError:
        # no layout can be made: the page has no drawings whose sentences would open
        return book
    found = water.found
    lacking = [
        relation(
            "oxygen missing of what the water could hold", found.deficit_kg / found.oxygen_at_saturation_kg,
            "fraction", "d / s", {"d": water.masses[2], "s": water.masses[1]},
        )
    ]  # fmt: skip
    if found.strata.thermocline_depth_m is not None:
        lacking.append(water.strata.thermocline(found.strata.thermocline_depth_m))
    drawing_sentences(book, laid, lacking)
    return book
