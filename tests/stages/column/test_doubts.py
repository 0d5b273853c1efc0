"""Readings that no pond could have given are named with what and where, and not averaged in."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from plumeline.job.document import (
    AirRun,
    Answer,
    Fish,
    OxygenReading,
    Profile,
    ProfilePoint,
    SmellStrength,
    When,
)
from plumeline.job.reading_names import spoken
from plumeline.stages.column import LEAD_HOURS
from plumeline.stages.column.case import case_of
from plumeline.stages.column.doubts import doubts_of
from plumeline.stages.column.evidence import never_seen
from plumeline.stages.column.looks import Kind
from plumeline.units import both

NOON = datetime(2026, 8, 11, 16, tzinfo=UTC)  # 12:00 on the pond's clock
ROWS = ((0.3, 28.0, 8.0), (1.0, 27.5, 7.0), (2.0, 22.0, 1.0), (3.0, 18.0, 0.1), (3.8, 17.0, 0.1))


def read(rows=ROWS, hours=0.0, name="r", **more):
    """Return a profile some hours after noon."""
    points = tuple(
        ProfilePoint(depth_m=z, temperature_degc=t, do_mg_l=o, **(extra[0] if extra else {}))
        for z, t, o, *extra in rows
    )
    return Profile(id=name, time=NOON + timedelta(hours=hours), points=points, **more)


@pytest.fixture
def doubted(make_job):
    """Return what is doubted of some readings: their codes, what is left out, the words."""

    def found(*readings, runs=(), **changes):
        job = make_job(profiles=(), observations=readings, **changes)
        doubts = doubts_of(job, sorted(readings, key=lambda item: item.time), runs)
        return [notice.code for notice in doubts.notices], doubts.skipped, [n.text for n in doubts.notices]

    return found


def changed(do_mg_l=None, by_mg_l=0.0):
    """Return the rows with another oxygen."""
    return tuple((z, t, o + by_mg_l if do_mg_l is None else do_mg_l) for z, t, o in ROWS)


def test_a_good_dusk_reading_is_not_doubted(doubted):
    """Nothing to say of a layered pond read at eight in the evening."""
    assert doubted(read(hours=8.0)) == ([], set(), [])


def test_one_value_at_every_depth_is_a_stuck_meter(doubted):
    """6.2 mg/L from top to bottom of water layered by 11 °C: the oxygen is left out, the warmth is kept."""
    codes, skipped, words = doubted(read(changed(6.2), 8.0))
    assert codes == ["meter-stuck"]
    assert skipped == {("r", Kind.OXYGEN, None)}
    assert "6.2 mg/L at every depth" in words[0]


def test_a_mixed_pond_with_one_oxygen_is_no_stuck_meter(doubted):
    """Water of one temperature may well have one oxygen."""
    assert doubted(read(tuple((z, 24.0, 6.2) for z, _, _ in ROWS), 8.0))[0] == []


def test_one_value_at_every_hour_is_a_stuck_meter(doubted):
    """Dusk, midnight and dawn alike: the meter that shows it is named in each reading."""
    readings = [read(ROWS, hours, f"r{k}", meter="B") for k, hours in enumerate((8.0, 13.0, 18.0))]
    codes, skipped, words = doubted(*readings)
    assert codes == ["meter-stuck"] * 3
    assert len(skipped) == 3
    assert "the meter B shows 8.0 mg/L" in words[0]


def test_a_meter_three_too_high_shows_at_the_end_of_the_night(doubted):
    """15 mg/L at five in the morning, over 1.8 times the 7.8 that water of 28 °C holds in balance with air."""
    rows = tuple((z, t, o + 7.0) for z, t, o in ROWS)
    codes, skipped, words = doubted(read(rows, 17.0))
    assert "meter-high" in codes
    assert ("r", Kind.OXYGEN, None) in skipped
    assert "7.6 in balance" in words[0] or "7.7 in balance" in words[0]


def test_a_meter_three_too_high_shows_beside_sulphide(doubted):
    """3.1 mg/L in bottom water that smells strongly: oxygen and sulphide do not last beside each other."""
    rows = (*changed(by_mg_l=3.0)[:-1], (3.8, 17.0, 3.1, {"smell": SmellStrength.STRONG}))
    codes, skipped, words = doubted(read(rows, 8.0))
    assert codes == ["meter-high"]
    assert "3 mg/L high" in words[0]
    assert skipped == {("r", Kind.OXYGEN, None)}


def test_a_flickering_last_digit_is_a_stuck_meter_in_well_layered_water(doubted):
    """6.9 and 7.0 by turns over 11 °C of layering: stuck; over 4 °C it may be a clear pond's own oxygen."""
    flicker = tuple((z, t, 6.9 + 0.1 * (k % 2)) for k, (z, t, _) in enumerate(ROWS))
    assert doubted(read(flicker, 8.0))[0] == ["meter-stuck"]
    mild = tuple((z, 24.0 - z, o) for z, _, o in flicker)
    assert doubted(read(mild, 8.0))[0] == []


def test_oxygen_back_at_the_bottom_without_air_is_a_meter_that_reads_high(doubted):
    """3.1 mg/L at dawn two days after 0.1, layered by 11 °C, no air between, faint smell: said and left out.

    With a run of air between it may be so; and a rise of 2 mg/L is left to the simulated ponds.
    """
    before, after = read(ROWS, 8.0, "a"), read(changed(by_mg_l=3.0), 66.0, "b")
    codes, skipped, words = doubted(before, after)
    assert codes == ["meter-high"]
    assert skipped == {("b", Kind.OXYGEN, None)}
    assert "3 mg/L high" in words[0]
    run = AirRun(start=NOON + timedelta(hours=20), minutes=60.0)
    assert doubted(before, after, runs=(run,))[0] == []
    assert doubted(before, read(changed(by_mg_l=2.0), 66.0, "b"))[0] == []


def test_two_meters_three_apart_contradict_each_other_and_the_lower_is_believed(doubted):
    """Half an hour apart and 3 mg/L: both are named, the higher is left out."""
    low, high = read(ROWS, 8.0, "low", meter="A"), read(changed(by_mg_l=3.0), 8.5, "high", meter="B")
    codes, skipped, words = doubted(low, high)
    assert codes == ["readings-contradict"]
    assert skipped == {("high", Kind.OXYGEN, None)}
    assert "low" in words[0]
    assert "high" in words[0]


def test_air_between_two_readings_is_no_contradiction(doubted):
    """Before and at shut-off the water may well differ: half an hour of air ran between them."""
    less = tuple((z, t, max(o - 4.0, 0.1)) for z, t, o in ROWS)
    before, after = read(ROWS, 8.0, "b", when=When.BEFORE), read(less, 9.0, "s", when=When.SHUT_OFF)
    run = AirRun(start=NOON + timedelta(hours=8.1), minutes=50)
    assert "readings-contradict" in doubted(before, after)[0]
    assert "readings-contradict" not in doubted(before, after, runs=(run,))[0]


@pytest.mark.parametrize(
    ("row", "kind"),
    [((1.0, 27.5, 14.5), Kind.OXYGEN), ((2.0, 31.0, 1.0), Kind.TEMPERATURE), ((3.8, 17.0, 9.0), Kind.OXYGEN)],
)
def test_one_depth_that_stands_alone_is_an_outlier(doubted, row, kind):
    """A slip of the pen at one depth: that number is left out, and no other."""
    rows = tuple(row if z == row[0] else (z, t, o) for z, t, o in ROWS)
    codes, skipped, words = doubted(read(rows, 8.0))
    assert codes == ["reading-outlier"]
    assert skipped == {("r", kind, row[0])}
    assert both(row[0], "m") in words[0]
    assert (both(row[1], "degc") if kind is Kind.TEMPERATURE else f"{row[2]:.1f} mg/L") in words[0]


def test_no_oxygen_anywhere_asks_for_the_emergency_step_first(doubted):
    """Surface aeration before any diffuser, then the meter in air; it is believed until then."""
    codes, skipped, words = doubted(read(changed(0.1), 8.0))
    assert codes == ["oxygen-zero"]
    assert skipped == set()
    assert words[0].index("Emergency surface aeration comes first") < words[0].index("hold the meter in air")


def test_no_oxygen_anywhere_beside_fish_that_live_and_a_reading_of_eight_is_left_out(doubted):
    """Six hours earlier there were 8 mg/L and the fish are well: the meter, and still the alarm."""
    fish = Fish(species=("bluegill",), gasping_at_dawn=Answer.NO, kill_this_season=Answer.NO)
    codes, skipped, words = doubted(read(ROWS, 2.0, "a"), read(changed(0.1), 8.0, "z"), fish=fish)
    assert "oxygen-zero" in codes
    assert ("z", Kind.OXYGEN, None) in skipped
    assert any("Emergency" in text for text in words)


def test_noon_only_and_one_depth_are_said(doubted):
    """What they can't tell is said; nothing is left out for it."""
    assert doubted(read())[0] == ["noon-only"]
    codes, skipped, _ = doubted(read(ROWS[:1], 8.0))
    assert codes == ["one-depth"]
    assert skipped == set()
    alone = OxygenReading(id="o", time=NOON + timedelta(hours=18), depth_m=(0.6,), do_mg_l=(4.0,))
    assert doubted(read(), alone)[0] == []


def test_what_is_left_out_is_not_averaged_in(make_job, grid, limits):
    """A stuck meter's oxygen is in no number that ponds are held against, nor in the water they begin from."""
    job = make_job(profiles=(), observations=(read(changed(6.2), 8.0),))
    case = case_of(job, grid, limits, 24, None, LEAD_HOURS)
    assert not case.evidence.looks.of(Kind.OXYGEN).any()
    assert case.evidence.looks.of(Kind.TEMPERATURE).sum() == len(ROWS)
    assert case.latest.do_mg_l.min() < 1.0
    assert [doubt.code for doubt in case.doubts] == ["meter-stuck"]


def test_a_number_that_no_pond_comes_near_is_left_out_and_said(make_job, grid, limits):
    """Of ten numbers one lies ten errors from every pond: it is left out; were it six, the pond would be in doubt."""
    evidence = case_of(make_job(), grid, limits, 24, None, LEAD_HOURS).evidence
    error = np.sqrt(np.diag(evidence.root @ evidence.root.T))
    ponds = evidence.looks.read[:, None] + error[:, None] * np.random.default_rng(1).standard_normal((10, 40))
    warm = np.flatnonzero(evidence.looks.of(Kind.TEMPERATURE))
    ponds[warm[1]] += 10.0 * error[warm[1]]
    out, said = never_seen(evidence, ponds, np.zeros((10, 10)))
    assert np.flatnonzero(out).tolist() == [warm[1]]
    assert [notice.code for notice in said] == ["reading-outlier"]
    assert f"temperature {both(27.5, 'degc')} at {both(1.0, 'm')}; none of 40" in said[0].text
    ponds[warm] += 10.0 * error[warm, None]
    assert not never_seen(evidence, ponds, np.zeros((10, 10)))[0].any()
    assert evidence.without(out).looks.count == 9


@pytest.mark.parametrize(
    ("ident", "said"),
    [
        ("reading-2026-08-13T08-30-m1", "the reading of Thu 13 Aug 08:30 (meter m1)"),
        ("profile-2026-08-11T06-30", "the profile of Tue 11 Aug 06:30"),
        ("bottle-2026-08-11T06-30-3.8m", "the bottle of Tue 11 Aug 06:30 (3.8m)"),
        ("deep end", "deep end"),
        ("p-24", "p-24"),
    ],
)
def test_a_reading_is_called_by_what_it_is_and_when_it_was(ident, said):
    """A name that the program made is said as kind, day and clock (13 August 2026 is a Thursday); a given one stays."""
    assert spoken(ident) == said
