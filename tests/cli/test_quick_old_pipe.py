"""``plumeline quick`` on an old pipe and the water in a line: published values, bad input."""

import json

import pytest

HOLD = (
    "quick", "hold-test", "--length", "300 ft", "--bore", "0.824 in", "--start", "10 psig", "--end", "8.5 psig",
    "--minutes", "6", "--temperature", "77 degF",
)  # fmt: skip
BORE = (
    "quick", "bore-test", "--air", "3.5 scfm", "--length", "300 ft", "--pressure", "0.31 psig", "--temperature",
    "77 degF",
)  # fmt: skip
WATER = (
    "quick", "condensate", "--air", "2.6 scfm", "--pressure", "6 psig", "--intake", "95 degF", "--humidity", "60 %",
    "--soil", "60 degF",
)  # fmt: skip


@pytest.fixture
def answer(run):
    """Return a function that gives a command's JSON."""

    def ask(*words):
        code, out, err = run(*words, "--json")
        assert code == 0, err
        return json.loads(out)

    return ask


def test_the_hold_test_of_the_reference(answer):
    """0.0186 scfm, 0.0201 at 10 and 0.0171 at 8.5 psig, 36.9 min (worked by hand)."""
    found = answer(*HOLD)
    assert found["leak_scfm"] == pytest.approx(0.0186, abs=5e-5)
    assert found["leak_at_start_standard_m3_s"] / 4.719474432e-4 == pytest.approx(0.0201, abs=5e-5)
    assert found["time_constant_s"] / 60.0 == pytest.approx(36.9, abs=0.05)


def test_a_pressure_without_a_unit_is_read_in_pascals_and_said(answer):
    """8.5 for 8.5 psig: the answer goes on, and a caution names the option and how it was read."""
    found = answer(*(word if word != "8.5 psig" else "8.5" for word in HOLD))
    said = next(notice for notice in found["notices"] if notice["code"] == "number-without-unit")
    assert "--end 8.5 as 8.5 Pa" in said["text"]
    assert not [n for n in answer(*HOLD)["notices"] if n["code"] == "number-without-unit"]


def test_an_area_without_a_unit_is_said_too(answer):
    """1.6 acre typed as 1.6 is 1.6 m²: it is named, and what has a unit is not."""
    found = answer("quick", "volume", "--area", "1.6", "--max-depth", "14 ft")
    (said,) = (notice for notice in found["notices"] if notice["code"] == "number-without-unit")
    assert "--area 1.6 as 1.6 m²" in said["text"]
    assert "max-depth" not in said["text"]


@pytest.mark.parametrize(
    ("start", "end", "code"),
    [("10 psig", "8.5 psig", "test-pressure"), ("100 psig", "98 psig", "test-pressure-high")],
)
def test_a_hold_test_says_what_air_under_pressure_can_do(answer, start, end, code):
    """1.5 times working and no more; 100 psi of air is a danger (reference §2.1)."""
    words = [{"10 psig": start, "8.5 psig": end}.get(word, word) for word in HOLD]
    notices = answer(*words)["notices"]
    assert code in {notice["code"] for notice in notices}
    assert "never 100 psi of air" in " ".join(notice["text"] for notice in notices)


def test_the_bore_test_gives_chances_of_pipes(answer):
    """0.31 psig is 0.824 in by `fluids` 1.3.1; chances sum to 1, the likeliest first."""
    classes = answer(*BORE)["classes"]
    assert set(classes[0]) == {"name", "bore_m", "probability"}
    assert classes[0]["bore_m"] == pytest.approx(0.824 * 0.0254, rel=1e-3)
    assert sum(item["probability"] for item in classes) == pytest.approx(1.0)


def test_what_is_known_of_the_pipe_rules_the_rest_out(answer):
    """With PVC of 3/4 in named no polyethylene is left."""
    classes = answer(*BORE, "--nominal", "3/4 in", "--material", "pvc")["classes"]
    assert not any(item["name"].startswith("pe-") for item in classes)


def test_the_water_of_the_reference(answer):
    """2.6 scfm, 6 psig, 95 °F and 60 %, soil 60 °F: 1.74 kg a day (worked by hand)."""
    assert answer(*WATER)["condensate_kg_d"] == pytest.approx(1.74, abs=0.01)


@pytest.mark.parametrize("units", ["us", "si"])
@pytest.mark.parametrize("words", [HOLD, BORE, WATER], ids=["hold", "bore", "water"])
def test_answers_for_people_fit(run, words, units):
    """80 columns, one system of units in the answer."""
    code, out, _ = run(*words, "--units", units)
    assert code == 0
    assert max(len(line) for line in out.splitlines()) <= 80
    told = out.split("Answer")[1]
    assert ("scfm" in told or "gal" in told or "0.824 in" in told) == (units == "us")


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        ((*HOLD[:8], "--end", "12 psig", *HOLD[10:]), 2, "pressure rises"),
        ((*HOLD[:4], "--bore", "0 in", *HOLD[6:]), 2, "not above 0"),
        ((*HOLD[:6], "--start", "-3 psig", *HOLD[8:]), 2, "can't be"),
        ((*HOLD[:6], "--start", "-3psig", *HOLD[8:]), 2, "can't be"),
        ((*WATER[:4], "--pressure", "-8psig", *WATER[6:]), 2, "check the sign"),
        ((*BORE[:6], "--pressure", "0 psig", *BORE[8:]), 2, "finer gauge"),
        ((*BORE[:6], "--pressure", "-.5psig", *BORE[8:]), 2, "check the sign"),
        ((*BORE, "--nominal", "7 in"), 2, "not in the table"),
        ((*BORE, "--nominal", "2 in", "--material", "copper"), 1, "no copper pipe of 2 in"),
        ((*WATER[:8], "--humidity", "160 %", *WATER[10:]), 2, "above 1"),
    ],
)
def test_bad_input_is_told_without_a_traceback(run, words, code, said, capsys):
    """What is wrong, where, what would be right."""
    try:
        got, _, err = run(*words)
    except SystemExit as stop:
        got, err = stop.code, capsys.readouterr().err
    assert got == code
    assert said in err
    assert "Traceback" not in err
