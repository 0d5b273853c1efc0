"""The commands about a job folder: what they print, and the same in JSON."""

from __future__ import annotations

import io
import json
import re
from dataclasses import dataclass

import numpy as np
import pytest

from plumeline.cli.progress import Progress
from plumeline.cli.tables import WIDTH, cells
from plumeline.demo import demo_folder
from plumeline.files.json_values import json_value
from plumeline.notices import caution
from plumeline.safety import SAFETY_CARD
from plumeline.units import SUFFIXES

DEMO = str(demo_folder())
QUICK = ("survey", "reading", "layout", "air", "choose")
PSI_PA = 6894.757293168

COMPOSED = ("j", "j_m2", "per_s2", "m_k", "k", "kg_m3", "m4", "1_s2", "per_day", "kwh", "dba")
PURE = (
    "money",
    "years",
    "fraction",
    "efficiency",
    "probability",
    "number",
    "risk",
    "risk_upper95",
    "surface",
)
COUNTS = (
    "count",
    "members",
    "failures",
    "seed",
    "row",
    "minutes",
    "candidates",
    "days",
    "complete",
    "rounds",
)
BANDS = ("median", "p05", "p95")
PLAIN = ("ph", "bound_by")


def words_of(text: str) -> str:
    """Return a text with every run of blanks as one, so that broken lines can be searched."""
    return " ".join(text.split())


@pytest.mark.parametrize("units", ["us", "si"])
@pytest.mark.parametrize("command", QUICK)
def test_each_stage_prints_tables_for_80_columns(once, command, units):
    """Every stage answers on the demo job, and no line is wider than an 80-column terminal."""
    code, out, err = once(command, DEMO, "--units", units)
    assert (code, err) == (0, "")
    assert max(cells(line) for line in out.splitlines()) <= WIDTH
    assert out.splitlines()[0] == f"Hollow Oak: {command}, 2026-08-11, seed 1"


@pytest.mark.usefixtures("small")
def test_startup_prints_days_and_risk_in_words(once):
    """The plan says how many simulated ponds lost their refuge, beside other schedules, in tables."""
    code, out, err = once("startup", DEMO)
    assert code == 0
    assert max(cells(line) for line in out.splitlines()) <= WIDTH
    said = r"of 24 simulated ponds like this one, \d+ lost their refuge for more than an hour"
    assert re.search(said, words_of(out))
    for schedule in ("this plan", "do nothing", "24 h from day 1", "doubling from 15 min"):
        assert re.search(rf"^{schedule} ", out, re.MULTILINE), schedule
    assert "Shut off when oxygen" in out
    assert "searching schedules" in err
    assert "Danger: Bottom water can give off hydrogen sulphide" in words_of(out)
    assert "%" not in re.findall(r"risk  +(.*)", out)[0]


@pytest.mark.usefixtures("small")
def test_ten_answers_give_a_plan_that_says_what_would_narrow_it(run, ten):
    """With the ten answers alone the plan is made, and the files that are missing are listed."""
    code, out, err = run("startup", str(ten))
    assert code == 0, err
    narrow = out[out.index("What would narrow the plan") :]
    for file in ("bottle.csv", "weather.csv", "soundings.csv"):
        assert file in narrow
    assert max(cells(line) for line in out.splitlines()) <= WIDTH


@pytest.mark.usefixtures("small")
def test_startup_in_json_has_the_risk_keys_and_the_same_bytes_each_time(run, once):
    """`startup --json` holds members, failures, risk and its bounds, says nothing on stderr, and repeats."""
    first = once("startup", DEMO, "--json")
    assert first[0] == 0
    assert first[2] == ""
    found = json.loads(first[1])
    keys = {"members", "failures", "risk", "risk_upper95", "baseline_risk", "added_risk"}
    risks = [found["startup"]["risk"], *(item["risk"] for item in found["startup"]["comparisons"])]
    assert all(set(risk) == keys for risk in risks)
    for risk in risks:
        assert risk["risk"] == risk["failures"] / risk["members"]
        assert risk["risk_upper95"] > risk["risk"] or risk["risk"] == 1.0
    assert unnamed_units(found) == set()
    assert run("startup", DEMO, "--json") == first


@pytest.mark.parametrize("command", QUICK)
def test_the_same_input_gives_the_same_bytes(run, once, command):
    """Two runs of a stage print the same JSON, and `--units` does not touch it."""
    first = once(command, DEMO, "--json")
    assert first[0] == 0
    assert run(command, DEMO, "--json", "--units", "si") == first


@pytest.mark.parametrize("command", QUICK)
def test_every_number_in_json_names_its_unit(once, command):
    """Each key with a number in it ends in a unit, or says that it is a pure number or a count."""
    found = json.loads(once(command, DEMO, "--json")[1])
    assert unnamed_units(found) == set()
    assert found["job"] == "hollow-oak"
    assert found["seed"] == 1
    assert "assumptions" in found[command]
    assert "grid" not in found[command]


def unnamed_units(value, key: str = "", above: str = "") -> set[str]:
    """Return the keys that hold a number and do not say in what unit it is."""
    if isinstance(value, dict):
        return set().union(*(unnamed_units(part, name, key) for name, part in value.items()), set())
    if isinstance(value, list):
        return set().union(*(unnamed_units(part, key, above) for part in value), set())
    if isinstance(value, bool) or not isinstance(value, int | float):
        return set()
    name = above if key in BANDS else key
    ends = (*SUFFIXES, *COMPOSED, *PURE, *COUNTS)
    ok = name in PLAIN or any(name == end or name.endswith(f"_{end}") for end in ends)
    return set() if ok else {name}


def test_the_walk_over_keys_would_notice_a_missing_unit():
    """A number under a bare name is found, so that the check above can fail."""
    assert unnamed_units({"survey": {"area": 3.0}}) == {"area"}


@pytest.mark.parametrize("command", ["reading", "air"])
def test_every_notice_is_printed_with_its_severity(once, command):
    """What JSON holds as notices stands in the table's text too, the gravest first."""
    notices = json.loads(once(command, DEMO, "--json")[1])["notices"]
    text = words_of(once(command, DEMO, "--units", "si")[1])  # JSON is always SI
    assert notices
    places = [text.index(f"{item['severity'].capitalize()}: {item['text']}"[:60]) for item in notices]
    assert places == sorted(places)


def test_a_notice_of_an_earlier_stage_is_shown_by_the_later_ones(run, ten):
    """The pond without soundings is warned of in survey, reading, layout and air alike."""
    for command in QUICK:
        codes = {item["code"] for item in json.loads(run(command, str(ten), "--json")[1])["notices"]}
        assert any("sounding" in code or "shape" in code or "volume" in code for code in codes), command


@pytest.mark.usefixtures("small")
def test_the_safety_card_stands_where_work_is_done(once):
    """Air and start-up end with the safety card, on both surfaces; reading the water does not need it."""
    for command in ("air", "startup"):
        text = words_of(once(command, DEMO)[1])
        for title, said in SAFETY_CARD:
            assert f"{title} {said}" in text
        rows = json.loads(once(command, DEMO, "--json")[1])["safety"]
        assert [(row["title"], row["text"]) for row in rows] == list(SAFETY_CARD)
    assert "safety" not in json.loads(once("survey", DEMO, "--json")[1])


def test_the_safety_card_names_every_danger_of_the_work():
    """Gas, scum, boat, compressed air, electricity, trench and dam, ice, and who has the last word."""
    said = " ".join(f"{title} {text}" for title, text in SAFETY_CARD)
    for word in (
        "rotten eggs", "upwind", "two people", "meter", "gloves", "livestock", "Life jacket", "kill switch",
        "100 psi", "electrician", "GFCI", "utility-locate", "dam", "ice", "Local codes",
    ):  # fmt: skip
        assert word in said, word


def test_seed_and_date_come_from_the_command_line(run):
    """Another seed moves what is drawn and nothing else; another date is printed."""
    one = json.loads(run("layout", DEMO, "--json")[1])
    two = json.loads(run("layout", DEMO, "--json", "--seed", "2", "--date", "2026-08-20")[1])
    assert (two["seed"], two["date"]) == (2, "2026-08-20")
    assert one["plume"]["water_flow_p05_m3_s"] != two["plume"]["water_flow_p05_m3_s"]
    assert one["places"] == two["places"]


def test_air_works_with_typed_depths_and_no_pond(run, ten):
    """12 ft of water needs 0.433 psi a foot (handbook) and the membrane's loss, with no pond in the job."""
    job = ten / "job.toml"
    text = job.read_text(encoding="utf-8")
    job.write_text(re.sub(r"\[pond\].*?\[air\]", "[air]", text, flags=re.DOTALL), encoding="utf-8")
    words = ("--depths", "12 ft; 10 ft 6 in", "--branch-lengths", "120 ft", "--json")
    code, out, err = run("air", str(ten), *words)
    assert code == 0, err
    found = json.loads(out)["air"]
    needed = [item["needed_pressure_pa"] for item in found["balanced"]["branches"]]
    assert needed[0] == pytest.approx((12 * 0.433) * PSI_PA + 3000.0, rel=3e-3)
    assert needed[1] == pytest.approx((10.5 * 0.433) * PSI_PA + 3000.0, rel=3e-3)
    assert [item["length_m"] for item in found["branches"]] == pytest.approx([120 * 0.3048] * 2)


def test_air_without_lengths_says_what_it_took(run, ten):
    """Typed depths alone take 100 ft of branch each, and a notice says so."""
    codes = {
        item["code"] for item in json.loads(run("air", str(ten), "--depths", "9 ft", "--json")[1])["notices"]
    }
    assert "branch-length-assumed" in codes


def test_air_takes_depths_from_the_job_without_a_pond(run, ten):
    """Diffusers with depth and branch_length in job.toml need no pond either."""
    job = ten / "job.toml"
    text = job.read_text(encoding="utf-8")
    text = re.sub(r"\[pond\].*?\[air\]", "[air]", text, flags=re.DOTALL)
    text += '[[air.diffusers]]\nname = "north"\ndepth = "11 ft"\nbranch_length = "90 ft"\n'
    job.write_text(text, encoding="utf-8")
    code, out, err = run("air", str(ten))
    assert code == 0, err
    assert re.search(r"^north +11 ft +90 ft ", out, re.MULTILINE)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--branch-lengths", "100 ft"), "--depths"),
        (("--depths", "12 ft, 10 ft, 8 ft", "--branch-lengths", "9 ft, 8 ft"), "one length for all"),
        (("--depths", "12 ft,,8 ft"), "empty place"),
        (("--depths", "12 furlong"), "furlong"),
        (("--depths", "-3 ft"), "below"),
        (("--units", "imperial"), "invalid choice"),
        (("--seed", "-1"), "outside"),
        (("--date", "August"), "year-month-day"),
    ],
)
def test_air_asked_for_wrongly_ends_with_2(run, ten, words, said):
    """A slip in the options is a usage error that says the way out."""
    code, out, err = run("air", str(ten), *words)
    assert code == 2
    assert out == ""
    assert said in err
    assert "Traceback" not in err


def test_new_writes_a_folder_that_check_asks_to_fill(run, tmp_path):
    """`new` writes the templates; `check` then lists the empty answers and ends with 1."""
    folder = tmp_path / "pond"
    code, out, _ = run("new", str(folder))
    assert code == 0
    names = {path.name for path in folder.iterdir()}
    assert {
        "job.toml",
        "outline.geojson",
        "soundings.csv",
        "profiles.csv",
        "bottle.csv",
        "weather.csv",
        "readings.csv",
        "runs.csv",
        "route.csv",
        "equipment.csv",
    } == names
    assert all(name in out for name in names)
    code, out, err = run("check", str(folder))
    assert (code, err) == (1, "")
    assert "pond.area: is still empty. Give it, as" in words_of(out)


def test_new_overwrites_nothing(run, tmp_path):
    """A second `new` on the same folder is refused and leaves the first as it was."""
    run("new", str(tmp_path / "pond"))
    (tmp_path / "pond" / "job.toml").write_text("mine", encoding="utf-8")
    code, _, err = run("new", str(tmp_path / "pond"))
    assert code == 1
    assert "there already" in err
    assert (tmp_path / "pond" / "job.toml").read_text(encoding="utf-8") == "mine"


def test_new_on_a_file_is_refused(run, tmp_path):
    """`new` on the name of a file says so."""
    (tmp_path / "pond").write_text("", encoding="utf-8")
    code, _, err = run("new", str(tmp_path / "pond"))
    assert code == 1
    assert "is a file" in err


def test_check_of_a_good_folder_ends_with_0_and_echoes(run):
    """The demo has no fault; what was understood stands beside what was written."""
    code, out, err = run("check", DEMO)
    assert (code, err) == (0, "")
    assert "680 ft = 207 m" in out
    assert max(cells(line) for line in out.splitlines()) <= WIDTH
    found = json.loads(run("check", DEMO, "--json")[1])
    assert found["faults"] == []
    assert "pond.area: 1.6 acre = 6475 m²" in found["understood"]


@pytest.mark.parametrize("command", ["layout", "startup"])
def test_a_job_without_a_reading_says_what_is_missing(run, ten, command):
    """Without a profile there is no layout and no plan, and the message names what to give."""
    job = ten / "job.toml"
    text = job.read_text(encoding="utf-8")
    job.write_text(re.sub(r"\[reading\].*?\[air\]", "[air]", text, flags=re.DOTALL), encoding="utf-8")
    code, out, err = run(command, str(ten))
    assert code == 1
    assert out == ""
    assert "profile" in err
    assert "Give" in err
    assert "Traceback" not in err


class Terminal(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        """Return that it is one."""
        return True


def test_progress_is_one_line_a_step_where_there_is_no_terminal():
    """In a log each step is told once, in a line of its own."""
    stream = io.StringIO()
    with Progress(quiet=False, stream=stream) as progress:
        for share in (0.0, 0.5, 0.9):
            progress("searching schedules", share)
        progress("scoring", 0.0)
    assert stream.getvalue() == "searching schedules …\nscoring …\n"


def test_progress_stays_in_place_on_a_terminal():
    """On a terminal the line is written over, within its width, and is gone at the end."""
    stream = Terminal()
    with Progress(quiet=False, stream=stream) as progress:
        progress("searching schedules", 0.0)
        progress("scoring the plan " * 9, 0.25)
    text = stream.getvalue()
    assert "\n" not in text
    assert "25 %" not in text.split("\r")[1]
    assert all(len(part) < WIDTH for part in text.split("\r"))
    assert text.endswith("\r" + " " * (WIDTH - 1) + "\r")


def test_progress_is_silent_when_quiet():
    """Nothing is written for --json."""
    stream = Terminal()
    with Progress(quiet=True, stream=stream) as progress:
        progress("searching schedules", 0.0)
    assert stream.getvalue() == ""


@dataclass(frozen=True)
class _Sample:
    path_xy: tuple[tuple[float, float], ...]
    depth_m: float
    grid: object
    values_m: np.ndarray
    notice: object


def test_json_values_leave_out_grids_and_know_no_nan():
    """NaN is null, plane coordinates say metres, enumerations are words, grids are left out."""
    sample = _Sample(
        ((1.0, 2.0),), float("nan"), object(), np.array([1.0, np.inf]), caution("a-code", "Words.")
    )
    assert json_value(sample) == {
        "path_xy_m": [[1.0, 2.0]],
        "depth_m": None,
        "values_m": [1.0, None],
        "notice": {"code": "a-code", "severity": "caution", "text": "Words."},
    }
