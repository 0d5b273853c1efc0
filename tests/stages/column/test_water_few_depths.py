"""Chemistry read at few depths is laid on the layers as ponds hold it: it turns where the oxygen ends."""

from __future__ import annotations

from datetime import UTC, date, datetime

import numpy as np
import pytest

from plumeline.job.document import Job, Pond, Profile, ProfilePoint, Site
from plumeline.kernels import column_index as ix
from plumeline.stages.column import make_grid
from plumeline.stages.column.priors import draw_priors
from plumeline.stages.column.water import first_state, water_read

DEPTHS = (0.1, 1.0, 2.0, 2.5, 3.5, 4.4)
WARMTH = (30.0, 29.0, 27.0, 22.0, 20.0, 19.5)
OXYGEN = (8.5, 8.4, 8.0, 0.1, 0.0, 0.0)


class Basin:
    """A basin with straight walls, 4.5 m deep."""

    def area_at(self, depth_m):
        """Return the area at a depth [m²]."""
        return 8000.0 if depth_m < 4.5 else 0.0

    def volume_below(self, depth_m):
        """Return the volume under a depth [m³]."""
        return 8000.0 * max(4.5 - depth_m, 0.0)


def water(**read):
    """Return the water of a layered pond with some quantities read at some points."""
    points: list[ProfilePoint] = []
    for k, (z, t, o) in enumerate(zip(DEPTHS, WARMTH, OXYGEN, strict=True)):
        here = {name: values[k] for name, values in read.items() if k in values}
        points.append(ProfilePoint(depth_m=z, temperature_degc=t, do_mg_l=o, **here))
    grid = make_grid(Basin(), 4.5)
    profile = Profile(id="p", time=datetime(2026, 8, 1, 13, tzinfo=UTC), points=tuple(points))
    return grid, water_read(profile, grid)


def test_sulphide_read_at_the_bottom_alone_is_not_in_water_with_oxygen():
    """Sulphide and oxygen do not stand together for days: none over the oxycline, the reading itself below."""
    grid, found = water(sulphide_mg_l={5: 4.2})
    assert found.sulphide_mg_l[grid.centre_m < 1.9].max() == 0.0
    assert found.sulphide_mg_l[grid.centre_m > 2.6] == pytest.approx(4.2)


def test_ph_between_surface_and_bottom_turns_at_the_oxycline():
    """A green surface's 9.8 holds down to the end of the oxygen, the bottom's 6.9 from there on."""
    grid, found = water(ph={0: 9.8, 5: 6.9})
    assert found.ph_number[grid.centre_m < 1.9] == pytest.approx(9.8)
    assert found.ph_number[grid.centre_m > 2.6] == pytest.approx(6.9)
    assert np.all(np.diff(found.ph_number) <= 1e-12)


def test_readings_of_like_water_stay_straight_between_their_depths():
    """Two readings with oxygen, or two without, are joined by a straight line, as all were."""
    grid, found = water(ph={0: 9.0, 2: 8.0})
    k = grid.layer_at(1.05)
    assert found.ph_number[k] == pytest.approx(np.interp(grid.centre_m[k], (0.1, 2.0), (9.0, 8.0)))


def test_ammonia_read_at_both_ends_or_the_bottom_alone():
    """Read at both ends it turns at the oxycline; a lone bottom reading leaves a tenth above it."""
    grid, found = water(ammonia_mg_l={0: 0.05, 5: 3.0})
    assert found.ammonia_mg_l[grid.layer_at(1.5)] == pytest.approx(0.05)
    grid, found = water(ammonia_mg_l={5: 3.0})
    assert found.ammonia_mg_l[grid.layer_at(1.0)] == pytest.approx(0.3)
    assert found.ammonia_mg_l[grid.layer_at(3.0)] == pytest.approx(3.0)


def test_debts_of_the_deep_water_stand_highest_over_the_bed():
    """Members range from a deep water alike throughout to one where what the bed gives seeps upward.

    In eutrophic lakes' hypolimnia sulphide and methane rise towards the bed (textbooks, from memory); a reading
    holds where it was taken, and no member has more above it than below.
    """
    grid, found = water(sulphide_mg_l={5: 4.2}, ammonia_mg_l={0: 0.1, 5: 3.0})
    members = 200
    draws = draw_priors(members, 3)
    job = Job(
        id="j",
        name="j",
        date=date(2026, 8, 1),
        site=Site(latitude_deg=36, longitude_deg=0, elevation_m=0),
        pond=Pond(),
    )
    state, _ = first_state(found, draws, job, 5)
    foot, half = grid.layers - 1, grid.layer_at(3.2)
    sulphide = state[ix.SULPHIDE]
    assert np.median(sulphide[foot]) == pytest.approx(4.2, rel=0.1)
    share = sulphide[half] / sulphide[foot]
    assert share.min() < 0.4
    assert share.max() > 0.9
    for row in (ix.SULPHIDE, ix.AMMONIA, ix.DEBT_A, ix.DEBT_C):
        assert np.all(np.diff(state[row, grid.layer_at(2.6) :], axis=0) >= -1e-9)


def test_a_second_foul_reading_holds_where_it_was_taken():
    """Read at the bottom and half way up, no member departs from either but by the kit's scatter."""
    grid, found = water(sulphide_mg_l={4: 2.0, 5: 4.2})
    assert found.sulphide_rise_fraction[grid.layer_at(3.5) :] == pytest.approx(1.0)
    assert found.sulphide_rise_fraction[grid.layer_at(2.6)] < 0.6
