"""``plumeline quick bottle``: demands worked by hand, lower bounds, and readings that can't be."""

from __future__ import annotations

import json

import pytest

FILLED = ("quick", "bottle", "--bottom-do", "0.0", "--surface-do", "8 mg/L")


@pytest.fixture(name="answer")
def _answer(run):
    """Return a function that asks about a bottle with --json and gives the document."""

    def answer(*words: str) -> dict:
        code, out, err = run(*FILLED, *words, "--json")
        assert code == 0, err
        return json.loads(out)

    return answer


def codes(found):
    """Return the codes of a document's notices."""
    return {notice["code"] for notice in found["notices"]}


def test_immediate_and_fast_demand_of_equal_parts(answer):
    """2 (4 − 3.2) = 1.6; 2 [(4 − 1.5) − ½ (8 − 7)] = 4.0 mg/L: the design notes' section 3, by hand."""
    found = answer("--after-15min", "3.2", "--after-24h", "1.5", "--surface-after-24h", "7")
    assert found["immediate_mg_l"] == pytest.approx(1.6)
    assert found["fast_mg_l"] == pytest.approx(4.0)
    assert found["censored"] is False
    assert found["repeat_parts_count"] is None
    assert codes(found) == set()


def test_one_to_three_counts_four_times(answer):
    """Filled at 6: 4 (6 − 5.5) = 2.0; 4 [(6 − 4) − ¾ (8 − 7.2)] = 5.6 mg/L (factor 4, by hand)."""
    words = ("--after-15min", "5.5", "--after-24h", "4", "--surface-after-24h", "7.2")
    found = answer(*words, "--dilution", "1:3")
    assert found["bottom_share_fraction"] == 0.25
    assert found["immediate_mg_l"] == pytest.approx(2.0)
    assert found["fast_mg_l"] == pytest.approx(5.6)


def test_parts_mean_the_same_however_they_are_counted(answer):
    """2:6 is 1:3."""
    assert answer("--after-15min", "5", "--dilution", "2:6") == answer(
        "--after-15min", "5", "--dilution", "1:3"
    )


@pytest.mark.parametrize(("dilution", "again"), [("1:1", 3), ("1:3", 7)])
def test_a_mixture_under_1_mg_l_is_a_lower_bound_and_says_what_to_repeat(answer, dilution, again):
    """Any reading of the mixture under 1 mg/L: at least so much, and the next weaker mixture is named."""
    found = answer(
        "--after-15min", "0.9", "--after-24h", "0.4", "--surface-after-24h", "7.5", "--dilution", dilution
    )
    assert found["censored"] is True
    assert found["immediate_censored"] is True
    assert found["fast_censored"] is True
    assert found["repeat_parts_count"] == again
    assert "bottle-ran-short" in codes(found)


def test_just_over_1_mg_l_is_no_lower_bound(answer):
    """1.0 mg/L left in the bottle: the demand was met."""
    assert answer("--after-24h", "1.0", "--surface-after-24h", "7.5")["censored"] is False


def test_a_mixture_that_ran_short_early_makes_the_later_demand_a_lower_bound_too(answer):
    """Under 1 mg/L at 15 min, 1.2 by the meter at 24 h: what the water took in between it had to do without."""
    found = answer("--after-15min", "0.8", "--after-24h", "1.2", "--surface-after-24h", "8")
    assert found["fast_censored"] is True


def test_without_a_control_there_is_a_warning_and_the_whole_drop_counts(answer, run):
    """2 (4 − 1.5) = 5.0 mg/L, and a caution in both surfaces: the bloom's breath is in it."""
    found = answer("--after-24h", "1.5")
    assert found["fast_mg_l"] == pytest.approx(5.0)
    assert found["immediate_mg_l"] is None
    severities = {notice["code"]: notice["severity"] for notice in found["notices"]}
    assert severities == {"bottle-without-control": "caution"}
    _, out, _ = run(*FILLED, "--after-24h", "1.5")
    assert "Caution: With the bottle no surface bottle was kept" in out


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (("--after-15min", "5.5"), "bottle-gained-oxygen"),
        (("--after-15min", "3", "--after-24h", "4", "--surface-after-24h", "8"), "bottle-gained-oxygen"),
        (("--after-24h", "3", "--surface-after-24h", "9.5"), "bottle-gained-oxygen"),
        (("--after-15min", "4.3"), "bottle-no-demand"),
        (("--after-24h", "3.5", "--surface-after-24h", "0.5"), "bottle-control-ran-short"),
    ],
)
def test_what_a_dark_full_bottle_cannot_give_is_named(answer, words, code):
    """Oxygen that rises, a demand below zero, a control that ran short: said, never smoothed over."""
    assert code in codes(answer(*words))


def test_bottom_water_richer_than_the_surface_is_named(run):
    """Bottom 6, surface 2 mg/L: the two may have been swapped."""
    words = ("--bottom-do", "6", "--surface-do", "2", "--after-15min", "3", "--json")
    code, out, _ = run("quick", "bottle", *words)
    assert code == 0
    assert "bottle-upside-down" in codes(json.loads(out))


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ((), "--after-15min, --after-24h or both"),
        (("--after-15min", "-1"), "below 0"),
        (("--after-15min", "55"), "above 40"),
        (("--after-15min", "nan"), "number"),
        (("--after-15min", "3 degC"), "is a temperature"),
        (("--after-15min", "3", "--dilution", "half"), "Write parts"),
        (("--after-15min", "3", "--dilution", "0:1"), "no bottom water"),
        (("--after-15min", "3", "--dilution", "1:0:2"), "Write parts"),
        (("--after-15min", "3", "--dilution", "1:1000"), "no weaker than"),
        (("--after-15min", "3", "--dilution", "inf:1"), "Write parts"),
    ],
    ids=lambda item: " ".join(item) if isinstance(item, tuple) else "",
)
def test_bad_values_end_with_2_and_one_clear_message(run, words, says):
    """Exit code 2, nothing on stdout, the reason on stderr."""
    code, out, err = run(*FILLED, *words)
    assert (code, out) == (2, "")
    assert says in " ".join(err.split())
    assert "Traceback" not in err


def test_a_bottle_of_bottom_water_alone_needs_no_control_share(answer):
    """1:0 is bottom water alone: what it lost is its demand, whatever the surface bottle did."""
    found = answer("--after-24h", "0", "--surface-after-24h", "6", "--dilution", "1:0")
    assert found["fast_mg_l"] == pytest.approx(0.0)
    assert found["censored"] is True


def test_the_answer_fits_80_columns(run):
    """A narrow terminal shows it all."""
    code, out, err = run(*FILLED, "--after-24h", "0.5", "--dilution", "1:3")
    assert (code, err) == (0, "")
    assert max(len(line) for line in out.splitlines()) <= 80
