"""Schedules of near-equal risk: where no count tells them apart, the one that asks for least effort is taken.

When no schedule keeps the promise, the one of fewest losses is often a slow ladder that came out a pond or two
ahead by chance. Schedules are compared on the same ponds, so what they lose alike cancels, and only the ponds that
one loses and the other keeps speak. Where those differ by no more than their own sampling error, or by no more than
half of what the owner accepts, visits and days decide; a schedule that does not complete is passed over for one
that does.
"""

from __future__ import annotations

from collections.abc import Sequence

from plumeline.stages.startup.promise import Outcome, effort


def safety(outcome: Outcome) -> tuple[float, float, float, int, float, int]:
    """Return what ranks schedules by their share of losses, then by effort."""
    return (outcome.failures / outcome.members, *effort(outcome))


def no_worse(outcome: Outcome, least: Outcome, allowed_fraction: float = 0.0) -> bool:
    """Return whether a schedule loses no more than another by more than one standard error of the paired counts.

    Both are judged in the same ponds in the same order, one perhaps in more of them. Of b ponds that only the one
    loses and c that only the other loses the difference has the standard error sqrt(b + c) (McNemar 1947).

    Args:
        outcome: the schedule in question.
        least: the one of fewest losses.
        allowed_fraction: part of the members by which it may lose more all the same.
    """
    count = min(outcome.members, least.members)
    ours, theirs = outcome.lost[:count], least.lost[:count]
    worse, better = int((ours & ~theirs).sum()), int((theirs & ~ours).sum())
    more = worse - better
    return more <= allowed_fraction * count or more**2 <= worse + better


def near_least(outcomes: Sequence[Outcome], allowed_fraction: float = 0.0) -> list[Outcome]:
    """Return the schedules no worse than the one of fewest losses, that one among them, by effort."""
    least = min(outcomes, key=safety)
    return sorted((o for o in outcomes if no_worse(o, least, allowed_fraction)), key=effort)


def promptest(outcomes: Sequence[Outcome], allowed_fraction: float = 0.0) -> Outcome:
    """Return of the schedules that are no worse than the safest the one of least effort."""
    return near_least(outcomes, allowed_fraction)[0]
