"""Families of schedules that the search tries: first dose, growth, clock, order of the valves, visits."""

from __future__ import annotations

from dataclasses import replace

from plumeline.stages.startup.crew import Crew
from plumeline.stages.startup.schedule import (
    WHOLE_DAY_MIN,
    Gate,
    Schedule,
    doubling,
    growing,
    on_grid,
    steady,
)

GROWING_DOSES_MIN = (15, 30, 60, 120, 240)
GROWTHS = (1.5, 2.0, 3.0)
STEADY_DOSES_MIN = (60, 240)
STEADY_DAYS = (2, 4, 8)
PATIENT_DOSES_MIN = (30, 60)
PATIENT_DAYS = (3, 6)
NEAR_FACTORS = (0.5, 0.7, 1.4, 2.0)


def clocks_h(crew: Crew) -> tuple[float, ...]:
    """Return a morning, an afternoon and an evening hour at which somebody can be at the pond."""
    wanted = (9.0, 14.0, 18.0)
    return tuple(sorted({float(crew.nearest_start_h(hour)) for hour in wanted}))


def valve_orders(depth_m: tuple[float, ...], steps: int) -> dict[str, tuple[tuple[int, ...], ...]]:
    """Return the orders in which the valves may be opened, beside all at once.

    Args:
        depth_m: depths of the diffusers that carry air (diffusers) [m].
        steps: steps of the schedule; in the last one all are open.
    """
    count = len(depth_m)
    if count < 2 or steps < 2:
        return {}
    deep_first = tuple(sorted(range(count), key=lambda d: -depth_m[d]))
    everyone = tuple(range(count))

    def one_more(order: tuple[int, ...]) -> tuple[tuple[int, ...], ...]:
        return (*(tuple(sorted(order[: min(n + 1, count)])) for n in range(steps - 1)), everyone)

    def one_alone(order: tuple[int, ...]) -> tuple[tuple[int, ...], ...]:
        return ((order[0],),) * (steps - 1) + (everyone,)

    return {
        "the deepest alone first": one_alone(deep_first),
        "the shallowest alone first": one_alone(deep_first[::-1]),
        "one more valve each day, deepest first": one_more(deep_first),
        "one more valve each day, shallowest first": one_more(deep_first[::-1]),
    }


def candidates(days: int, crew: Crew, depth_m: tuple[float, ...]) -> tuple[Schedule, ...]:
    """Return every schedule of the first search, no two alike.

    Args:
        days: longest start-up [d].
        crew: when somebody can be at the pond.
        depth_m: depths of the diffusers that carry air (diffusers) [m].
    """
    clocks = clocks_h(crew)
    middle = clocks[len(clocks) // 2]
    found = [growing(WHOLE_DAY_MIN, 2.0, middle, days)]
    found += [growing(first, g, middle, days) for first in GROWING_DOSES_MIN for g in GROWTHS]
    found += [steady(minutes, min(n, days), middle) for minutes in STEADY_DOSES_MIN for n in STEADY_DAYS]
    found += [patient(first, n, middle, days) for first in PATIENT_DOSES_MIN for n in PATIENT_DAYS]
    # other hours of the day are asked with fewer ladders: the hour matters less than the dose
    for clock in clocks:
        found.append(growing(WHOLE_DAY_MIN, 2.0, clock, days))
        found += [growing(first, 2.0, clock, days) for first in (30, 60, 120, 240)]
        found += [growing(30, 1.5, clock, days), steady(60, min(4, days), clock), patient(30, 3, clock, days)]
        found.append(steady(240, min(2, days), clock))
    bases = (
        steady(120, 5, middle),
        steady(240, 3, middle),
        steady(WHOLE_DAY_MIN, 3, middle),
        growing(60, 2.0, middle, days),
    )
    for base in bases:
        for words, orders in valve_orders(depth_m, len(base.minutes)).items():
            found.append(replace(base, name=f"{_valve_base(base)}, {words}", orders=orders))
    return unlike(found)


def patient(first_min: int, hold_d: int, clock_h: float, days: int) -> Schedule:
    """Return the same small dose for some days, so that debts are paid a little at a time, then twice it each day."""
    grown = growing(first_min, 2.0, clock_h, max(days - hold_d, 1))
    minutes = (first_min,) * hold_d + grown.minutes
    return replace(
        grown, name=f"{first_min} min for {hold_d + 1} days, then twice as much a day", minutes=minutes
    )


def _valve_base(base: Schedule) -> str:
    return "24 h from day 1" if base.minutes[0] == WHOLE_DAY_MIN else base.name


def unlike(schedules: list[Schedule]) -> tuple[Schedule, ...]:
    """Return the schedules of which no earlier one does the same."""
    found: dict[Schedule, Schedule] = {}
    for schedule in schedules:
        found.setdefault(replace(schedule, name=""), schedule)
    return tuple(found.values())


def neighbours(schedule: Schedule, days: int) -> tuple[Schedule, ...]:
    """Return schedules close to a good one: other doses, a day more or less.

    Args:
        schedule: the good one.
        days: longest start-up [d].
    """
    found: list[Schedule] = []
    timed = [m for m in schedule.minutes if 0 < m < WHOLE_DAY_MIN]
    tail = schedule.minutes[len(timed) :]
    if timed:
        for factor in NEAR_FACTORS:
            doses = tuple(on_grid(m * factor) for m in timed)
            found.append(_renamed(replace(schedule, minutes=doses + tail)))
        if len(timed) > 1:
            found.append(_renamed(replace(schedule, minutes=tuple(timed[:-1]) + tail, orders=_cut(schedule))))
        longer = (timed[0], *timed)
        if len(longer) + len(tail) <= days and not schedule.orders:
            found.append(_renamed(replace(schedule, minutes=longer + tail)))
    else:
        for first in (240, 480):
            found.append(
                _renamed(replace(schedule, minutes=(first, *schedule.minutes), orders=_led(schedule)))
            )
    return unlike(found)


def softened(schedule: Schedule, riskiest_day: int, days: int) -> Schedule | None:
    """Return the schedule with the step of its riskiest day taken in two; None where it has no room for one more.

    Between the dose before and the dose of that day goes their geometric mean; before the first dose, half of it.

    Args:
        schedule: the schedule.
        riskiest_day: day of the plan on which most simulated ponds were lost, 1 for the first.
        days: longest start-up [d].
    """
    rung = min(riskiest_day, len(schedule.minutes)) - 1
    if len(schedule.minutes) + 3 > days:
        return None
    here = schedule.minutes[rung]
    before = schedule.minutes[rung - 1] if rung > 0 else 0.25 * here
    between = on_grid((before * here) ** 0.5)
    if between >= here:
        return None
    minutes = (*schedule.minutes[:rung], between, *schedule.minutes[rung:])
    orders = schedule.orders
    if orders:
        orders = (*orders[:rung], orders[max(rung - 1, 0)], *orders[rung:])
    return _renamed(replace(schedule, minutes=minutes, orders=orders))


def more_visits(schedule: Schedule, riskiest_day: int) -> tuple[Schedule, ...]:
    """Return the same ladder with more visits: one on the riskiest day, every other day, every day."""
    found: list[Schedule] = []
    for gate in (Gate(), None):
        if riskiest_day > 1:
            found.append(replace(schedule, visits=(1, riskiest_day), gate=gate))
        if len(schedule.minutes) > 1:
            found += [replace(schedule, visit_every_d=every, gate=gate) for every in (2, 1)]
    return tuple(replace(item, name=f"{schedule.name}, {visit_words(item)}") for item in found)


def visit_words(schedule: Schedule) -> str:
    """Return a schedule's visits in words."""
    held = "" if schedule.gate is None else ", held by a low dawn"
    if schedule.visit_every_d == 1:
        return f"a visit on every run day{held}"
    if schedule.visit_every_d == 2:
        return f"a visit on every other run day{held}"
    later = [str(day) for day in schedule.visits if day > 1]
    return f"a visit on day {' and '.join(['1', *later])}{held}"


def _cut(schedule: Schedule) -> tuple[tuple[int, ...], ...]:
    return schedule.orders[:-2] + schedule.orders[-1:] if schedule.orders else ()


def _led(schedule: Schedule) -> tuple[tuple[int, ...], ...]:
    return (schedule.orders[0], *schedule.orders) if schedule.orders else ()


def _renamed(schedule: Schedule) -> Schedule:
    """Return the schedule under a name made from its minutes."""
    timed = [m for m in schedule.minutes if 0 < m < WHOLE_DAY_MIN]
    if timed and len(set(timed)) == 1:
        name = f"{timed[0]} min a day for {len(timed)} day{'s' if len(timed) > 1 else ''}, then all day"
    else:
        name = f"{', '.join(str(m) for m in timed)} min day by day, then all day"
    if schedule.orders:
        name += ", valves opened one by one" if len(set(schedule.orders)) > 2 else ", one diffuser first"
    return replace(schedule, name=name)


def continued(last_min: int, clock_h: float, days: int) -> tuple[Schedule, ...]:
    """Return how a start-up that has begun may go on: the last run again, half of it, twice or three times it.

    Args:
        last_min: minutes of the last run that was made.
        clock_h: local hour of the runs.
        days: longest start-up from here [d].
    """
    found: list[Schedule] = []
    for factor in (0.5, 1.0, 2.0, 3.0):
        first = on_grid(last_min * factor)
        for growth in (1.5, 2.0, 3.0):
            found.append(growing(first, growth, clock_h, days))
    return unlike(found)


def customs(days: int) -> tuple[Schedule, ...]:
    """Return what a plan is always compared with, besides doing nothing: 24 h at once and the trade's doubling."""
    return (
        replace(growing(WHOLE_DAY_MIN, 2.0, 13.0, days), watched=False),
        doubling(15, days),
        doubling(30, days),
        doubling(15, days, gated=True),
        doubling(30, days, gated=True),
    )
