"""Every pond that a plan loses stands on a day: the days of the table, the later ones, and their total."""

import re
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from plumeline.cli.show_startup import startup_blocks
from plumeline.stages.startup.days import later_losses
from plumeline.stages.startup.final import Final, lost_on, shown_days
from plumeline.stages.startup.promise import Outcome, upper95
from plumeline.stages.startup.result import LaterLosses
from plumeline.stages.startup.schedule import growing

MEMBERS, HORIZON_D, FIRST_H = 200, 14, 14
LOST_DAYS = (1, 1, 2, 2, 2, 5, 8, 8, 11, 14)


@pytest.fixture
def final():
    """Return a plan that completes on day 3 and loses ten ponds, five of them after the days that are shown."""
    lost = np.full(MEMBERS, -1)
    lost[: len(LOST_DAYS)] = [FIRST_H + 24 * (day - 1) + 3 for day in LOST_DAYS]
    zero = np.zeros(MEMBERS, dtype=np.int64)
    done = np.where(lost < 0, FIRST_H + 72, -1)
    days = tuple(
        SimpleNamespace(number=n, begin=FIRST_H + 24 * (n - 1), end=FIRST_H + 24 * n) for n in range(1, 8)
    )
    outcome = Outcome(growing(120, 2.0, 14.0, 14), FIRST_H, lost, zero, done, zero, zero, zero + 1.0)
    return Final(outcome, days, (), np.zeros(MEMBERS), None)


def test_later_losses_and_the_days_shown_come_to_all(final):
    """Complete after 3 days, days 1 to 4 are shown with five losses; days 5 to 14 hold the other five, by hand."""
    shown = final.days[: shown_days(final)]
    assert [lost_on(final.outcome, day) for day in shown] == [2, 3, 0, 0]
    later = later_losses(SimpleNamespace(horizon_d=HORIZON_D), final, gone_d=2)
    assert (later.first_number, later.last_number, later.failures, later.worst_failures) == (7, 16, 5, 2)
    assert later.worst_upper95_fraction == upper95(2, MEMBERS)


def test_the_table_of_days_adds_to_its_total(run, make_job):
    """As printed: the losses of each row over the last one add to it."""
    plan = run(make_job(), members=24, fresh=32)
    later = LaterLosses(6, 9, 4, 3, upper95(3, 32))
    for found in (plan, replace(plan, later=later, risk=replace(plan.risk, failures=plan.risk.failures + 4))):
        table = next(part for block in startup_blocks(found, "us") for part in getattr(block, "parts", ())
                     if part.title.startswith("Days:"))  # fmt: skip
        counts = [int(re.match(r"([\d,]+) of 32$", row[7])[1]) for row in table.rows]
        assert table.rows[-1][0] == "all"
        assert sum(counts[:-1]) == counts[-1] == found.risk.failures
