"""Where the readings leave too few ponds apart no risk is stated: then no bound of one is printed anywhere."""

import re
from dataclasses import replace
from datetime import date

import pytest

from plumeline.charts import all_charts
from plumeline.cli.plan_work import figures
from plumeline.cli.show_startup import startup_blocks
from plumeline.paper.document import document
from plumeline.stages.startup.notices import plan_notices

BOUND = re.compile(r"\d+\.\d %")


@pytest.fixture(scope="module")
def plans(small_plan):
    """Return the small plan with its risk stated, and with too few ponds apart."""
    stated = replace(small_plan, startup=replace(small_plan.startup, risk_stated=True))
    few = replace(small_plan.startup, risk_stated=False, effective_members=41.4)
    return stated, replace(small_plan, startup=few)


def days_of(plan):
    """Return the texts of the day table, the comparison and the card."""
    blocks = startup_blocks(plan.startup, "us")
    return [
        *(text for text in blocks if text.startswith(("Days:", "Beside other"))),
        str(document(plan, date(2026, 8, 11), "us", {})["card"]["rows"]),
    ]


def test_no_bound_of_a_day_or_of_the_job_stands_beside_a_risk_that_is_not_stated(plans):
    """In the day table, beside other schedules and on the card: each has bounds where a risk is stated, else none."""
    stated, few = plans
    days, beside, card = days_of(stated)
    assert BOUND.search(days)
    assert BOUND.search(card)
    days, beside, card = days_of(few)
    assert not BOUND.search(days)
    assert not BOUND.search(card)
    # what is left there is what a schedule adds, with its sign
    assert all(
        text.startswith(("+", "-"))
        for text in re.findall(r"\S+(?= %)", beside.split("\n", 1)[1])
        if "." in text
    )


def test_every_surface_says_that_the_risk_is_not_stated(plans):
    """Shell, page (the same figures), paper and chart; none says how many ponds the plan lost as its risk."""
    _, few = plans
    assert "not stated: only 41 simulated ponds" in dict(figures(few, "us"))["risk"]
    assert "beside it" not in dict(figures(few, "us"))
    paper = document(few, date(2026, 8, 11), "us", {})
    assert "not stated: only 41" in " ".join(paper["summary"])
    assert "not stated: only 41" in paper["risk"][0]
    assert "upper bound" not in " ".join(paper["risk"])
    chart = next(item for item in all_charts(few, "us") if item.name == "risk")
    assert "not stated" in chart.sentence
    assert all("this plan" not in row for row in chart.twins[0].rows)


@pytest.mark.parametrize("failing", [True, False])
def test_a_failing_pond_with_too_few_apart_says_both(plans, failing):
    """One does not hide the other, and no sentence says what the schedule adds."""
    outcome = type(
        "O",
        (),
        {"cause": [], "lost": [], "failures": 0, "completed_fraction": 1.0, "answered_upper95_fraction": 0.0},
    )()
    import numpy as np

    outcome.cause, outcome.lost = np.zeros(0, int), np.zeros(0, bool)
    found = plan_notices(kept=True, failing=failing, stated=False, effective_members=41.4, plan=outcome)
    codes = {item.code for item in found}
    assert ("already-failing" in codes) == failing
    assert "risk-not-stated" in codes
    assert not any("no more than the accepted risk" in item.text for item in found)
