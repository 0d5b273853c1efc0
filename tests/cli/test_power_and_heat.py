"""``plumeline air`` on heat, plastic, noise and power: tables in 80 columns, JSON in SI, what is refused."""

import json

import pytest

JOB = """\
format = 1
name = "Old orchard"
date = 2026-08-11
[site]
latitude_longitude_elevation = "35.86, -79.56, 680 ft"
time_zone = "America/New_York"
[power]
volts_amps = "120 V, 20 A"
feeder_length = "260 ft"
feeder_gauge = "12"
high_water = "2 ft"
gfci = "no"
trip_alarm = "unknown"
[prices]
energy = "16 cents per kWh"
[air]
rise = "12 ft"
neighbour_distance = "40 ft"
night_limit = "40 dB(A)"
intake_temperature = "95 degF"
soil_temperature = "65 degF"
[air.cabinet]
housing = "cabinet"
surface = "20 sq ft"
vent_area = "60 sq in"
vent_height = "18 in"
fan_flow = "80 cfm"
shade = "yes"
[air.compressor]
name = "own"
curve = [ { pressure = "0 psig", intake_flow = "5 cfm" }, { pressure = "15 psig", intake_flow = "3.4 cfm" } ]
relief_pressure = "14 psig"
power = "400 W"
volts = "120 V"
running_current = "5 A"
starting_current = "25 A"
noise = "57 dB(A)"
[[air.trunk]]
pipe = "steel-3/4"
length = "30 ft"
[[air.trunk]]
pipe = "pe-3/4"
length = "270 ft"
cover = "18 in"
[[air.diffusers]]
name = "A"
depth = "9 ft"
branch_length = "120 ft"
"""


@pytest.fixture
def orchard(tmp_path):
    """Return a folder that says all of power, cabinet and neighbour."""
    (tmp_path / "job.toml").write_text(JOB, encoding="utf-8")
    return tmp_path


def change(folder, old, new):
    """Change one line of the job."""
    path = folder / "job.toml"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")


@pytest.mark.parametrize("units", ["us", "si"])
def test_the_tables_fit_and_say_what_was_asked(run, orchard, units):
    """80 columns; hot day, joints, noise, wires, the electrician's points."""
    code, out, err = run("air", str(orchard), "--units", units)
    assert (code, err) == (0, "")
    assert max(len(line) for line in out.splitlines()) <= 80
    for words in (
        "Hot day, dirty filter", "Plastic joints, hot day", "steel-3/4 to pe-3/4", "Noise, in the open",
        "for the licensed electrician", "electrical datum plane", "Wire, one way", "too thin",
        "A tripped outlet kills fish", "Electric shock drowning", "no ground-fault protection",
    ):  # fmt: skip
        assert words in " ".join(out.split()), words
    unwanted = "°C" if units == "us" else "°F"
    assert unwanted not in out[out.index("Hot day, dirty filter") : out.index("Electrical, for")]


def test_json_is_si_and_whole(run, orchard):
    """5.15 V of 260 ft of 12 AWG at 5 A (NEC table 8); 288 kWh a month for 46.08; 57 dB(A) is 35.3 at 40 ft."""
    code, out, _ = run("air", str(orchard), "--json")
    found = json.loads(out)["air"]
    power = found["electrical"]
    assert code == 0
    wire = next(item for item in power["conductors"] if item["gauge"] == "12")
    assert wire["voltage_drop_v"] == pytest.approx(5.15, abs=0.01)
    assert power["energy_month_kwh"] == pytest.approx(288.0)
    assert power["energy_month_money"] == pytest.approx(46.08)
    assert power["datum"]["datum_m"] == pytest.approx(4.0 * 0.3048)
    assert power["gfci"] == "no"
    assert found["noise"]["at_neighbour_dba"] == pytest.approx(35.28, abs=0.02)
    assert found["heat"]["joints"][0]["rating_pa"] == pytest.approx(689476.0)
    assert found["heat"]["cabinet"]["rise_k"] > 0.0


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('feeder_gauge = "12"', 'feeder_gauge = "13"', "gauge '13'"),
        ('starting_current = "25 A"', 'starting_current = "4 A"', "under the running current"),
        ('power = "400 W"', 'power = "4 kW"', "can carry"),
        ('vent_area = "60 sq in"', 'vent_area = "60 sq ft"', "more than all walls"),
        ('noise = "57 dB(A)"', 'noise = "57 W"', "noise"),
        ('night_limit = "40 dB(A)"', "night_limit = 40", "no unit"),
        ('feeder_length = "260 ft"', 'feeder_length = "-5 ft"', "feeder_length"),
        ('gfci = "no"', 'gfci = "maybe"', "yes, no, unknown"),
        ('housing = "cabinet"', 'housing = "barn"', "cabinet, room, open, unknown"),
        ('high_water = "2 ft"', 'high_water = "2 psi"', "high_water"),
    ],
)
def test_what_can_not_be_is_refused_where_it_stands(run, orchard, old, new, words):
    """No traceback: what is wrong, where, and what would be right."""
    change(orchard, old, new)
    code, out, err = run("air", str(orchard))
    text = " ".join((out + err).split())
    assert code != 0
    assert words in text
    assert "Traceback" not in text


def test_a_folder_that_says_nothing_of_it_is_answered_all_the_same(run, orchard):
    """Every new answer left out: the same tables, with what is not known said."""
    text = (orchard / "job.toml").read_text(encoding="utf-8")
    for key in ("feeder_length", "feeder_gauge", "high_water", "gfci", "trip_alarm", "neighbour_distance",
                "night_limit", "housing", "surface", "vent_area", "vent_height", "fan_flow", "shade", "volts =",
                "running_current", "starting_current", "noise"):  # fmt: skip
        text = "\n".join(line for line in text.splitlines() if not line.startswith(key))
    (orchard / "job.toml").write_text(text.replace("[air.cabinet]", ""), encoding="utf-8")
    code, out, _ = run("air", str(orchard))
    said = " ".join(out.split())
    assert code == 0
    for words in (
        "counted as a usual cabinet",
        "give power.feeder_length",
        "give power.high_water",
        "is not known",
    ):
        assert words in said
