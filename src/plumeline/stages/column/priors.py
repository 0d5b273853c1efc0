"""Draws from the table of priors: seeded, spread evenly, and correlated where the science says so."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.stats import norm, qmc

from plumeline.sources.priors import table_of_priors

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
