"""What is wrong with a form is said at its field, in the field's own words, and above with a link to it."""

from __future__ import annotations

import re

import pytest

ANSWERS = {
    "name": "Upper pond", "date": "2026-08-11", "position": "35.91, -79.72, 680 ft", "time_zone": "America/New_York",
    "area": "1.6 acre", "max_depth": "14 ft", "secchi_depth": "2 ft", "surface": "84 degF, 7.5 mg/L",
    "bottom": "64 degF, 0.1 mg/L", "smell": "faint", "route_length": "430 ft", "rise": "12 ft",
    "power": "120 V, 20 A", "species": "bluegill",
}  # fmt: skip


@pytest.fixture
def place(browser, oak_zip):
    """A server with the demo pond."""
    assert browser.bring_in(oak_zip).status_code == 303
    browser.pond = f"/ponds/{browser.get('/api/v1/ponds').json()[0]['id']}"
    return browser


def at_field(text, field):
    """Return the words that a field names as its description; fails where it is not marked as wrong."""
    found = re.search(rf'<(?:input|select|textarea)[^>]* id="{field}"[^>]*>', text)[0]
    assert 'aria-invalid="true"' in found
    ids = re.search(r'aria-describedby="([^"]+)"', found)[1].split()
    return " ".join(re.search(rf'id="{one}"[^>]*>(.*?)</span>', text, re.DOTALL)[1] for one in ids)


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("area", "1.6 akres", "Did you mean acres?"),
        ("rise", "9000 ft", "9000 ft is above the limit of 1640 ft"),
        ("surface", "184 degF, 7.5 mg/L", "184 °F is above the limit of 113 °F"),
        ("position", "95.9, -79.7, 680 ft", "latitude: 95.9 ° is above the limit of 90 °"),
        ("position", "35.9", "Write 35.91, -79.72, 680 ft."),
        ("power", "20", "20 has no unit. Write 20 V"),
        ("surface", "84, 7.5", "84 has no unit. Write 84 degF or 84 degC, as it was measured"),
        ("route_length", "300", "300 has no unit. Write 300 ft or 300 m, as it was measured"),
        ("time_zone", "New York", "Did you mean America/New_York?"),
    ],
)
def test_an_answer_that_is_wrong_is_told_at_its_field_in_the_forms_words(browser, field, typed, words):
    """No key and no file is named; a link above leads to the field, and what is right is said back meanwhile."""
    answer = browser.post("/ponds/new", {**ANSWERS, field: typed, "action": "look"})
    assert answer.status_code == 422
    said = at_field(answer.text, field)
    assert words.lower() in said.lower()
    assert not re.search(r"job\.toml|\w+\.\w+ =|\.csv", answer.text)
    assert f'<a href="#{field}">' in answer.text
    assert "understood: 2 ft = 0.610 m" in answer.text


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("position", "35.91, 79.72, 680 ft", "is the minus sign of a western longitude missing?"),
        ("rise", "-900 ft", "900 ft under the water"),
        ("species", "unicorn", "no limits are known"),
        ("bottom", "104 degF, 0.1 mg/L", "check that depths were counted from the surface"),
        ("power", "none", "start nothing before there is"),
    ],
)
def test_an_answer_that_is_odd_is_asked_about_at_its_field_before_it_is_kept(browser, field, typed, words):
    """The question stands above with a link, the reason at the field; another answer's fault hides neither."""
    for more, status_number in (({}, 200), ({"area": "wide"}, 422)):
        answer = browser.post("/ponds/new", {**ANSWERS, field: typed, "action": "look", **more})
        assert answer.status_code == status_number
        asked = answer.text.partition("Is this right?")[2].partition("</div>")[0]
        assert f'href="#{field}"' in asked
        hint = re.search(rf'id="{field}-hint"[^>]*>(.*?)</span></p>', answer.text, re.DOTALL)[1]
        assert words.lower() in hint.lower()


def test_the_position_and_its_clock_are_said_back(browser):
    """35.91 N, 79.72 W; the clock with its hours on that day."""
    text = browser.post("/ponds/new", {**ANSWERS, "action": "look"}).text
    assert "understood: 35.91° N, 79.72° W; 680 ft = 207 m" in text
    assert "understood: America/New_York = UTC-04:00 on 2026-08-11" in text


def test_a_gauge_s_faults_are_all_told_each_at_its_field(place):
    """Time, pressure and water level in one answer; what was typed stays."""
    sent = {"number": "1", "time": "soon", "place": "compressor", "pressure": "5", "water_level": "4 psi"}
    answer = place.post(f"{place.pond}/visits", sent)
    assert answer.status_code == 422
    assert "is no time" in at_field(answer.text, "time")
    assert "has no unit" in at_field(answer.text, "pressure")
    assert "a length is wanted" in at_field(answer.text, "water_level")
    for field in ("time", "pressure", "water_level"):
        assert f'<a href="#{field}">' in answer.text
    assert 'value="4 psi"' in answer.text


def test_lines_of_the_shore_that_can_not_be_read_are_told_at_their_field(place):
    """Both texts at once; a file that is no shore at the file's field."""
    sent = {"number": "1", "corner_lines": "1 ft, 2", "sounding_lines": "1 ft, 2 ft"}
    answer = place.post(f"{place.pond}/shore", sent)
    assert answer.status_code == 422
    assert "has no unit" in at_field(answer.text, "corner-lines")
    assert "has 2 parts" in at_field(answer.text, "sounding-lines")
    text = place.post(
        f"{place.pond}/shore/file", {"number": "1"}, files={"outline": ("a.geojson", b"{}")}
    ).text
    assert at_field(text, "outline")
    assert '<a href="#outline">' in text


def test_points_of_a_photo_and_a_file_that_is_none_are_told_at_their_field(place):
    """On the pages of the aerial photo and of files of other programs."""
    answer = place.post(f"{place.pond}/aerial", {"number": "1"}, files={"photo": ("a.jpg", b"no photo")})
    assert answer.status_code == 422
    assert at_field(answer.text, "photo-file")
    answer = place.post(f"{place.pond}/bring", {}, files={"file": ("", b"")})
    assert answer.status_code == 422
    assert "no file was chosen" in at_field(answer.text, "file")


def test_places_typed_on_the_plan_are_told_each_at_its_field(place):
    """Every field that can't be read, in one answer; then what lies on land; what was typed and who stays."""
    text = place.get(f"{place.pond}/plan").text
    sent = dict(re.findall(r'name="((?:east|north|name)\d)" value="([^"]*)"', text))
    assert len(sent) == 12
    sent |= {"number": "1", "count": "4", "sketch": "", "author": "Ada", "reason": "nearer the dam"}
    answer = place.post(f"{place.pond}/plan", {**sent, "east0": "a bit left", "north2": "12 psi"})
    assert answer.status_code == 422
    assert "a bit left" in at_field(answer.text, "east0")
    assert "a length is wanted" in at_field(answer.text, "north2")
    assert 'id="east1-wrong"' not in answer.text
    for kept in (
        '<a href="#east0">',
        '<a href="#north2">',
        'value="12 psi"',
        'value="nearer the dam"',
        'value="Ada"',
    ):
        assert kept in answer.text
    dry = place.post(f"{place.pond}/plan", {**sent, "east1": "900 ft", "east3": "-900 ft"})
    assert dry.status_code == 422
    for field in ("east1", "east3"):
        assert "outside the water" in at_field(dry.text, field)
        assert f'<a href="#{field}">' in dry.text
    assert place.store.ponds.revision(place.pond.rpartition("/")[2]).number == 1


def test_faults_of_a_file_s_text_are_told_at_the_text(place):
    """Each with its line in the list above; what it spoils elsewhere is listed without a link."""
    sent = {"path": "soundings.csv", "number": "1", "author": "Ada", "reason": "retaped"}
    answer = place.post(f"{place.pond}/files/edit", {**sent, "text": "x,y,depth_ft\n1,2,deep\n"})
    assert answer.status_code == 422
    assert at_field(answer.text, "text")
    assert '<a href="#text">' in answer.text
    for kept in ("1,2,deep", 'value="retaped"', 'value="Ada"'):
        assert kept in answer.text
    assert place.store.ponds.revision(place.pond.rpartition("/")[2]).number == 1


def test_a_name_that_can_not_sign_in_is_told_at_its_field(place):
    """Typed twice in two spellings; the name and what they may stay."""
    assert place.post("/people", {"name": "Dee", "role": "office"}).status_code == 200
    answer = place.post("/people", {"name": "dee", "role": "office"})
    assert answer.status_code == 422
    assert "somebody named" in at_field(answer.text, "name")
    assert '<a href="#name">' in answer.text
    assert 'value="dee"' in answer.text
    assert '<option value="office" selected>' in answer.text


def test_a_form_answered_in_a_browser_leads_to_a_page_of_its_own(place):
    """303 to a GET that shows the answer with its status, to who sent the form and to nobody else."""
    sent = {"number": "1", "time": "soon", "place": "compressor", "pressure": "5"}
    answer = place.post(f"{place.pond}/visits", sent, headers={"accept": "text/html"})
    assert answer.status_code == 303
    where = answer.headers["location"]
    assert where.startswith(f"{place.pond}/visits?answer=")
    shown = place.get(where)
    assert (shown.status_code, shown.headers["cache-control"]) == (422, "no-store")
    assert 'value="soon"' in shown.text
    stranger = type(place)(place.store).get(where)
    assert stranger.status_code == 200
    assert 'value="soon"' not in stranger.text


def test_the_answer_to_a_form_that_has_no_page_stands_under_the_page_above(place):
    """A refused shore file is answered on the shore's page; its unit button leads there too."""
    answer = place.post(
        f"{place.pond}/shore/file",
        {"number": "1"},
        files={"outline": ("a", b"{}")},
        headers={"accept": "text/html"},
    )
    assert answer.headers["location"].startswith(f"{place.pond}/shore?answer=")
    assert f'name="back" value="{place.pond}/shore"' in place.get(answer.headers["location"]).text


def test_a_typed_place_that_is_far_too_long_is_told_at_its_field_and_kept(place):
    """Whole sentences in a field of a length: on the plan at the field, on the shore's text too; nothing is lost."""
    long = "from the big oak about " + 20 * "far " + "to the left"
    text = place.get(f"{place.pond}/plan").text
    sent = dict(re.findall(r'name="((?:east|north|name)\d)" value="([^"]*)"', text))
    sent |= {"number": "1", "count": "4", "sketch": "", "author": "Ada", "reason": "r"}
    answer = place.post(f"{place.pond}/plan", {**sent, "east1": long})
    assert answer.status_code == 422
    assert "longer than any length is written" in at_field(answer.text, "east1")
    assert f'value="{long}"' in answer.text
    sent = {"number": "1", "corner_lines": f"{long}, 2 ft", "sounding_lines": ""}
    answer = place.post(f"{place.pond}/shore", sent)
    assert answer.status_code == 422
    assert "longer than any length is written" in at_field(answer.text, "corner-lines")
    assert long in answer.text


def test_a_fish_that_nobody_knows_is_told_once(browser):
    """With what was typed, and whose limits stand in, on the page of the pond and on that of the water."""
    given = {**ANSWERS, "species": "bluegill, unicorn", "action": "save", "form_key": "k"}
    assert browser.post("/ponds/new", given).status_code == 303
    for page in ("", "/reading", "/air"):
        text = browser.get(f"/ponds/upper-pond{page}").text
        told = [one for one in re.findall(r'<p class="notice .*?</p>', text, re.DOTALL) if "unicorn" in one]
        assert len(told) == 1, page
        assert "those of largemouth bass stand in" in told[0]
