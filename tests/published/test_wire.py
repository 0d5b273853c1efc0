"""Voltage drop against NEC chapter 9 table 8, and against the K method's published answer."""

import pytest

from plumeline.science.wire import (
    continuous_current_nec_2023,
    longest_run_nec_2023,
    motor_current,
    voltage_drop_nec_2023,
)
from plumeline.sources import read_table

FT_M = 0.3048
STRANDED_OHM_KFT = {
    "14": 3.14, "12": 1.98, "10": 1.24, "8": 0.778, "6": 0.491, "4": 0.308, "3": 0.245, "2": 0.194, "1": 0.154,
}  # fmt: skip
"""NFPA 70, chapter 9, table 8, stranded uncoated copper at 75 °C (read in public reproductions)."""
TABLE = {row["gauge"]: row for row in read_table("conductors")}


def test_the_table_is_table_8():
    """Every gauge with its resistance a thousand feet, to the last printed figure."""
    assert {
        g: round(float(row["resistance_ohm_per_m"]) * 304.8, 3) for g, row in TABLE.items()
    } == STRANDED_OHM_KFT


def test_what_a_size_carries_is_the_column_of_60_degrees():
    """NFPA 70 table 310.16, copper at 60 °C (read in public reproductions), cut to 15, 20, 30 A by 240.4(D)."""
    column = {"14": 15, "12": 20, "10": 30, "8": 40, "6": 55, "4": 70, "3": 85, "2": 95, "1": 110}
    assert {gauge: float(row["ampacity_a"]) for gauge, row in TABLE.items()} == column


def test_the_resistance_agrees_with_the_area():
    """Copper at 75 °C has K = 12.9 ohm·cmil/ft (NEC practice): table 8 stranded is within 1.5 % of K/area."""
    for row in TABLE.values():
        by_area = 12.9 / float(row["circular_mils"]) / FT_M
        assert float(row["resistance_ohm_per_m"]) == pytest.approx(by_area, rel=0.015)


@pytest.mark.parametrize(
    ("volts", "amps", "feet", "ohm_kft", "lost", "percent"),
    [
        (120, 20, 100, 1.93, 7.72, 6.43),  # 12 AWG solid, table 8, worked by hand
        (120, 6, 300, 1.21, 4.36, 3.63),  # 10 AWG solid
        (120, 6, 300, 0.764, 2.75, 2.29),  # 8 AWG solid
        (120, 12, 300, 0.491, 3.54, 2.95),  # 6 AWG
        (240, 3, 300, 1.93, 3.47, 1.45),  # 12 AWG solid
        (120, 5, 260, 1.98, 5.15, 4.29),  # 12 AWG stranded
    ],
)
def test_drops_worked_from_table_8(volts, amps, feet, ohm_kft, lost, percent):
    """Two wires' resistance times the current, worked apart from table 8."""
    found = voltage_drop_nec_2023(amps, feet * FT_M, ohm_kft / 304.8)
    assert found == pytest.approx(lost, abs=6e-3)
    assert 100 * found / volts == pytest.approx(percent, abs=6e-3)


def test_published_quiz_answer():
    """120 V, 20 A, 100 ft of 12 AWG: "7.9 V, about 6.6 %" in a published exam question (K method)."""
    found = voltage_drop_nec_2023(20.0, 100.0 * FT_M, float(TABLE["12"]["resistance_ohm_per_m"]))
    assert found == pytest.approx(7.9, abs=0.05)
    assert found / 120.0 == pytest.approx(0.066, abs=5e-4)


@pytest.mark.parametrize(("running", "continuous"), [(6.0, 7.5), (12.0, 15.0), (16.0, 20.0)])
def test_continuous_loads(running, continuous):
    """NEC 210.19(A), 210.20(A), 430.22: 125 %, so a 15 A breaker carries 12 A all day, 20 A 16 A (from memory)."""
    assert continuous_current_nec_2023(running) == pytest.approx(continuous)


@pytest.mark.parametrize(
    ("volts", "amps", "feet", "ohm_kft", "percent"),
    [(120, 20, 100, 1.93, 6.43), (120, 6, 300, 0.764, 2.29), (120, 5, 260, 1.98, 4.29)],
)
def test_the_longest_run_is_the_drops_inverse(volts, amps, feet, ohm_kft, percent):
    """The run that loses the per cent of the rows above is their length, to 0.2 %."""
    found = longest_run_nec_2023(0.01 * percent * volts, amps, ohm_kft / 304.8)
    assert found / FT_M == pytest.approx(feet, rel=2e-3)


def test_current_by_power_and_power_factor():
    """I = P/(V cos φ), worked by hand: 552 W at 115 V with cos φ 0.8 draw 6.0 A."""
    assert motor_current(552.0, 115.0, 0.8) == pytest.approx(6.0)
