"""Draws from the table of priors: seeded, spread evenly, and correlated where the science says so.

A pond of the ensemble is a list of independent standard normal scores, one for each prior and one for each
number of its start that nobody read. Conditioning moves the scores; `draws_of` makes quantities of them.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from plumeline.sources.priors import table_of_priors

Array = NDArray[np.float64]

LINKED: dict[str, tuple[tuple[str, float], ...]] = {
    # quantity: (other, correlation of their normal scores): science-values: respiration goes with the bloom,
    # the bed's share against it, the debts with the bed's demand and with the days without oxygen
    "water_respiration": (("chlorophyll", 0.6),),
    "sediment_demand": (("chlorophyll", -0.3),),
    "debt_a": (("sediment_demand", 0.5), ("days_anoxic", 0.4)),
    "debt_b": (("sediment_demand", 0.5), ("days_anoxic", 0.4)),
    "debt_c": (("sediment_demand", 0.5), ("days_anoxic", 0.4)),
    "reduced_flux": (("sediment_demand", 0.5),),
}
WEATHER_LASTING = ("weather_warmth", "weather_wind", "weather_clearness")
START = (
    "start_upper", "start_lower", "start_depth", "start_oxygen", "start_oxycline", "start_ph",
    "start_ammonia", "start_sulphide", "start_gradient", *WEATHER_LASTING,
)  # fmt: skip
"""Scores of the water ten days before the first reading, about that reading, and of the weather that lasts."""


@cache
def score_names() -> tuple[str, ...]:
    """Return what each score stands for: the priors by name, then the start."""
    return (*sorted(table_of_priors()), *START)


def rows_of(names: tuple[str, ...]) -> list[int]:
    """Return where some scores stand."""
    every = score_names()
    return [every.index(name) for name in names]


def draw_scores(members: int, seed: int) -> Array:
    """Return standard normal scores (scores, members), by Latin hypercube; another seed, fresh ones."""
    # slow to load: no page or command that draws no ponds should wait for it
    from scipy.stats import qmc

    sampler = qmc.LatinHypercube(d=len(score_names()), rng=np.random.default_rng(seed))
    return np.ascontiguousarray(ndtri(sampler.random(members)).T)


def draws_of(scores: Array) -> dict[str, Array]:
    """Return the quantities that scores (scores, members) stand for, with the links of `LINKED`.

    The scores of the start are returned as they are, standard normal.
    """
    priors = table_of_priors()
    linked = dict(zip(score_names(), scores, strict=True))
    for name, links in LINKED.items():
        rest = 1.0 - sum(weight**2 for _, weight in links)
        linked[name] = np.sqrt(rest) * linked[name] + sum(weight * linked[other] for other, weight in links)
    return {
        name: values if name in START else priors[name].quantile(ndtr(values))
        for name, values in linked.items()
    }


def draw_priors(members: int, seed: int) -> dict[str, Array]:
    """Return `members` draws of every prior; the same seed gives the same draws."""
    return draws_of(draw_scores(members, seed))
