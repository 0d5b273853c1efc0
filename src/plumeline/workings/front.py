"""How the numbers of the alternatives come about: each number of diffusers with its own layout and air line."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace

from plumeline.stages.air.job_line import job_line
from plumeline.stages.choice.numbers import with_diffusers
from plumeline.stages.choice.terms import Terms, terms_of
from plumeline.stages.front import Alternative, Front
from plumeline.stages.survey import Survey
from plumeline.units.showing import System
from plumeline.workings.air_network import NetworkValues
from plumeline.workings.air_points import PointValues
from plumeline.workings.book import Book
from plumeline.workings.cost_terms import TermValues
from plumeline.workings.files import Files
from plumeline.workings.layout import LayoutValues
from plumeline.workings.layout_agreement import MIXED_RULE
from plumeline.workings.startup import values_said
from plumeline.workings.survey import SurveyValues
from plumeline.workings.value import Kind, Value, chosen, plain_constant, relation, simulated

TABLE = "Alternatives"


class AlternativeValues:
    """The values of one number of diffusers; each name says which number it is of."""

    def __init__(
        self, item: Alternative, found: Front, survey: Survey, files: Files, terms: Terms, units: System
    ) -> None:
        assert item.found is not None, "only an alternative that works has values"
        self.item, self.found = item, found
        job = with_diffusers(files.job, item.diffuser_count)
        # of the alternative's own job no field was typed: its echoes are those of the pond's
        own = Files(job, files.echoes)
        self.of = f"with {item.diffuser_count}"
        self.terms = TermValues(terms, own)
        self.laid = LayoutValues(item.found.layout, SurveyValues(survey, own, units), own)
        self.network = _network(item, own, units, self.laid)
        self.count = chosen("diffusers tried", float(item.diffuser_count), "",
                            "each number from one to a few more than the plumes need for the wish")  # fmt: skip
        self.power = self._named(PointValues(self.network).power)
        self.cost = self._cost()

    def _named(self, value: Value) -> Value:
        return replace(value, name=f"{value.name}, {self.of}")

    def served(self) -> Value:
        """The part of the water that is served."""
        return self._named(self.laid.served)

    def mean_way(self) -> Value:
        """The mean way of the water to its diffuser."""
        return self._named(self.laid.mean_way)

    def turnover(self) -> Value:
        """Turnovers a day."""
        return self._named(self.laid.turnover)

    def mixed(self) -> list[Value]:
        """The simulated ponds that came to be mixed, and how many there are."""
        ponds = (
            "drawn to agree with the readings, run with the air on all day; all numbers run the same ponds"
        )
        words = f"ponds {ponds}: counted are those whose {MIXED_RULE}"
        return [
            simulated(f"ponds that came to be mixed, {self.of}", float(self.item.mixed_members), "", words),
            simulated(
                "simulated ponds",
                float(self.item.members),
                "",
                f"{ponds}; how many is a choice of this program",
            ),
        ]

    def days(self) -> list[Value]:
        """The days until a pond is mixed; nothing where none comes to it."""
        if self.item.mixed_days is None:
            return []
        words = (
            "of the ponds that came to be mixed, the middle one's dawns until the first mixed one that lasts"
        )
        return [simulated(f"days to mix, {self.of}", self.item.mixed_days, "", words)]

    def _cost(self) -> Value:
        """What diffusers, branches and energy cost over the years."""
        terms, laid = self.terms, self.laid
        lines = {f"l{k}": laid.line(one)[2] for k, one in enumerate(laid.found.diffusers, start=1)}
        length_m = sum(one.branch_length_m for one in laid.found.diffusers)
        branches = relation(f"branches with slack, {self.of}", length_m, "m", " + ".join(lines), lines)
        material = "n * a + L * b"
        hours = "P / 1 * h / 1000 * e"
        worth, years = terms.every_year()
        return relation(
            f"cost over the years, {self.of}", self.item.cost_money, "", f"{material} + {hours} * {worth}",
            {
                "n": self.count, "L": branches, "P": self._watts(), "a": terms.price("diffuser", "price of a diffuser"),
                "b": terms.price("branch", "price of branch line, a metre, put in with metres"),
                "e": terms.term("energy", "price of a kWh", terms.terms.energy_per_kwh, "prices.energy"),
                "h": terms.hours, **years,
            },
            source="present value, energy paid at each year's end: Fuller & Petersen 1996, NIST Handbook 135",
        )  # fmt: skip

    def _watts(self) -> Value:
        return relation(f"watts from the wall, {self.of}", self.power.number, "", "p / w",
                        {"p": self.power, "w": plain_constant("a watt", 1.0, "w", "definition")})  # fmt: skip

    def cells(self) -> list[list[Value]]:
        """Return the values of the alternative's row, column by column."""
        return [
            [self.count], [self.served()], [self.mean_way()], [self.turnover()], self.mixed(), self.days(),
            [self.power], [self.cost],
        ]  # fmt: skip


def _network(item: Alternative, files: Files, units: System, laid: LayoutValues) -> NetworkValues:
    assert item.found is not None
    air = item.found.air
    choice = job_line(files.job, air.branches).choice
    return NetworkValues(air, choice.line, choice.loss_number, files, units, laid)


def front_book(found: Front, survey: Survey, files: Files, units: System) -> Book:
    """Return the workings of the page of the alternatives.

    Args:
        found: the alternatives.
        survey: the surveyed pond.
        files: the job.
        units: the system of units.
    """
    book, terms = Book(units), terms_of(files.job)
    made = [AlternativeValues(item, found, survey, files, terms, units) for item in found.works]
    for row, item in enumerate(made):
        for column, values in enumerate(item.cells()):
            book.at("part", TABLE, str(row), str(column), values=values)
    wanted = files.field(
        "turnovers a day wanted", found.wanted_turnover_per_day, "", "wishes.turnover_per_day"
    )
    years = [item.terms.years for item in made[:1]]
    book.at("head", TABLE, values=years)
    pool = [wanted, *years, *(value for item in made for cell in item.cells() for value in cell)]
    pool += _dearer(made, found)
    counts = [item.count for item in made]
    # the sentence stands under the plot and under the table
    book.at("part", "", values=pool)
    if found.least_count is not None:
        book.at("sentence", f"{found.least_count} is the least number", values=pool)
    listed = plain_constant(
        "diffusers that the job names", float(found.listed_count), "", "job.toml, air.diffusers"
    )
    for code in ("front-none", "front-more-needed", "front-fewer-do"):
        book.at("notice", code, values=[listed, *counts])
    _assumptions(book, found, years)
    _not_possible(book, found)
    return book


def _dearer(made: list[AlternativeValues], found: Front) -> list[Value]:
    """Return what the last alternative of the sentence costs more than the least that is enough."""
    least = next((item for item in made if item.item.diffuser_count == found.least_count), None)
    if least is None:
        return []
    return [
        relation(
            f"cost more, {item.of}", item.cost.number - least.cost.number, "", "C - c",
            {"C": item.cost, "c": least.cost},
        )
        for item in made
        if item.item.diffuser_count > least.item.diffuser_count
    ]  # fmt: skip


def _assumptions(book: Book, found: Front, years: Iterable[Value]) -> None:
    text = next((one for one in found.assumptions if one.startswith("mixed:")), "")
    rule = "when a pond counts as mixed: judgement"
    book.at(
        "sentence", "mixed:", values=values_said(text, "rule of mixing", Kind.CONSTANT, rule, "judgement")
    )
    book.at("sentence", "cost is of", values=list(years))


def _not_possible(book: Book, found: Front) -> None:
    """Say what the reasons of missing numbers may show: as the stage told them."""
    rows = [item for item in found.alternatives if item.found is None]
    for row, item in enumerate(rows):
        count = chosen("diffusers tried", float(item.diffuser_count), "", "the next number that was tried")
        told = values_said(re.sub("\u2060", "", item.trouble), f"why {item.diffuser_count} can't be", Kind.DRAWN,
                           "told by the stage that refused this number")  # fmt: skip
        book.at("part", "Not possible", str(row), "0", values=[count, *told])
