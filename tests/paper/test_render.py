"""plan.pdf: what stands in it, how many pages, and the same bytes twice."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from io import BytesIO

import pytest
from pypdf import PdfReader

from plumeline.job.document import Answer, SiteFacts
from plumeline.notices import note
from plumeline.pairs import said
from plumeline.paper import render
from plumeline.paper.figures import bearing, counted, long_date, pressure, short_date
from plumeline.paper.quote import render_choice
from plumeline.paper.sheet import render_sheet
from plumeline.paper.tables import card_table
from plumeline.paper.typeset import FOLDER, SHARED
from plumeline.safety import safety_card
from plumeline.stages.air.commissioning import commissioning
from plumeline.stages.choice import choose, design_of
from plumeline.stages.startup.result import StopReading
from plumeline.stages.startup.words import emergency
from plumeline.units import plain, show

DAY = date(2026, 8, 11)


def words_of(pdf: bytes) -> list[str]:
    """Return the text of each page with every run of blanks as one."""
    return [re.sub(r"\s+", " ", page.extract_text()) for page in PdfReader(BytesIO(pdf)).pages]


@pytest.fixture(scope="module", params=["us", "si"])
def printed(request, small_plan):
    """The paper in both systems of units: (system, bytes, pages of text)."""
    pdf = render(small_plan, DAY, request.param)
    return request.param, pdf, words_of(pdf)


def test_three_to_five_pages_of_letter_and_the_electricians(printed):
    """A crew carries at most five pages of Letter, and one of heat, noise and power; each is numbered."""
    _, pdf, pages = printed
    reader = PdfReader(BytesIO(pdf))
    assert 3 <= len(pages) <= 6
    for number, (page, text) in enumerate(zip(reader.pages, pages, strict=True), start=1):
        assert (float(page.mediabox.width), float(page.mediabox.height)) == (612.0, 792.0)
        assert f"page {number} of {len(pages)}" in text


def test_same_input_same_bytes(printed, small_plan):
    """The same plan, day and units give the same bytes."""
    system, pdf, _ = printed
    assert render(small_plan, DAY, system) == pdf


def test_the_day_is_the_only_clock(printed):
    """The PDF's own dates are the day of the work."""
    _, pdf, pages = printed
    info = PdfReader(BytesIO(pdf)).metadata
    assert info.creation_date.date() == DAY
    assert info.modification_date.date() == DAY
    assert "Tuesday, August 11, 2026" in pages[0]


def test_only_the_bundled_font(printed):
    """Every font in the file is the one that ships with us."""
    _, pdf, _ = printed
    fonts = set()
    for page in PdfReader(BytesIO(pdf)).pages:
        fonts |= {str(font.get_object()["/BaseFont"]) for font in page["/Resources"]["/Font"].values()}
    assert fonts
    assert all("NotoSerif" in font for font in fonts)


def test_first_page_says_what_where_and_how_long(printed, small_plan):
    """Name, volume, every diffuser with coordinates, and every branch with its cut length."""
    system, _, pages = printed
    first = pages[0]
    assert small_plan.job.name in first
    assert show(small_plan.survey.volume_m3, "m3", system) in first
    for item in small_plan.layout.diffusers:
        point = small_plan.survey.plane.to_point(item.x_m, item.y_m)
        assert f"{point.latitude_deg:.5f}" in first
        assert f"branch {item.name}" in first


def test_gauges_to_expect_are_all_there(printed, small_plan):
    """Compressor and manifold pressure of every case stand on the paper."""
    system, _, pages = printed
    text = " ".join(pages)
    air = small_plan.air
    for point in (air.balanced, air.valves_open, *air.alone):
        assert point.case in text
        assert pressure(point.compressor_pressure_pa, system) in text
        assert pressure(point.manifold_pressure_pa, system) in text


def test_card_has_every_day_and_the_stop_rule(printed, small_plan):
    """Each day with its date; stop rule, boxes to write in, and that it is provisional beyond two days."""
    text = " ".join(printed[2])
    for day in small_plan.startup.days:
        assert short_date(day.date) in text
    for words in ("Stop rule", "initials", "Firm for the first two days", "stop under"):
        assert words in text


def test_a_failing_pond_s_first_steps_stand_on_the_first_page(small_plan):
    """Whoever carries the paper alone reads the emergency steps before anything else."""
    failing = replace(small_plan.startup, emergency=emergency(saves=False), already_failing=True)
    first = words_of(render(replace(small_plan, startup=failing), DAY, "us"))[0]
    for words in (
        "First of all",
        "keep people, dogs and livestock away",
        "surface aeration",
        "No feeding",
        "Keep the bottom diffusers off",
    ):
        assert words in first


@pytest.mark.parametrize(("hours", "words"), [((), "–"), ((3.5, 3.5), "3.5"), ((4.6, 5.7, 3.5), "3.5–5.7")])
def test_the_card_tells_where_the_stop_reading_changes_with_the_hour(small_plan, hours, words):
    """The row of a day holds every hour's reading, as the table below it does."""
    stops = tuple(StopReading(n, 9 + n, value) for n, value in enumerate(hours, start=1))
    day = replace(small_plan.startup.days[0], stop_by_hour=stops, stop_do_mg_l=hours[-1] if hours else None)
    plan = replace(small_plan, startup=replace(small_plan.startup, days=(day,)))
    assert card_table(plan)["rows"][0][4] == words


def test_risk_is_counts_and_no_guarantee(printed, small_plan):
    """The risk stands as a count, beside the count without air, with every comparison."""
    text = " ".join(printed[2])
    risk = small_plan.startup.risk
    assert (
        f"of {plain(risk.members, 0)} simulated ponds like this one, {plain(risk.failures, 0)} lost their refuge"
        in text
    )
    assert (
        f"without any air, over the same days, {plain(round(risk.baseline_risk * risk.members), 0)} did"
        in text
    )
    assert "no guarantee" in text
    for item in small_plan.startup.comparisons:
        assert item.name in text


def test_safety_card_and_warnings_are_whole(printed, small_plan):
    """Every line of the safety card and every notice stand on the paper."""
    # a hyphen at the end of a line is the typesetter's, not the text's
    text = re.sub(r"\W", "", " ".join(printed[2]))
    for title, words in safety_card(printed[0]):
        assert re.sub(r"\W", "", title + words) in text
    for notice in small_plan.notices:
        assert re.sub(r"\W", "", notice.said(printed[0]))[:40] in text


def test_one_page_has_heat_plastic_noise_and_what_the_electrician_needs(printed, small_plan):
    """All on one sheet that can be handed over: joints, noise, currents, every size of wire, every point to check."""
    system, _, pages = printed
    (page,) = [text for text in pages if "For the licensed electrician" in text and "running current" in text]
    for joint in small_plan.air.heat.joints:
        assert joint.where in page
    for wire in small_plan.air.electrical.conductors:
        assert show(wire.longest_run_m, "m", system) in page
    flat = re.sub(r"\W", "", page)
    for words in small_plan.air.electrical.checklist:
        assert re.sub(r"\W", "", said(words, system))[:60] in flat
    for words in ("electrical datum plane", "metal first, in the open", "dB(A)", "licence"):
        assert words in page


def test_much_to_say_gets_smaller_print_not_more_pages(small_plan):
    """With six more notices it still takes five pages and the electrician's."""
    more = tuple(
        note(f"n{n}", f"Notice {n}: " + "there is something more to think about here. " * 2) for n in range(6)
    )
    pdf = render(replace(small_plan, notices=(*small_plan.notices, *more)), DAY, "us")
    assert len(words_of(pdf)) <= 6


def test_no_print_is_under_seven_points():
    """However much there is to say: smaller print is not read at a pond (common practice, no published source)."""
    for template in (one for one in FOLDER.glob("*.typ") if one.name != SHARED):
        lines = [line for line in template.read_text().splitlines() if re.search(r"text\(|size", line)]
        kept = [re.sub(r"pad:.*|stroke:.*|v\(\d+pt\)", "", line) for line in lines]
        sizes = [float(size) for line in kept for size in re.findall(r"(\d+(?:\.\d+)?)pt", line)]
        assert sizes, template
        assert min(sizes) >= 7.0, template


def test_how_units_are_kept_whole_stands_once_and_every_template_uses_it():
    """A unit added there holds on all papers; none has a rule of its own beside it."""
    for template in FOLDER.glob("*.typ"):
        text = template.read_text()
        assert text.count("show regex(") == (template.name == SHARED), template
        assert (f'#import "{SHARED}": whole-units' in text and "#show: whole-units" in text) == (
            template.name != SHARED
        ), template


def test_the_page_named_for_the_card_is_the_one_it_stands_on(printed):
    """The summary leads to it; how much stands before it differs from job to job."""
    pages = printed[2]
    (number,) = re.findall(r"by the card on page (\d+)", pages[0])
    assert "The start-up card" in pages[int(number) - 1]


ASKED = SiteFacts(utility_located=Answer.NO, earthen_dam=Answer.YES, irrigation_intake=Answer.YES)


def test_what_the_site_forbids_stands_on_every_paper_that_a_crew_holds(small_plan):
    """No ticket, an earthen dam, an intake: at the head of the plan, on the gauge sheet and on the quote; once each."""
    job = small_plan.job.model_copy(update={"site": small_plan.job.site.model_copy(update={"facts": ASKED})})
    plan = replace(small_plan, job=job)
    sheet = render_sheet(commissioning(job, plan.air, seed=1), job, DAY, "us")
    quoted = render_choice(choose(job, plan.survey, design_of(plan.sizing)), job, DAY, "us")
    for pdf in (render(plan, DAY, "us"), sheet, quoted):
        text = " ".join(words_of(pdf))
        for words in (
            "no digging before the public call",
            "no trench, pipe or anchor in it",
            "drawn for irrigation",
        ):
            assert text.count(words) == 1, words
        assert "Not known, and not known is not no" in text
        assert "is the dam of earth" not in text
    assert "no digging before the public call" in words_of(render(plan, DAY, "us"))[0]


def test_a_name_in_letters_that_the_font_lacks_still_prints(small_plan):
    """A pond called in Chinese letters gets its paper, though not those letters."""
    job = small_plan.job.model_copy(update={"name": "池塘 two"})
    assert "two" in words_of(render(replace(small_plan, job=job), DAY, "us"))[0]


@pytest.mark.parametrize(
    ("to_xy", "words"), [((0.0, 9.0), "0° N"), ((9.0, 0.0), "90° E"), ((-5.0, -5.0), "225° SW")]
)
def test_bearings(to_xy, words):
    """A bearing is counted from north by east."""
    assert bearing((0.0, 0.0), to_xy) == words


def test_words_for_counts_and_dates():
    """Counts up to nine are words, dates do not depend on the machine's language."""
    assert counted(3, "diffuser") == "three diffusers"
    assert counted(1, "diffuser") == "one diffuser"
    assert counted(12, "diffuser") == "12 diffusers"
    assert long_date(date(2026, 8, 12)) == "Wednesday, August 12, 2026"
