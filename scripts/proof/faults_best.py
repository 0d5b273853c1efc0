"""The best that anyone could say of a visit: an observer who knows the foreign line's solver, faults and their odds.

Every cause, place and severity of the truth is enumerated and solved by the truth's own solver. What is not known of
the line enters through the truth's own slopes at each of them, level and gauge errors as they are drawn; a boil's
chance is the share of the line's neighbours in which that diffuser bubbles.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import logsumexp
from scripts.proof.faults_visits import FLOWING_KG_S, STAFF_MARK_M, UNIFORMS, Seen, Visit
from tests.truth import airline_faults as truth

Array = NDArray[np.float64]

LEVEL_SD_M = float(np.hypot(truth.LEVEL_SD, STAFF_MARK_M / np.sqrt(12.0)))


@dataclass(frozen=True)
class Catalogue:
    """Every fault of a line, solved.

    Attributes:
        causes: name of the cause of each entry.
        number: of the entry's kind among the kinds of the truth.
        share: of its kind.
        gauges_pa: of each setting (all as set, then each branch alone) and place (entries, settings, places).
        slopes_pa: of the same, for one standard deviation of each thing not known (entries, settings, places, things).
        bubbling: chance that each diffuser bubbles, all as set (entries, branches).
        staff_m: how far the staff gauge is off.
    """

    causes: NDArray[np.str_]
    number: NDArray[np.int64]
    share: Array
    gauges_pa: Array
    slopes_pa: Array
    bubbling: Array
    staff_m: Array


def catalogue(line: truth.World, seed: int, fineness: float = 1.0) -> Catalogue:
    """Enumerate and solve every fault of a line: with and without the level read, for both have their own kinds.

    Args:
        line: the sound line.
        seed: of the numbers beside the severity, such as where in a pipe a hole lies.
        fineness: share of the severities of the full enumeration.
    """
    generator = np.random.default_rng(seed)
    found = every_kind(line)
    rows = []
    for number, kind in enumerate(found):
        draws = max(round(fineness * kind.draws), min(kind.draws, 4))
        for k in range(draws):
            u = generator.random(UNIFORMS)
            u[0] = (k + 0.5) / draws
            rows.append((kind.cause, number, 1.0 / draws, *_solved(line, kind, u)))
    causes, numbers, share, gauges_pa, slopes_pa, bubbling, staff_m = zip(*rows, strict=True)
    return Catalogue(
        np.array(causes),
        np.array(numbers),
        np.array(share),
        np.array(gauges_pa),
        np.array(slopes_pa),
        np.array(bubbling),
        np.array(staff_m),
    )


def every_kind(line: truth.World) -> tuple[truth.Kind, ...]:
    """Return the kinds of both sorts of visit."""
    read = truth.kinds(line, level_read=True)
    return (*read, *(kind for kind in truth.kinds(line, level_read=False) if kind.cause == truth.LOW))


def _solved(line: truth.World, kind: truth.Kind, u: Array) -> tuple[Array, Array, Array, float]:
    count, things = len(line.branches), truth.unknowns(line)
    settings: list[int | None] = [None, *range(count)]

    def shown(z: Array) -> tuple[Array, Array, float]:
        world = truth.unsure(line, z)
        kind.change(world, u)
        answers = [world.shown(alone) for alone in settings]
        return np.array([gauges for gauges, _ in answers]), answers[0][1] > FLOWING_KG_S, world.staff_off

    base, bubbling, staff_m = shown(np.zeros(things))
    slopes = np.empty((*base.shape, things))
    seen = [bubbling]
    for thing in range(things):
        moved, alive, _ = shown(np.eye(things)[thing])
        slopes[..., thing] = moved - base
        seen.append(alive)
    return base, slopes, 0.5 * bubbling + 0.5 * np.mean(seen, axis=0), staff_m


class Best:
    """The observer at one kind of visit to one line."""

    def __init__(self, line: truth.World, found: Catalogue, visit: Visit) -> None:
        self.visit = visit
        kinds = every_kind(line)
        allowed = truth.kinds(line, level_read=visit.level_read)
        odds = dict(zip(((k.cause, k.place) for k in allowed), _sums(allowed), strict=False))
        keys = [(kind.cause, kind.place) for kind in kinds]
        # kinds of one cause and place (both staff and swaps have several) share what their place has in sum
        many = {key: keys.count(key) for key in keys}
        of_kind = np.array([odds.get(key, 0.0) / many[key] for key in keys])
        prior = of_kind[found.number] * found.share
        self.rows = np.flatnonzero(prior > 0.0)
        self.log_prior = np.log(prior[self.rows] / prior.sum())
        self.causes = found.causes[self.rows]
        setting = [0 if alone is None else 1 + alone for alone, _ in visit.looks]
        place = [place for _, place in visit.looks]
        means = found.gauges_pa[self.rows][:, setting, place]
        slopes = found.slopes_pa[self.rows][:, setting, place]
        noise = np.full(len(setting), truth.GAUGE_SD**2)
        if visit.level_read:
            # the staff gauge is one more reading, in metres, of the fourth thing not known
            means = np.concatenate([means, found.staff_m[self.rows, None]], axis=1)
            level = np.zeros((len(self.rows), 1, slopes.shape[2]))
            level[:, 0, 3] = truth.LEVEL_SPREAD
            slopes = np.concatenate([slopes, level], axis=1)
            noise = np.append(noise, LEVEL_SD_M**2)
        self.means = means
        whole = slopes @ slopes.transpose(0, 2, 1) + np.diag(noise)
        self.inverse = np.linalg.inv(np.linalg.cholesky(whole))
        self.log_width = -np.log(np.diagonal(self.inverse, axis1=1, axis2=2)).sum(axis=1)
        self.bubbling = found.bubbling[self.rows]

    def odds(self, seen: Seen) -> dict[str, float]:
        """Return the probability of each cause after a visit."""
        read = seen.gauges_pa if seen.level_m is None else np.append(seen.gauges_pa, seen.level_m)
        white = np.einsum("rij,rj->ri", self.inverse, read - self.means)
        log_weight = self.log_prior - 0.5 * (white**2).sum(axis=1) - self.log_width
        if seen.boils is not None:
            as_seen = np.where(seen.boils, self.bubbling, 1.0 - self.bubbling)
            chance = truth.BOIL_SEEN * as_seen + (1.0 - truth.BOIL_SEEN) * (1.0 - as_seen)
            log_weight = log_weight + np.log(chance).sum(axis=1)
        weight = np.exp(log_weight - logsumexp(log_weight))
        return {str(cause): float(weight[self.causes == cause].sum()) for cause in np.unique(self.causes)}


def _sums(kinds: tuple[truth.Kind, ...]) -> Array:
    """Return for each kind the odds of all kinds of its cause and place together."""
    odds = truth.odds_of(kinds)
    keys = [(kind.cause, kind.place) for kind in kinds]
    return np.array([sum(p for p, other in zip(odds, keys, strict=True) if other == key) for key in keys])
