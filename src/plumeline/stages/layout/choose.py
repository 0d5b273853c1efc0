"""Which places: the least volume-weighted way through the water, by greedy choice and exchange.

The greedy choice is made from many starts, and each is bettered by single exchanges until none helps.
Equation: minimise Σⱼ vⱼ minᵢ d(i, j) over one candidate a slot, no two closer than the spacing.
Source: the p-median (Hakimi 1964, Oper. Res. 12:450); exchange of Teitz & Bart 1968, Oper. Res. 16:955.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

STARTS = 24


@dataclass(frozen=True, eq=False)
class Task:
    """What is to be chosen.

    Attributes:
        slot_candidates: for every diffuser to place, the indices of its candidates.
        way_m: way from each candidate to each part of the water, (candidates, parts).
        volume_m3: volume of each part, (parts).
        fixed_way_m: way from the nearest diffuser that already has its place, (parts); infinite without one.
        apart_m: straight distances between candidates, (candidates, candidates).
        fixed_apart_m: straight distance of each candidate from the nearest placed diffuser, (candidates).
        spacing_m: least distance between two diffusers.
    """

    slot_candidates: tuple[np.ndarray, ...]
    way_m: np.ndarray
    volume_m3: np.ndarray
    fixed_way_m: np.ndarray
    apart_m: np.ndarray
    fixed_apart_m: np.ndarray
    spacing_m: float


@dataclass(frozen=True)
class Choice:
    """Candidates chosen, one a slot, their cost in m³·m, and whether the spacing could be kept."""

    candidates: tuple[int, ...]
    cost_m4: float
    spaced: bool


def cost(task: Task, candidates: tuple[int, ...]) -> float:
    """Return Σ v·way of a set of candidates in m⁴."""
    way = np.minimum(task.fixed_way_m, task.way_m[list(candidates)].min(axis=0, initial=np.inf))
    return float(way @ task.volume_m3)


def choose(task: Task) -> Choice:
    """Return the best set found from several starts; exact for a single slot."""
    if not task.slot_candidates:
        return Choice((), cost(task, ()), True)
    order = sorted(range(len(task.slot_candidates)), key=lambda slot: len(task.slot_candidates[slot]))
    widest = task.slot_candidates[order[-1]]
    starts = widest[np.unique(np.linspace(0, len(widest) - 1, STARTS).astype(int))]
    found = [_exchange(task, _greedy(task, order, None))]
    found += [_exchange(task, _greedy(task, order, int(start))) for start in starts]
    return min(found, key=lambda choice: (not choice.spaced, choice.cost_m4))


def _allowed(task: Task, slot_index: int, other_indices: list[int]) -> np.ndarray:
    candidates = task.slot_candidates[slot_index]
    near = task.fixed_apart_m[candidates]
    if other_indices:
        near = np.minimum(near, task.apart_m[np.ix_(candidates, np.array(other_indices))].min(axis=1))
    return np.asarray(candidates[near >= task.spacing_m])


def _best(task: Task, candidates: np.ndarray, other_indices: list[int]) -> tuple[int, float]:
    way = np.minimum(task.fixed_way_m, task.way_m[other_indices].min(axis=0, initial=np.inf))
    costs = np.minimum(way, task.way_m[candidates]) @ task.volume_m3
    best = int(np.argmin(costs))
    return int(candidates[best]), float(costs[best])


def _greedy(task: Task, order: list[int], start: int | None) -> tuple[list[int], bool]:
    """Return one candidate a slot; ``start`` is taken for the slot that has most candidates."""
    chosen: dict[int, int] = {} if start is None else {order[-1]: start}
    spaced = True
    for slot in order:
        if slot in chosen:
            continue
        other_indices = list(chosen.values())
        allowed = _allowed(task, slot, other_indices)
        if not len(allowed):
            spaced = False
            allowed = task.slot_candidates[slot]
        chosen[slot] = _best(task, allowed, other_indices)[0]
    return [chosen[slot] for slot in range(len(task.slot_candidates))], spaced


def _exchange(task: Task, first: tuple[list[int], bool]) -> Choice:
    """Return the set after single exchanges, until none helps."""
    chosen, spaced = first
    value = cost(task, tuple(chosen))
    while spaced:
        best = (value, -1, -1)
        for slot in range(len(chosen)):
            other_indices = chosen[:slot] + chosen[slot + 1 :]
            allowed = _allowed(task, slot, other_indices)
            if len(allowed):
                candidate, cost_m4 = _best(task, allowed, other_indices)
                if cost_m4 < best[0] * (1 - 1e-9):
                    best = (cost_m4, slot, candidate)
        if best[1] < 0:
            break
        value, chosen[best[1]] = best[0], best[2]
    start_kept = _kept_apart(task, chosen)
    return Choice(tuple(chosen), value, spaced and start_kept)


def _kept_apart(task: Task, chosen_indices: list[int]) -> bool:
    apart = task.apart_m[np.ix_(np.array(chosen_indices), np.array(chosen_indices))] + np.diag(
        np.full(len(chosen_indices), np.inf)
    )
    return bool(min(apart.min(), task.fixed_apart_m[chosen_indices].min()) >= task.spacing_m)
