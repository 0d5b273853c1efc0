"""How air cools along a pipe, and what warmth takes off a plastic pipe's rating."""

import math

import pytest

from plumeline.science import air
from plumeline.sources import read_table
from plumeline.stages.air.line import cooled, cooling_length_m, rating_fraction
from plumeline.stages.air.results import TrunkPiece

FOOT_M = 0.3048
INCH_M = 0.0254
FLOW_KG_S = 1.47751e-3
BORE_M = 0.824 * INCH_M
OUTSIDE_M = 1.050 * INCH_M


def degc(temperature_degf):
    """Return a temperature in °C."""
    return (temperature_degf - 32.0) / 1.8


def line_m(outside_resistance):
    """Return the cooling length of 2.6 scfm in 3/4 in schedule 40 PVC, inside 20.3 W/m² K."""
    conductance = air.line_conductance_incropera_2007(20.3, BORE_M, OUTSIDE_M, 0.147, outside_resistance)
    return air.cooling_length_incropera_2007(FLOW_KG_S, conductance)


def buried_resistance():
    """Return 1/(S k) of a pipe with its top 18 in deep in soil of 1 W/m K."""
    return 1.0 / air.shape_factor_incropera_2007(18.525 * INCH_M, OUTSIDE_M)


def test_shape_factor():
    """`ht.conduction.S_isothermal_pipe_to_plane` (ht 1.2.0): 1.4762 for 1.05 in, its top 18 in deep."""
    found = air.shape_factor_incropera_2007(18.525 * INCH_M, OUTSIDE_M)
    assert found == pytest.approx(1.4762, abs=6e-5)
    assert found == pytest.approx(2.0 * math.pi / math.log(4.0 * 18.525 / 1.05), rel=2e-4)


@pytest.mark.parametrize(
    ("inside", "wall", "outside", "expected"),
    [(20.3, 1e9, 1e-12, 0.750), (1e12, 0.147, 1e-12, 0.262), (1e12, 1e9, 0.677, 0.677)],
)
def test_resistances_one_by_one(inside, wall, outside, expected):
    """The case's three resistances [m K/W], worked apart: 0.750 inside, 0.262 wall, 0.677 soil."""
    found = 1.0 / air.line_conductance_incropera_2007(inside, BORE_M, OUTSIDE_M, wall, outside)
    assert found == pytest.approx(expected, abs=0.001)


def test_cooling_lengths():
    """The same case: 8.2 ft buried, 12.2 ft in still air (8 W/m² K)."""
    assert line_m(buried_resistance()) / FOOT_M == pytest.approx(8.2, abs=0.06)
    assert line_m(1.0 / (8.0 * math.pi * OUTSIDE_M)) / FOOT_M == pytest.approx(12.2, abs=0.06)


@pytest.mark.parametrize(
    ("feet", "buried_degf", "exposed_degf"),
    [
        (5, 128.0, 149.0), (10, 101.6, 130.9), (20, 79.4, 110.8), (25, 75.1, 105.5), (50, 70.2, 96.4),
        (75, 70.0, 95.2),
    ],
)  # fmt: skip
def test_temperature_along_the_line(feet, buried_degf, exposed_degf):
    """Air from 176.4 °F along the line in 70 °F soil and in 95 °F air: worked apart, to 0.4 °F."""
    for around_degf, resistance, expected in (
        (70.0, buried_resistance(), buried_degf),
        (95.0, 1.0 / (8.0 * math.pi * OUTSIDE_M), exposed_degf),
    ):
        found = air.line_temperature_incropera_2007(
            degc(176.4), degc(around_degf), feet * FOOT_M, line_m(resistance)
        )
        assert found * 1.8 + 32.0 == pytest.approx(expected, abs=0.4)


def test_inside_coefficient():
    """Gnielinski at Re 4,657 gives 20.3 W/m² K in 0.824 in (ht 1.2.0, conductivity at 35 °C), to 2 %."""
    conductivity = air.conductivity_us_standard_atmosphere_1976(308.15)
    found = air.nusselt_number_gnielinski_2013(4657.0) * conductivity / BORE_M
    assert found == pytest.approx(20.3, rel=0.02)


def test_nusselt_number_is_laminar_then_turbulent_without_a_step():
    """Graetz's 3.66 up to Re 2,300, Gnielinski 1976 from 4,000, a straight line between (Gnielinski 2013)."""
    nusselt = air.nusselt_number_gnielinski_2013
    assert nusselt(500.0) == nusselt(2300.0) == pytest.approx(3.66)
    for reynolds_number in (4000.0, 1e4, 1e5):
        f = (0.79 * math.log(reynolds_number) - 1.64) ** -2
        top = f / 8.0 * (reynolds_number - 1000.0) * 0.71
        expected = top / (1.0 + 12.7 * math.sqrt(f / 8.0) * (0.71 ** (2.0 / 3.0) - 1.0))
        assert nusselt(reynolds_number) == pytest.approx(expected, rel=1e-12)
    assert nusselt(3150.0) == pytest.approx(0.5 * (3.66 + nusselt(4000.0)), rel=1e-12)


def test_turbulent_nusselt_number_is_near_dittus_and_boelter():
    """Dittus & Boelter 1930, 0.023 Re^0.8 Pr^0.4 (from memory), within 12 % at Re 1e4 to 1e5."""
    for reynolds_number in (1e4, 3e4, 1e5):
        simple = 0.023 * reynolds_number**0.8 * 0.71**0.4
        assert air.nusselt_number_gnielinski_2013(reynolds_number) == pytest.approx(simple, rel=0.12)


@pytest.mark.parametrize(
    ("temperature_degf", "factor"),
    [(73, 1.0), (80, 0.88), (90, 0.75), (100, 0.62), (110, 0.51), (120, 0.40), (130, 0.31), (140, 0.22)],
)
def test_pvc_derating(temperature_degf, factor):
    """De-rating of PVC pipe's 73 °F rating (ix23.com, schedule 40 PVC dimensions)."""
    assert rating_fraction("pvc", degc(temperature_degf)) == pytest.approx(factor, abs=1e-4)


def test_pvc_rating_at_temperature():
    """ix23.com: 1 in schedule 40 at 100 °F is 450 × 0.62 = 279 psi; above 140 °F PVC is not to be used."""
    rows = {row["name"]: row for row in read_table("pipes")}
    rating_psi = float(rows["pvc40-1"]["rating_pa"]) / 6894.757293168
    assert rating_psi * rating_fraction("pvc", degc(100.0)) == pytest.approx(279.0, abs=0.5)
    assert rating_fraction("pvc", degc(145.0)) is None
    assert rating_fraction("pvc", degc(50.0)) == 1.0


@pytest.mark.parametrize(("cover_m", "feet"), [(18.0 * INCH_M, 8.2), (0.0, 12.2)])
def test_the_line_itself_cools_over_the_published_lengths(cover_m, feet):
    """The stage's own piece of 3/4 in PVC at 2.6 scfm: 8.2 ft buried, 12.2 ft in still air, within 4 %."""
    piece = TrunkPiece(
        "pvc40-3/4",
        "pvc",
        False,
        30.0,
        BORE_M,
        OUTSIDE_M,
        1.5e-6,
        0.147,
        cover_m,
        0.0,
        None,
        None,
        60.0,
        None,
    )
    assert cooling_length_m(piece, FLOW_KG_S, 35.0) / FOOT_M == pytest.approx(feet, rel=0.04)
    (cooled_piece,) = cooled((piece,), degc(176.4), FLOW_KG_S, degc(95.0), degc(70.0))
    around_degf = 70.0 if cover_m else 95.0
    assert cooled_piece.end_temperature_degc * 1.8 + 32.0 == pytest.approx(around_degf, abs=0.5)
