"""``plumeline quick``: the answers against published values, and bad input without a traceback."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

import plumeline
from plumeline.cli import main

PSI_PA = 6894.757293168


@pytest.fixture(name="run")
def _run(capsys):
    """Return a function that runs a command and gives its exit code, stdout and stderr."""

    def run(*words: str) -> tuple[int, str, str]:
        code = main(list(words))
        seen = capsys.readouterr()
        return code, seen.out, seen.err

    return run


@pytest.fixture(name="answer")
def _answer(run):
    """Return a function that runs a command with --json and gives the document."""

    def answer(*words: str) -> dict:
        code, out, err = run(*words, "--json")
        assert code == 0, err
        return json.loads(out)

    return answer


SATURATION = ("quick", "saturation", "--temperature", "72 degF")
AMMONIA = ("quick", "ammonia", "--total", "1.2 mg/L", "--ph", "8.0", "--temperature", "25 degC")
PIPE = (
    "quick", "pipe", "--air", "2.6 scfm", "--length", "430 ft", "--bore", "0.824 in",
    "--inlet-pressure", "6 psig", "--temperature", "95 degF",
)  # fmt: skip
PLUME = ("quick", "plume", "--depth", "12 ft", "--air", "1.3 scfm", "--temperature", "28 degC")
VOLUME = ("quick", "volume", "--area", "1.6 acre", "--max-depth", "14 ft")

DEMO = Path(plumeline.__file__).parent / "demo" / "hollow-oak"

PROFILE = "depth_ft,temperature_degc\n0,30\n3,30\n5,23\n10,22\n"


@pytest.fixture(name="profile")
def _profile(tmp_path):
    """Return the file of the stratified check profile, in feet."""
    path = tmp_path / "profile.csv"
    path.write_text(PROFILE, encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("temperature", "expected"), [("0", 14.62), ("50 degF", 11.29), ("20 degC", 9.09), ("298.15 K", 8.26)]
)
def test_saturation_at_sea_level_is_the_published_table(answer, temperature, expected):
    """Oxygen at 1 atm, in whatever unit: Standard Methods 4500-O and USGS memo 2011.03, table at S = 0."""
    found = answer("quick", "saturation", "--temperature", temperature)
    assert found["do_sat_mg_l"] == pytest.approx(expected, abs=0.005)


def test_saturation_goes_with_the_station_pressure(answer):
    """At a tenth less than one atmosphere water at 25 °C holds 7.41 mg/L (USGS memo 2011.03).

    By hand: 8.263 mg/L × 0.9 (1 − u/0.9)(1 − 0.9 θ)/((1 − u)(1 − θ)), u 0.0313 atm, θ 6.6e-4: 7.411.
    """
    found = answer("quick", "saturation", "--temperature", "25 degC", "--pressure", "0.9 atm")
    assert found["do_sat_mg_l"] == pytest.approx(7.411, abs=0.003)
    assert found["pressure_pa"] == pytest.approx(91192.5)


def test_saturation_by_elevation_is_that_at_the_standard_atmosphere(answer):
    """1000 m has 898.75 hPa in the ICAO standard atmosphere (Doc 7488, table)."""
    by_height = answer(*SATURATION, "--elevation", "1000 m")
    by_pressure = answer(*SATURATION, "--pressure", "898.75 hPa")
    assert by_height["do_sat_mg_l"] == pytest.approx(by_pressure["do_sat_mg_l"], rel=1e-4)


def test_the_understood_value_is_echoed(run):
    """What was understood stands in the table for people: US texts in SI."""
    _, out, _ = run(*SATURATION, "--elevation", "680 ft")
    assert "680 ft = 207 m" in out
    assert "72 degF = 22.2 °C" in out


def test_ammonia_gives_the_published_fraction_and_criteria(answer):
    """5.4 % at 25 °C and pH 8.0 (Emerson 1975); EPA 2013 at pH 7, 20 °C: 17 and 1.9 mg/L."""
    found = answer(*AMMONIA)
    assert found["unionized_fraction"] == pytest.approx(0.054, abs=0.0005)
    assert found["unionized_mg_l"] == pytest.approx(1.2 * found["unionized_fraction"])
    words = ("quick", "ammonia", "--total", "1", "--ph", "7.0", "--temperature", "20")
    found = answer(*words)
    assert round(found["criterion_acute_mg_l"]) == 17
    assert round(found["criterion_acute_trout_mg_l"]) == 17
    assert round(found["criterion_chronic_mg_l"], 1) == 1.9


def test_ammonia_outside_the_criteria_range_carries_a_caution(answer):
    """EPA 822-R-13-001 tabulates pH 6.5 to 9.0; beyond it the figure is marked, not hidden."""
    found = answer("quick", "ammonia", "--total", "1", "--ph", "9.6", "--temperature", "20")
    assert "relation-out-of-range" in {notice["code"] for notice in found["notices"]}


def test_pipe_is_the_reference_case(answer):
    """2.6 scfm, 430 ft of 0.824 in, 6 psig, 35 °C: 0.20101 psi by Churchill, 8.73 ft/s, Re 4770.

    Computed independently with the `fluids` library (isothermal gas flow, density at the inlet).
    """
    found = answer(*PIPE)
    assert found["pressure_drop_pa"] / PSI_PA == pytest.approx(0.20101, rel=2e-3)
    assert found["velocity_m_s"] / 0.3048 == pytest.approx(8.73, abs=0.01)
    assert found["reynolds_number"] == pytest.approx(4770, abs=5)


@pytest.mark.parametrize(
    ("air", "length", "bore"), [("1.3 scfm", "100 ft", "3/8 in"), ("8 scfm", "1000 ft", "1.049 in")]
)
def test_pipe_agrees_with_fluids_within_0_2_percent(answer, air, length, bore):
    """The drop by the `fluids` library: its isothermal flow, density at the inlet, and its Churchill law."""
    from fluids.compressible import isothermal_gas
    from fluids.friction import Churchill_1977

    words = ("--air", air, "--length", length, "--bore", bore)
    found = answer("quick", "pipe", *words, "--inlet-pressure", "60 kPa", "--temperature", "30 degC")
    inlet_pa, bore_m = 161325.0, found["bore_m"]
    mass_kg_s = float(air.split()[0]) * 4.719474e-4 * 1.20410
    drop_pa = inlet_pa - isothermal_gas(
        rho=inlet_pa / (287.055 * 303.15),
        fd=Churchill_1977(found["reynolds_number"], 1.5e-6 / bore_m),
        P1=inlet_pa,
        L=float(length.split()[0]) * 0.3048,
        D=bore_m,
        m=mass_kg_s,
    )
    assert found["pressure_drop_pa"] == pytest.approx(drop_pa, rel=2e-3)


def test_pipe_by_name_takes_the_bore_of_the_table(answer):
    """Schedule 40 PVC of 3/4 in has an average bore of 0.804 in (ix23.com pipe dimensions)."""
    words = [word for word in PIPE if word not in ("--bore", "0.824 in")]
    found = answer(*words, "--pipe", "pvc40-3/4")
    assert found["bore_m"] / 0.0254 == pytest.approx(0.804, abs=1e-3)


def test_pipe_between_laminar_and_turbulent_says_so(answer):
    """Between Re 2000 and 4000 the drop is uncertain by 30 %, and the answer carries the caution."""
    words = ["1.3 scfm" if word == "2.6 scfm" else word for word in PIPE]
    assert "air-transition" in {notice["code"] for notice in answer(*words)["notices"]}


def test_plume_in_uniform_water_surfaces_with_all_keys(answer):
    """A 12 ft plume in water of one temperature surfaces; α given, no key comes from the priors."""
    found = answer(*PLUME, "--alpha", "0.06")
    assert found["reaches_surface"] is True
    assert found["stall_depth_m"] is None
    assert found["peels"] == []
    assert {"water_flow_m3_s", "neutral_depth_m", "oxygen_transfer_efficiency"} <= set(found)
    assert not {"water_flow_p05_m3_s", "water_flow_p95_m3_s", "surfacing_probability"} & set(found)
    # 0.1385 m³/s with the published solubilities (independent RK45); the program's own shift it little.
    assert found["water_flow_m3_s"] == pytest.approx(0.1385, rel=0.02)


def test_plume_in_the_stratified_profile_stalls_where_an_independent_solution_does(answer, profile):
    """0.3 scfm, α 0.08, 10 ft: first peel at 0.438 m with 0.0637 m³/s (independent RK45)."""
    words = ("--depth", "10 ft", "--air", "0.3 scfm", "--profile", str(profile), "--alpha", "0.08")
    found = answer("quick", "plume", *words)
    assert found["reaches_surface"] is False
    assert found["stall_depth_m"] == pytest.approx(0.438, abs=0.02)
    assert found["water_flow_m3_s"] == pytest.approx(0.0637, rel=0.02)
    assert found["peels"][0]["depth_m"] == found["stall_depth_m"]


def test_plume_without_alpha_gives_the_band_and_is_the_same_for_the_same_seed(answer, profile):
    """The priors give a band about the answer and a probability, drawn by the seed."""
    words = ("quick", "plume", "--depth", "10 ft", "--air", "0.5 scfm", "--profile", str(profile))
    found = answer(*words)
    assert found["water_flow_p05_m3_s"] < found["water_flow_m3_s"] < found["water_flow_p95_m3_s"]
    assert 0.0 < found["surfacing_probability"] < 1.0
    assert answer(*words, "--seed", "1") == found
    assert answer(*words, "--seed", "2")["water_flow_p05_m3_s"] != found["water_flow_p05_m3_s"]


def test_a_profile_that_ends_above_the_diffuser_carries_a_caution(answer, profile):
    """Beyond its ends a profile is held constant, and the answer says so."""
    found = answer("quick", "plume", "--depth", "14 ft", "--air", "0.5 scfm", "--profile", str(profile))
    assert "profile-held-constant" in {notice["code"] for notice in found["notices"]}


def test_volume_of_a_cone_is_a_third_of_area_times_depth(answer):
    """V = A z/3 in closed form, with a standard error beside it."""
    found = answer(*VOLUME, "--shape", "cone")
    assert found["volume_m3"] == pytest.approx(1.6 * 4046.8564224 * 14 * 0.3048 / 3, rel=1e-5)
    assert 0 < found["volume_se_m3"] < found["volume_m3"]


def test_volume_of_a_bowl_is_the_handbook_rule(answer):
    """0.4 × greatest depth × area: USDA NRCS, Agriculture Handbook 590."""
    found = answer(*VOLUME, "--shape", "bowl")
    assert found["volume_m3"] == pytest.approx(0.4 * 1.6 * 4046.8564224 * 14 * 0.3048, rel=1e-9)


def test_mix_of_the_demo_pond_closes_its_books(answer):
    """Oxygen after the debt is oxygen before less the debt over the volume: conservation of mass."""
    found = answer("quick", "mix", str(DEMO))
    debt_mg_l = 1000.0 * found["debt_kg"] / found["volume_m3"]
    assert found["debt_kg"] > 0
    assert found["do_after_debt_mg_l"] == pytest.approx(max(found["do_mg_l"] - debt_mg_l, 0.0), abs=1e-9)


def test_mix_of_a_pond_that_is_mixed_already_is_the_pond_itself(answer, tmp_path):
    """A column of 21 °C and 6.5 mg/L from top to bottom mixes to 21 °C and 6.5 mg/L, whatever the basin."""
    folder = tmp_path / "pond"
    shutil.copytree(DEMO, folder)
    head = "time,depth_m,temperature_degc,do_mg_l\n"
    rows = "".join(f"2026-08-11T10:00,{depth},21.0,6.5\n" for depth in (0.0, 1.0, 2.0, 3.0, 4.0))
    (folder / "profiles.csv").write_text(head + rows, encoding="utf-8")
    found = answer("quick", "mix", str(folder))
    assert found["temperature_degc"] == pytest.approx(21.0, abs=1e-9)
    assert found["do_mg_l"] == pytest.approx(6.5, abs=1e-9)


@pytest.mark.parametrize("words", [SATURATION, AMMONIA, PIPE, PLUME, VOLUME], ids=lambda words: words[1])
@pytest.mark.parametrize("units", ["us", "si"])
def test_answers_for_people_fit_80_columns_and_end_well(run, words, units):
    """Every answer is printed within 80 columns in both systems, and nothing is said on stderr."""
    code, out, err = run(*words, "--units", units)
    assert code == 0
    assert err == ""
    assert max(len(line) for line in out.splitlines()) <= 80


@pytest.mark.parametrize("words", [SATURATION, AMMONIA, PIPE, PLUME, VOLUME], ids=lambda words: words[1])
def test_the_same_question_gives_the_same_bytes(run, words):
    """Two runs print the same document."""
    assert run(*words, "--json") == run(*words, "--json")


BAD = [
    (("quick", "saturation", "--temperature", "12 furlong"), "no unit that is known"),
    (("quick", "saturation", "--temperature", "8 psig"), "is a pressure; a temperature is wanted"),
    (("quick", "saturation", "--temperature", "nan"), "number"),
    (("quick", "saturation", "--temperature", "inf degC"), "number"),
    (("quick", "saturation", "--temperature", ""), "no value"),
    (("quick", "saturation", "--temperature", "60 degC"), "above 40"),
    (("quick", "saturation",), "--temperature"),
    ((*SATURATION, "--elevation", "680 ft", "--pressure", "29 inHg"), "not allowed with"),
    ((*SATURATION, "--pressure", "8 psig"), "gauge"),
    ((*SATURATION, "--salinity", "-1"), "below 0"),
    (("quick", "ammonia", "--total", "-1 mg/L", "--ph", "8", "--temperature", "20"), "below 0"),
    (("quick", "ammonia", "--total", "1 mg/L", "--ph", "nan", "--temperature", "20"), "not a number"),
    (("quick", "ammonia", "--total", "1 mg/L", "--ph", "15", "--temperature", "20"), "outside 0 to 14"),
    ((*PLUME[:5], "-1.3 scfm", *PLUME[6:]), "below zero"),
    ((*PLUME[:5], "0 scfm", *PLUME[6:]), "no flow of air"),
    ((*PLUME[:5], "1.3 gpm", *PLUME[6:]), "flow of water"),
    ((*PLUME[:5], "1,300 scfm", *PLUME[6:]), "Write 1300 or 1.300"),
    ((*PLUME, "--profile", "x.csv"), "not allowed with"),
    (("quick", "plume", "--depth", "0 ft", "--air", "1 scfm", "--temperature", "20"), "not above 0"),
    ((*PLUME, "--seed", "x"), "not a whole number"),
    ((*PLUME, "--date", "yesterday"), "not a date"),
    ((*VOLUME, "--shape", "bowle"), "Did you mean bowl"),
    (("quick", "volume", "--area", "-1 acre", "--max-depth", "14 ft"), "not above 0"),
    ((*[w for w in PIPE if w not in ("--bore", "0.824 in")], "--pipe", "pvc-3/4"), "Did you mean"),
    (("frob",), "invalid choice"),
    (("quick", "frob"), "invalid choice"),
    ((), "required"),
]  # fmt: skip


@pytest.mark.parametrize(("words", "says"), BAD, ids=lambda item: item if isinstance(item, str) else "")
def test_a_question_asked_wrongly_ends_with_2_and_one_clear_message(run, words, says):
    """Exit code 2, nothing on stdout, the reason on stderr, no traceback."""
    code, out, err = run(*words)
    assert code == 2
    assert out == ""
    assert says in " ".join(err.split())
    assert "Traceback" not in err


def test_an_oxygen_column_and_oxygen_together_are_a_usage_error(run, tmp_path):
    """The profile brings its own oxygen: --oxygen beside it ends with 2."""
    path = tmp_path / "profile.csv"
    path.write_text("depth_m,temperature_degc,do_mg_l\n0,28,8\n3,20,0\n", encoding="utf-8")
    words = ("quick", "plume", "--depth", "3 m", "--air", "1 scfm", "--profile", str(path))
    code, out, err = run(*words, "--oxygen", "0 mg/L")
    assert (code, out) == (2, "")
    assert "--oxygen" in err


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", ""),
        (b"\x00\x01\x02\xff\xfe", ""),
        (b"depth_m,temperature_degc\n0,20\n0,21\n", "two rows"),
        (b"depth_m,temprature_degc\n0,20\n", "temperature"),
        (b"depth_m,temperature_degc\n0,warm\n", "warm"),
        (b"depth_m,temperature_degc\n0,nan\n", ""),
        (b"depth_m,temperature_degc\n-1,20\n", ""),
        (b"depth_m,temperature_degc\n", ""),
    ],
    ids=["empty", "binary", "repeated depth", "misspelt", "word", "nan", "negative", "head only"],
)  # fmt: skip
def test_a_bad_profile_file_ends_with_1_and_a_message(run, tmp_path, content, says):
    """Faults in the file end with 1 and say what is wrong, without a traceback."""
    path = tmp_path / "profile.csv"
    path.write_bytes(content)
    code, out, err = run("quick", "plume", "--depth", "3 m", "--air", "1 scfm", "--profile", str(path))
    assert (code, out) == (1, "")
    assert says in err
    assert err.startswith("plumeline: ")
    assert "should not" not in err


def test_a_missing_file_or_folder_ends_with_1(run, tmp_path):
    """A profile or job folder that is not there is named."""
    code, _, err = run(
        "quick", "plume", "--depth", "3 m", "--air", "1 scfm", "--profile", str(tmp_path / "no.csv")
    )
    assert code == 1
    assert "no.csv" in err
    code, _, err = run("quick", "mix", str(tmp_path / "nowhere"))
    assert code == 1
    assert "should not" not in err


def test_a_pipe_too_narrow_for_the_air_is_said_to_be_so(run):
    """100 scfm through half an inch and 3000 ft from 6 psig has no solution, and the way out is named."""
    code, out, err = run(
        "quick", "pipe", "--air", "100 scfm", "--length", "3000 ft", "--bore", "0.5 in",
        "--inlet-pressure", "6 psig", "--temperature", "20",
    )  # fmt: skip
    assert (code, out) == (1, "")
    assert "larger bore" in err
