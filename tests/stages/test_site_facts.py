"""Facts of the site: each has a consequence, unknown is a question, and two of them forbid a start."""

from __future__ import annotations

import shutil
from datetime import UTC, date, datetime, timedelta
from importlib import resources
from pathlib import Path

import pytest

from plumeline.cli import main
from plumeline.errors import InputError
from plumeline.files.job_folder import check_job
from plumeline.files.write_job import write_job
from plumeline.job.document import (
    Answer,
    Job,
    Outlet,
    Pond,
    Profile,
    ProfilePoint,
    Site,
    SiteFacts,
    Wishes,
)
from plumeline.stages.plan import make_plan
from plumeline.stages.site_facts import questions, refuse_start, site_notices, start_day

DAY = date(2026, 8, 11)
DEMO = Path(str(resources.files("plumeline.demo") / "hollow-oak"))
ANSWERS = [name for name, field in SiteFacts.model_fields.items() if field.annotation is Answer]


def job(facts: SiteFacts | None, start: date | None = None) -> Job:
    return Job(
        id="pond",
        name="pond",
        date=DAY,
        site=Site(latitude_deg=35.9, longitude_deg=-79.7, elevation_m=200.0, facts=facts),
        pond=Pond(area_m2=6000.0, max_depth_m=4.0),
        wishes=Wishes(start_date=start),
    )


@pytest.mark.parametrize("key", ANSWERS)
def test_each_answer_has_a_consequence_and_unknown_is_not_no(key: str) -> None:
    """Yes and no differ in what is said; unknown is asked for, and no longer once it is answered."""
    said = {
        answer: {item.code for item in site_notices(job(SiteFacts.model_validate({key: answer})))}
        for answer in (Answer.YES, Answer.NO)
    }
    assert said[Answer.YES] != said[Answer.NO]
    unknown, answered = questions(SiteFacts()), questions(SiteFacts.model_validate({key: Answer.NO}))
    assert unknown is not None
    assert answered is not None
    assert len(answered.text) < len(unknown.text)


def test_a_job_that_was_never_asked_says_nothing_but_check_asks() -> None:
    """Ten answers still suffice: no notice of the site, one note of questions."""
    assert site_notices(job(None)) == ()
    asked = questions(None)
    assert asked is not None
    assert asked.severity == "note"


@pytest.mark.parametrize("outlet", [Outlet.SPILLWAY, Outlet.SURFACE, Outlet.BOTTOM, Outlet.GATE])
def test_an_outlet_says_what_to_hold_and_whom_to_tell(outlet: Outlet) -> None:
    """Each way out has its own words; the one to be told is named."""
    facts = SiteFacts(outlet=outlet, tell_downstream="the mill below")
    (found,) = site_notices(job(facts))
    assert found.code == "site-outlet"
    assert "the mill below" in found.text
    other = Outlet.GATE if outlet is not Outlet.GATE else Outlet.BOTTOM
    assert found.text != site_notices(job(SiteFacts(outlet=other, tell_downstream="the mill below")))[0].text


def test_spawning_beds_make_no_start_up() -> None:
    """Yes refuses; no and unknown do not."""
    with pytest.raises(InputError, match="spawning"):
        refuse_start(job(SiteFacts(spawning_beds=Answer.YES)))
    refuse_start(job(SiteFacts(spawning_beds=Answer.NO)))
    refuse_start(job(SiteFacts()))
    refuse_start(job(None))


@pytest.mark.parametrize(("days", "refused"), [(0, True), (13, True), (14, False), (40, False)])
def test_herbicide_within_a_fortnight_needs_a_reason(days: int, refused: bool) -> None:
    """Counted to the wished start; a stated reason lets it through, and is said as a danger."""
    start = DAY + timedelta(days=5)
    given = {"herbicide_date": start - timedelta(days=days)}
    plain = job(SiteFacts.model_validate(given), start)
    if not refused:
        refuse_start(plain)
        assert site_notices(plain) == ()
        return
    with pytest.raises(InputError, match=f"{days} days after"):
        refuse_start(plain)
    reasoned = job(SiteFacts.model_validate({**given, "herbicide_reason": "fish gasp already"}), start)
    refuse_start(reasoned)
    (found,) = site_notices(reasoned)
    assert found.severity == "danger"
    assert "fish gasp already" in found.text


def test_the_start_is_counted_from_the_reading_that_it_is_planned_by() -> None:
    """A job written on the 11th, treated on the 13th and read on the 30th starts 17 days after: not "-2 days"."""
    facts = SiteFacts(herbicide_date=DAY + timedelta(days=2))
    points = (ProfilePoint(depth_m=0.5, temperature_degc=25.0, do_mg_l=8.0),)
    read = Profile(id="p", time=datetime(2026, 8, 30, 14, tzinfo=UTC), points=points)
    later = job(facts).model_copy(update={"observations": (read,)})
    assert start_day(later) == date(2026, 8, 30)
    refuse_start(later)
    assert start_day(job(None)) == DAY
    assert start_day(job(None, DAY + timedelta(days=5))) == DAY + timedelta(days=5)


def test_herbicide_that_is_still_to_come_is_told_as_such() -> None:
    """No "-2 days after": the treatment lies ahead of the start, and the weed would die under it."""
    with pytest.raises(InputError, match="2 days before a treatment"):
        refuse_start(job(SiteFacts(herbicide_date=DAY + timedelta(days=2))))


def test_a_plan_is_refused_before_anything_is_worked_out() -> None:
    """No minutes of work before the reason is said: the first thing that a plan does."""
    told: list[str] = []
    with pytest.raises(InputError, match="spawning"):
        make_plan(
            job(SiteFacts(spawning_beds=Answer.YES)), seed=1, progress=lambda what, _: told.append(what)
        )
    assert told == []


def test_herbicide_on_an_unknown_day_makes_no_start_up() -> None:
    """Yes without a day can't be counted as long ago."""
    with pytest.raises(InputError, match="day is not given"):
        refuse_start(job(SiteFacts(herbicide=Answer.YES)))


def test_two_owners_must_both_agree() -> None:
    """The same name twice says nothing."""
    assert site_notices(job(SiteFacts(shore_owner="the camp", bed_owner="The camp"))) == ()
    (found,) = site_notices(job(SiteFacts(shore_owner="the camp", bed_owner="the county")))
    assert found.code == "site-owners"


def folder_with(tmp_path: Path, text: str) -> Path:
    folder = tmp_path / "pond"
    shutil.copytree(DEMO, folder)
    path = folder / "job.toml"
    path.write_text(path.read_text(encoding="utf-8") + f"\n[site.facts]\n{text}\n", encoding="utf-8")
    return folder


def test_facts_are_read_from_the_folder_written_back_and_told(tmp_path: Path) -> None:
    """Read, said as a notice of the folder, written and read back equal."""
    folder = folder_with(tmp_path, 'earthen_dam = "yes"\noutlet = "gate"\nherbicide_date = 2026-07-01')
    report = check_job(folder, today=DAY)
    assert report.job is not None, report.faults
    assert {"site-earthen-dam", "site-outlet"} <= {item.code for item in report.notices}
    write_job(report.job, tmp_path / "copy")
    again = check_job(tmp_path / "copy", today=DAY).job
    assert again is not None
    assert again.site == report.job.site


def test_a_wrong_word_is_a_fault_in_clear_words(tmp_path: Path) -> None:
    """An unknown key and an unknown answer are each told with what would be right."""
    report = check_job(folder_with(tmp_path, 'earthen_damm = "yes"\nswimmers = "maybe"'), today=DAY)
    told = " ".join(str(fault) for fault in report.faults)
    assert "earthen_dam" in told
    assert "unknown" in told


@pytest.mark.parametrize("command", ["startup", "plan"])
@pytest.mark.parametrize(
    ("facts", "reason", "way_out"),
    [
        ('spawning_beds = "yes"', "spawning beds", 'spawning_beds = "no"'),
        ("herbicide_date = 2026-08-05", "days after a treatment", "herbicide_reason"),
    ],
)
def test_start_up_of_the_shell_is_refused_in_clear_words(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], command: str, facts: str, reason: str, way_out: str
) -> None:
    """Exit 1, the reason and the way out; no traceback, and no file of a plan."""
    folder = folder_with(tmp_path, facts)
    out = ["--out", str(tmp_path / "out")] if command == "plan" else []
    assert main([command, str(folder), *out]) == 1
    told = capsys.readouterr().err
    assert reason in told
    assert way_out in told
    assert "Traceback" not in told
    assert not list((tmp_path / "out").glob("*"))
