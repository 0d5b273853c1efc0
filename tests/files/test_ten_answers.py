"""The ten answers of job.toml make a whole job, and each wrong one is said where it stands."""

from __future__ import annotations

import pytest

from plumeline.files.job_folder import load_job
from plumeline.files.limits import Limits
from plumeline.job.document import SmellStrength


def test_ten_answers_alone_make_a_job(folder):
    """A job.toml of the ten answers loads, in SI units by the exact definitions of foot and acre."""
    job = load_job(folder.path)
    assert job.pond.max_depth_m == pytest.approx(14 * 0.3048, rel=1e-12)
    assert job.pond.area_m2 == pytest.approx(1.6 * 43560 * 0.3048**2, rel=1e-12)
    assert job.site.elevation_m == pytest.approx(680 * 0.3048, rel=1e-12)
    assert (job.power.volts, job.power.amps) == (120.0, 20.0)
    assert job.id == "test-pond"


def test_the_two_line_reading_becomes_a_profile_of_two_points(folder):
    """Surface at 0 m, bottom just above the deepest bottom, at ten in the morning of the job's date."""
    (profile,) = load_job(folder.path).profiles
    surface, bottom = profile.points
    assert surface.depth_m == 0.0
    assert 0.9 * 14 * 0.3048 <= bottom.depth_m < 14 * 0.3048
    assert surface.temperature_degc == pytest.approx((84 - 32) * 5 / 9)
    assert bottom.do_mg_l == 0.1
    assert bottom.smell is SmellStrength.STRONG
    assert profile.time.isoformat() == "2026-08-11T10:00:00-04:00"
    assert profile.id == "profile-2026-08-11T10-00"


def test_a_reading_may_be_a_table_with_its_own_depth(folder):
    """[reading] takes tables of keys too, with depth and chemistry."""
    folder.change(
        'bottom = "64 degF, 0.1 mg/L"',
        'bottom = { depth = "13 ft", temperature_degc = 17.5, oxygen = "0.1 mg/L", ph = 6.9 }',
    )
    bottom = load_job(folder.path).profiles[0].points[1]
    assert (bottom.depth_m, bottom.ph) == (pytest.approx(13 * 0.3048), 6.9)


def test_the_values_understood_are_echoed(folder):
    """Each value with a unit is said back with what it became."""
    assert any(line.startswith("pond.max_depth: 14 ft = 4.27 m") for line in folder.check().echoes), (
        folder.check().echoes
    )


def test_the_same_folder_gives_the_same_job(folder):
    """Loading twice gives equal jobs, ids included."""
    assert load_job(folder.path) == load_job(folder.path)


@pytest.mark.parametrize(
    ("old", "new", "where", "problem", "remedy"),
    [
        ("max_depth =", "max_dept =", "pond.max_dept", "not a known key", "max_depth"),
        ("[fish]", "[fsh]", "fsh", "not a known key", "fish"),
        ('"14 ft"', "14", "pond.max_depth", "no unit", "max_depth_m"),
        ('"14 ft"', '"14 furlongs"', "pond.max_depth", "furlongs", "ft"),
        ('"14 ft"', '"14 psi"', "pond.max_depth", "pressure", "ft"),
        ('"14 ft"', '"-14 ft"', "pond.max_depth", "not more than 0", "sign"),
        ('"14 ft"', "true", "pond.max_depth", "not a number", "12 ft 6 in"),
        ('"84 degF, 7.5 mg/L"', '"84 degF, 45 mg/L"', "reading.surface.oxygen", "limit of 40", "0 to 40"),
        ('"84 degF, 7.5 mg/L"', '"84 degC, 7.5 mg/L"', "reading.surface.temperature", "limit of 45", "unit"),
        ('"84 degF, 7.5 mg/L"', '"84 degF"', "reading.surface", "not a temperature and an oxygen", "mg/L"),
        ('smell = "strong"', 'smell = "awful"', "reading.smell", "not one of the answers", "strong"),
        ("surface =", "surfaces =", "reading.surfaces", "not a known key", "surface"),
        ('"120 V, 20 A"', '"120 V, 20 ft"', "power.volts_amps", "length", "A"),
        ('"120 V, 20 A"', '"a barn"', "power.volts_amps", "a barn", "number, then its unit"),
        ("New_York", "New_Yrok", "site.time_zone", "no time zone", "America/New_York"),
        ('"35.8652, -79.5631, 680 ft"', '"35.8652, -79.5631"', "site.latitude", "three values", "680 ft"),
        (
            '"35.8652, -79.5631, 680 ft"',
            '"35.8652, -79.5631, 9000 m"',
            "site.latitude",
            "limit of 5000",
            "5000",
        ),
        ("date = 2026-08-11", 'date = "11 August"', "date", "not a date", "year-month-day"),
        ("format = 1", "format = 2", "format", "version", "format = 1"),
        ('species = ["bluegill"]', "species = [3]", "fish.species[1]", "not a text", "quotes"),
        ("[power]", "[power]\narea = 3\n", "power.area", "not a known key", "[pond]"),
        ('rise = "12 ft"', 'rise = "12 ft"\nrise_m = 3.0', "air.rise_m", "given twice", "one of the forms"),
        ("[air]", '[air]\nair_per_diffuser = "-1.3 scfm"', "air.air_per_diffuser", "below zero", ""),
        (
            "[air]",
            '[air]\nair_per_diffuser = "1.3 cfm"',
            "air.air_per_diffuser",
            "pressure and temperature",
            "scfm",
        ),
        ("[air]", '[air]\nbranch_pipe = "tubing-1/3"', "air.branch_pipe", "no pipe", "tubing-1/"),
        ("[pond]", "[pond]\nsoundings = [1]", "pond.soundings", "does not stand in", "soundings.csv"),
        ("[pond]", '[pond]\nshape = "bowll"', "pond.shape", "not one of", "bowl"),
        ("[pond]", "[pond]\nlevel_offset_m = nan", "pond.level_offset_m", "not a finite", "from -50 to 50 m"),
        ("[fish]", "[fish]\nheavy_stock = 1", "fish.heavy_stock", "neither true nor false", "true or false"),
        ("[fish]", "[wishes]\njob_risk = 5\n[fish]", "wishes.job_risk", "limit of 1", "0 to 1"),
        ("[fish]", '[attendance]\nweekdays = ["mon", "tus"]\n[fish]', "attendance.weekdays[2]", "tus", "tue"),
    ],
)
def test_a_wrong_answer_is_one_fault_with_place_and_remedy(folder, old, new, where, problem, remedy):
    """One wrong value gives one fault that names the key, what is wrong, and what would be right."""
    fault = folder.change(old, new).fault()
    assert fault.file == "job.toml"
    assert fault.where.startswith(where)
    assert problem in fault.problem
    assert remedy in fault.remedy


@pytest.mark.parametrize("path", ["pond.area", "pond.max_depth", "site.latitude_longitude_elevation"])
def test_an_empty_answer_that_is_needed_is_a_fault(folder, path):
    """Without place, area or depth nothing can be said: the answer is named and an example given."""
    key = path.split(".")[1]
    text = (folder.path / "job.toml").read_text()
    lines = [f'{key} = ""' if line.startswith(key) else line for line in text.split("\n")]
    fault = folder.write("job.toml", "\n".join(lines)).fault()
    assert (fault.where, fault.problem) == (path, "is still empty.")
    assert "Give it, as" in fault.remedy


@pytest.mark.parametrize(
    "path",
    [
        "pond.secchi_depth",
        "reading.surface",
        "reading.smell",
        "air.route_length",
        "air.rise",
        "power.volts_amps",
        "fish.species",
    ],
)
def test_any_other_empty_answer_is_a_caution(folder, path):
    """The rest may stay empty, and is said to be."""
    key = path.split(".")[1]
    text = (folder.path / "job.toml").read_text()
    lines = [line for line in text.split("\n") if not line.startswith(f"{key} =")]
    assert f"{path} is still empty" in folder.write("job.toml", "\n".join(lines)).notice("answer-empty")


def test_several_faults_are_reported_at_once(folder):
    """Every fault is listed, not the first alone."""
    folder.change('"14 ft"', '"14 furlongs"').change("species", "speices").change('"12 ft"', '"12 mg/L"')
    folder.write("profiles.csv", "")
    assert {fault.where for fault in folder.check().faults} == {
        "pond.max_depth",
        "fish.speices",
        "air.rise",
        "",
    }


def test_no_power_is_an_answer(folder):
    """power.volts_amps = "none" says that there is no power, and leaves nothing empty."""
    report = folder.change('"120 V, 20 A"', '"none"').check()
    assert report.job.power.available is False
    assert not [notice for notice in report.notices if notice.code == "answer-empty"]


def test_a_latitude_no_pond_has_is_a_longitude(folder):
    """A site at 79.6 degrees south has its coordinates exchanged: put right, and said."""
    folder.change('"35.8652, -79.5631, 680 ft"', '"-79.5631, 35.8652, 680 ft"')
    assert "changed places" in folder.notice("swapped-coordinates")
    assert load_job(folder.path).site.latitude_deg == 35.8652


def test_a_lost_minus_sign_of_the_longitude_is_noticed(folder):
    """Longitude 79.6 east does not go with New York's clock."""
    folder.change("-79.5631", "79.5631")
    assert "minus sign" in folder.notice("clock-differs")


def test_hemispheres_and_degrees_are_understood(folder):
    """N, S, E, W and degree signs are read."""
    folder.change('"35.8652, -79.5631, 680 ft"', '"35.8652° N, 79.5631° W, 680 ft"')
    site = load_job(folder.path).site
    assert (site.latitude_deg, site.longitude_deg) == (35.8652, -79.5631)


def test_degrees_and_minutes_are_understood(folder):
    """As a chart or a handheld shows them, the letter before or behind; sixty minutes a degree."""
    folder.change('"35.8652, -79.5631, 680 ft"', '"N 36 12.5, 80 30 W, 680 ft"')
    site = load_job(folder.path).site
    assert (site.latitude_deg, site.longitude_deg) == pytest.approx((36 + 12.5 / 60, -80.5))


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("Eastern", "US/Eastern"),
        ("pacific time", "US/Pacific"),
        ("new york", "America/New_York"),
        ("Americas/New_York", "America/New_York"),
    ],
)
def test_a_time_zone_by_another_name_is_guessed_the_same_each_time(folder, written, meant):
    """The zones of one country have names of their own in the time-zone data; a city is the end of one name."""
    folder.change('time_zone = "America/New_York"', f'time_zone = "{written}"')
    assert f'Did you mean "{meant}"?' in folder.fault().remedy


def test_a_day_that_is_none_is_not_said_to_be_missing(folder):
    """The fault at the day is enough: no note that none was given stands beside it."""
    folder.change("date = 2026-08-11", 'date = "6/30/2026"')
    report = folder.check()
    assert any(fault.where == "date" for fault in report.faults)
    assert "date-assumed" not in [notice.code for notice in report.notices]


def test_without_a_time_zone_the_clock_of_the_longitude_is_used_and_said(folder):
    """Ten answers hold no time zone: 80 degrees west is five hours behind UTC (360/24 degrees an hour)."""
    folder.change('time_zone = "America/New_York"', "")
    assert "UTC-05:00" in folder.notice("time-zone-assumed")
    assert load_job(folder.path).profiles[0].time.utcoffset().total_seconds() == -5 * 3600


def test_without_a_date_todays_is_used_and_said(folder):
    """The date may be left to the caller, who is told."""
    folder.change("date = 2026-08-11", "")
    assert "today's" in folder.notice("date-assumed")


def test_feet_written_as_metres_in_the_answers_are_suspected(folder):
    """14 m in a pond 91 m across is more than dug ponds have: a caution, not a fault."""
    folder.change('"14 ft"', '"14 m"')
    assert "if it is feet" in folder.notice("feet-as-metres")


def test_a_species_in_words_becomes_its_name_and_an_unknown_one_is_said(folder):
    """Words of the table are read as its names; what is not in the table stays, with a caution."""
    folder.change('["bluegill"]', '["Largemouth bass", "blugill"]')
    assert '"bluegill"' in folder.notice("species-unknown")
    assert load_job(folder.path).fish.species == ("largemouth-bass", "blugill")


def test_a_compressors_curve_must_fall_with_pressure(folder):
    """More air at more pressure is a slip."""
    points = '{ pressure = "0 psig", intake_flow = "4 cfm" }, { pressure = "5 psig", intake_flow = "5 cfm" }'
    fault = folder.change("[power]", f"[air.compressor]\ncurve = [{points}]\n[power]").fault()
    assert fault.where == "air.compressor.curve[2]"
    assert "more air" in fault.problem


def test_a_negative_flow_of_a_compressor_is_a_fault(folder):
    """A negative flow in the curve is refused where it stands."""
    points = (
        "{ pressure_pa = 0, intake_flow_m3_s = -0.002 }, { pressure_pa = 9000, intake_flow_m3_s = -0.003 }"
    )
    faults = folder.change("[power]", f"[air.compressor]\ncurve = [{points}]\n[power]").check().faults
    assert faults[0].where == "air.compressor.curve[1].intake_flow_m3_s"
    assert "below the limit of 0" in faults[0].problem


def test_a_curve_in_scfm_says_how_it_is_taken(folder):
    """A maker's scfm is the volume drawn in at sea level: said, not converted in silence."""
    points = '{ pressure = "0 psig", intake_flow = "5 scfm" }, { pressure = "9 psig", intake_flow = "4 cfm" }'
    folder.change("[power]", f"[air.compressor]\ncurve = [{points}]\n[power]")
    assert "sea level" in folder.notice("curve-basis")


@pytest.mark.parametrize(
    ("limits", "value", "words"),
    [
        (Limits(0.0, 40.0), 45.0, "above the limit of 40"),
        (Limits(0.0, 40.0), -1.0, "below the limit of 0"),
        (Limits(0.0, above=True), 0.0, "not more than 0"),
        (Limits(), float("nan"), "not a finite number"),
    ],
)
def test_a_value_out_of_range_says_the_limit(limits, value, words):
    """What is said of a value beyond a limit holds the limit."""
    assert words in limits.broken_by(value, "mg/L")


def test_part_of_a_name_is_enough_to_ask_for_the_species(folder):
    """'bass' is a word of one species and is asked about; 'carp' is one of two, and nothing is guessed."""
    folder.change('["bluegill"]', '["bass", "carp"]')
    said = [item.text for item in folder.check().notices if item.code == "species-unknown"]
    assert 'Did you mean "largemouth-bass"?' in said[0]
    assert "Did you mean" not in said[1]
