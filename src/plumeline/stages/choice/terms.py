"""What a comparison of costs is counted with: the job's own prices, else assumed ones, each said."""

from __future__ import annotations

from dataclasses import dataclass

from plumeline.job.document import Job
from plumeline.pairs import pair
from plumeline.sources import read_table

REFERENCE_PIPE = "pipe-3/4"
"""A price of pipe without a size is taken for this one, and the others in the proportion of the table."""


@dataclass(frozen=True)
class Terms:
    """Prices in the job's money, years and hours.

    Attributes:
        price_money: each price by its name in sources/choice_prices.csv, a piece, a metre or a month.
        assumed: names of what the job does not give.
    """

    currency: str
    years: int
    discount_rate_fraction: float
    running_hours: float
    running_days: float
    energy_per_kwh: float
    membrane_interval_h: float
    least_air_m3_s: float
    most_air_m3_s: float
    most_voltage_drop_fraction: float
    price_money: dict[str, float]
    compressor_each: float | None
    assumed: tuple[str, ...] = ()

    @property
    def hours_per_year(self) -> float:
        """Hours of running a year."""
        return self.running_hours * self.running_days

    def pipe_per_m(self, nominal: str) -> float:
        """Return the price of a metre of polyethylene of a trade size, the dearest of the table beyond it."""
        prices = {name: value for name, value in self.price_money.items() if name.startswith("pipe-")}
        return prices.get(f"pipe-{nominal.removesuffix(' in')}", max(prices.values()))

    def wire_per_m(self, gauge: str) -> float:
        """Return the price of a metre of run, three wires of a gauge."""
        return self.price_money[f"wire-{gauge}"]


def terms_of(job: Job) -> Terms:
    """Return the terms of a job, what it leaves out taken from the table of assumptions."""
    table = {row["name"]: float(row["value"]) for row in read_table("choice_prices")}
    prices, costs = job.prices, job.costs
    given = {
        "years": costs.years, "discount_rate": costs.discount_rate_fraction, "running_hours": costs.running_hours,
        "running_days": costs.running_days, "membrane_interval": costs.membrane_interval_h,
        "most_voltage_drop": costs.most_voltage_drop_fraction, "energy": prices.energy_per_kwh,
        "trench": prices.trench_per_m, "metal_pipe": prices.metal_pipe_per_m, "branch": prices.branch_per_m,
        "diffuser": prices.diffuser_each, "membrane": prices.membrane_each, "visit": prices.visit_each,
        "power_trench": prices.power_trench_per_m, "pond_outlet": prices.pond_outlet_each,
        "service_connection": prices.service_connection_each, "meter_fee": prices.meter_fee_per_month,
        REFERENCE_PIPE: prices.pipe_per_m,
    }  # fmt: skip
    known = {name: float(value) for name, value in given.items() if value is not None}
    if REFERENCE_PIPE in known:
        scale = known[REFERENCE_PIPE] / table[REFERENCE_PIPE]
        known |= {name: value * scale for name, value in table.items() if name.startswith("pipe-")}
    found = table | known
    return Terms(
        currency=prices.currency,
        years=round(found["years"]),
        discount_rate_fraction=found["discount_rate"],
        running_hours=found["running_hours"],
        running_days=found["running_days"],
        energy_per_kwh=found["energy"],
        membrane_interval_h=found["membrane_interval"],
        least_air_m3_s=found["least_air"],
        most_air_m3_s=found["most_air"],
        most_voltage_drop_fraction=found["most_voltage_drop"],
        price_money=found,
        compressor_each=prices.compressor_each,
        assumed=tuple(name for name in table if name not in known),
    )


def assumption_words(terms: Terms) -> tuple[str, ...]:
    """Return what is assumed about money, in few sentences."""
    rows = {row["name"]: row for row in read_table("choice_prices")}
    single, sizes = [], []
    for name in terms.assumed:
        if name.startswith(("pipe-", "wire-")):
            sizes.append(name.split("-", 1)[0])
        else:
            single.append(f"{rows[name]['words']} {_shown(terms.price_money[name], rows[name]['unit'])}")
    found = [f"Assumed, for the job gives none: {'; '.join(single)}."] if single else []
    if sizes:
        names = {"pipe": "polyethylene pipe", "wire": "wire"}
        kinds = " and ".join(names[kind] for kind in dict.fromkeys(sizes))
        found.append(
            f"Prices of {kinds} by size are invented, for planning only (sources/choice_prices.csv)."
        )
    words = (
        "Prices stand still but for the real discount rate; tax, subsidy and worth at the end are left out."
    )
    return (*found, words)


def _shown(value: float, unit: str) -> str:
    """Return an assumed figure with its unit."""
    if unit == "m3_s":
        return pair(f"{value / 4.719474432e-4:.1f} scfm", f"{3600.0 * value:.1f} m³/h of standard air")
    if unit == "per_m":
        return pair(f"{0.3048 * value:.2f} per ft", f"{value:g} per m")
    if unit == "fraction":
        return f"{100.0 * value:.3g} %"
    return (
        f"{value:g} {unit.replace('_', ' ').replace('kwh', 'kWh')}"
        if unit not in ("years", "hours", "days")
        else f"{value:g}"
    )
