"""What a paper says to a reader who has neither the job's files nor a shell."""

from __future__ import annotations

import re
from datetime import date
from io import BytesIO

import pytest
from pypdf import PdfReader

from plumeline.files.toml_part import SECTIONS
from plumeline.files.trade_words import on_paper, place_in_words
from plumeline.paper.quote import render_choice
from plumeline.paper.render import render
from plumeline.paper.sheet import render_sheet
from plumeline.stages.air.commissioning import commissioning
from plumeline.stages.choice import choose, design_of

DAY = date(2026, 8, 11)
KEY = re.compile(rf"(?<![\w./])(?:{'|'.join(SECTIONS)}|reading)\.[a-z_]+")
COLUMN = re.compile(r"\b[a-z]+(?:_[a-z0-9]+)+\b(?!\.csv)")
"""A name as files have it, but that of a table of the program's own."""
OPTION = re.compile(r"(?<!\w)(?:--|\N{EN DASH})[a-z]+")


def words_of(pdf):
    """Return the words of a PDF, without the addresses of pages."""
    text = " ".join(" ".join(page.extract_text() for page in PdfReader(BytesIO(pdf)).pages).split())
    return re.sub(r"/ ?ponds/[\w/ -]+", "", text)


@pytest.mark.parametrize("system", ["us", "si"])
def test_no_paper_names_a_key_a_column_or_an_option(small_plan, system):
    """Plan, sheet of gauges and quote of a pond of which little is told: every "give this" is in the trade's words."""
    job = small_plan.job
    chosen = choose(job, small_plan.survey, design_of(small_plan.sizing))
    for pdf in (
        render(small_plan, DAY, system),
        render_sheet(commissioning(job, small_plan.air), job, DAY, system),
        render_choice(chosen, job, DAY, system),
    ):
        words = words_of(pdf)
        assert len(words) > 1000
        assert KEY.findall(words) == []
        assert COLUMN.findall(words) == []
        assert OPTION.findall(words) == []
        assert "job.toml" not in words
    # what the plan asks for is asked for still
    assert "give the highest usual water over today" in words_of(render(small_plan, DAY, system))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("not known: give air.neighbour_distance", "not known: give the way to the nearest neighbour"),
        ("put it, with its maker's curve, into [air.compressor].", "put it, with its maker's curve, into the job."),
        ("Weigh one (air.coil_mass in job.toml).", "Weigh one (the weight of a coil)."),
        (
            "What decides is air.coil_mass against air.coil_length in job.toml: weigh one.",
            "What decides is the weight of a coil against the length of a coil: weigh one.",
        ),
        ("a second profile at dawn (profiles.csv): known exactly", "a second profile at dawn: known exactly"),
        ("0.43 of area times depth (sources/shapes.csv, bowl)", "0.43 of area times depth (sources/shapes.csv, bowl)"),
        ("no tables (air line, 12 ft)", "no tables (air line, 12 ft)"),
    ],
)  # fmt: skip
def test_a_sentence_on_paper_keeps_its_numbers_and_loses_its_keys(text, said):
    """By hand; what is no name of a file stays letter by letter."""
    assert on_paper(text) == said
    assert on_paper(said) == said


@pytest.mark.parametrize(
    ("place", "words"),
    [
        ("pond.max_depth", "the greatest depth"),
        ("air.trunk[2].start_elevation", "the pieces of the line, number 2: start elevation"),
        ("air.compressor.curve[1].intake_flow", "the compressor: curve 1, intake flow"),
        ("air.compressor.noise", "the compressor's noise"),
        ("prices.trench", "price of trench"),
        ("attendance.first_hour", "attendance: first hour"),
        ("soundings.csv, depth_ft", "soundings.csv, depth_ft"),
    ],
)
def test_a_place_is_named_in_words(place, words):
    """By hand: what has words of its own by them, the rest by its table."""
    assert place_in_words(place) == words


def test_what_is_asked_of_a_coil_is_asked_once(small_plan):
    """Weight and length by their names, the weighing by another word: no sentence says the same in brackets again."""
    (said,) = [on_paper(one.said("us")) for one in small_plan.notices if one.code == "tubing-weight"]
    assert said.count("the weight of a coil") == said.count("the length of a coil") == 1
    assert said.lower().count("weigh ") == 1
    assert "(the weight" not in said
