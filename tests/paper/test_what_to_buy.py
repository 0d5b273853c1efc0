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
from plumeline.paper.quote import render_choice
from plumeline.paper.render import render
from plumeline.sources import read_table
from plumeline.stages.air.machine import generic_machines
from plumeline.stages.choice import choose, design_of
from plumeline.units import plain
from plumeline.units.numerals import ungrouped

DAY = date(2026, 8, 11)


@pytest.fixture(scope="module")
def chosen(small_plan):
    """The small plan with its ranking."""
    return replace(small_plan, choice=choose(small_plan.job, small_plan.survey, design_of(small_plan.sizing)))


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


def test_the_energy_of_the_quote_is_the_power_of_the_air_page(small_plan, chosen):
    """One number for both: by hand from the rated watts, the gauge and the part taken at an open outlet."""
    line, own = small_plan.air, chosen.choice.planned
    (machine,) = (one for one in generic_machines() if one.name == line.compressor.name)
    part = line.balanced.compressor_pressure_pa / machine.max_pressure_pa
    open_share = {row["name"]: float(row["open_power_fraction"]) for row in read_table("compressor_care")}
    share = open_share[machine.name] + (1.0 - open_share[machine.name]) * part
    assert line.wire_power_w == pytest.approx(machine.power_w * share)
    assert line.wire_power_w < machine.power_w
    assert own.power_w == line.wire_power_w
    assert own.cost.yearly_energy_kwh == pytest.approx(line.wire_power_w * 24 * 365 / 1000.0)


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


@pytest.mark.parametrize("system", ["us", "si"])
def test_the_chart_of_the_distance_has_its_table(chosen, system):
    """Its own data by distance, this job and where the ways cost the same marked; a part of it on paper."""
    chart = distance_chart(chosen.choice, system)
    table, marks = chart.twins
    data = [row for rows in chart.specification["datasets"].values() for row in rows]
    costs = [row["cost"] for row in data if "cost" in row]
    cells = [
        float(ungrouped(cell))
        for row in table.rows
        for cell, key in zip(row, table.keys, strict=True)
        if key == "cost" and cell != "–"
    ]
    assert len(cells) == len(costs)
    assert (min(cells), max(cells)) == (round(min(costs)), round(max(costs)))
    assert [row[-1] for row in table.rows].count("this job") == 1
    assert [row[0] for row in marks.rows] == [row["words"] for row in data if "words" in row]
    text = " ".join(
        page.extract_text()
        for page in PdfReader(BytesIO(render_choice(chosen.choice, chosen.job, DAY, system))).pages
    )
    here = next(row for row in table.rows if row[-1] == "this job")
    shown = [plain(float(ungrouped(cell)), 0) for cell in here[1:-1] if cell != "–"]
    # a narrow space is white space to Python too
    assert " ".join(" ".join(shown).split()) in " ".join(text.split())
