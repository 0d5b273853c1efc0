"""A schedule that loses more ponds than leaving the air off must not go out as a plan to follow."""

import pytest

from plumeline.notices import Severity
from plumeline.stages.startup.notices import worse_than_no_air
from plumeline.stages.startup.result import Risk


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
