"""Draws from the table of priors: seeded, spread evenly, and correlated where the science says so."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import norm, qmc

from plumeline.errors import RangeError
from plumeline.sources import read_table

Array = NDArray[np.float64]

LINKED: dict[str, tuple[tuple[str, float], ...]] = {
    # quantity: (other, correlation of their normal scores): science-values: respiration goes with the bloom,
    # the bed's share against it, the debts with the bed's demand
    "water_respiration": (("chlorophyll", 0.6),),
    "sediment_demand": (("chlorophyll", -0.3),),
    "debt_a": (("sediment_demand", 0.5),),
    "debt_b": (("sediment_demand", 0.5),),
    "debt_c": (("sediment_demand", 0.5),),
    "reduced_flux": (("sediment_demand", 0.5),),
}


@dataclass(frozen=True)
class Prior:
    """One row: 5 %, middle and 95 % of a lognormal, or least, likeliest and most of a triangle."""

    name: str
    unit: str
    low: float
    mode: float
    high: float
    distribution: str

    def quantile(self, probability: Array) -> Array:
        """Return the values at the given probabilities."""
        if self.distribution == "lognormal":
            below = (np.log(self.mode) - np.log(self.low)) / 1.6448536269514722
            above = (np.log(self.high) - np.log(self.mode)) / 1.6448536269514722
            score = norm.ppf(probability)
            # two half normals in the logarithm keep the table's three numbers
            spread = np.where(score < 0.0, below, above)
            return np.asarray(np.exp(np.log(self.mode) + spread * score))
        if self.distribution == "triangular":
            width = self.high - self.low
            turn = (self.mode - self.low) / width
            rising = self.low + np.sqrt(probability * width * (self.mode - self.low))
            falling = self.high - np.sqrt((1.0 - probability) * width * (self.high - self.mode))
            return np.asarray(np.where(probability < turn, rising, falling))
        raise RangeError(
            f"the prior '{self.name}' has the distribution '{self.distribution}'.",
            remedy="Use lognormal or triangular.",
            place="sources/priors.csv",
        )


def table_of_priors() -> dict[str, Prior]:
    """Return every prior of the table by its name."""
    return {
        row["name"]: Prior(
            row["name"],
            row["unit"],
            float(row["low"]),
            float(row["mode"]),
            float(row["high"]),
            row["distribution"],
        )
        for row in read_table("priors")
    }


def draw_priors(members: int, seed: int) -> dict[str, Array]:
    """Return `members` draws of every prior, by Latin hypercube, with the links of `LINKED`.

    The same seed gives the same draws; another seed gives a fresh ensemble.
    """
    priors = table_of_priors()
    names = sorted(priors)
    sampler = qmc.LatinHypercube(d=len(names), rng=np.random.default_rng(seed))
    scores = dict(zip(names, norm.ppf(sampler.random(members)).T, strict=True))
    for name, links in LINKED.items():
        rest = 1.0 - sum(weight**2 for _, weight in links)
        scores[name] = np.sqrt(rest) * scores[name] + sum(weight * scores[other] for other, weight in links)
    return {name: priors[name].quantile(norm.cdf(scores[name])) for name in names}
