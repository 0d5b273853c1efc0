"""The table of priors: what is believed of each quantity before it is measured."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from plumeline.errors import InputError, RangeError
from plumeline.sources import read_table

Array = NDArray[np.float64]

SCORE_95 = 1.6448536269514722
"""Normal score of 95 %."""


@dataclass(frozen=True)
class Prior:
    """One row of the table: 5 %, middle and 95 % of a lognormal, or least, likeliest and most of a triangle.

    Attributes:
        name: the quantity.
        unit: unit of the three numbers.
        low: 5 %, or the least.
        mode: the middle, or the likeliest.
        high: 95 %, or the most.
        distribution: lognormal or triangular.
        source: where it comes from.
        status: how far that has been verified.
    """

    name: str
    unit: str
    low: float
    mode: float
    high: float
    distribution: str
    source: str
    status: str

    def quantile(self, probability: Array) -> Array:
        """Return the values at the given probabilities, in the unit of the row, same shape."""
        if self.distribution == "lognormal":
            score = ndtri(probability)
            below = np.log(self.mode / self.low) / SCORE_95
            above = np.log(self.high / self.mode) / SCORE_95
            # two half normals in the logarithm keep all three numbers of the row
            return np.asarray(self.mode * np.exp(np.where(score < 0.0, below, above) * score))
        if self.distribution == "triangular":
            width = self.high - self.low
            rising = self.low + np.sqrt(probability * width * (self.mode - self.low))
            falling = self.high - np.sqrt((1.0 - probability) * width * (self.high - self.mode))
            return np.asarray(np.where(probability * width < self.mode - self.low, rising, falling))
        raise RangeError(
            f"the prior '{self.name}' has the distribution '{self.distribution}'.",
            remedy="Use lognormal or triangular.",
            place="sources/priors.csv",
        )


@cache
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
            row["source"],
            row["status"],
        )
        for row in read_table("priors")
    }


def prior(name: str) -> Prior:
    """Return one row of the table.

    Raises:
        InputError: no row has that name.
    """
    table = table_of_priors()
    if name not in table:
        raise InputError(f"there is no prior {name!r}.", remedy=f"Known: {', '.join(sorted(table))}.")
    return table[name]
