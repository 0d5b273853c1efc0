"""How well each simulated pond agrees with what was read, smelt and seen: what it counts for."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import log_ndtr

from plumeline.job.document import Answer, Fish, SmellStrength
from plumeline.job.reading_names import capital, spoken
from plumeline.kernels import column_index as ix
from plumeline.notices import Notice, caution
from plumeline.stages.column.looks import ADDED, TELLING, Kind, Looks, meter_covariance, model_covariance
from plumeline.units import both

Array = NDArray[np.float64]

FREEDOM_NUMBER = 12.0
"""Beyond what errors of the size assumed explain, their size itself is in doubt: degrees of freedom that Student's law
has beside the count of numbers (judgement)."""
FAR_NUMBER = 3.0
"""Standard errors from the nearest pond of the priors at which a number is doubted."""
LIVED_MARGIN_FRACTION = 0.05
LIVED_ERROR_FRACTION = 0.15
FORGIVEN = {Answer.YES: 1.0, Answer.UNKNOWN: 0.3, Answer.NO: 0.05}
"""Chance that a pond which lost the refuge of the plan would have got this answer, beside one that kept it: the
plan's limits lie well over what kills (judgement)."""
GASPED_UNDER_MG_L = 4.0
UNLIKELY_GASP_FRACTION = 0.2
SMELLS_FROM_MG_L = {SmellStrength.STRONG: 0.3, SmellStrength.FAINT: 0.05}
"""Dissolved sulphide at which half of all noses say so of a sample (judgement)."""
NOSE_NUMBER = 1.2  # spread of that, in the logarithm


@dataclass(frozen=True)
class Ran:
    """Ponds that were run through the readings.

    Attributes:
        scores: (scores, ponds).
        seen: what each would have read (numbers, ponds).
        lost: whether each lost the fish's refuge before the last reading (ponds).
        least_fraction: least usable part of the volume (ponds).
        least_do_mg_l: least oxygen at 0.6 m (ponds).
        sulphide_mg_l: most dissolved sulphide of the water column at the last reading (ponds).
        layers: temperature and oxygen by layer at the hour of the latest profile (2, layers, ponds).
    """

    scores: Array
    seen: Array
    lost: NDArray[np.bool_]
    least_fraction: Array
    least_do_mg_l: Array
    sulphide_mg_l: Array
    layers: Array


@dataclass(frozen=True)
class Evidence:
    """What ponds are held against.

    Attributes:
        looks: the numbers that were read and that ponds are weighed by.
        row: where they stand among all numbers.
        root: lower root of the covariance of their errors and the model's together.
        fish: what was seen of the fish.
        smell: strongest smell of a sample, where sulphide was not read.
        volume_fraction: least usable part of the refuge.
    """

    looks: Looks
    row: NDArray[np.int64]
    root: Array
    fish: Fish
    smell: SmellStrength | None
    volume_fraction: float

    def distance(self, seen: Array) -> Array:
        """Return what each pond reads less what was read, whitened (numbers, ponds); bounds count one way."""
        off = seen[self.row] - self.looks.read[:, None]
        off = np.where(self.looks.censored[:, None], np.minimum(off, 0.0), off)
        return np.asarray(np.linalg.solve(self.root, off)) if len(off) else off

    def with_noise(self, noise: Array) -> Evidence:
        """Return the evidence with another covariance of error added (all numbers, all numbers)."""
        if not self.looks.count:
            return self
        own = noise[np.ix_(self.row, self.row)]
        return replace(self, root=np.asarray(np.linalg.cholesky(self.root @ self.root.T + own)))

    def without(self, out: NDArray[np.bool_]) -> Evidence:
        """Return the evidence without some of all numbers."""
        left = ~out[self.row]
        if left.all():
            return self
        covariance = (self.root @ self.root.T)[np.ix_(left, left)]
        root = np.asarray(np.linalg.cholesky(covariance)) if left.any() else np.zeros((0, 0))
        return replace(self, looks=self.looks.only(left), row=self.row[left], root=root)

    def fish_lived(self) -> bool:
        """Return whether nobody saw fish suffer and somebody looked."""
        answers = (self.fish.gasping_at_dawn, self.fish.kill_this_season)
        return Answer.YES not in answers and Answer.NO in answers

    def pull(self, ran: Ran) -> Array:
        """Return the distances that ponds are drawn toward: the numbers', and the refuge of fish that lived."""
        rows = self.distance(ran.seen)
        if not self.fish_lived():
            return rows
        short = ran.least_fraction - self.volume_fraction - LIVED_MARGIN_FRACTION
        return np.vstack([rows, np.minimum(short, 0.0) / LIVED_ERROR_FRACTION])

    def log_weight(self, ran: Ran) -> Array:
        """Return the log of what a pond counts for after the smoother: fish, nose, and what errors can't explain.

        The smoother has used the numbers. A pond that still lies farther from them than errors of the size
        assumed would explain counts less, as Student's law has it.
        """
        count = self.looks.count
        beyond = np.maximum((self.distance(ran.seen) ** 2).sum(axis=0) - count, 0.0)
        result = -0.5 * (FREEDOM_NUMBER + count) * np.log1p(beyond / (FREEDOM_NUMBER + count))
        return np.asarray(result + self._fish(ran) + self._nose(ran))

    def _fish(self, ran: Ran) -> Array:
        answers = (self.fish.gasping_at_dawn, self.fish.kill_this_season)
        # a fish that was seen to gasp does not contradict a lost refuge; fish that lived well nearly do
        forgiven = max(FORGIVEN[answer] for answer in answers)
        result = np.where(ran.lost, np.log(forgiven), 0.0)
        if self.fish.gasping_at_dawn is Answer.YES:
            quiet = ran.least_do_mg_l > GASPED_UNDER_MG_L
            result += np.where(quiet, np.log(UNLIKELY_GASP_FRACTION), 0.0)
        return np.asarray(result)

    def _nose(self, ran: Ran) -> Array:
        if self.smell is None:
            return np.zeros(len(ran.lost))
        amount = np.log(ran.sulphide_mg_l + 1e-3)
        strong, faint = (
            (amount - np.log(SMELLS_FROM_MG_L[s])) / NOSE_NUMBER
            for s in (SmellStrength.STRONG, SmellStrength.FAINT)
        )
        if self.smell is SmellStrength.STRONG:
            return np.asarray(log_ndtr(strong))
        if self.smell is SmellStrength.NONE:
            return np.asarray(log_ndtr(-faint))
        # neither none nor strong, and never quite excluded: a nose is no instrument
        between = np.exp(log_ndtr(faint)) - np.exp(log_ndtr(strong))
        return np.asarray(np.log(np.maximum(between, 0.02)))


def evidence_of(looks: Looks, fish: Fish, smell: SmellStrength | None, limits: Array) -> Evidence:
    """Return the evidence of numbers, fish and nose; `limits` are the refuge's (LIMITS)."""
    row = np.flatnonzero(looks.of(*TELLING))
    looks = looks.only(looks.of(*TELLING))
    covariance = meter_covariance(looks) + model_covariance(looks)
    root = np.asarray(np.linalg.cholesky(covariance)) if looks.count else np.zeros((0, 0))
    return Evidence(looks, row, root, fish, smell, float(limits[ix.LIMIT_VOLUME]))


def never_seen(
    evidence: Evidence, seen: Array, noise: Array
) -> tuple[NDArray[np.bool_], tuple[Notice, ...]]:  # fmt: skip
    """Return which of all numbers no pond of the priors came near, and say so.

    Where that is half of the numbers of a kind or more, it is the pond that is unlike its description and not
    the numbers that are wrong: none is left out.

    Args:
        evidence: what ponds are held against.
        seen: what ponds of the priors would have read (all numbers, ponds).
        noise: covariance of what unknown weather does to all numbers.
    """
    looks = evidence.looks
    out = np.zeros(len(seen), dtype=bool)
    if not looks.count:
        return out, ()
    error = np.sqrt(np.diag(evidence.root @ evidence.root.T) + np.diag(noise)[evidence.row])
    ponds = seen[evidence.row]
    nearest = np.abs(ponds - looks.read[:, None]).min(axis=1)
    far = (nearest > FAR_NUMBER * error) & ~looks.censored
    said: list[Notice] = []
    for kind in Kind:
        own = looks.kind_index == kind
        if not (far & own).any() or (far & own).sum() >= 0.5 * own.sum():
            continue
        for row in np.flatnonzero(far & own):
            out[evidence.row[row]] = True
            said.append(_said(looks, int(row), ponds[row]))
    return out, tuple(said)


def _said(looks: Looks, row: int, ponds: Array) -> Notice:
    kind = Kind(int(looks.kind_index[row]))
    added = ADDED.get(kind)
    values = np.array([looks.read[row], *np.quantile(ponds, (0.05, 0.95))])
    shown = np.exp(values) - added if added is not None else values
    unit = "degc" if kind is Kind.TEMPERATURE else ""
    read, low, high = (both(float(value), unit) if unit else f"{value:.1f}" for value in shown)
    text = (
        f"{capital(spoken(looks.names[int(looks.item_index[row])]))}: {kind.name.lower()} {read} at "
        f"{both(float(looks.depth_m[row]), 'm')}; none of {len(ponds)} simulated ponds comes near it ({low} to "
        f"{high}). It is left out; read it again."
    )
    return caution("reading-outlier", text)
