"""Readings as they come from the field: each oddity is said, and nothing is averaged in, clamped or made up."""

from __future__ import annotations

import json

import pytest
from tests.cli.field import DEPTHS_M, OXYGEN_MG_L, WARMTH_DEGC, codes, rows, words_of


def test_a_profile_read_at_noon_only_asks_for_dawn(told):
    """Oxygen at noon is no measure of the night: a note asks for a reading at dawn."""
    found = told("reading", rows("2026-08-11T12:00", (12.5, 12.0, 9.0, 3.0, 0.1, 0.1)))
    assert "read-by-day" in codes(found)
    assert "dawn" in words_of(found, "bloom-oxygen")


def test_a_profile_of_one_depth_is_a_fault_that_says_what_to_read(told):
    """One depth shows no layers, so no plan stands on it: the way out is named, for every command."""
    one = "2026-08-11T07:00,0.5,27.0,6.5,,,,\n"
    for command in ("reading", "startup", "quick mix"):
        said = told(command, one, code=1)
        assert "one depth only" in said
        assert "near the bottom" in said


def test_a_reading_from_the_future_is_named(told):
    """A profile of next week can't have been read: it is said, with its day."""
    profile = rows("2026-08-11T07:00") + rows("2026-08-19T07:00")
    said = told("check", profile)
    text = json.dumps(said, ensure_ascii=False)
    assert "2026-08-19" in text
    assert "future" in text or "after" in text


def test_rows_out_of_order_are_the_same_profile(told):
    """Bottom first or top first: one profile, the same bytes but for nothing."""
    upwards = "".join(reversed(rows("2026-08-11T07:00").splitlines(keepends=True)))
    assert told("reading", upwards)["reading"] == told("reading", rows("2026-08-11T07:00"))["reading"]


def test_a_reading_deeper_than_the_pond_is_a_fault_that_names_both(told):
    """6 m in a pond of 14 ft (4.27 m): one of the two is wrong, and nothing is cut off in silence."""
    deep = rows("2026-08-11T07:00", depths_m=(0.3, 1.0, 1.5, 2.0, 3.0, 6.0))
    said = told("reading", deep, code=1)
    assert "deeper than the pond" in said
    assert "6 m" in said
    assert "4.27 m" in said


def test_a_clock_time_that_the_change_to_summer_time_leaves_out_is_a_clear_fault(told):
    """On 8 March 2026 there is no 2:30 in New York."""
    said = told("reading", rows("2026-03-08T02:30"), date="2026-03-08", code=1)
    assert "2:30" in said or "02:30" in said
    assert "clock" in said or "summer time" in said or "does not exist" in said


def test_a_clock_time_that_comes_twice_is_understood_with_its_offset(told):
    """On 1 November 2026 half past one comes twice in New York; with an offset it is understood."""
    once = told("reading", rows("2026-11-01T01:30-04:00"), date="2026-11-01")
    later = told("reading", rows("2026-11-01T01:30-05:00"), date="2026-11-01")
    assert once["reading"]["time"] != later["reading"]["time"]


def test_ph_9_8_is_carried_on_with_a_caution_and_not_clamped(told):
    """EPA 822-R-13-001 ends at pH 9.0: the criterion at 9.8 is lower than at 9.0 and marked."""
    profile = "".join(
        f"2026-08-11T07:00,{z},{t},{o},{ph},70,{nh},\n"
        for z, t, o, ph, nh in zip(
            DEPTHS_M, WARMTH_DEGC, OXYGEN_MG_L, (9.8, 9.8, 9.6, 8.0, 7.0, 7.0), (0.8,) * 6, strict=True
        )
    )
    found = told("reading", profile)
    assert "beyond pH 6.5 to 9" in words_of(found, "ammonia-criterion")
    top = found["reading"]["layers"][0]
    assert top["ph"] == 9.8
    # un-ionised part at 28 °C by Emerson 1975: pKa 9.155, so 0.815 at pH 9.8 (by hand)
    assert top["unionized_ammonia_mg_l"] == pytest.approx(0.8 * 0.8155, rel=0.01)
