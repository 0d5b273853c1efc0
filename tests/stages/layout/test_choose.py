"""The choice of places against every combination, and against the bound of an integer programme."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import lil_matrix
from scipy.spatial.distance import cdist

from plumeline.stages.layout.choose import Task, choose, cost


def task_of(rng: np.random.Generator, candidates: int, parts: int, slots: int, spacing_m: float) -> Task:
    place, part = rng.uniform(0, 100, (candidates, 2)), rng.uniform(0, 100, (parts, 2))
    every = np.arange(candidates)
    return Task(
        slot_candidates=tuple(every for _ in range(slots)),
        way_m=cdist(place, part),
        volume_m3=rng.lognormal(3.0, 0.7, parts),
        fixed_way_m=np.full(parts, np.inf),
        apart_m=cdist(place, place),
        fixed_apart_m=np.full(candidates, np.inf),
        spacing_m=spacing_m,
    )


def brute_force(task: Task, slots: int) -> float:
    best = np.inf
    for chosen in combinations(range(len(task.way_m)), slots):
        apart = min((task.apart_m[a, b] for a, b in combinations(chosen, 2)), default=np.inf)
        if apart >= task.spacing_m:
            best = min(best, cost(task, chosen))
    return best


@pytest.mark.parametrize("slots", [1, 2, 3])
@pytest.mark.parametrize("seed", range(8))
def test_choice_is_the_best_of_every_combination(slots: int, seed: int) -> None:
    """Sixteen candidates: the same cost as trying all of them (within 0.1 %)."""
    task = task_of(np.random.default_rng(seed), 16, 40, slots, 15.0)
    got = choose(task)
    assert got.spaced
    assert got.cost_m4 == pytest.approx(brute_force(task, slots), rel=1e-3)


def milp_bound(task: Task, slots: int) -> float:
    """The p-median of the same table as a 0/1 programme (ReVelle & Swain 1970, Geogr. Anal. 2:30)."""
    n, m = task.way_m.shape
    objective = np.concatenate([np.zeros(n), (task.way_m * task.volume_m3).ravel()])
    rows = lil_matrix((m + n * m + 1, n + n * m))
    low, high = np.zeros(m + n * m + 1), np.zeros(m + n * m + 1)
    for j in range(m):
        for i in range(n):
            rows[j, n + i * m + j] = 1.0
            rows[m + i * m + j, n + i * m + j] = 1.0
            rows[m + i * m + j, i] = -1.0
            low[m + i * m + j] = -np.inf
        low[j] = high[j] = 1.0
    rows[m + n * m, :n] = 1.0
    low[-1] = high[-1] = slots
    whole = np.concatenate([np.ones(n), np.zeros(n * m)])
    found = milp(
        objective,
        constraints=LinearConstraint(rows.tocsr(), low, high),
        integrality=whole,
        bounds=Bounds(0, 1),
    )
    assert found.success
    return float(found.fun)


@pytest.mark.parametrize("slots", [3, 5])
def test_choice_is_within_one_percent_of_the_integer_programme(slots: int) -> None:
    """Forty candidates, sixty parts, no spacing: scipy's HiGHS gives the exact optimum."""
    task = task_of(np.random.default_rng(11), 40, 60, slots, 0.0)
    bound = milp_bound(task, slots)
    got = choose(task)
    assert bound <= got.cost_m4 * (1 + 1e-9)
    assert got.cost_m4 <= 1.01 * bound


@given(seed=st.integers(0, 10_000), slots=st.integers(1, 5), spacing_m=st.floats(0.0, 60.0))
@settings(max_examples=40, deadline=None)
def test_spacing_is_kept_or_said_to_be_lost(seed: int, slots: int, spacing_m: float) -> None:
    """``spaced`` is true exactly when no two chosen places are closer than the spacing."""
    task = task_of(np.random.default_rng(seed), 25, 30, slots, spacing_m)
    got = choose(task)
    apart = min((task.apart_m[a, b] for a, b in combinations(got.candidates, 2)), default=np.inf)
    assert got.spaced == (apart >= spacing_m)


def test_placed_diffusers_keep_their_share() -> None:
    """A diffuser that already stands in the middle of the water sends the next one to the far part."""
    line = np.linspace(0, 100, 21)[:, None] * [1.0, 0.0]
    task = Task(
        slot_candidates=(np.arange(21),),
        way_m=cdist(line, line),
        volume_m3=np.ones(21),
        fixed_way_m=np.abs(line[:, 0] - 20.0),
        apart_m=cdist(line, line),
        fixed_apart_m=np.abs(line[:, 0] - 20.0),
        spacing_m=0.0,
    )
    assert 65.0 <= line[choose(task).candidates[0], 0] <= 80.0
