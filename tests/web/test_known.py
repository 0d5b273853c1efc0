"""What is known of a pond is changed as a form: each fact with its consequence, and "not known" is not "no"."""

from __future__ import annotations

import html
import re

import pytest
from tests.web.test_fields import ANSWERS, at_field

from plumeline.files.site_questions import QUESTIONS

POND = "/ponds/upper-pond"
KNOWN = f"{POND}/known"

CONSEQUENCES = {
    "utility_located": ("no", "no digging before the public call"),
    "private_lines": ("yes", "have a private locator mark them"),
    "permits_in_hand": ("no", "lay and start nothing before they are"),
    "earthen_dam": ("yes", "no trench, pipe or anchor in it"),
    "outlet": ("gate", "Hold the gate shut"),
    "outflow_now": ("yes", "kill what lives below"),
    "well_near": ("yes", "tell its owner before the first start"),
    "potable_intake": ("yes", "shut the intake before the first start"),
    "livestock_intake": ("yes", "give them other water during the start-up"),
    "irrigation_intake": ("yes", "stop it during the start-up"),
    "swimmers": ("yes", "nobody in the water during the start-up"),
    "animals": ("yes", "keep them out during the start-up and of any scum"),
    "spawning_beds": ("yes", "no start-up while eggs or fry are on them"),
    "protected_species": ("yes", "ask the wildlife agency"),
    "other_pumps": ("yes", "which the plan does not count"),
    "herbicide": ("yes", "No start-up plan is made without a reason"),
}
"""What follows from the answer that matters (common practice, no published source; the law comes first)."""


@pytest.fixture
def there(browser):
    """A server with a pond from ten answers."""
    assert browser.post("/ponds/new", {**ANSWERS, "action": "save", "form_key": "k"}).status_code == 303
    return browser


def fields_of(text):
    """Return what stands in each field of the page, as a browser would send it."""
    typed = re.findall(r'<input type="(?:text|hidden)"[^>]*? name="(\w+)" value="([^"]*)"', text)
    chosen = re.findall(r'<input type="radio" name="(\w+)" value="(\w+)" checked>', text)
    long = re.findall(r'<textarea [^>]*?name="(\w+)"[^>]*>([^<]*)</textarea>', text)
    return {name: html.unescape(words) for name, words in [*typed, *chosen, *long]}


def sent(there, changes, action="save"):
    """Fill in the page as it stands, change some answers, and send it."""
    fields = fields_of(there.get(KNOWN).text)
    return there.post(KNOWN, {**fields, "author": "Ada", "action": action, **changes})


def job_text(there):
    return there.store.ponds.folder("upper-pond").files["job.toml"].decode()


def test_the_page_asks_for_every_answer_as_it_is_kept(there):
    """Each of the ten as it was typed, each fact with "not known" chosen: nobody was asked yet."""
    text = there.get(KNOWN).text
    fields = fields_of(text)
    assert {one.name for one in QUESTIONS} <= fields.keys()
    for name, words in ANSWERS.items():
        assert fields[name] == words
    assert all(fields[name] == "unknown" for name in CONSEQUENCES)
    assert "Understood: 14 ft = 4.27 m." in text


def noticed(there):
    """Return what stands against the pond as it is kept: what every surface shows."""
    return " ".join(one.said("us") for one in there.store.ponds.revision("upper-pond").notices)


def questions_on(text):
    """Return the fields that a page's list of what is not known leads to."""
    listed = text.partition('id="not-known"')[2].partition("</section>")[0]
    return set(re.findall(r'#(\w+)">', listed))


@pytest.mark.parametrize("fact", CONSEQUENCES)
def test_a_fact_that_is_set_says_what_follows_and_one_that_is_not_known_is_asked(there, fact):
    """At its field and among the notices of the pond once it is set; a question of the page until then, and again."""
    answer, words = CONSEQUENCES[fact]
    assert fact in questions_on(there.get(KNOWN).text)
    assert words not in noticed(there)
    assert sent(there, {fact: answer}).status_code == 303
    shown = there.get(KNOWN).text
    field = html.unescape(shown.partition(f'id="{fact}"')[2].partition("</fieldset>")[0])
    assert re.search(
        rf'<p class="notice (danger|caution)"><strong>\w+:</strong>[^<]*{re.escape(words)}', field
    )
    assert fields_of(shown)[fact] == answer
    assert fact not in questions_on(shown)
    assert words in noticed(there)
    assert sent(there, {fact: "unknown"}).status_code == 303
    assert words not in noticed(there)
    assert fact in questions_on(there.get(KNOWN).text)


def test_every_consequence_stands_on_the_pages_of_results_and_leads_to_its_answer(there):
    """Pond and survey ask what nobody knows, each question a link; set, every fact is warned of there, with a link."""
    pages = (POND, f"{POND}/survey")
    for page in pages:
        assert set(CONSEQUENCES) <= questions_on(there.get(page).text)
    assert sent(there, {fact: answer for fact, (answer, _) in CONSEQUENCES.items()}).status_code == 303
    for page in pages:
        text = html.unescape(there.get(page).text)
        assert not set(CONSEQUENCES) & questions_on(text)
        for fact, (_, words) in CONSEQUENCES.items():
            notice = next(one for one in re.findall(r'<p class="notice .*?</p>', text) if words in one)
            assert f'href="{KNOWN}#{fact}">To this answer</a>' in notice, (page, fact)
    startup = there.get(f"{POND}/startup").text
    for fact in ("swimmers", "spawning_beds", "herbicide", "permits_in_hand"):
        assert f'href="{KNOWN}#{fact}">To this answer</a>' in startup


def test_not_known_is_told_from_no(there):
    """A no is kept as a no and asked no more; not known stays a question, said at its field too."""
    assert sent(there, {"swimmers": "no"}).status_code == 303
    text = there.get(KNOWN).text
    asked = text.partition('id="not-known"')[2].partition("</section>")[0]
    assert "#swimmers" not in asked
    assert "#animals" in asked
    assert 'swimmers = "no"' in job_text(there)
    field = text.partition('id="animals"')[2].partition("</fieldset>")[0]
    assert "Not known is not no" in field


def test_typed_facts_change_what_is_told(there):
    """Whom to tell, and two owners who must agree."""
    changes = {
        "outlet": "bottom",
        "tell_downstream": "the mill below",
        "shore_owner": "A. Owner",
        "bed_owner": "the county",
    }
    assert sent(there, changes).status_code == 303
    startup = there.get(f"{POND}/startup").text
    assert "Before the first start tell the mill below." in startup
    survey = there.get(f"{POND}/survey").text
    assert "The shore belongs to A. Owner, the bed to the county: both must agree in writing" in survey


def test_a_start_that_a_fact_forbids_leads_to_that_answer(there):
    """Spawning beds, and a treatment without its day: the refusal of the run links to the field."""
    from plumeline.web import worker

    for changes, field in (
        ({"spawning_beds": "yes"}, "spawning_beds"),
        ({"spawning_beds": "no", "herbicide": "yes"}, "herbicide_date"),
    ):
        assert sent(there, changes).status_code == 303
        number = there.store.ponds.revision("upper-pond").number
        assert there.post(f"{POND}/startup", {"number": str(number)}).status_code == 303
        worker.compute(there.store, there.store.runs.claim())
        refusal = re.search(
            r'<p class="notice danger" role="alert">.*?</p>', there.get(f"{POND}/startup").text
        )[0]
        assert "no start-up" in refusal
        assert f'href="{KNOWN}#{field}"' in refusal


def test_answers_change_in_their_own_lines(there):
    """Comments, other keys and other files stay as somebody wrote them; a new revision says what was changed."""
    files = dict(there.store.ponds.folder("upper-pond").files)
    text = files["job.toml"].decode()
    text = text.replace('max_depth = "14 ft"', 'max_depth_ft = 14   # by the owner, "about"')
    text += "\n# to be asked: who mows the dam\n[wishes]\njob_risk = 0.04 # agreed\n"
    files |= {"job.toml": text.encode(), "notes of the owner.txt": b"gate key at the mill"}
    there.store.ponds.save_files("upper-pond", files, expected_number=1, author="", reason="")
    assert fields_of(there.get(KNOWN).text)["max_depth"] == "14 ft"
    assert sent(there, {"max_depth": "15 ft 6 in", "earthen_dam": "yes"}).status_code == 303
    wanted = text.replace("max_depth_ft = 14 ", 'max_depth = "15 ft 6 in" ').replace(
        'time_zone = "America/New_York"\n',
        'time_zone = "America/New_York"\n\n[site.facts]\nearthen_dam = "yes"\n',
    )
    assert job_text(there) == wanted
    saved = there.store.ponds.revision("upper-pond")
    assert (saved.number, saved.author) == (3, "Ada")
    assert "Greatest depth" in saved.reason
    assert there.store.ponds.folder("upper-pond").files["notes of the owner.txt"] == b"gate key at the mill"
    # a foot is 0.3048 m exactly (NIST Handbook 44, appendix C)
    assert saved.job.pond.max_depth_m == pytest.approx(15.5 * 0.3048)


def test_facts_as_a_program_wrote_them_can_be_changed(there):
    """Kept from the API, the facts are one inline table: they get a table of their own, all else stays."""
    job = there.store.ponds.revision("upper-pond").job
    assert sent(there, {"well_near": "yes"}).status_code == 303
    job = there.store.ponds.revision("upper-pond").job
    there.store.ponds.save_job("upper-pond", job, expected_number=2, author="", reason="")
    assert "facts = {" in job_text(there)
    assert sent(there, {"animals": "yes"}).status_code == 303
    after = there.store.ponds.revision("upper-pond").job
    facts = job.site.facts.model_copy(update={"animals": "yes"})
    assert after == job.model_copy(update={"site": job.site.model_copy(update={"facts": facts})})


def test_a_page_in_metres_changes_only_what_was_typed(there):
    """A number whose unit stands in its key is shown in the page's units, and not written anew when left alone."""
    job = there.store.ponds.revision("upper-pond").job
    there.store.ponds.save_job("upper-pond", job, expected_number=1, author="", reason="")
    fields = fields_of(there.get(KNOWN).text)
    assert (fields["area"], fields["max_depth"], fields["power"]) == ("1.60 acre", "14 ft", "120 V, 20 A")
    there.in_units("si")
    assert fields_of(there.get(KNOWN).text)["max_depth"] == "4.27 m"
    # the page was opened in feet, and is sent after somebody chose metres
    assert there.post(KNOWN, {**fields, "secchi_depth": "80 cm", "action": "save"}).status_code == 303
    after = there.store.ponds.revision("upper-pond").job
    assert after.pond == job.pond.model_copy(update={"secchi_depth_m": 0.8})
    assert (after.site, after.power, after.air) == (job.site, job.power, job.air)


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("area", "1.6 akres", "Did you mean acres?"),
        ("max_depth", "15", "15 has no unit. Write 15 ft or 15 m, as it was measured"),
        ("herbicide_date", "last week", "is not a date. Write year-month-day"),
        ("herbicide_date", "2026-13-01", "is not a date"),
        ("position", "35.9", "is not three values"),
    ],
)
def test_what_is_wrong_is_told_at_its_field_and_nothing_typed_is_lost(there, field, typed, words):
    """No revision is made; a link above leads to the field, and the other answers stay as they were typed."""
    answer = sent(
        there, {field: typed, "swimmers": "yes", "bed_owner": 'a "b" <c>', "reason": "asked the owner"}
    )
    assert answer.status_code == 422
    assert words.lower() in at_field(answer.text, field).lower()
    assert f'<a href="#{field}">' in answer.text
    fields = fields_of(answer.text)
    assert (fields[field], fields["swimmers"], fields["bed_owner"]) == (typed, "yes", 'a "b" <c>')
    assert fields["reason"] == "asked the owner"
    assert there.store.ponds.revision("upper-pond").number == 1


def test_an_answer_that_is_none_is_told_at_its_question(there):
    """A choice that the page does not offer, as by a broken script."""
    answer = sent(there, {"swimmers": "maybe"})
    assert answer.status_code == 422
    group = answer.text.partition('id="swimmers"')[2].partition("</fieldset>")[0]
    assert "Use one of: yes, no, unknown." in group
    assert 'aria-invalid="true"' in group


def test_how_it_is_understood_is_shown_before_anything_is_kept(there):
    """The echo of what was typed, and what would follow."""
    answer = sent(there, {"rise": "3 m", "well_near": "yes"}, action="look")
    assert answer.status_code == 200
    assert "Understood: 3 m = 9 ft 10 in." in answer.text
    assert "Nothing is saved yet." in answer.text
    well = answer.text.partition('id="well_near"')[2].partition("</fieldset>")[0]
    assert "<strong>Caution:</strong> There is a well near the pond" in well
    assert there.store.ponds.revision("upper-pond").number == 1


def test_a_stale_form_loses_nothing_of_either(there):
    """409: what was typed stays, what another saved meanwhile is shown beside it, and the rest is as it stands now."""
    mine = fields_of(there.get(KNOWN).text)
    assert sent(there, {"swimmers": "no", "rise": "20 ft", "animals": "yes"}).status_code == 303
    answer = there.post(KNOWN, {**mine, "swimmers": "yes", "area": "2 acre", "action": "save"})
    assert answer.status_code == 409
    fields = fields_of(answer.text)
    assert (fields["swimmers"], fields["area"]) == ("yes", "2 acre")
    assert (fields["rise"], fields["animals"], fields["number"]) == ("20 ft", "yes", "2")
    swimmers = answer.text.partition('id="swimmers"')[2].partition("</fieldset>")[0]
    assert re.search(r"Saved meanwhile by somebody else:</strong> no<", swimmers)
    assert there.store.ponds.revision("upper-pond").number == 2
    assert there.post(KNOWN, {**fields, "action": "save"}).status_code == 303
    job = there.store.ponds.revision("upper-pond").job
    assert (job.site.facts.swimmers, job.site.facts.animals) == ("yes", "yes")
    # 1 acre = 4046.8564224 m² and 1 ft = 0.3048 m (NIST Handbook 44, appendix C: international foot)
    assert job.pond.area_m2 == pytest.approx(2 * 43560 * 0.3048**2)
    assert job.air.rise_m == pytest.approx(20 * 0.3048)


def test_a_form_that_changes_nothing_makes_no_revision(there):
    """Sent as it stands, twice."""
    for _ in range(2):
        assert sent(there, {}).status_code == 303
    assert there.store.ponds.revision("upper-pond").number == 1


def test_readings_with_a_file_of_their_own_are_not_asked_for(there):
    """Two short lines beside profiles.csv would not be read."""
    files = dict(there.store.ponds.folder("upper-pond").files)
    rows = b"time,depth_ft,temperature_degf,do_mg_l\n2026-08-11 10:00,0,84,7.5\n2026-08-11 10:00,13,64,0.1\n"
    files["profiles.csv"] = rows
    there.store.ponds.save_files("upper-pond", files, expected_number=1, author="", reason="")
    text = there.get(KNOWN).text
    assert 'id="surface"' not in text
    assert sent(there, {"animals": "yes"}).status_code == 303
    assert 'surface = "84 degF, 7.5 mg/L"' in job_text(there)


def test_an_answer_that_something_better_counts_before_says_so(there, oak_zip):
    """The demo pond has a drawn shore, soundings and a line in pieces; the pond of ten answers has none of them."""
    words = ("The shore that is drawn", "The soundings", "The pieces of the line, one by one,")
    text = there.get(KNOWN).text
    assert there.bring_in(oak_zip).status_code == 303
    other = next(row.id for row in there.store.ponds.rows() if row.id != "upper-pond")
    oak = there.get(f"/ponds/{other}/known").text
    for said in words:
        assert f"{said} count" in oak
        assert said not in text


def test_a_warning_about_an_answer_leads_to_it(there):
    """An answer that is still empty, and an unknown fish, on the page of the pond."""
    assert sent(there, {"secchi_depth": "", "species": "unicorn"}).status_code == 303
    text = there.get(POND).text
    for field in ("secchi_depth", "species"):
        assert f'href="{KNOWN}#{field}">To this answer</a>' in text, field


def test_what_is_not_known_of_the_power_is_asked_where_the_air_page_says_so(there):
    """Each caution on the air page leads to its field; answered, the caution is gone, and the answer is kept."""
    answers = {
        "gfci": "yes",
        "trip_alarm": "yes",
        "high_water": "18 in",
        "feeder_length": "45 ft",
        "feeder_gauge": "10",
    }
    text = there.get(f"{POND}/air").text
    asked = {field for field in answers if f'href="{KNOWN}#{field}">To this answer</a>' in text}
    assert asked == {"gfci", "trip_alarm", "high_water", "feeder_length"}
    assert sent(there, answers).status_code == 303
    text = there.get(f"{POND}/air").text
    assert not [field for field in answers if f'href="{KNOWN}#{field}"' in text]
    power = there.store.ponds.revision("upper-pond").job.power
    # a foot is 0.3048 m exactly (NIST Handbook 44, appendix C)
    assert (power.high_water_m, power.feeder_length_m) == (
        pytest.approx(1.5 * 0.3048),
        pytest.approx(45 * 0.3048),
    )
    assert (power.gfci, power.feeder_gauge, power.volts) == ("yes", "10", 120.0)
    answer = sent(there, {"feeder_gauge": "11"})
    assert answer.status_code == 422
    assert "Use one of:" in at_field(answer.text, "feeder_gauge")


def test_a_file_that_takes_no_line_is_written_anew_and_says_the_same(there):
    """Facts as dotted keys under [site]: the new answer is kept, and nothing else of the job changes."""
    files = dict(there.store.ponds.folder("upper-pond").files)
    zone = b'time_zone = "America/New_York"\n'
    files["job.toml"] = files["job.toml"].replace(
        zone, zone + b'facts.swimmers = "no"\nfacts.outlet = "gate"\n'
    )
    job = there.store.ponds.save_files("upper-pond", files, expected_number=1, author="", reason="").job
    assert sent(there, {"animals": "yes"}).status_code == 303
    after = there.store.ponds.revision("upper-pond").job
    facts = job.site.facts.model_copy(update={"animals": "yes"})
    assert after == job.model_copy(update={"site": job.site.model_copy(update={"facts": facts})})
    assert fields_of(there.get(KNOWN).text)["outlet"] == "gate"


def test_the_shore_under_water_is_told_and_taken_back(there):
    """Slope and depth at the shore, in the trade's words; nonsense stays in its field; empty takes them away."""
    refused = sent(there, {"bank_slope": "rather steep"})
    assert refused.status_code == 422
    assert "is no slope" in html.unescape(refused.text)
    assert 'value="rather steep"' in refused.text
    assert sent(there, {"bank_slope": "1 ft in 3 ft", "shore_depth": "2 ft"}).status_code == 303
    pond = there.store.ponds.revision("upper-pond").job.pond
    assert pond.bank_run_number == pytest.approx(3.0)
    assert pond.shore_depth_m == pytest.approx(0.6096)
    assert fields_of(there.get(KNOWN).text)["bank_slope"] == "1 ft in 3 ft"
    assert sent(there, {"bank_slope": "", "shore_depth": ""}).status_code == 303
    pond = there.store.ponds.revision("upper-pond").job.pond
    assert (pond.bank_run_number, pond.shore_depth_m) == (None, None)
