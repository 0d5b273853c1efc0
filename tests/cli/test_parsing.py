"""What the parser makes of negative values and of mistyped words."""

import pytest

from plumeline.cli import main
from plumeline.cli.parsing import nearest, values_joined

WATER = (
    "quick",
    "condensate",
    "--air",
    "2.6 scfm",
    "--intake",
    "95 degF",
    "--humidity",
    "60 %",
    "--soil",
    "60 degF",
)


@pytest.mark.parametrize(
    ("words", "joined"),
    [
        (["--pressure", "-8psig"], ["--pressure=-8psig"]),
        (["--pressure", "-.5"], ["--pressure=-.5"]),
        (["--pressure=-8psig", "-3"], ["--pressure=-8psig", "-3"]),
        (["--json", "--pressure", "8"], ["--json", "--pressure", "8"]),
        (["-h", "-8"], ["-h", "-8"]),
    ],
)
def test_a_negative_value_belongs_to_its_option(words, joined):
    """Only what follows a long option without a value of its own, and begins as a number."""
    assert values_joined(words) == joined


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((*WATER, "--pressure", "-8psig"), "check the sign"),
        ((*WATER, "--pressure", "-8 psig"), "check the sign"),
        ((*WATER, "--presure", "8 psig"), "Did you mean --pressure"),
        ((*WATER, "--pressure", "8 psig", "--jsn"), "Did you mean --json"),
        (
            ("quick", "wire", "--volts", "120 V", "--amps", "5 A", "--length", "9 ft", "--gauge", "11"),
            "10, the next",
        ),
        (
            ("quick", "wire", "--volts", "120 V", "--amps", "5 A", "--length", "9 ft", "--gauge", "x"),
            "14, 12, 10",
        ),
        ((*WATER, "--pressure", "8", "psig"), "goes in quotes"),
        (("plann", "folder"), "Did you mean plan"),
        (("quick", "condensat"), "Did you mean condensate"),
    ],
)
def test_a_refusal_names_the_way_out(words, said, capsys):
    """Exit code 2, the reason and the nearest right word."""
    assert main(list(words)) == 2
    err = " ".join(capsys.readouterr().err.split())
    assert said in err
    assert "expected one argument" not in err


def test_nothing_is_near_a_word_of_its_own():
    """A word like none of the names brings no hint."""
    assert nearest("--zzz", ["--pressure", "--air"]) == ""


def test_a_size_of_wire_may_carry_its_mark(capsys):
    """#12 and 12 AWG are 12."""
    told = []
    for size in ("12", "#12", "12 AWG"):
        assert (
            main(
                ["quick", "wire", "--volts", "120 V", "--amps", "5 A", "--length", "260 ft", "--gauge", size]
            )
            == 0
        )
        told.append(capsys.readouterr().out.split("Answer")[1])
    assert told[0] == told[1] == told[2]
