"""A schedule that loses more ponds than leaving the air off must not go out as a plan to follow."""

import numpy as np
import pytest

from plumeline.notices import Severity
from plumeline.stages.startup.notices import bound_by, plan_notices, worse_than_no_air
from plumeline.stages.startup.promise import Outcome
from plumeline.stages.startup.result import Risk
from plumeline.stages.startup.schedule import NOTHING


def test_more_losses_than_no_air_forbid_the_start():
    """358 against 188 of 1,000, 5 % accepted: said as a danger, with both counts."""
    (notice,) = worse_than_no_air(Risk(1000, 358, 0.358, 0.384, 0.188, 0.170), 0.05)
    assert notice.severity is Severity.DANGER
    assert "Do not start" in notice.text
    assert "358 of 1,000" in notice.text
    assert "over the same days 188" in notice.text


@pytest.mark.parametrize(("risk", "baseline_risk"), [(0.030, 0.0), (0.358, 0.340), (0.100, 0.400)])
def test_a_schedule_that_adds_no_more_than_is_accepted_may_start(risk, baseline_risk):
    """Small, about the same, or better than no air: nothing forbids it here."""
    count = round(1000 * risk)
    assert worse_than_no_air(Risk(1000, count, risk, risk, baseline_risk, risk - baseline_risk), 0.05) == ()


@pytest.mark.parametrize(("cause", "code"), [(2, "ammonia-binds"), (3, "sulphide-binds"), (0, None)])
def test_a_limit_that_no_oxygen_meter_sees_is_said_where_it_binds(cause, code):
    """Of ten lost ponds all were lost to one limit: ammonia and sulphide are said as dangers, oxygen is not."""
    nothing = np.zeros(100, dtype=np.int64)
    lost = np.where(np.arange(100) < 10, 5, -1)
    plan = Outcome(NOTHING, 0, lost, nothing + cause, nothing + 48, nothing, nothing, np.zeros(100))
    said = plan_notices(kept=True, failing=False, stated=True, effective_members=90.0, plan=plan)
    assert {notice.code for notice in said} == ({code} if code else set())
    words = ("oxygen", "temperature", "un-ionised ammonia", "hydrogen sulphide")[cause]
    assert bound_by(plan, plan) == ((words, 10),)


@pytest.mark.parametrize(
    ("kept", "failing", "stated", "code"),
    [
        (True, True, True, "already-failing"),
        (True, False, False, "risk-not-stated"),
        (False, False, True, "promise-not-kept"),
    ],
)
def test_what_must_be_said_of_the_promise_is_said_once(kept, failing, stated, code):
    """A failing pond before all else, then a risk that can't be stated, then a promise that is not kept."""
    nothing = np.zeros(50, dtype=np.int64)
    plan = Outcome(NOTHING, 0, nothing - 1, nothing, nothing + 48, nothing, nothing, np.zeros(50))
    said = plan_notices(kept=kept, failing=failing, stated=stated, effective_members=40.0, plan=plan)
    assert [notice.code for notice in said] == [code]
