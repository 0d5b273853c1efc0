"""What was read in any profile of one water counts, and what a stuck meter read does not."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from plumeline.job.document import Job, Pond, Profile, ProfilePoint, Site
from plumeline.stages.column import believed, make_grid, screened
from plumeline.stages.column.run import column_run
from plumeline.stages.column.run_air import RunAir
from plumeline.stages.column.water import water_read

FIRST = datetime(2026, 8, 1, 11, tzinfo=UTC)
WARMTH = {0.1: 30.0, 2.0: 27.0, 4.4: 19.5}


class Basin:
    """A basin with straight walls, 4.5 m deep."""

    def area_at(self, depth_m):
        """Return the area at a depth [m²]."""
        return 8000.0 if depth_m < 4.5 else 0.0

    def volume_below(self, depth_m):
        """Return the volume under a depth [m³]."""
        return 8000.0 * max(4.5 - depth_m, 0.0)


def profile(hours_h, oxygen, **bottom):
    """Return a profile of three depths, more read at the deepest."""
    points = [
        ProfilePoint(depth_m=z, temperature_degc=t, do_mg_l=o, **(bottom if z == 4.4 else {}))
        for (z, t), o in zip(WARMTH.items(), oxygen, strict=True)
    ]
    return Profile(id=f"p{hours_h}", time=FIRST + timedelta(hours=hours_h), points=tuple(points))


def job(*profiles):
    """Return a pond with profiles."""
    site = Site(latitude_deg=35.9, longitude_deg=-79.7, elevation_m=200.0, time_zone="America/New_York")
    return Job(
        id="p", name="P", date=date(2026, 8, 2), site=site, pond=Pond(area_m2=8000.0), observations=profiles
    )


def test_chemistry_of_a_later_profile_of_the_same_water_counts_and_is_not_called_assumed():
    """A reading written down is a reading, whichever row of the day it stands in (by reason, no source)."""
    dawn, noon = profile(0, (8.0, 7.0, 0.1)), profile(4, (9.0, 7.0, 0.1), sulphide_mg_l=0.6, ph=6.9)
    grid = make_grid(Basin(), 4.5)
    alone, both = water_read(dawn, grid), water_read(dawn, grid, [noon])
    assert np.isnan(alone.sulphide_mg_l).all()
    assert both.sulphide_mg_l[-1] == pytest.approx(0.6)
    assert both.ph_number[-1] == pytest.approx(6.9)
    assert not any("pH" in text or "sulphide" in text for text in both.assumed)
    assert any("ammonia" in text for text in both.assumed)
    assert np.array_equal(alone.do_mg_l, both.do_mg_l)


def test_the_water_as_it_stands_is_not_told_by_a_stuck_meter():
    """8.4 mg/L at every depth of layered water is left out while an older profile is believed, else kept."""
    sound, stuck = profile(0, (8.0, 7.0, 0.1)), profile(24, (8.4, 8.4, 8.4))
    assert believed(job(sound, stuck)).latest_profile == sound
    assert believed(job(stuck)).latest_profile == stuck
    assert believed(job(sound)).latest_profile == sound


def test_what_is_left_out_is_named_and_the_column_alone_does_not_stand_on_it():
    """The stuck profile is said by its own name; members that no reading speaks for start from the sound one."""
    sound, stuck = profile(0, (8.0, 7.0, 0.1)), profile(24, (8.4, 8.4, 8.4))
    _, said = screened(job(sound, stuck))
    assert any("p24" in notice.text for notice in said)
    assert screened(job(sound))[1] == ()
    first = FIRST + timedelta(hours=30)
    run = column_run(
        job(sound, stuck),
        Basin(),
        4.5,
        first,
        first + timedelta(hours=3),
        [4.0],
        air=RunAir(),
        members=4,
        seed=1,
    )
    assert run.reading_time == sound.time
    assert any("p24" in notice.text for notice in run.notices)
    oxygen = next(item for item in run.series if "do" in item.name)
    assert float(np.max(oxygen.median)) < 2.0
