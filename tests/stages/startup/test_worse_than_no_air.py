"""A schedule that loses more ponds than leaving the air off must not go out as a plan to follow."""

from datetime import date, timedelta

import numpy as np
import pytest

from plumeline.notices import Severity
from plumeline.stages.startup.notices import bound_by, plan_notices, worse_than_no_air
from plumeline.stages.startup.promise import Outcome, Promise
from plumeline.stages.startup.result import Risk
from plumeline.stages.startup.scene import some_of
from plumeline.stages.startup.schedule import NOTHING, WHOLE_DAY_MIN, growing
from plumeline.stages.startup.scored import begins_on, pause_helps, scored
from plumeline.stages.startup.tree import Tally
from plumeline.stages.startup.words import emergency, stands


def test_more_losses_than_no_air_forbid_the_start():
    """358 against 188 of 1,000, 5 % accepted: said as a danger, with both counts."""
    (notice,) = worse_than_no_air(Risk(1000, 358, 0.358, 0.384, 0.188, 0.170), 0.05)
    assert notice.severity is Severity.DANGER
    assert "Do not start" in notice.text
    assert "358 of 1000" in notice.text
    assert "over the same days 188" in notice.text


def test_where_salt_parts_the_water_no_cooler_weather_is_advised():
    """Fresh water parted by salt does not turn over in autumn (meromixis: Wetzel 2001, Limnology, chapter 6)."""
    risk = Risk(1000, 358, 0.358, 0.384, 0.188, 0.170)
    (notice,) = worse_than_no_air(risk, 0.05, salty=True)
    assert "cooler weather does not mix it" in notice.text
    assert "wait for cooler weather" not in notice.text
    plan = _outcome(40)
    said = plan_notices(kept=False, failing=False, stated=True, effective_members=90.0, plan=plan, salty=True)
    (kept,) = [item for item in said if item.code == "promise-not-kept"]
    assert "Wait for" not in kept.text
    assert "cooler weather does not mix it" in kept.text


def test_a_start_up_under_way_is_paused_to_a_date_and_not_refused():
    """The same counts where air has run: hold until a dated reading, with the counts of going on and of the pause."""
    later = Risk(1000, 60, 0.060, 0.074, 0.050, 0.010)
    at_once = Risk(1000, 358, 0.358, 0.384, 0.188, 0.170)
    (notice,) = worse_than_no_air(later, 0.05, at_once=at_once, hold_until=date(2026, 8, 14))
    assert notice.code == "hold-until-reading"
    assert "until the reading of Fri 14 Aug at sunrise" in notice.text
    assert "358 of 1000" in notice.text
    assert "60 of 1000" in notice.text
    assert "Do not start" not in notice.text


def test_what_is_told_before_the_rest_is_worked_out_forbids_and_states_no_more_than_the_plan_will():
    """54 of 2,000 beside 31; refused or waiting, no start is told; with too few ponds apart, no number at all."""
    risk = Risk(2000, 54, 0.027, 0.034, 0.0155, 0.0115)
    told = stands("three days", risk, stated=True, may_begin=True, kept=True)
    assert (
        told
        == "The plan stands: three days; of 2000 simulated ponds 54 lose their refuge, 31 without any air."
    )
    missed = stands("three days", risk, stated=True, may_begin=True, kept=False)
    assert missed == f"{told} That is more than is accepted."
    refused = stands("three days", risk, stated=True, may_begin=False, kept=False)
    assert refused.startswith("No start-up is to begin now: ")
    assert "54" not in stands("three days", risk, stated=False, may_begin=True, kept=False)


def test_between_the_accepted_risk_and_four_times_it_the_owner_decides():
    """110 of 1,000 beside 30 without air, 5 % accepted, no pause helps: a danger with both counts, no prohibition."""
    (notice,) = worse_than_no_air(Risk(1000, 110, 0.110, 0.128, 0.030, 0.080), 0.05, refused=False)
    assert notice.severity is Severity.DANGER
    assert notice.code == "owner-decides"
    assert "110 of 1000" in notice.text
    assert "over the same days 30" in notice.text
    assert "Do not start" not in notice.text


def _outcome(lost_count: int, shift: int = 0) -> Outcome:
    """Return an outcome of 400 ponds of which so many from a place on are lost."""
    zero = np.zeros(400, dtype=np.int64)
    lost = np.where((np.arange(400) >= shift) & (np.arange(400) < shift + lost_count), 5, -1)
    return Outcome(NOTHING, 0, lost, zero, zero + 96, zero, zero, zero + 1.0)


@pytest.mark.parametrize(
    ("at_once", "later", "helps"),
    [(60, 30, True), (60, 52, False), (60, 60, False), (40, 60, False)],
)
def test_a_pause_must_save_more_than_chance_and_more_than_half_of_what_is_accepted(at_once, later, helps):
    """Of 400 ponds at 5 % accepted 10 count as alike: 30 fewer help, 8 fewer do not (the same ponds, McNemar 1947)."""
    assert pause_helps(_outcome(at_once), _outcome(later), Promise(0.05, 0.02)) is helps


def test_a_pause_whose_gain_is_chance_does_not_help():
    """150 ponds lost at once, 138 others after the pause: 12 fewer, but the root of 288 is 17."""
    assert not pause_helps(_outcome(150), _outcome(138, shift=200), Promise(0.05, 0.02))


@pytest.mark.parametrize("under_way", [True, False])
def test_the_pause_is_two_days_and_begins_by_somebody_who_reads(scene_of, fouled, rows, make_job, under_way):
    """Sulphide thirty times over, 24 h at once: under way the plan is begun 48 h later through a gate; else as it is.

    Two days are as far as an oxygen forecast tells more than persistence (design §6).
    """
    scene = some_of(scene_of(fouled(rows["sulphide"], 30.0), horizon_d=3), np.arange(16))
    schedule = growing(WHOLE_DAY_MIN, 2.0, 10.0, 3)
    found = scored(
        scene, scene, schedule, np.arange(8), Promise(0.05, 0.02), under_way=under_way, second_try=False, tally=Tally(),
        told=lambda _share: None,
    )  # fmt: skip
    begin = scene.next_start(scene.earliest_hour, 10.0)
    if under_way:
        assert found.at_once is not None
        assert found.at_once.added_risk > 0.05
        assert found.final.outcome.first_hour == begin + 48
        assert found.schedule.gate is not None
        assert found.schedule.visited(1)
        first = scene.ensemble.start + timedelta(hours=begin)
        assert (begins_on(make_job(), scene, found) - first.date()).days == 2
    else:
        assert found.at_once is None
        assert found.schedule == schedule


@pytest.mark.parametrize(("risk", "baseline_risk"), [(0.030, 0.0), (0.358, 0.340), (0.100, 0.400)])
def test_a_schedule_that_adds_no_more_than_is_accepted_may_start(risk, baseline_risk):
    """Small, about the same, or better than no air: nothing forbids it here."""
    count = round(1000 * risk)
    assert worse_than_no_air(Risk(1000, count, risk, risk, baseline_risk, risk - baseline_risk), 0.05) == ()


@pytest.mark.parametrize(("cause", "code"), [(2, "ammonia-binds"), (3, "sulphide-binds"), (0, None)])
def test_a_limit_that_no_oxygen_meter_sees_is_said_where_it_binds(cause, code):
    """Of ten lost ponds all were lost to one limit: ammonia and sulphide are said as dangers, oxygen is not."""
    nothing = np.zeros(100, dtype=np.int64)
    lost = np.where(np.arange(100) < 10, 5, -1)
    plan = Outcome(NOTHING, 0, lost, nothing + cause, nothing + 48, nothing, nothing, np.zeros(100))
    said = plan_notices(kept=True, failing=False, stated=True, effective_members=90.0, plan=plan)
    assert {notice.code for notice in said} == ({code} if code else set())
    words = ("oxygen", "temperature", "un-ionised ammonia", "hydrogen sulphide")[cause]
    assert bound_by(plan, plan) == ((words, 10),)


@pytest.mark.parametrize(
    ("kept", "failing", "stated", "codes"),
    [
        (True, True, True, ["already-failing", "keep-off-tonight"]),
        (True, False, False, ["risk-not-stated"]),
        (False, False, True, ["promise-not-kept"]),
    ],
)
def test_what_must_be_said_of_the_promise_is_said_once(kept, failing, stated, codes):
    """A failing pond before all else, then a risk that can't be stated, then a promise that is not kept."""
    nothing = np.zeros(50, dtype=np.int64)
    plan = Outcome(NOTHING, 0, nothing - 1, nothing, nothing + 48, nothing, nothing, np.zeros(50))
    said = plan_notices(kept=kept, failing=failing, stated=stated, effective_members=40.0, plan=plan)
    assert [notice.code for notice in said] == codes


def test_the_emergency_steps_do_not_forbid_what_the_card_says():
    """Where the plan saves ponds the diffusers run by it; else they stay off; the refuge comes before either."""
    saves, does_not = " ".join(emergency(True)), " ".join(emergency(False))
    assert "run by the card alone" in saves
    assert "Keep the bottom diffusers off" not in saves
    assert "Keep the bottom diffusers off" in does_not
    for words in (saves, does_not):
        assert words.index("surface aeration") < words.index("bottom diffusers")


@pytest.mark.parametrize("saves", [True, False])
def test_people_are_kept_away_before_surface_aeration_is_set_up(saves):
    """Toxic scum, sulphide and electricity are named in the first step, whoever carries out the second stands by them.

    Scum: keep people, pets and livestock out (US EPA and WHO guidance on cyanobacteria, from memory). Hydrogen
    sulphide: the sense of smell is lost before it is deadly (OSHA fact sheet, from memory). GFCI at water: common
    practice, no published source; local codes go before it.
    """
    first, second, *_ = emergency(saves)
    assert first.startswith("Before anything is set up: keep people, dogs and livestock away")
    for words in ("Scum may be toxic", "rotten eggs", "never alone", "licensed electrician", "GFCI"):
        assert words in first
    assert "aeration" not in first
    assert second.startswith("Then, tonight: surface aeration")
