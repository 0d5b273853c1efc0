"""Life-cycle cost: everything that is spent over the years, in the money of today."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from plumeline.science.money import single_present_value_fuller_1996, uniform_present_value_fuller_1996
from plumeline.stages.choice.terms import Terms

PARTS = ("purchase", "installation", "energy", "service", "replacement")


@dataclass(frozen=True)
class Recurring:
    """What is spent again and again, after so many hours of running."""

    kind: Literal["service", "replacement"]
    cost_money: float
    interval_h: float


@dataclass(frozen=True)
class Spending:
    """What one choice takes: at once, every year, and again and again."""

    purchase_money: float
    installation_money: float
    power_w: float
    recurring: tuple[Recurring, ...] = ()


@dataclass(frozen=True)
class Taken:
    """What a cost is made of beside the prices of the job: figures of one machine, lengths of pipe and trench."""

    compressor_each: float
    install_each: float
    service_each: float
    rebuild_each: float
    service_interval_h: float
    rebuild_interval_h: float
    metal_m: float
    plastic_m: float
    plastic_per_m: float
    dug_m: float
    branches_m: float


@dataclass(frozen=True)
class LifeCost:
    """Present values over the years, and the energy of one year; `taken` tells what they were counted of."""

    purchase_money: float
    installation_money: float
    energy_money: float
    service_money: float
    replacement_money: float
    yearly_energy_kwh: float
    taken: Taken | None = None

    @property
    def total_money(self) -> float:
        """All parts together."""
        return sum(self.part_money(part) for part in PARTS)

    def part_money(self, part: str) -> float:
        """Return one part by its name."""
        return float(getattr(self, f"{part}_money"))


def recurring_factor_number(interval_h: float, terms: Terms) -> float:
    """Return the present value of one unit of money spent at every interval, none on the last day.

    Equation: Σ SPV(d, k T) over k T < n, T the interval in years
    """
    interval_years = interval_h / terms.hours_per_year
    total, count = 0.0, 1
    while count * interval_years < terms.years - 1e-9:
        total += single_present_value_fuller_1996(terms.discount_rate_fraction, count * interval_years)
        count += 1
    return total


def life_cost(spending: Spending, terms: Terms, taken: Taken | None = None) -> LifeCost:
    """Return the life-cycle cost of one choice.

    Source: Fuller & Petersen 1996, NIST Handbook 135; energy is paid at the end of each year.
    """
    energy_kwh = spending.power_w / 1000.0 * terms.hours_per_year
    factor = uniform_present_value_fuller_1996(terms.discount_rate_fraction, terms.years)
    again = {"service": 0.0, "replacement": 0.0}
    for item in spending.recurring:
        again[item.kind] += item.cost_money * recurring_factor_number(item.interval_h, terms)
    return LifeCost(
        purchase_money=spending.purchase_money,
        installation_money=spending.installation_money,
        energy_money=energy_kwh * terms.energy_per_kwh * factor,
        service_money=again["service"],
        replacement_money=again["replacement"],
        yearly_energy_kwh=energy_kwh,
        taken=taken,
    )
