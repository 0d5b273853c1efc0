"""Every number of a result page opens; every line that is shown comes to the number that is shown."""

from __future__ import annotations

import pytest
from tests.web.conftest import make_alternatives
from tests.web.opened_pages import Page, check_lines, check_links, check_page, figures_in
from tests.web.shown_lines import shown_value, worked_again

from plumeline.store import Folder
from plumeline.workings.book import Book
from plumeline.workings.value import given, relation

PAGES = ("pond", "survey", "reading", "layout", "air", "visits")


@pytest.fixture
def chosen_units(shared, units):
    """The shared browser in these units, and as it was afterwards."""
    yield shared.in_units(units)
    shared.in_units("us")


@pytest.mark.parametrize("units", ["us", "si"])
@pytest.mark.parametrize("stage", PAGES)
def test_every_number_of_a_page_opens(chosen_units, stage, units):
    """Crawl a result page: what is a number is a link, and its page says how it came about."""
    browser = chosen_units
    path = f"/ponds/{browser.pond}" if stage == "pond" else f"/ponds/{browser.pond}/{stage}"
    page = Page(browser.get(path).text)
    assert page.links
    print(f"{stage}, {units}: {len(page.links)} numbers open")
    check_page(page, browser.get(f"/api/v1/ponds/{browser.pond}/workings/{stage}?units={units}").json())


@pytest.mark.parametrize("units", ["us", "si"])
@pytest.mark.parametrize("stage", PAGES)
def test_every_line_comes_to_what_is_shown(shared, stage, units):
    """Work out each line anew from its text, in the units that it shows."""
    rows = shared.get(f"/api/v1/ponds/{shared.pond}/workings/{stage}?units={units}").json()
    check_lines(rows)


GAUGES = """time,place,pressure_psig,water_level_in,open_ports
2026-08-12T09:00,compressor,7.9,,
2026-08-12T09:05,A,7.2,,
2026-08-12T09:06,B,5.8,,
2026-08-12T09:07,C,5.1,4,
2026-08-12T09:30,compressor,7.5,4,full A
"""


def test_every_number_of_gauges_that_were_read_opens(browser, oak):
    """Read at another water, off from what they must show: what was read, how far off, what it may be."""
    files = {**oak.files, "gauges.csv": GAUGES.encode()}
    pond = browser.store.ponds.add(Folder("gauges", files), author="", reason="").pond_id
    for units in ("us", "si"):
        text = browser.in_units(units).get(f"/ponds/{pond}/visits").text
        assert "What it may be" in text
        page = Page(text)
        assert len(page.links) > 140
        rows = browser.get(f"/api/v1/ponds/{pond}/workings/visits?units={units}").json()
        check_page(page, rows)
        check_lines(rows)


GROWN = "time,place,pressure_psig,water_level_in,open_ports\n" + "".join(
    f"{day}T09:00,compressor,{psi},0,\n"
    for day, psi in (("2026-05-01", 6.2), ("2026-05-20", 6.4), ("2026-06-15", 6.6), ("2026-08-01", 7.2))
)


def test_every_number_of_a_growing_gauge_and_of_gauges_left_out_opens(browser, oak):
    """The rise over the visits, and rows of a port that the line does not have or that stands behind a shut valve."""
    rows = "2026-08-01T09:06,left one,5.1,0,\n2026-08-01T09:07,A,4,0,B\n"
    files = {**oak.files, "gauges.csv": f"{GROWN}{rows}".encode()}
    pond = browser.store.ponds.add(Folder("grown", files), author="", reason="").pond_id
    for units in ("us", "si"):
        text = browser.in_units(units).get(f"/ponds/{pond}/visits").text
        assert "How the compressor" in text
        assert "Kept, and left out below" in text
        found = browser.get(f"/api/v1/ponds/{pond}/workings/visits?units={units}").json()
        check_page(Page(text), found)
        check_lines(found)


def test_every_number_of_the_alternatives_opens(browser, oak):
    """The page of the alternatives in both systems of units."""
    pond = browser.store.ponds.add(oak, author="", reason="").pond_id
    make_alternatives(browser.store, pond)
    for units in ("us", "si"):
        page = Page(browser.in_units(units).get(f"/ponds/{pond}/front").text)
        assert len(page.links) > 40
        found = browser.get(f"/api/v1/ponds/{pond}/workings/front?units={units}").json()
        check_page(page, found)
        check_lines(found)


def test_every_number_of_the_comparison_of_costs_opens(shared, monkeypatch):
    """The page of the quote's money in both systems of units; each part of each cost has a line that comes to it."""
    for place in ("trunks", "service"):  # two sizes of pipe and few distances: the others are alike
        monkeypatch.setattr(f"plumeline.stages.choice.{place}.PIPES", ("pe-1/2", "pe-3/4"))
    monkeypatch.setattr("plumeline.stages.choice.service.STEPS_COUNT", 6)
    for units in ("us", "si"):
        shared.in_units(units)
        page = Page(shared.get(f"/ponds/{shared.pond}/costs").text)
        found = shared.get(f"/api/v1/ponds/{shared.pond}/workings/costs?units={units}").json()
        check_page(page, found)
        check_lines(found)
        lines = {row["name"] for row in found if row["line"]}
        for part in ("purchase", "installation", "energy", "service", "replacement", "cost"):
            assert len([name for name in lines if name.startswith(f"{part} of ")]) >= 4, part
    shared.in_units("us")


def test_no_number_of_the_papers_page_is_left_closed(shared):
    """Names of quotes, revisions and pipes, and dates: there is no figure on it."""
    page = Page(shared.get(f"/ponds/{shared.pond}/papers").text)
    assert page.loose
    assert not [text for text in page.loose if figures_in(text)]


@pytest.mark.parametrize("units", ["us", "si"])
def test_every_number_of_the_customers_page_opens(everybody, place, units):
    """To pages of the customer's own, without a way to any page of the office."""
    client = everybody["link"]
    if place.quotes.latest("hollow-oak", 1) is None:
        place.quotes.keep("hollow-oak", 1, 1, None, "Ada", {"us": b"%PDF us", "si": b"%PDF si"})
    assert client.post("/units", {"units": units, "back": "/customer"}, page="/customer").status_code == 303
    page = Page(client.http.get("/customer").text)
    assert len([text for _href, text in page.links if text]) >= 4
    assert not [text for text in page.loose if figures_in(text)]
    for href, text in page.links:
        assert href.startswith("/customer/workings/")
        answer = client.http.get(href)
        assert answer.status_code == 200
        assert text in answer.text
        assert "/ponds/" not in answer.text
    assert "/ponds/" not in client.http.get("/customer/workings").text
    assert everybody["office"].http.get("/customer/workings").status_code == 401


def test_a_wrong_line_is_found():
    """The reader is no rubber stamp."""
    goal, step = shown_value("5 ft 6 in")
    assert abs(worked_again("8.85 acre-ft / 1.60 acre") - goal) <= step
    assert abs(worked_again("8.85 acre-ft / 1.70 acre") - goal) > step
    assert worked_again("(84.4 °F − 32 °F) × 2") == pytest.approx(58.2222, abs=1e-3)
    assert worked_again("normal((2 m − 1 m) / 0.5 m) + 2^3 / 4 − 1") == pytest.approx(1.97725, abs=1e-5)


@pytest.mark.parametrize(
    "path", ["/workings/survey", "/workings/survey/volume", "/workings/survey/volume?revision=1"]
)
def test_a_number_has_its_page(shared, path):
    """One working a page, and all of them to be printed."""
    answer = shared.get(f"/ponds/{shared.pond}{path}")
    assert answer.status_code == 200
    assert "Gaussian Processes for Machine Learning" in answer.text
    assert "alert(1)</script>" not in answer.text


def test_an_unknown_number_is_said(shared):
    """A key that no number has."""
    assert shared.get(f"/ponds/{shared.pond}/workings/survey/no-such").status_code == 404


def test_a_number_of_the_ponds_page_leads_back_to_it(shared):
    """A number under the drawings has its page, and that the way back."""
    page = Page(shared.get(f"/ponds/{shared.pond}").text)
    working = shared.get(page.links[0][0])
    assert working.status_code == 200
    assert f'href="/ponds/{shared.pond}">Back to the page: pond' in working.text


def test_a_page_is_shown_where_its_workings_fail(browser, oak_zip, monkeypatch, capsys):
    """A mistake of ours in a working costs the links, not the page; the server's words tell of it."""

    def broken(*_):
        raise ZeroDivisionError("by us")

    monkeypatch.setattr("plumeline.web.opening.make_book", broken)
    assert browser.bring_in(oak_zip).status_code == 303
    pond = browser.get("/api/v1/ponds").json()[0]["id"]
    answer = browser.get(f"/ponds/{pond}/air")
    assert answer.status_code == 200
    assert "6.22 psig" in answer.text
    assert not Page(answer.text).links
    assert "by us" in capsys.readouterr().err
    assert "don't open yet" in browser.get(f"/ponds/{pond}/workings/air").text


def test_a_line_gets_the_digits_that_it_needs():
    """Two numbers alike to three digits are written with more, where a formula divides by what is between them."""
    near, far = (
        given(name, number, "m", "measured") for name, number in (("near", 100.001), ("far", 100.002))
    )
    slope = relation("slope", 1000.0, "", "1 / (f - n)", {"f": far, "n": near})
    book = Book("si")
    book.at("sentence", "It is", values=[slope])
    assert [piece.key for piece in book.opened("It is 1000 steep", ("sentence", "It is"))] == [
        "",
        "slope",
        "",
    ]
    assert book.workings["slope"].line == "1 / (100.002 m − 100.001 m)"
    assert not book.failed


PROFILES = {
    "cold and mixed": ["0,4,11.5", "6,4,11.5", "12,4,11.5"],
    "mixed": ["0,20,5", "6,20,5", "12,20,5"],
    "ice on top": ["0,0,11", "6,3,8", "12,4,2"],
    "a meter that reads none": ["0,29,0", "6,22,0", "12,16,0"],
}


@pytest.mark.parametrize("water", PROFILES)
def test_numbers_open_in_other_waters(browser, oak, water):
    """Mixed, cold, and a last profile that nobody believes: no page fails, each number opens to the profile shown."""
    before = oak.files["profiles.csv"].decode().splitlines()
    rows = [before[0].split(",")[:4], *([f"2026-08-11T16:30,{row}"] for row in PROFILES[water])]
    if water == "a meter that reads none":
        # two profiles: the later one is doubted, the earlier one is the reading
        rows = [
            rows[0],
            *([f"2026-08-11T06:30,{row}"] for row in ("0,29,6", "6,22,3", "12,16,0.1")),
            *rows[1:],
        ]
    text = "\n".join(",".join(row) for row in rows)
    header = "time,depth_ft,temperature_degc,do_mg_l"
    text = "\n".join([header, *text.splitlines()[1:]]) + "\n"
    files = {**oak.files, "profiles.csv": text.encode()}
    for extra in ("readings.csv", "bottle.csv"):
        files.pop(extra, None)
    pond = browser.store.ponds.add(Folder("water", files), author="", reason="").pond_id
    for stage in ("", "/survey", "/reading", "/layout", "/air"):
        assert browser.get(f"/ponds/{pond}{stage}").status_code == 200, stage
    rows = browser.get(f"/api/v1/ponds/{pond}/workings/reading?units=us").json()
    check_links(Page(browser.get(f"/ponds/{pond}/reading").text), rows)
    check_lines(rows)
    at_the_top = next(row for row in rows if row["key"] == "temperature-at-0-ft")
    assert "T06-30" in at_the_top["words"] if len(text.splitlines()) > 4 else "T16-30" in at_the_top["words"]
