"""Power, wire and outlet temperature from the shell, against published tables."""

import json

import pytest

from plumeline.cli import main


def ask(capsys, *arguments):
    assert main(["quick", *arguments, "--json"]) == 0
    return json.loads(capsys.readouterr().out)


@pytest.mark.parametrize(
    ("icfm", "psig", "feet", "watts"),
    [(1, 5, 0, 14.61), (1, 10, 0, 26.76), (2.6, 6, 0, 44.72), (4.5, 8, 0, 99.58), (4.5, 8, 5000, 96.93)],
)
def test_power(capsys, icfm, psig, feet, watts):
    """Adiabatic horsepower, k 1.4 (engineeringtoolbox.com, horsepower of compressed air; computed apart): 0.1 %."""
    found = ask(
        capsys, "power", "--air", f"{icfm} icfm", "--pressure", f"{psig} psig", "--efficiency", "25 %",
        "--elevation", f"{feet} ft",
    )  # fmt: skip
    assert found["shaft_power_w"] == pytest.approx(watts, rel=1e-3)
    assert found["wire_power_w"] == pytest.approx(4.0 * watts, rel=1e-3)


def test_power_of_standard_air_counts_the_intake(capsys):
    """The same standard air is more at a hot intake: volume goes with absolute temperature (ideal gas)."""
    cold, hot = (
        ask(
            capsys,
            "power",
            "--air",
            "2.6 scfm",
            "--pressure",
            "6 psig",
            "--efficiency",
            "1",
            "--intake",
            intake,
        )
        for intake in ("68 degF", "108 degF")
    )
    assert hot["shaft_power_w"] / cold["shaft_power_w"] == pytest.approx(567.67 / 527.67, rel=1e-4)


@pytest.mark.parametrize(
    ("volts", "amps", "feet", "gauge", "drop_v"),
    [(120, 5, 260, 12, 5.15), (120, 6, 300, 10, 4.46), (120, 12, 300, 6, 3.54), (240, 3, 300, 12, 3.56)],
)
def test_wire(capsys, volts, amps, feet, gauge, drop_v):
    """NEC chapter 9 table 8, stranded (1.98, 1.24, 0.491 ohm/kft): V = 2 L I R by hand."""
    found = ask(
        capsys, "wire", "--volts", f"{volts} V", "--amps", f"{amps} A", "--length", f"{feet} ft", "--gauge",
        f"{gauge}",
    )  # fmt: skip
    assert found["voltage_drop_v"] == pytest.approx(drop_v, abs=6e-3)
    assert found["voltage_drop_fraction"] == pytest.approx(drop_v / volts, rel=2e-3)
    codes = {item["code"] for item in found["notices"]}
    assert "electrician" in codes
    assert ("voltage-drop" in codes) is (drop_v / volts > 0.03)


@pytest.mark.parametrize(
    ("intake_degf", "psig", "efficiency", "outlet_degf"),
    [(70, 3, 0.7, 111.2), (70, 6, 0.5, 178.9), (95, 6, 1, 152.0), (95, 6, 0.7, 176.4), (95, 10, 0.5, 272.3),
     (95, 15, 0.7, 271.4)],
)  # fmt: skip
def test_outlet_temperature(capsys, intake_degf, psig, efficiency, outlet_degf):
    """T2 = T1 [1 + (r^0.2857 - 1)/eta] (Mills 2004), worked out apart: a tenth of a degree F."""
    found = ask(
        capsys, "outlet-temperature", "--intake", f"{intake_degf} degF", "--pressure", f"{psig} psig",
        "--efficiency", str(efficiency),
    )  # fmt: skip
    assert found["outlet_temperature_degc"] * 1.8 + 32.0 == pytest.approx(outlet_degf, abs=0.06)
    assert "hot-outlet" in {item["code"] for item in found["notices"]} or outlet_degf < 122.0


@pytest.mark.parametrize(
    "arguments",
    [
        ("power", "--air", "2.6 icfm", "--pressure", "-6 psig", "--efficiency", "30 %"),
        ("power", "--air", "2.6 icfm", "--pressure", "6 psig", "--efficiency", "130 %"),
        ("wire", "--volts", "120 V", "--amps", "5 A", "--length", "260 ft", "--gauge", "11"),
        ("wire", "--volts", "120 V", "--amps", "5 A", "--length", "0 ft", "--gauge", "12"),
        ("outlet-temperature", "--intake", "95 degF", "--pressure", "6 psig", "--efficiency", "0"),
    ],
)
def test_bad_input_is_refused_in_words(capsys, arguments):
    """A value that can't be is named with its option; no traceback."""
    assert main(["quick", *arguments]) == 2
    assert "argument --" in capsys.readouterr().err
