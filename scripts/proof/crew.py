"""A crew that carries orders out on a foreign pond: starts, watches, stops, holds, reads; and what became of it.

It knows nothing of how the orders were made. One set of rules holds for every arm of the robustness study: the
clock, the hours of the crew, which readings are taken and when, and what a stop reading means.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from tests.truth import names as n
from tests.truth.meter import Meter
from tests.truth.pond import Pond

WHOLE_DAY_MIN = 1440
CLOCK_H = 14
LAST_CREW_HOUR_H = 19
WATCHED_HOURS = 6
NEAR_SURFACE_M = 0.6
DAWN_H = 6
HOLD_H = 72  # a loss counts for the job up to three days after completion
LONGEST_D = 21
MIXED_K = 1.0
STOP_MG_L = 4.0
"""The stop rule of all arms: watched, a run is shut off at a reading under this (the limit and 1), or at a smell,
while top and bottom are a kelvin or more apart: in mixed water there is nothing left below to bring up."""
READ_BOX = 1  # the middle box: away from most boils


@dataclass(frozen=True)
class Step:
    """One step of the orders: minutes of air, which diffusers, whether somebody reads, and the stop readings.

    stop_mg_l: by whole hours since the start, the reading at 0.6 m under which the air is shut off, where it is
    over the rule of all arms.
    """

    minutes: int
    diffusers: tuple[int, ...] = ()
    visit: bool = True
    stop_mg_l: tuple[tuple[int, float], ...] = ()


@dataclass(frozen=True)
class Orders:
    """What the crew is told: steps in turn, the last one again and again; waiting first; a gate at dawn.

    Held at the gate (layered water only), the last dose is given again (repeats) or no air runs; the step is due the
    next day, by a visit. no_start: the card says not to start by it. read_again: the wait ends with a reading
    on which the planner is asked again. fallen_mg_l and mixed_k: a reading under the plan's own stop reading stops
    only where it is so much lower than before the start, and top and bottom are so much apart.
    """

    name: str
    steps: tuple[Step, ...]
    clock_h: int = CLOCK_H
    wait_d: int = 0
    gate_mg_l: float | None = None
    repeats: bool = True
    no_start: bool = False
    read_again: bool = False
    fallen_mg_l: float = 0.0
    mixed_k: float = MIXED_K


@dataclass
class Field:
    """A pond under orders, from the midnight of the survey's day.

    Attributes:
        pond: the pond.
        meter: the crew's meter.
        first_hour: hour of the first run, or -1.
        complete_hour: hour of completion, or -1.
        visits, running_h, held: counts up to completion.
        dawn_mg_l: oxygen read at the last dawn, and smell: at that dawn or since.
        readings, runs: what the crew wrote down, by hour of the pond.
    """

    pond: Pond
    meter: Meter
    limit_mg_l: float
    first_hour: int = -1
    complete_hour: int = -1
    visits: int = 0
    running_h: float = 0.0
    held: int = 0
    mixed: bool = False
    readings: list[dict[str, object]] = field(default_factory=list)
    runs: list[tuple[int, int, tuple[int, ...]]] = field(default_factory=list)
    born: int = 0

    def __post_init__(self) -> None:
        self.born = self.pond.hour

    def hours(self, until_hour: int, minutes: int = 0, diffusers: tuple[int, ...] = ()) -> None:
        """Run to an hour, with air for so many minutes from now."""
        begin = self.pond.hour
        chosen = list(diffusers) if diffusers else list(range(len(self.pond.gas)))
        while self.pond.hour < until_hour:
            on = np.zeros((n.STEPS, len(self.pond.gas)), dtype=np.uint8)
            left = minutes - 60 * (self.pond.hour - begin)
            on[: max(min(left // 5, n.STEPS), 0), chosen] = 1
            self.pond.run(on)
            if self.complete_hour < 0:
                self.running_h += max(min(left, 60), 0) / 60.0
            if self.pond.hour % 24 == DAWN_H and self.first_hour >= 0:
                self._dawn()

    def _dawn(self) -> None:
        deep_m = float(self.pond.depth_of.max())
        top, bottom = self.pond.at(0, 0.1), self.pond.at(0, deep_m)
        now = abs(top[n.T] - bottom[n.T]) < MIXED_K and bottom[n.O2] > self.limit_mg_l
        if now and self.mixed and self.complete_hour < 0:
            self.complete_hour = self.pond.hour
        self.mixed = now

    def day(self) -> int:
        """Return the day of the job, 0 for the survey's."""
        return (self.pond.hour - self.born) // 24

    def read_oxygen(self, when: str) -> float:
        """Read oxygen at 0.6 m and half way down in the middle box; return the first [mg/L]."""
        bottom = float(self.pond.shape.layers[READ_BOX] * self.pond.shape.thick)
        depths = (NEAR_SURFACE_M, round(max(0.7 * bottom, NEAR_SURFACE_M + 0.2), 1))
        values = [self.meter.oxygen(self.pond, READ_BOX, z, self.day()) for z in depths]
        self.readings.append(
            {"hour": self.pond.hour, "when": when, "kind": "oxygen", "depth": depths, "oxygen": values}
        )
        return values[0]

    def read_profile(self, when: str) -> None:
        """Read temperature and oxygen from top to bottom in the deep box."""
        deepest = self.pond.shape.max_depth_m - 0.15
        depths = [0.1, *np.arange(0.5, deepest, 0.5 if deepest < 4 else 0.7), deepest]
        depths = [round(float(z), 2) for z in depths]
        self.readings.append(
            {
                "hour": self.pond.hour,
                "when": when,
                "kind": "profile",
                "depth": depths,
                "temperature": [self.meter.temperature(self.pond, 0, z) for z in depths],
                "oxygen": [self.meter.oxygen(self.pond, 0, z, self.day()) for z in depths],
            }
        )

    def layered(self, mixed_k: float = MIXED_K) -> bool:
        """Read temperature near top and bottom of the deep box: whether they are a kelvin or more apart."""
        deep_m = float(self.pond.depth_of.max())
        return (
            self.meter.temperature(self.pond, 0, 0.3) - self.meter.temperature(self.pond, 0, deep_m)
            >= mixed_k
        )

    def visit(self) -> None:
        """Count a visit, unless the job is done."""
        if self.complete_hour < 0:
            self.visits += 1

    @property
    def lost(self) -> bool:
        """Whether the refuge was lost from the first run to three days after completion."""
        failed = int(self.pond.tally[1])
        if failed < 0:
            return False
        return self.complete_hour < 0 or failed // n.STEPS < self.complete_hour + HOLD_H


def next_clock(hour: int, clock_h: int) -> int:
    """Return the first hour from `hour` on that is a clock hour."""
    return hour + (clock_h - hour) % 24


Replan = Callable[[Field, int], Orders | None]
"""Asked at the hour before a run on the days of re-planning, with the job's day; new orders, or None to go on."""


def carry_out(pond: Pond, seed: int, limit_mg_l: float, orders: Orders, replan: Replan | None = None,
              replan_days: tuple[int, ...] = ()) -> Field:  # fmt: skip
    """Carry orders out from the survey's midnight to three days after completion, or to 21 days.

    Args:
        pond: the pond at the midnight of the survey's day; it is copied.
        seed: of the meter, the same in every arm.
        limit_mg_l: oxygen that the bottom must have [mg/L].
        orders: the first orders.
        replan: the planner, asked again.
        replan_days: days of the plan (1 is the first run's) on which it is asked.
    """
    at = Field(pond.copy(), Meter.of(seed), limit_mg_l)
    start = next_clock(at.pond.hour + CLOCK_H, orders.clock_h) + 24 * orders.wait_d
    # losses are the job's from the hour of the first run; without a start, from the hour it could have been
    at.hours(start)
    at.pond.tally[:] = (0, -1, 0)
    at.first_hour = at.pond.hour
    end = at.first_hour + 24 * LONGEST_D
    rung, called, number = 0, False, 0
    while at.pond.hour < end and (at.complete_hour < 0 or at.pond.hour < at.complete_hour + HOLD_H):
        number = 1 + (at.pond.hour - at.first_hour) // 24
        asked = replan is not None and _asks(number, orders, replan_days)
        ask = replan is not None and _asks(number + 1, orders, replan_days) and at.complete_hour < 0
        rung, called = live_day(at, orders, rung, called, asked, ask)
        if replan is not None and ask and at.complete_hour < 0 and at.pond.hour < end:
            new = replan(at, number + 1)
            if new is not None:
                orders, rung, called = new, 0, False
                _wait(at, orders)
                if orders.read_again and at.complete_hour < 0 and at.pond.hour < end:
                    orders = replan(at, number + 1 + orders.wait_d) or orders
                    _wait(at, orders)
    return at


def _wait(at: Field, orders: Orders) -> None:
    """Live without air to the first run of new orders; where the wait ends with a reading, somebody takes it."""
    until = next_clock(at.pond.hour, orders.clock_h) + 24 * orders.wait_d
    if orders.read_again:
        at.hours(until - (orders.clock_h - DAWN_H))
        at.visit()
        at.read_oxygen("dawn")
        at.hours(until - 1)
        at.read_profile("before")
    at.hours(until)


def _asks(number: int, orders: Orders, replan_days: tuple[int, ...]) -> bool:
    """Return whether the planner is asked on a day: on its days, and every third day while a card says to wait."""
    later = number - max(replan_days, default=0)
    return number in replan_days or (bool(replan_days) and orders.no_start and later > 0 and later % 3 == 0)


def live_day(
    at: Field, orders: Orders, rung: int, called: bool, expected: bool, profile: bool
) -> tuple[int, bool]:
    """Live from one clock hour to the next; return the rung that is due then, and whether somebody must come.

    called: somebody comes because yesterday's run was stopped; expected: because the planner was asked;
    profile: one is read an hour before the day's end, for the planner.
    """
    end = at.pond.hour + 24
    last = len(orders.steps) - 1
    if orders.no_start:
        if expected:
            at.visit()
        _run_watched(at, orders, Step(0), False, end, profile=profile)
        return 0, False
    step = orders.steps[min(rung, last)]
    stays_on = step.minutes >= WHOLE_DAY_MIN and rung > last
    somebody = (step.visit and not stays_on) or called or expected
    if somebody:
        at.visit()
    held = False
    if somebody and orders.gate_mg_l is not None and not stays_on:
        # the dawn of this day was read by whoever comes; its reading stands in the book
        dawn = [r for r in at.readings if r["when"] == "dawn" and r["hour"] > at.pond.hour - 12]  # type: ignore[operator]
        value = dawn[-1]["oxygen"][0] if dawn else at.read_oxygen("before")  # type: ignore[index]
        held = (value < orders.gate_mg_l or at.meter.smells(at.pond)) and at.layered()
    run = step
    if held:
        at.held += 1
        run = orders.steps[rung - 1] if orders.repeats and rung > 0 else Step(0)
    minutes, stopped = _run_watched(at, orders, run, somebody, end, profile=profile)
    if minutes:
        at.runs.append((end - 24, minutes, run.diffusers))
    climbs = not held and not stopped
    return (rung + 1 if climbs else rung), stopped or held


def _run_watched(
    at: Field, orders: Orders, run: Step, somebody: bool, end: int, *, profile: bool
) -> tuple[int, bool]:
    """Run a step to the end of its day, read dawn on the way; return the minutes given and whether it was stopped."""
    begin = at.pond.hour
    limits = dict(run.stop_mg_l)
    # a low that was there before the air is the pond's own
    before = at.read_oxygen("before") if somebody and orders.fallen_mg_l > 0.0 and run.minutes else np.inf
    minutes, stopped = run.minutes, False
    watched = min(WATCHED_HOURS, max(LAST_CREW_HOUR_H - begin % 24, 0), max(run.minutes - 1, 0) // 60)
    for h in range(1, watched + 1 if somebody else 1):
        at.hours(begin + h, minutes - 60 * (h - 1), run.diffusers)
        stop_mg_l = max(limits.get(h, STOP_MG_L), STOP_MG_L)
        read_mg_l = at.read_oxygen("later")
        low = read_mg_l < stop_mg_l and read_mg_l < before - orders.fallen_mg_l
        if (low or at.meter.smells(at.pond)) and at.layered(orders.mixed_k):
            minutes, stopped = 60 * h, True
            at.readings[-1]["when"] = "shut-off"
            break
    gone = at.pond.hour - begin
    off = begin + -(-minutes // 60)
    if somebody and not stopped and gone * 60 < minutes <= 60 * WATCHED_HOURS and off < end:
        at.hours(off, minutes - 60 * gone, run.diffusers)
        at.read_oxygen("shut-off")
        gone = at.pond.hour - begin
    dawn = next_clock(begin + 1, DAWN_H)
    for until in (dawn, end - 1, end):
        gone = at.pond.hour - begin
        at.hours(until, max(minutes - 60 * gone, 0), run.diffusers)
        if until == dawn and at.complete_hour < 0:
            at.read_oxygen("dawn")
        if until == end - 1 and profile:
            at.read_profile("before")
    return minutes, stopped
