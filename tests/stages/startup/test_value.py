"""What a reading is worth: parts that want different plans, judged on other ponds than they were chosen on."""

from datetime import UTC, datetime

import numpy as np
import pytest

from plumeline.stages.startup.promise import Outcome, Promise
from plumeline.stages.startup.schedule import growing, steady
from plumeline.stages.startup.value import Would, already_read, values_of, would_read

MEMBERS = 240
PROMISE = Promise(0.05, 0.02)


def outcome(schedule, lost, days):
    """Return an outcome in which some members lose their refuge at once and the others complete in days."""
    nothing = np.zeros(MEMBERS, dtype=np.int64)
    hour = np.where(lost, 5, -1)
    done = np.where(lost, -1, 24 * days)
    return Outcome(schedule, 0, hour, nothing, done, nothing + 1, nothing, np.zeros(MEMBERS))


@pytest.fixture
def foul():
    """Return which ponds are foul: every third."""
    return np.arange(MEMBERS) % 3 == 0


@pytest.fixture
def judged(foul):
    """Return two plans: at once, which loses every foul pond, and a slow one that loses none and takes 8 days."""
    none = np.zeros(MEMBERS, dtype=bool)
    return (outcome(growing(1440, 2.0, 9.0, 9), foul, 2), outcome(steady(60, 6, 9.0), none, 8))


def test_a_reading_that_tells_foul_ponds_from_sound_ones_saves_the_sound_ones_days(foul, judged):
    """Without it all ponds go slowly (8 d); with it two in three start at once (2 d): 4 days saved, none lost."""
    telling = Would("sulphide", "kit", foul + 0.1 * np.random.default_rng(1).standard_normal(MEMBERS))
    (value,) = values_of((telling,), judged, np.arange(MEMBERS), PROMISE)
    assert value.lost_without_count == 0
    assert value.lost_with_count == 0
    assert value.days_saved_d == pytest.approx(4.0, abs=0.4)


def test_a_reading_that_tells_nothing_saves_nothing(judged):
    """A reading without any bearing on the pond leaves the plan as it is."""
    idle = Would("idle", "", np.random.default_rng(2).standard_normal(MEMBERS))
    (value,) = values_of((idle,), judged, np.arange(MEMBERS), PROMISE)
    assert value.days_saved_d == pytest.approx(0.0, abs=1e-9)
    assert value.lost_with_count == value.lost_without_count


def test_a_reading_that_is_alike_in_every_pond_is_not_listed(judged):
    """What every pond reads alike parts none."""
    assert values_of((Would("same", "", np.ones(MEMBERS)),), judged, np.arange(MEMBERS), PROMISE) == ()


def test_the_most_telling_reading_stands_first(foul, judged):
    """Readings are ordered by losses spared, then days."""
    generator = np.random.default_rng(3)
    idle = Would("idle", "", generator.standard_normal(MEMBERS))
    telling = Would("telling", "", foul + 0.1 * generator.standard_normal(MEMBERS))
    values = values_of((idle, telling), judged, np.arange(MEMBERS), PROMISE)
    assert [value.name for value in values] == ["telling", "idle"]


def test_chemistry_that_any_believed_profile_holds_is_not_asked_for_again(scene, make_job):
    """pH and sulphide of the first profile count although the latest has none; without them both are asked for."""
    bare = ((0.0, 28.0, 8.0), (2.0, 22.0, 1.0), (4.0, 17.0, 0.1))
    read = ((0.0, 28.0, 8.0), (2.0, 22.0, 1.0), (4.0, 17.0, 0.1, {"ph": 7.0, "sulphide_mg_l": 0.4}))
    later = (
        make_job(bare)
        .observations[0]
        .model_copy(update={"id": "q", "time": datetime(2026, 8, 12, 21, tzinfo=UTC)})
    )
    first = make_job(read)
    both = first.model_copy(update={"observations": (*first.observations, later)})
    offered = [
        {item.name for item in would_read(job, scene, np.zeros(scene.members), 2.0, 1)}
        for job in (both, make_job(bare))
    ]
    asked = {"pH at the bottom", "sulphide of the bottom water"}
    assert not offered[0] & asked
    assert offered[1] >= asked
    assert already_read(both) == {"ph", "sulphide_mg_l"}
