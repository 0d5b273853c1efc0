"""The manifold and the places together: the least line in all that serves as well.

The places that serve best come first (choose.py). Among all sets of places that serve no less and whose mean way is
at most 2 % longer, and all places where the manifold may stand, the pair with the least line is sought.
Equation: minimise t(m) + Σᵢ d(m, i) over manifold m and places i, t the trunk in metres of branch, while
Σⱼ vⱼ minᵢ d(i, j) ≤ 1.02 of its least, the water lifted and the water served are no less, and the spacing is kept.
Exact where all sets can be gone through; else one or two places at a time are exchanged until none helps.
Source: what two places gain together is no more than the sum of what each gains, the bound by which sets are left
out unlooked at: Cornuéjols, Fisher & Nemhauser 1977, Manage. Sci. 23:789 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np

from plumeline.stages.layout.choose import Choice, Task, cost

LONGER_FRACTION = 0.02
"""What the mean way to a diffuser may grow by for a shorter line: less than the place of a cell says. Judgement."""
EXACT_SETS = 40_000
CHUNK = 256
NEARLY = 1e-9
LEAST_GAIN_M = 0.01


@dataclass(frozen=True, eq=False)
class Lines:
    """What the lines come to from each place where the manifold may stand, in metres.

    Attributes:
        branch_m: for every slot the way of its branch to each candidate, (manifolds, candidates).
        fixed_m: ways to all diffusers that have their places already, (manifolds).
        trunk_m: the trunk in metres of branch, (manifolds); zeros where its start is not known.
    """

    branch_m: tuple[np.ndarray, ...]
    fixed_m: np.ndarray
    trunk_m: np.ndarray

    def branches_m(self, candidates: dict[int, int]) -> np.ndarray:
        """Return the branches of some slots to their candidates in all, (manifolds)."""
        none = np.zeros(len(self.fixed_m))
        return sum((self.branch_m[slot][:, one] for slot, one in candidates.items()), none)

    def best(self, candidates: tuple[int, ...]) -> tuple[int, float]:
        """Return the manifold with the least line to a set of candidates, and that line."""
        total = self.fixed_m + self.trunk_m + self.branches_m(dict(enumerate(candidates)))
        best = int(np.argmin(total))
        return best, float(total[best])


@dataclass(frozen=True, eq=False)
class Serving:
    """What plumes can serve, as volume a turnover.

    Attributes:
        can_m3: of each slot at each candidate, (slots, candidates).
        fixed_can_m3: of each diffuser that has its place already, (fixed).
        fixed_way_m: way from each of those to each part of the water, (fixed, parts).
    """

    can_m3: np.ndarray
    fixed_can_m3: np.ndarray
    fixed_way_m: np.ndarray


@dataclass(frozen=True)
class Joint:
    """Candidates and manifold that were found, and how.

    Attributes:
        candidates: one a slot.
        manifold_index: of the places where it may stand.
        line_m: least line of these, the trunk in metres of branch.
        cost_m4: Σ v·way of these.
        line_before_m: least line with the places that serve best.
        cost_before_m4: Σ v·way of those.
        round_count: rounds of exchange; in the last nothing helped any more.
    """

    candidates: tuple[int, ...]
    manifold_index: int
    line_m: float
    cost_m4: float
    line_before_m: float
    cost_before_m4: float
    round_count: int


@dataclass(frozen=True)
class _Limits:
    cost_m4: float
    can_m3: float
    served_m3: float


def choose_together(task: Task, lines: Lines, serving: Serving, first: Choice) -> Joint:
    """Return places and manifold with the least line in all, starting from the places that serve best."""
    before_m = line_m = lines.best(first.candidates)[1]
    chosen_candidates, rounds = first.candidates, 1
    limits = _limits(task, serving, first)
    free = [slot for slot, found in enumerate(task.slot_candidates) if len(found) > 1]
    groups = _groups(task, free) if first.spaced else []
    while True:
        found = [
            _shorter(task, lines, serving, limits, chosen_candidates, group_index, line_m)
            for group_index in groups
        ]
        better = [one for one in found if one is not None]
        if not better:
            break
        line_m, chosen_candidates = min(better)
        rounds += 1
    return Joint(
        chosen_candidates,
        lines.best(chosen_candidates)[0],
        line_m,
        cost(task, chosen_candidates),
        before_m,
        first.cost_m4,
        rounds,
    )


def _groups(task: Task, free: list[int]) -> list[tuple[int, ...]]:
    """Return the slots that are moved at once: all of them where every set can be gone through, else each pair."""
    count = np.prod([float(len(task.slot_candidates[slot])) for slot in free])
    if len(free) <= 2 or count <= EXACT_SETS:
        return [tuple(free)] if free else []
    return list(combinations(free, 2))


def _limits(task: Task, serving: Serving, first: Choice) -> _Limits:
    sets = np.array([first.candidates], dtype=int)
    can_m3 = min(float(_can(serving, sets)[0]), float(task.volume_m3.sum()))
    served_m3 = float(_served(task, serving, sets)[0])
    return _Limits(
        first.cost_m4 * (1.0 + LONGER_FRACTION), can_m3 * (1.0 - NEARLY), served_m3 * (1.0 - NEARLY)
    )


def _shorter(
    task: Task,
    lines: Lines,
    serving: Serving,
    limits: _Limits,
    chosen_candidates: tuple[int, ...],
    group_index: tuple[int, ...],
    line_m: float,
) -> tuple[float, tuple[int, ...]] | None:
    """Return the least line with the places of a group of slots moved, and the set; None where none is shorter."""
    stay = {slot: candidate for slot, candidate in enumerate(chosen_candidates) if slot not in group_index}
    other_indices = list(stay.values())
    lists = [task.slot_candidates[slot] for slot in group_index]
    moved = np.stack([one.ravel() for one in np.meshgrid(*lists, indexing="ij")], axis=1)
    moved = moved[
        _apart(task, moved, other_indices)
        & (_least_cost(task, lists, moved, other_indices) <= limits.cost_m4)
    ]
    base = lines.fixed_m + lines.trunk_m + lines.branches_m(stay)
    branch = [lines.branch_m[slot] for slot in group_index]
    total = np.full(len(moved), np.inf)
    least_m = base + sum(one[:, found].min(axis=1) for one, found in zip(branch, lists, strict=True))
    for manifold in np.flatnonzero(least_m < line_m):
        line = sum(one[manifold, moved[:, column]] for column, one in enumerate(branch))
        np.minimum(total, line + base[manifold], out=total)
    order = np.argsort(total, kind="stable")
    order = order[total[order] < line_m - LEAST_GAIN_M]
    for start in range(0, len(order), CHUNK):
        part = order[start : start + CHUNK]
        sets = np.tile(np.array(chosen_candidates, dtype=int), (len(part), 1))
        sets[:, list(group_index)] = moved[part]
        good = np.flatnonzero(_holds(task, serving, limits, sets))
        if len(good):
            return float(total[part[good[0]]]), tuple(int(one) for one in sets[good[0]])
    return None


def _apart(task: Task, moved: np.ndarray, other_indices: list[int]) -> np.ndarray:
    """Return which sets (k, slots) keep the spacing, among themselves and from the others."""
    keep = (task.fixed_apart_m[moved] >= task.spacing_m).all(axis=1)
    if other_indices:
        near = task.apart_m[:, other_indices].min(axis=1)
        keep &= (near[moved] >= task.spacing_m).all(axis=1)
    for one, other in combinations(range(moved.shape[1]), 2):
        keep &= task.apart_m[moved[:, one], moved[:, other]] >= task.spacing_m
    return np.asarray(keep)


def _least_cost(
    task: Task, lists: list[np.ndarray], moved: np.ndarray, other_indices: list[int]
) -> np.ndarray:
    """Return what Σ v·way of each set can't be under: no set gains more than the sum of its places' gains."""
    way = np.minimum(task.fixed_way_m, task.way_m[other_indices].min(axis=0, initial=np.inf))
    without = float(way @ task.volume_m3)
    if not np.isfinite(without):
        return np.zeros(len(moved))
    gain = np.zeros(len(task.way_m))
    every = np.unique(np.concatenate(lists))
    gain[every] = without - np.minimum(way, task.way_m[every]) @ task.volume_m3
    return np.asarray(without - gain[moved].sum(axis=1))


def _holds(task: Task, serving: Serving, limits: _Limits, sets: np.ndarray) -> np.ndarray:
    """Return which sets (k, slots) have the mean way, the water lifted and the water served that are asked for."""
    good = _can(serving, sets) >= limits.can_m3
    ways = np.minimum(task.fixed_way_m, task.way_m[sets[good]].min(axis=1))
    good[good] = ways @ task.volume_m3 <= limits.cost_m4
    good[good] = _served(task, serving, sets[good]) >= limits.served_m3
    return np.asarray(good)


def _can(serving: Serving, sets: np.ndarray) -> np.ndarray:
    slots = np.arange(sets.shape[1])
    return np.asarray(serving.can_m3[slots, sets].sum(axis=1) + serving.fixed_can_m3.sum())


def _served(task: Task, serving: Serving, sets: np.ndarray) -> np.ndarray:
    """Return the water that each set turns over, every part by its nearest diffuser, no more than that one can."""
    k, slots = sets.shape
    fixed = np.broadcast_to(serving.fixed_way_m, (k, *serving.fixed_way_m.shape))
    nearest = np.argmin(np.concatenate([task.way_m[sets], fixed], axis=1), axis=1)
    served = np.zeros(k)
    for slot in range(slots + len(serving.fixed_can_m3)):
        owned = (nearest == slot) @ task.volume_m3
        can = serving.can_m3[slot, sets[:, slot]] if slot < slots else serving.fixed_can_m3[slot - slots]
        served += np.minimum(owned, can)
    return served
