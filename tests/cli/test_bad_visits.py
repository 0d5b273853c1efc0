"""Visits as they come from the field, to the plan: what can't be is named and left out, the first step comes first.

Small ensembles (the `small` fixture): what is looked at is what the program says, not the risk.
"""

from __future__ import annotations

from tests.cli.field import DEPTHS_M, OXYGEN_MG_L, WARMTH_DEGC, codes, rows, words_of


def test_a_profile_read_at_noon_only_still_gives_a_plan(told, small):
    """The plan goes on, from climate weather when none is given, and says so."""
    found = told("startup", rows("2026-08-11T12:00"))
    assert "weather-assumed" in codes(found)
    assert found["startup"]["days"]


def readings_csv(pond, text):
    """Write readings.csv of visits and return its path as text."""
    path = pond / "visits.csv"
    path.write_text("time,depth_m,temperature_degc,do_mg_l,when,meter,smell\n" + text, encoding="utf-8")
    return str(path)


def visit(time, do_mg_l, when="before", meter="A", warmth_degc=WARMTH_DEGC, smell=""):
    """Return rows of a visit's profile."""
    return "".join(
        f"{time},{z},{t},{o},{when},{meter},{smell}\n"
        for z, t, o in zip(DEPTHS_M, warmth_degc, do_mg_l, strict=True)
    )


def test_a_stuck_meter_is_named_and_left_out(told, pond, small):
    """6.2 mg/L from top to bottom of water layered by 11 °C."""
    path = readings_csv(pond, visit("2026-08-12T07:30", (6.2,) * 6))
    found = told("startup", rows("2026-08-11T07:00"), "--readings", path, date="2026-08-12")
    assert "meter-stuck" in codes(found)


def test_two_meters_that_contradict_each_other_are_named(told, pond, small):
    """At one hour one meter reads 8 and the other 2.5 mg/L near the surface: the plan says which two."""
    text = visit("2026-08-12T07:30", OXYGEN_MG_L, meter="A")
    text += visit("2026-08-12T07:40", (2.5, 2.4, 2.0, 0.5, 0.1, 0.1), meter="B")
    found = told(
        "startup", rows("2026-08-11T07:00"), "--readings", readings_csv(pond, text), date="2026-08-12"
    )
    said = " ".join(notice["text"] for notice in found["notices"])
    assert codes(found) & {"readings-contradict", "meter-contradicts", "reading-outlier", "meters-differ"}, (
        said
    )


def test_a_meter_3_mg_l_high_beside_smelling_water_is_named_and_left_out(told, pond, small):
    """3.1 mg/L in bottom water that smells of sulphide: the two do not last beside each other."""
    text = visit("2026-08-12T07:30", (11.0, 10.6, 9.0, 5.5, 3.1, 3.1), smell="strong")
    found = told(
        "startup", rows("2026-08-11T06:30"), "--readings", readings_csv(pond, text), date="2026-08-12"
    )
    assert "meter-high" in codes(found)
    assert "left out" in words_of(found, "meter-high")


def test_no_oxygen_anywhere_puts_the_emergency_step_first(told, small):
    """0.1 mg/L from top to bottom: already failing; people away, then surface aeration, come before the schedule."""
    found = told("startup", rows("2026-08-11T07:00", (0.1,) * 6))
    assert "already-failing" in codes(found)
    emergency = found["startup"]["emergency"]
    assert "keep people, dogs and livestock away" in emergency[0]
    assert "surface aeration" in emergency[1]


def test_a_compressor_too_weak_says_so_and_what_would_break_through(run, told, pond, small):
    """0.05 scfm a disc under a sharp thermocline: every plume turns back, and it is said what would do."""
    path = pond / "job.toml"
    text = path.read_text(encoding="utf-8")
    curve = (
        '[air.compressor]\nname = "toy"\ncurve = [\n'
        '  { pressure = "0 psig", intake_flow = "0.20 cfm" },\n'
        '  { pressure = "15 psig", intake_flow = "0.10 cfm" },\n]\n'
    )
    path.write_text(text + "\n" + curve, encoding="utf-8")
    found = told("startup", rows("2026-08-11T07:00"))
    said = " ".join(notice["text"] for notice in found["notices"])
    assert "turn back" in said or "turns back" in said, sorted(codes(found))
