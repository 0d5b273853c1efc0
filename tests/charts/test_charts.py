"""The charts: valid SVG, the same bytes, the stage's own numbers, and a sentence each."""

from __future__ import annotations

import json
import re
from xml.etree import ElementTree

import altair as alt
import pytest

from plumeline.charts import all_charts, chart_svg
from plumeline.charts.common import chart_of, rows_of
from plumeline.charts.risks import counted_days
from plumeline.charts.start import running_words
from plumeline.units import convert, plain

SYSTEMS = ("us", "si")


@pytest.mark.parametrize("system", SYSTEMS)
def test_charts_are_xml_and_the_same_twice(small_plan, system):
    """Each chart renders without a network to XML, and to the same bytes again."""
    first = [chart_svg(chart) for chart in all_charts(small_plan, system)]
    again = [chart_svg(chart) for chart in all_charts(small_plan, system)]
    assert first == again
    for text in first:
        assert ElementTree.fromstring(text).tag.endswith("svg")
        assert "Noto Serif" in text


def test_each_chart_has_a_sentence(small_plan):
    """Each chart says in one sentence or two what it means, and carries it as its description."""
    for chart in all_charts(small_plan, "us"):
        assert chart.sentence.endswith(".")
        assert chart.specification["description"] == chart.sentence


def test_specifications_hold_no_link_and_no_nan(small_plan):
    """A chart's data stand in its specification; it can be written as strict JSON."""
    for chart in all_charts(small_plan, "si"):
        text = json.dumps(chart.specification, allow_nan=False)
        assert '"url"' not in text


def test_start_up_chart_shows_the_days(small_plan):
    """Bars are the running times and the line the dawn's median."""
    chart = next(item for item in all_charts(small_plan, "si") if item.name == "start-up")
    rows = next(iter(chart.specification["datasets"].values())) if "datasets" in chart.specification else []
    rows = rows or chart.specification["vconcat"][0]["layer"][0]["data"]["values"]
    days = small_plan.startup.days
    assert [row["hours"] for row in rows] == [min(day.minutes, 1440) / 60 for day in days]
    assert [row["dawn"] for row in rows] == [day.dawn_do_mg_l.median for day in days]


def test_hypsograph_is_in_the_readers_units(small_plan):
    """The pond's surface in the US chart is the survey's area in acres."""
    chart = next(item for item in all_charts(small_plan, "us") if item.name == "hypsograph")
    found = [float(number) for number in re.findall(r'"area": ([\d.e-]+)', json.dumps(chart.specification))]
    assert max(found) == pytest.approx(convert(small_plan.survey.hypsograph.area_m2[0], "m2", "acre"))


def test_risk_sentence_counts_ponds_and_promises_nothing(small_plan):
    """The risk is said as a count of simulated ponds."""
    chart = next(item for item in all_charts(small_plan, "us") if item.name == "risk")
    risk = small_plan.startup.risk
    assert (
        f"Of {plain(risk.members, 0)} simulated ponds like this one, {plain(risk.failures, 0)} lost"
        in chart.sentence
    )
    assert "%" not in chart.sentence


def test_each_line_of_the_risk_chart_says_over_which_ponds_and_days(small_plan):
    """Doing nothing counts over all days simulated; each bar has its own ponds, days, and its ponds without air."""
    chart = next(item for item in all_charts(small_plan, "us") if item.name == "risk")
    start = small_plan.startup
    rows = chart.twins[0].rows
    assert len(rows) == 1 + len(start.comparisons)
    for row, risk in zip(rows, [start.risk, *(item.risk for item in start.comparisons)], strict=True):
        assert f"{risk.failures} of {risk.members} in {row[2]} d" in row
        assert row[-1] == f"{100 * risk.baseline_risk:.1f}"
    idle = next(row for row in rows if row[0] == "do nothing")
    assert idle[2] == f"{start.horizon_d}"
    assert counted_days(start, 1.0) == min(4.0, start.horizon_d)


@pytest.mark.parametrize(
    ("minutes", "words"), [(5, "5 min"), (60, "1 h"), (90, "1 h 30"), (165, "2 h 45"), (1440, "24 h")]
)
def test_running_words(minutes, words):
    """A running time reads as a timer is set."""
    assert running_words(minutes) == words


def test_thousands_on_an_axis_are_parted_from_ten_thousand_on():
    """As in every table and sentence; days and names on an axis stay as they are."""
    rows = rows_of([{"x": 0.0, "y": 0.0}, {"x": 2000.0, "y": 40_000.0}])
    svg = chart_svg(chart_of("c", "s", alt.Chart(rows).mark_line().encode(x="x:Q", y="y:Q")))
    told = re.findall(r">([\d\u202f]+)</text>", svg)
    assert "2000" in told
    assert "40\u202f000" in told
    days = rows_of([{"x": "2026-08-11", "y": 1.0}, {"x": "2026-08-19", "y": 2.0}])
    svg = chart_svg(chart_of("c", "s", alt.Chart(days).mark_line().encode(x="x:T", y="y:Q")))
    assert re.search(r">(Tue 11|Aug 11|Wed 12)</text>", svg)
