"""How the money of the comparison comes about: each part of each cost by its line, from prices, lengths and hours."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cached_property
from typing import Any

from plumeline.stages.choice import ChoiceResult, Combination
from plumeline.stages.choice.life_cost import PARTS, Taken
from plumeline.stages.choice.lines import margin_rows
from plumeline.stages.choice.terms import terms_of
from plumeline.stages.choice.verdicts import CHOSEN
from plumeline.units.showing import System
from plumeline.workings.book import Book
from plumeline.workings.cost_terms import PRESENT_VALUE, PRICES, TermValues
from plumeline.workings.files import Files
from plumeline.workings.startup import values_said
from plumeline.workings.value import Kind, Value, chosen, drawn, given, plain_constant, relation

COSTS, MARGINS = "What it costs over the years", "This design and its limits"
LOSERS, GROUPS = "What else was tried", "What can't be taken, and the nearest of it"
WAYS = "What each way costs at this distance"
CARE = "sources/compressor_care.csv"
SOLVED = "figure of a line that the program solved for this combination, valves set, on the hot day where it is of heat"
COUNTED = (
    "counted over all combinations of compressor, trunk and number of diffusers, each solved on its own line"
)


TOLD = (
    "told by the comparison: counted or solved for its combinations, or said by the layout that they rest on"
)
START_COUNT = 20
"""A sentence is known by so many letters of its beginning."""
NAMES = re.compile(r"NEC (?:chapter \d+ table \d+|\d+)|\b[A-Z]\w+ \d{4}\b")
"""Places in the electrical code and years of publications: names, not figures."""


class CostValues:
    """The parts of one combination's cost; each name says which combination it is of."""

    def __init__(self, one: Combination, terms: TermValues) -> None:
        assert one.cost is not None, "only what is counted has a cost"
        assert one.cost.taken is not None, "the choice says what it counted"
        self.one, self.cost, self.terms = one, one.cost, terms
        self.taken: Taken = one.cost.taken
        self.of = one.words
        self.count = plain_constant("compressors side by side", float(one.compressor_count), "",
                                    "the combination")  # fmt: skip
        self.diffusers = chosen("diffusers", float(one.diffuser_count), "", f"the combination {self.of}")

    def _each(self, what: str, number: float) -> Value:
        words = f"of {self.one.machine}: equipment.csv or job.toml, prices.compressor, where they give it, else {CARE}"
        return given(f"{what}, {self.one.machine}", number, "", words)

    def _length(self, what: str, number: float, words: str) -> Value:
        return drawn(f"{what}, {self.of}", number, "m", words)

    def _part(self, part: str, formula: str, terms: Mapping[str, Value], source: str = "") -> Value:
        name = f"{part} of {self.of}"
        return relation(name, self.cost.part_money(part), "", formula, terms, source=source)

    @cached_property
    def purchase(self) -> Value:
        """What is bought at once."""
        taken, price = self.taken, self.terms.price
        plastic = given(f"price of its plastic pipe, {self.of}", taken.plastic_per_m, "per_m",
                        f"by size: prices.pipe of job.toml in the proportions of the table, else {PRICES}")  # fmt: skip
        return self._part(
            "purchase", "n * c + M * m + P * p + L * b + k * d",
            {
                "n": self.count, "c": self._each("price of one", taken.compressor_each),
                "M": self._length("metal pipe", taken.metal_m, "as drawn, and as far as hot air needs metal"),
                "m": price("metal_pipe", "price of metal pipe", "per_m"),
                "P": self._length("plastic pipe", taken.plastic_m, "the rest of the trunk"), "p": plastic,
                "L": self._length("branches", taken.branches_m, "of the layout, with slack"),
                "b": price("branch", "price of branch line", "per_m"),
                "k": self.diffusers, "d": price("diffuser", "price of a diffuser"),
            },
        )  # fmt: skip

    @cached_property
    def installation(self) -> Value:
        """What is put in at once."""
        dug = self._length("trench", self.taken.dug_m, "the pieces of the trunk that lie under soil")
        each = self._each("installation of one", self.taken.install_each)
        return self._part(
            "installation", "n * i + T * t",
            {"n": self.count, "i": each, "T": dug, "t": self.terms.price("trench", "price of trench", "per_m")},
        )  # fmt: skip

    @cached_property
    def energy(self) -> Value:
        """Energy over the years, paid at each year's end."""
        worth, terms = self.terms.every_year()
        watts = drawn(f"watts from the wall, {self.of}", self.one.power_w or 0.0, "", SOLVED)
        price = self.terms.term("energy", "price of a kWh", self.terms.terms.energy_per_kwh, "prices.energy")
        return self._part(
            "energy", f"w * h / 1000 * e * {worth}", {"w": watts, "h": self.terms.hours, "e": price, **terms},
            PRESENT_VALUE,
        )  # fmt: skip

    @cached_property
    def service(self) -> Value:
        """Filters and the like at their interval, a visit with each."""
        interval = self._each("hours between services", self.taken.service_interval_h)
        return self._part(
            "service", "(n * s + v) * f",
            {"n": self.count, "s": self._each("service of one", self.taken.service_each), "v": self._visit,
             "f": self.terms.again(f"service of {self.one.machine}", interval)},
        )  # fmt: skip

    @cached_property
    def replacement(self) -> Value:
        """Rebuilds and membranes at their intervals, a visit with each."""
        terms = self.terms
        hours = terms.terms.membrane_interval_h
        changed = terms.term(
            "membrane_interval", "hours until a membrane is changed", hours, "costs.membrane_interval"
        )
        rebuilt = self._each("hours between rebuilds", self.taken.rebuild_interval_h)
        return self._part(
            "replacement", "(n * b + v) * f + (k * m + v) * g",
            {"n": self.count, "b": self._each("rebuild of one", self.taken.rebuild_each), "v": self._visit,
             "f": terms.again(f"rebuild of {self.one.machine}", rebuilt), "k": self.diffusers,
             "m": terms.price("membrane", "price of a membrane"), "g": terms.again("change of membranes", changed)},
        )  # fmt: skip

    @cached_property
    def _visit(self) -> Value:
        return self.terms.price("visit", "price of a visit")

    @cached_property
    def parts(self) -> list[Value]:
        """The parts in the order of the table."""
        return [getattr(self, part) for part in PARTS]

    @cached_property
    def total(self) -> Value:
        """All parts together."""
        terms = dict(zip("abcde", self.parts, strict=True))
        return relation(f"cost of {self.of}", self.cost.total_money, "", " + ".join(terms), terms)

    def steps(self, other: CostValues) -> list[Value]:
        """Return what this costs more or less than another: in all, and in each part; none below zero."""
        pairs = [(self.total, other.total), *zip(self.parts, other.parts, strict=True)]
        names = ("in all", *PARTS)
        return [
            relation(f"{name}: {self.of} beside {other.of}", abs(mine.number - its.number), "", "abs(C - c)",
                     {"C": mine, "c": its})
            for name, (mine, its) in zip(names, pairs, strict=True)
        ]  # fmt: skip


def costs_book(found: ChoiceResult, files: Files, units: System, told: Mapping[str, Any]) -> Book:
    """Return the workings of the page of the comparison.

    Args:
        found: the comparison, told against the job's own design.
        files: the job.
        units: the system of units.
        told: its texts and tables, as the page shows them.
    """
    book, terms = Book(units), TermValues(terms_of(files.job), files)
    made: dict[tuple[str, int, str, int], CostValues] = {}

    def values(one: Combination) -> CostValues:
        return made.setdefault(one.key, CostValues(one, terms))

    subject = found.subject
    shown = [one for one in (subject, *(item.combination for item in found.alternatives)) if one and one.cost]
    for row, one in enumerate(shown[: len(told["costs"]["rows"])]):
        cost = values(one)
        book.at("part", COSTS, str(row), "0", values=[cost.count, cost.diffusers])
        for column, value in enumerate((*cost.parts, cost.total), start=1):
            book.at("part", COSTS, str(row), str(column), values=[value])
    book.at("head", COSTS, values=[terms.years])
    if subject is not None and subject.cost is not None:
        book.at("sentence", told["summary"][:START_COUNT], values=[values(subject).total])
        if found.winner is not None:
            least = values(subject).steps(values(found.winner))[:1]
            book.at("notice", "choice-own-cheaper", values=[*least, terms.years])
    _losers(book, found, told, values)
    _design(book, found, told, terms, units)
    _distance(book, found, told, terms)
    _words(book, found, told, terms, units)
    return book


def _losers(book: Book, found: ChoiceResult, told: Mapping[str, Any], values: Any) -> None:
    """Say what the reasons of the other compressors may show: steps of cost, or figures of their lines."""
    listed = [
        item
        for item in found.verdicts
        if item.reason != CHOSEN and (item.works or item.compressor_count == 1)
    ]
    for row, item in enumerate(listed):
        texts = told["losers"]["rows"][row]
        pool: list[Value] = []
        if item.works and found.subject is not None:
            own = values(item.best)
            pool = own.steps(values(found.subject))
            book.at("part", LOSERS, str(row), "0", values=[own.count, own.diffusers])
        else:
            pool = values_said(texts[1], f"why {item.machine} can't be taken", Kind.DRAWN, SOLVED)
        book.at("part", LOSERS, str(row), "1", values=pool)
    for row, texts in enumerate(told["groups"]["rows"]):
        for column, text in enumerate(texts):
            words = COUNTED if column == 1 else SOLVED
            name = "combinations" if column == 1 else "of the nearest combination"
            book.at("part", GROUPS, str(row), str(column), values=values_said(text, name, Kind.DRAWN, words))


def _figures(text: str, name: str, kind: Kind, words: str, source: str = "") -> list[Value]:
    """Return the figures of a text, names that hold digits left out."""
    return values_said(NAMES.sub(" ", text), name, kind, words, source)


def _design(
    book: Book, found: ChoiceResult, told: Mapping[str, Any], terms: TermValues, units: System
) -> None:
    """Say what the summary and the figures of the design may show."""
    summary = told["summary"]
    counted = [
        drawn("combinations tried", float(found.tried_count), "", COUNTED),
        drawn("combinations that work", float(found.works_count), "", COUNTED),
    ]
    solved = _figures(summary, "of this design", Kind.DRAWN, SOLVED)
    book.at("sentence", summary[:START_COUNT], values=[terms.years, *counted, *solved])
    if found.subject is None:
        return
    for row, (name, text) in enumerate(margin_rows(found.subject, units)):
        words = f"{SOLVED}; the page of the air line opens it"
        book.at("part", MARGINS, str(row), "1", values=_figures(text, "of this design", Kind.DRAWN, words))
        sheets = "the distance at which makers' sheets tell noise"
        book.at("part", MARGINS, str(row), "0", values=_figures(name, "distance", Kind.CONSTANT, "", sheets))


def _distance(book: Book, found: ChoiceResult, told: Mapping[str, Any], terms: TermValues) -> None:
    """Say what the comparison of ways by distance may show."""
    service = found.service
    if service is None:
        return
    words = (
        "the least cost over the sizes of pipe of a line laid anew at this length, counted as in the table of costs; "
        f"power at the pond is such a line of its least length with wire or service, and their prices ({PRICES} or "
        "the job)"
    )
    sentence = told["service"]
    said = _figures(sentence, "cost by distance", Kind.DRAWN, words)
    book.at("sentence", sentence[:START_COUNT], values=[terms.years, *said])
    here = service.here
    for row, money in enumerate((here.line_money, here.wire_money, here.service_money)):
        cell = [] if money is None else [drawn("cost at this distance", money, "", words)]
        book.at("part", WAYS, str(row), "1", values=cell)
    if here.wire_gauge:
        rule = "the thinnest conductor that keeps the drop allowed and carries 125 % of the running current"
        book.at(
            "part", WAYS, "1", "0", values=[chosen("gauge of the wire", float(here.wire_gauge), "", rule)]
        )


def _words(
    book: Book, found: ChoiceResult, told: Mapping[str, Any], terms: TermValues, units: System
) -> None:
    """Say what notices and assumptions may show."""
    for notice in found.notices:
        text = notice.said(units)
        book.at("notice", notice.code, values=_figures(text, "of the comparison", Kind.DRAWN, TOLD))
    book.at("sentence", "Life-cycle cost", values=[terms.years])
    rule = f"what the comparison is counted with: the job, or {PRICES}"
    for text in told["assumptions"]:
        values = _figures(text, "taken for granted", Kind.CONSTANT, rule, PRICES)
        book.at("sentence", text[:START_COUNT], values=values)
