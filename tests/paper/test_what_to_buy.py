"""What to buy, as a page of the plan: only where it was asked for."""

import json
from dataclasses import replace
from datetime import date
from io import BytesIO

import pytest
from pypdf import PdfReader

from plumeline.charts import chart_svg
from plumeline.charts.distance import distance_chart
from plumeline.files.plan_files import plan_json
from plumeline.paper.render import render
from plumeline.stages.choice import choose

DAY = date(2026, 8, 11)


@pytest.fixture(scope="module")
def chosen(small_plan):
    """The small plan with its ranking."""
    return replace(small_plan, choice=choose(small_plan.job, small_plan.survey))


def pages_of(pdf):
    """Return the words of each page."""
    return [" ".join(page.extract_text().split()) for page in PdfReader(BytesIO(pdf)).pages]


@pytest.mark.parametrize("system", ["us", "si"])
def test_the_ranking_has_one_page_in_the_plan(small_plan, chosen, system):
    """Costs, the reason of each loser and what can't be taken: one page more, and no word of it without."""
    without, found = pages_of(render(small_plan, DAY, system)), pages_of(render(chosen, DAY, system))
    assert len(found) == len(without) + 1
    page = next(text for text in found if "What to buy, and why" in text)
    assert "What else was tried" in page
    for item in chosen.choice.verdicts:
        if item.works and item.reason != "chosen":
            assert item.machine in page
    assert not any("What to buy, and why" in text for text in without)


def test_the_ranking_is_in_the_json_of_the_plan(small_plan, chosen):
    """plan.json holds it under "choice" where it was asked for, and has no such key otherwise."""
    assert json.loads(plan_json(chosen))["choice"]["works_count"] == chosen.choice.works_count
    assert "choice" not in json.loads(plan_json(small_plan))


@pytest.mark.parametrize("system", ["us", "si"])
def test_the_chart_of_the_distance_holds_all_its_lines(chosen, system):
    """No line leaves the frame at its top, and the labels of the axis stand apart."""
    chart = distance_chart(chosen.choice, system)
    spec = chart.specification
    costs = [row["cost"] for rows in spec["datasets"].values() for row in rows if "cost" in row]
    domain = spec["layer"][0]["encoding"]["y"]["scale"]["domain"]
    assert domain[0] == 0
    assert domain[1] > 1.05 * max(costs)
    assert chart_svg(chart).startswith("<svg")
