"""The arms that need no planner: the trade's customs, fixed factors, 24 h at once, nothing, and the oracle's choice."""

from __future__ import annotations

from dataclasses import replace

from scripts.proof.crew import WHOLE_DAY_MIN, Orders, Step


def ladder(first_min: float, factor: float, most_d: int = 21) -> tuple[int, ...]:
    """Return minutes that grow by a factor a day until they are the whole day."""
    found: list[int] = []
    dose = float(first_min)
    while len(found) < most_d:
        found.append(WHOLE_DAY_MIN if dose > 1380 else max(5, 5 * round(dose / 5)))
        if found[-1] == WHOLE_DAY_MIN:
            break
        dose *= factor
    return tuple(found)


def by_hand(name: str, minutes: tuple[int, ...], *, gated: bool = False) -> Orders:
    """Return orders for a ladder: somebody is there on every timed day and on the first whole one."""
    steps = tuple(Step(m, visit=True) for m in minutes)
    return Orders(name, steps, gate_mg_l=4.0 if gated else None)


def doubling(first_min: int, *, gated: bool) -> Orders:
    """Return the trade's custom (no published source); gated, a step waits for 4 mg/L at dawn and no smell."""
    name = f"doubling from {first_min} min, {'gated' if gated else 'ungated'}"
    return by_hand(name, ladder(first_min, 2.0), gated=gated)


def at_once() -> Orders:
    """Return 24 h from day 1."""
    return by_hand("24 h from day 1", (WHOLE_DAY_MIN,))


NOTHING = Orders("do nothing", (Step(0, visit=False),))

FIXED = tuple((first, factor) for first in (15, 30, 60, 120, 240) for factor in (1.5, 2.0, 3.0))
"""First dose [min] and daily factor, of which the best is chosen on training truths."""


def oracle_set() -> tuple[Orders, ...]:
    """Return what the oracle chooses from, the fewest visits first: all of these tried on the truth itself."""
    found = [replace(at_once(), wait_d=wait) for wait in (0, 2, 5)]
    found += [by_hand(f"{m} min, then all day", (m, WHOLE_DAY_MIN)) for m in (480, 240, 60)]
    ladders = sorted({ladder(first, factor) for first, factor in FIXED}, key=len)
    found += [by_hand(f"{m[0]} min growing in {len(m)} days", m) for m in ladders]
    found += [replace(by_hand("120 min twice, later", (120, 120, WHOLE_DAY_MIN)), wait_d=5)]
    return tuple(found)
