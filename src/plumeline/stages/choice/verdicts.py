"""The ranking, and why each loser lost: grouped, with its figure, the nearest alternatives shown."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from plumeline.stages.choice.life_cost import PARTS, LifeCost
from plumeline.stages.choice.result import Alternative, Combination, LoserGroup, Verdict
from plumeline.units import plain

CAUSES = {
    "voltage": "another voltage than the power named",
    "current": "more current than the circuit carries",
    "reach": "no air at this depth",
    "turnover": "too little water turned over",
    "air": "too little air for each diffuser",
    "pressure": "over the machine's pressure for all day",
    "relief": "too near its relief valve",
    "heat": "too hot at the discharge",
    "plastic": "too hot for the plastic behind",
    "duty": "not made to run so long",
    "too much air": "more air than a disc takes",
    "too little air": "less air than a disc needs to bubble evenly",
}
SAME_MONEY = 0.5
CHOSEN = "chosen"
NEXT_BEST_COUNT = 2


def ranked(combinations: Sequence[Combination]) -> list[Combination]:
    """Return those that work, the least life-cycle cost first; names decide between equal costs."""
    works = [one for one in combinations if not one.failures and one.cost is not None]
    return sorted(works, key=lambda one: (one.total_money, one.key))


def money(value_money: float, currency: str) -> str:
    """Return a sum of money, as "1,240 USD"."""
    return f"{plain(value_money, 0)} {currency}"


def dearer_words(one: LifeCost, winner: LifeCost, currency: str) -> str:
    """Return by what one costs more or less than another: the parts that matter, the greatest first."""
    extra = one.total_money - winner.total_money
    steps = [(part, one.part_money(part) - winner.part_money(part)) for part in PARTS]
    steps = [(part, step) for part, step in steps if abs(step) > max(SAME_MONEY, 0.02 * abs(extra))]
    steps.sort(key=lambda item: -abs(item[1]))
    told = ", ".join(
        f"{part} {money(abs(step), currency)} {'more' if step > 0 else 'less'}" for part, step in steps
    )
    by = f"{money(abs(extra), currency)} {'cheaper' if extra < 0.0 else 'dearer'}"
    return f"{by}: {told}" if told else by


def alternatives_of(
    order: Sequence[Combination], currency: str, subject: Combination | None = None
) -> tuple[Alternative, ...]:
    """Return the nearest combinations that work, each with why it is shown and what it costs more or less.

    Args:
        order: those that work, the cheapest first.
        currency: of the costs.
        subject: what they are told against; the cheapest when None.
    """
    if not order:
        return ()
    best = subject or order[0]
    others, machine = [one for one in order if one.key != best.key], best.key[:2]
    tests: list[tuple[str, Callable[[Combination], bool]]] = [
        ("another trunk", lambda one: one.key[:2] == machine and one.diffuser_count == best.diffuser_count),
        (
            "another number of diffusers",
            lambda one: one.key[:2] == machine and one.diffuser_count != best.diffuser_count,
        ),
        ("another compressor", lambda one: one.key[:2] != machine),
        ("quieter", lambda one: one.noise_dba < best.noise_dba - 2.0),
    ]  # fmt: skip
    found: list[tuple[str, Combination]] = []
    for why, wanted in tests:
        hit = next((one for one in others if wanted(one)), None)
        if hit is not None and all(hit.key != other.key for _, other in found):
            found.append((why, hit))
    rest = [one for one in others if all(one.key != other.key for _, other in found)]
    found += [("next in cost", one) for one in rest[:NEXT_BEST_COUNT]]
    found.sort(key=lambda item: (item[1].total_money, item[1].key))
    assert best.cost is not None
    return tuple(
        Alternative(why, one, one.total_money - best.total_money, dearer_words(one.cost, best.cost, currency))
        for why, one in found
        if one.cost is not None
    )


def verdicts_of(
    combinations: Sequence[Combination],
    order: Sequence[Combination],
    currency: str,
    subject: Combination | None = None,
) -> tuple[Verdict, ...]:
    """Return what became of each compressor, the best first: its cheapest combination, or its nearest miss.

    Args:
        combinations: all that were tried.
        order: those that work, the cheapest first.
        currency: of the costs.
        subject: what they are told against; the cheapest when None.
    """
    machines: dict[tuple[str, int], list[Combination]] = {}
    for one in combinations:
        machines.setdefault(one.key[:2], []).append(one)
    found = []
    for (machine, count), members in machines.items():
        works = [one for one in order if one.key[:2] == (machine, count)]
        if works:
            best, winner = works[0], subject or order[0]
            extra = best.total_money - winner.total_money
            assert best.cost is not None
            assert winner.cost is not None
            reason = CHOSEN if best.key == winner.key else dearer_words(best.cost, winner.cost, currency)
            found.append(Verdict(machine, count, best, True, extra, reason))
        else:
            near = min(members, key=nearness)
            found.append(Verdict(machine, count, near, False, None, near.failures[0].words))
    return tuple(
        sorted(
            found,
            key=lambda item: (
                not item.works,
                item.extra_money or 0.0,
                *nearness(item.best)[:2],
                item.machine,
            ),
        )
    )


def nearness(one: Combination) -> tuple[int, float, tuple[str, int, str, int]]:
    """Return how near a combination is to working: fewer failures first, then the smaller gap."""
    return len(one.failures), sum(failure.gap_number for failure in one.failures), one.key


def groups_of(combinations: Sequence[Combination]) -> tuple[LoserGroup, ...]:
    """Return those that can't be taken, grouped by their first cause, the largest group first."""
    groups: dict[str, list[Combination]] = {}
    for one in combinations:
        if one.failures:
            groups.setdefault(one.failures[0].code, []).append(one)
    found = []
    for code, members in groups.items():
        near = min(members, key=nearness)
        found.append(LoserGroup(code, CAUSES[code], len(members), near.words, near.failures[0].words))
    return tuple(sorted(found, key=lambda group: (-group.member_count, group.code)))
