"""Schedules: minutes of air day by day, which diffusers are open, who looks when, and what makes them stop."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from plumeline.kernels import column_index as ix

WHOLE_DAY_MIN = 1440
GATE_MG_L = 4.0  # the custom's: next step only when dawn oxygen is 4 or more (no published source)


def readings_in(minutes: int, watched_hours: int) -> int:
    """Return how many hourly readings can stop a run: those before its end, in the hours that it is watched."""
    return min(watched_hours, max(minutes - 1, 0) // 60)


def on_grid(minutes: float) -> int:
    """Return a running time that a person can set: 5 min steps to an hour, 15 to four hours, then hours."""
    for limit, step in ((60.0, 5), (240.0, 15), (1380.0, 60)):
        if minutes <= limit:
            return max(5, round(minutes / step) * step)
    return WHOLE_DAY_MIN


@dataclass(frozen=True)
class Gate:
    """What a reading at dawn must show before the next step, on days with a visit.

    Attributes:
        least_do_mg_l: least oxygen at 0.6 m at dawn; a smell of rotten eggs holds as well.
        repeat: held, the last dose is given again (the custom); else no air runs that day.
    """

    least_do_mg_l: float = GATE_MG_L
    repeat: bool = False


@dataclass(frozen=True)
class Schedule:
    """Minutes of air on each day from the first run day, and how it is watched.

    Attributes:
        name: in plain words.
        start_hour_h: local clock hour at which each run starts.
        minutes: running minutes of each step; after the last one the air stays on, or off when that is 0.
        orders: diffusers open in each step, by their place among those that carry air; all where empty.
        visits: days with a visit besides the first, 1 for the first run day.
        visit_every_d: a visit every so many days besides those; 0 for none.
        gate: what dawn must show on a day with a visit before the air runs; None for no gate.
        watched: whether readings stop a run on days with a visit.
        stop_above_mg_l: the reading that stops is the fish's limit and this; None for the ensemble's own.
        wait_d: days without air before the first run.
    """

    name: str
    start_hour_h: float
    minutes: tuple[int, ...]
    orders: tuple[tuple[int, ...], ...] = ()
    visits: tuple[int, ...] = (1,)
    visit_every_d: int = 0
    gate: Gate | None = None
    watched: bool = False
    stop_above_mg_l: float | None = None
    wait_d: int = 0

    @property
    def run_days(self) -> int:
        """Days with a timed run, before the air stays on."""
        return sum(1 for minutes in self.minutes if 0 < minutes < WHOLE_DAY_MIN)

    @property
    def is_nothing(self) -> bool:
        """Whether no air runs at all."""
        return not any(self.minutes)

    def step(self, rung: int) -> int:
        """Return the minutes of a rung of the ladder; the last one stands for all that follow."""
        return self.minutes[min(rung, len(self.minutes) - 1)]

    def open_diffusers(self, rung: int) -> tuple[int, ...]:
        """Return which diffusers are open on a rung, or none named for all."""
        return self.orders[min(rung, len(self.orders) - 1)] if self.orders else ()

    def visited(self, number: int) -> bool:
        """Return whether the calendar has a visit on a day of the plan, for a pond that was never held."""
        return self.visited_at(number, number - 1)

    def visited_at(self, number: int, rung: int) -> bool:
        """Return whether somebody comes to a pond that is so many steps up the ladder on a day of the plan.

        A pond that was held stands lower than the day's number says: visits last as long as its ladder does.
        """
        if self.is_nothing:
            return False
        every = self.visit_every_d > 0 and (number - 1) % self.visit_every_d == 0
        # once the air has stayed on for a day there is nothing left to set, only to prove
        return number in self.visits or (every and rung < len(self.minutes))


def growing(first_min: int, growth_number: float, start_hour_h: float, days: int) -> Schedule:
    """Return the schedule that starts with a dose and multiplies it each day until it is the whole day."""
    minutes: list[int] = []
    dose = float(first_min)
    while len(minutes) < days:
        minutes.append(on_grid(dose))
        if minutes[-1] == WHOLE_DAY_MIN:
            break
        dose *= growth_number
    name = (
        "24 h from day 1" if first_min >= WHOLE_DAY_MIN else f"{first_min} min, times {growth_number:g} a day"
    )
    return Schedule(name, start_hour_h, tuple(minutes), watched=True)


def steady(minutes: int, run_days: int, start_hour_h: float) -> Schedule:
    """Return the schedule that runs as long each day, and after `run_days` stays on."""
    name = f"{minutes} min a day for {run_days} days, then all day"
    return Schedule(name, start_hour_h, (minutes,) * run_days + (WHOLE_DAY_MIN,), watched=True)


def doubling(first_min: int, days: int, *, gated: bool = False, start_hour_h: float = 13.0) -> Schedule:
    """Return the trade's custom: a first run, doubled daily until it is continuous (no published source).

    Gated, somebody reads at every dawn and repeats the last run while the oxygen is under 4 mg/L or it smells.
    """
    minutes: list[int] = []
    dose = first_min
    while len(minutes) < days:
        minutes.append(min(dose, WHOLE_DAY_MIN))
        if dose >= WHOLE_DAY_MIN:
            break
        dose *= 2
    name = f"doubling from {first_min} min"
    if gated:
        gate = Gate(GATE_MG_L, repeat=True)
        return Schedule(f"{name}, gated", start_hour_h, tuple(minutes), visit_every_d=1, gate=gate)
    return Schedule(name, start_hour_h, tuple(minutes))


CAUTIOUS_MIN = 15


def cautious(days: int, start_hour_h: float = 13.0, last_min: int = 0) -> Schedule:
    """Return the cautious rule: doubling from 15 min, read at every dawn, watched, stopped 2 mg/L early.

    Args:
        days: longest start-up [d].
        start_hour_h: local hour of the runs.
        last_min: minutes of the last run of a start-up that is under way: it goes on from there, doubled, and does
            not begin anew; 0 where none was made.
    """
    first = on_grid(2.0 * last_min) if last_min else CAUTIOUS_MIN
    ladder = doubling(first, days).minutes
    gate = Gate(GATE_MG_L)
    return Schedule(
        f"cautious rule: doubling from {first} min, gated and watched",
        start_hour_h, ladder, visit_every_d=1, gate=gate, watched=True, stop_above_mg_l=2.0,
    )  # fmt: skip


NOTHING = Schedule("do nothing", 13.0, (0,))


def steps_on(
    minutes: int, open_diffusers: tuple[int, ...], hour_count: int, diffusers: int
) -> NDArray[np.uint8]:
    """Return which diffusers run in each five-minute step of one day's hours (steps, diffusers).

    Args:
        minutes: minutes of air from the start of the first hour.
        open_diffusers: which diffusers are open; all where empty.
        hour_count: hours of the day: 24, or 23 or 25 where the clock is changed.
        diffusers: number of diffusers.
    """
    on = np.zeros((hour_count * ix.STEPS_EACH_HOUR, diffusers), dtype=np.uint8)
    steps = len(on) if minutes >= WHOLE_DAY_MIN else minutes // 5
    chosen = list(open_diffusers) if open_diffusers else slice(None)
    on[:steps, chosen] = 1
    return on
