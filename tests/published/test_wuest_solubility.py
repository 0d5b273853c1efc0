"""The solubilities of the bubble-plume paper against a research code and against the program's own law."""

import pytest

from plumeline.science.gases import (
    solubility_nitrogen_hamme_emerson_2004,
    solubility_nitrogen_wuest_1992,
    solubility_oxygen_benson_krause_1984,
    solubility_oxygen_wuest_1992,
)


@pytest.mark.parametrize("temperature_degc", [0.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0])
def test_polynomials_agree_with_a_research_code(temperature_degc):
    """Singleton's plume code prints the same polynomials with other last digits: 0.5 %."""
    t = temperature_degc
    assert solubility_oxygen_wuest_1992(t) == pytest.approx(2.125 - 0.05023 * t + 5.7714e-4 * t**2, rel=0.005)
    assert solubility_nitrogen_wuest_1992(t) == pytest.approx(
        1.042 - 0.02457 * t + 3.1714e-4 * t**2, rel=0.008
    )


@pytest.mark.parametrize(
    ("temperature_degc", "oxygen_pct", "nitrogen_pct"),
    [
        (0.0, -1.9, -1.3), (10.0, -0.1, -0.8), (20.0, -1.4, -2.2), (25.0, -2.1, -2.4), (30.0, -2.0, -1.5),
        (35.0, -0.8, 0.9),
    ],
)  # fmt: skip
def test_they_differ_from_the_saturation_laws_as_measured(temperature_degc, oxygen_pct, nitrogen_pct):
    """Differences worked out independently from Benson & Krause 1984 and Hamme & Emerson 2004: 0.1 points."""
    t = temperature_degc
    oxygen = solubility_oxygen_wuest_1992(t) / solubility_oxygen_benson_krause_1984(t, 0.0) - 1.0
    nitrogen = solubility_nitrogen_wuest_1992(t) / solubility_nitrogen_hamme_emerson_2004(t, 0.0) - 1.0
    assert 100.0 * oxygen == pytest.approx(oxygen_pct, abs=0.1)
    assert 100.0 * nitrogen == pytest.approx(nitrogen_pct, abs=0.1)
