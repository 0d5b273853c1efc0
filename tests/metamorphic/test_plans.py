"""Plans that must be alike, and plans that must differ in one way: few ponds, few schedules, the work is the same."""

from __future__ import annotations

from datetime import date

import pytest
from scripts.proof import metamorphic_replanned as again
from scripts.proof.made_ponds import TEN

from plumeline.files.job_folder import load_job

MEMBERS = 64
IN_FEET = """\
format = 1
name = "One pond"
date = 2026-08-11

[site]
latitude_longitude_elevation = "35.8652, -79.5631, 680 ft"
time_zone = "America/New_York"

[pond]
area = "1.6 acre"
max_depth = "14 ft"
secchi_depth = "2 ft"

[air]
route_length = "430 ft"
rise = "12 ft"

[power]
volts_amps = "120 V, 20 A"

[fish]
species = ["bluegill"]
"""
ROWS = ((1, 82.4, 8.0), (4, 80.6, 7.0), (6, 71.6, 2.0), (10, 64.4, 0.1), (13, 62.6, 0.1))
CONVERTED = (
    ("680 ft", "207.264 m"), ("1.6 acre", "6474.97027584 m2"), ("14 ft", "4.2672 m"), ('"2 ft"', '"0.6096 m"'),
    ("430 ft", "131.064 m"), ('"12 ft"', '"3.6576 m"'),
)  # fmt: skip
"""By hand: a foot is 0.3048 m, an acre 4046.8564224 m²."""


@pytest.fixture(name="few", autouse=True)
def _few(monkeypatch):
    """Search three ladders and not nine."""
    monkeypatch.setattr(again, "FIRST_DOSES_MIN", (15, 120, 1440))


def test_feet_and_metres_are_the_same_job(tmp_path):
    """Feet, acres and °F against metres, m² and °C worked by hand: the same job to the last bit, so the same plan.

    A plan is a function of the job and the seed alone; that it is one is shown by the test of the threads.
    """
    jobs = []
    for system, head, row in (
        ("us", "time,depth_ft,temperature_degf,do_mg_l", lambda z, t: f"{z},{t}"),
        (
            "si",
            "time,depth_m,temperature_degc,do_mg_l",
            lambda z, t: f"{z * 0.3048:.4f},{(t - 32) / 1.8:.6f}",
        ),
    ):
        folder = tmp_path / system
        folder.mkdir()
        text = IN_FEET
        if system == "si":
            for feet, metres in CONVERTED:
                text = text.replace(feet, metres)
            assert " ft" not in text
        (folder / "job.toml").write_text(text, encoding="utf-8")
        body = "".join(f"2026-08-11T06:30,{row(z, t)},{o}\n" for z, t, o in ROWS)
        (folder / "profiles.csv").write_text(f"{head}\n{body}", encoding="utf-8")
        jobs.append(load_job(folder, today=date(2026, 8, 11)))
    feet, metres = (job.model_dump(exclude={"id"}) for job in jobs)
    assert feet == metres


def test_one_thread_and_two_give_the_identical_plan():
    """A member's water does not depend on who is marched beside it, nor the plan on the machine."""
    found = []
    for count in (1, 2):
        with again.threads(count):
            found.append(again.plan(TEN[0], TEN[0].job(), MEMBERS))
    assert found[0] == found[1]


def test_a_mixed_clean_pond_runs_at_once():
    """October, 14 °C and 9.5 mg/L from top to bottom, nothing foul: all day from the first day."""
    made = again.isothermal()
    assert again.first_minutes(again.plan(made, made.job(), MEMBERS)) == [1440, 1440, 1440]


def test_sulphide_alone_shortens_the_plan():
    """7 mg/L of oxygen to the bottom, with and without 3 mg/L of sulphide there: an oxygen meter sees no difference."""
    clean, foul = (again.sulphide_alone(MEMBERS, sulphide) for sulphide in (0.0, 3.0))
    assert sum(foul) < sum(clean)


def test_places_on_the_grid_are_the_plans():
    """5 min steps to an hour, 15 to four hours, then hours: counted by hand."""
    assert again.grid_index(5) == 1
    assert again.grid_index(60) == 12
    assert again.grid_index(75) == 13
    assert again.grid_index(240) == 24
    assert again.grid_index(300) == 25
    assert again.grid_index(1440) == 44
