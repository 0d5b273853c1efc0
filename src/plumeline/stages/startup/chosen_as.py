"""How a schedule came to be the plan."""

from __future__ import annotations

from enum import StrEnum


class ChosenAs(StrEnum):
    """How a schedule came to be the plan."""

    LEAST_EFFORT = "least effort"
    """Of those that keep what is accepted on the search ponds, the one of least effort."""
    SECOND_TRY = "second try"
    """The same with its riskiest day in two steps: the first just missed the promise on the fresh ponds."""
    FEWEST_LOST = "fewest lost"
    """None keeps what is accepted on the search ponds: of those alike with the safest, the one of least effort."""
    CAUTIOUS_RULE = "cautious rule"
    """The readings leave too few ponds to state a risk, so nothing that was searched is used."""


def chosen_as(*, stated: bool, tried_again: bool, kept: bool) -> ChosenAs:
    """Return how the schedule came to be chosen; `kept` is of the search ponds."""
    if not stated:
        return ChosenAs.CAUTIOUS_RULE
    if tried_again:
        return ChosenAs.SECOND_TRY
    return ChosenAs.LEAST_EFFORT if kept else ChosenAs.FEWEST_LOST
