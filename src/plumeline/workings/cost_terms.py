"""Prices, years and hours that costs over the years are counted with: of the job, or assumed."""

from __future__ import annotations

from functools import cached_property

from plumeline.stages.choice.terms import Terms
from plumeline.workings.files import Files
from plumeline.workings.value import Value, given, relation

PRICES = "sources/choice_prices.csv"
PRESENT_VALUE = "present value: Fuller & Petersen 1996, NIST Handbook 135 (equation from memory)"


class TermValues:
    """Prices, years and hours of the comparison: of the job, or assumed."""

    def __init__(self, terms: Terms, files: Files) -> None:
        self.terms, self.files = terms, files
        self._known: dict[str, Value] = {}

    def term(self, name: str, what: str, number: float, field: str, suffix: str = "") -> Value:
        """Return a figure by its name in the table of assumptions, the same object each time."""
        if name not in self._known:
            words = f"assumed, for the job gives none: {PRICES}, {name}"
            assumed = name in self.terms.assumed
            self._known[name] = (
                given(what, number, suffix, words)
                if assumed
                else self.files.field(what, number, suffix, field)
            )
        return self._known[name]

    def price(self, name: str, what: str, suffix: str = "") -> Value:
        """Return a price: of a piece, or with its suffix of a length."""
        return self.term(name, what, self.terms.price_money[name], f"prices.{name}", suffix)

    @cached_property
    def years(self) -> Value:
        """The years of the comparison."""
        return self.term("years", "years of the comparison", float(self.terms.years), "costs.years")

    @cached_property
    def rate(self) -> Value:
        """The real discount rate."""
        rate = self.terms.discount_rate_fraction
        return self.term("discount_rate", "real discount rate", rate, "costs.discount_rate")

    @cached_property
    def hours(self) -> Value:
        """Hours of running a year."""
        terms = self.terms
        hours = self.term("running_hours", "hours a day", terms.running_hours, "costs.running_hours")
        days = self.term("running_days", "days a year", terms.running_days, "costs.running_days")
        return relation("hours of running a year", terms.hours_per_year, "", "h * d", {"h": hours, "d": days})

    def every_year(self) -> tuple[str, dict[str, Value]]:
        """Return the present value of one unit at the end of each year, as a formula and its terms."""
        if self.terms.discount_rate_fraction == 0.0:
            return "y", {"y": self.years}
        return "(1 - (1 + r)^(0 - y)) / r", {"y": self.years, "r": self.rate}

    def again(self, name: str, interval: Value) -> Value:
        """Return the present value of one unit spent at every interval, none on the last day."""
        rate, hours = self.terms.discount_rate_fraction, self.terms.hours_per_year
        years = interval.number / hours
        apart = relation(f"years between one {name} and the next", years, "", "i / h",
                         {"i": interval, "h": self.hours})  # fmt: skip
        count = max(-(-(self.terms.years - 1e-9) // years) - 1.0, 0.0)
        times = relation(f"times that {name} comes, none on the last day", count, "", "ceil(y / t) - 1",
                         {"y": self.years, "t": apart})  # fmt: skip
        if rate == 0.0:
            return relation(f"present value of one unit for each {name}", count, "", "1 * k", {"k": times})
        step = (1.0 + rate) ** -years
        total = step * (1.0 - step**count) / (1.0 - step)
        return relation(
            f"present value of one unit for each {name}", total, "",
            "(1 + r)^(0 - t) * (1 - (1 + r)^(0 - t * k)) / (1 - (1 + r)^(0 - t))",
            {"r": self.rate, "t": apart, "k": times}, source=PRESENT_VALUE,
        )  # fmt: skip
