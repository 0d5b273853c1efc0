"""The volume's error and that of a sounding, from the surfaces that were weighed."""

from __future__ import annotations

import numpy as np
from scipy.special import ndtr

from plumeline.stages.survey import Survey
from plumeline.stages.survey.depths import SYSTEMATIC_FRACTION
from plumeline.stages.survey.result import VolumeCases
from plumeline.stages.survey.weighing import ERRORS, READING_ERROR_M
from plumeline.workings.value import Value, balance, plain_constant, relation, summed

WRITTEN = 12
"""How many of the likeliest surfaces are written out one by one."""
SOURCE = (
    "Rasmussen & Williams 2006, Gaussian Processes for Machine Learning, eq. 2.30 and 4.17; O'Hagan 1991, J. Stat. "
    "Plan. Inference 29:245"
)


def _case_words(cases: VolumeCases) -> str:
    return f"{len(cases.weight_fraction)} surfaces, each weighed by how well it explains the soundings"


def _mean(cases: VolumeCases) -> Value:
    number = float((cases.weight_fraction * cases.volume_m3).sum())
    return summed("mean volume of the surfaces weighed", number, "m3", _case_words(cases))


def standard_error(found: Survey) -> Value | None:
    """Return the volume's standard error: what each surface leaves open, and how far the surfaces lie apart."""
    cases = found.volume_cases
    if cases is None:
        return None
    weight, centre = cases.weight_fraction, _mean(cases).number
    within = float(np.sqrt((weight * cases.volume_se_m3**2).sum()))
    between = float(np.sqrt((weight * (cases.volume_m3 - centre) ** 2).sum()))
    return relation(
        "standard error of the volume", found.volume_se_m3, "m3", "sqrt(a^2 + b^2)",
        {"a": summed("error that each surface leaves", within, "m3",
                     f"root mean square over {_case_words(cases)}; {100 * SYSTEMATIC_FRACTION:g} % of the volume "
                     "in it for the sounder's scale, which no number of soundings takes away (judgement)"),
         "b": summed("standard deviation of the surfaces' volumes", between, "m3", _case_words(cases))},
        source=SOURCE,
    )  # fmt: skip


def band_values(found: Survey, volume: Value) -> tuple[Value, Value] | None:
    """Return both ends of the volume's 90 % band; None where it does not come from soundings."""
    cases = found.volume_cases
    if cases is None:
        return None
    centre = _mean(cases)
    ends = (
        ("low end of the volume", found.volume_p05_m3, 0.05),
        ("high end of the volume", found.volume_p95_m3, 0.95),
    )
    low, high = (
        relation(
            name, number, "m3", "max(V + q - c, 0)",
            {"V": volume, "q": _point(cases, number - volume.number + centre.number, part), "c": centre},
            words="the volume, moved as far as the point of the mixture lies from its mean", source=SOURCE,
        )
        for name, number, part in ends
    )  # fmt: skip
    return low, high


def _point(cases: VolumeCases, point_m3: float, part_fraction: float) -> Value:
    """Return a point of the mixture, by its balance: so much of the weight lies below it."""
    weight, mean, se = cases.weight_fraction, cases.volume_m3, cases.volume_se_m3
    first = np.argsort(weight)[::-1][:WRITTEN]
    terms: dict[str, Value] = {"q": summed("point of the mixture", point_m3, "m3", "found by bisection")}
    parts = []
    rest = np.ones(len(weight), dtype=bool)
    rest[first] = False
    for k, i in enumerate(first, start=1):
        terms |= {
            f"w{k}": summed(f"weight of surface {k}", float(weight[i]), "", "marginal likelihood and prior"),
            f"m{k}": summed(f"volume of surface {k}", float(mean[i]), "m3", "integral of the Gaussian process"),
            f"s{k}": summed(f"error of surface {k}", float(se[i]), "m3", "what the soundings leave open"),
        }  # fmt: skip
        parts.append(f"w{k} * normal((q - m{k}) / s{k})")
    total = relation_share(weight[rest], mean[rest], se[rest], point_m3)
    terms["r"] = summed(
        "share of all other surfaces", total, "", f"the same sum over {int(rest.sum())} more surfaces"
    )
    return balance(
        f"{100 * part_fraction:g} % point of the surfaces weighed", point_m3, "m3", " + ".join([*parts, "r"]), terms,
        plain_constant("part of the weight below", part_fraction, "", "the end of a 90 % band"),
        shown_formula="Σ w · normal((q − m) / s) over all surfaces, the likeliest written out", source=SOURCE,
    )  # fmt: skip


def relation_share(weight: np.ndarray, mean_m3: np.ndarray, se_m3: np.ndarray, point_m3: float) -> float:
    """Return the weight below a point, of normal distributions of shape (n,) each."""
    return float((weight * ndtr((point_m3 - mean_m3) / se_m3)).sum())


def reading_error(found: Survey) -> Value | None:
    """Return the error of one sounding: the mean of the errors tried, each by the weight of its surfaces."""
    cases = found.volume_cases
    if cases is None or found.reading_error_m is None:
        return None
    terms: dict[str, Value] = {}
    parts = []
    for k, error_m in enumerate(ERRORS, start=1):
        weight = float(cases.weight_fraction[np.isclose(cases.error_m, error_m)].sum())
        terms[f"e{k}"] = plain_constant(
            f"error tried, {k}", float(error_m), "m", f"a grid about {READING_ERROR_M} m"
        )
        terms[f"w{k}"] = summed(f"weight of error {k}", weight, "", f"of {_case_words(cases)}")
        parts.append(f"w{k} * e{k}")
    return relation(
        "error of one sounding", found.reading_error_m, "m", " + ".join(parts), terms,
        shown_formula="Σ weight × error over the errors tried", source=SOURCE,
        words="found in the soundings themselves: how far they lie from a smooth bottom",
    )  # fmt: skip
