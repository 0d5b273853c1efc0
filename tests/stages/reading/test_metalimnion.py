"""The metalimnion is the season's, not the day's skin; the Wedderburn number takes the mixed layer above it."""

import math

import pytest

from plumeline.science.water import density_kell_1975
from plumeline.stages.reading import reading
from plumeline.stages.reading.strata import strata

SKIN = (
    (0.0, 31.0),
    (0.3, 28.6),
    (0.6, 28.3),
    (0.9, 28.0),
    (1.2, 27.7),
    (1.5, 26.5),
    (1.8, 22.0),
    (2.1, 18.5),
)
DEEP = ((2.4, 17.4), (2.7, 16.9), (3.0, 16.7), (3.3, 16.6))


def found_in(rows):
    depth_m, temperature_degc = zip(*rows, strict=True)
    return strata(depth_m, temperature_degc, [density_kell_1975(t) for t in temperature_degc])


@pytest.mark.parametrize("skin_degc", [28.9, 29.5, 31.0, 34.0])
def test_a_warm_days_skin_is_no_part_of_the_metalimnion(skin_degc):
    """From 1.2 m, where 0.3 m make 1.2 °C, to 2.4 m: the same whatever the sun has done to the first foot.

    By the bound of 0.1 kg/m⁴ alone it would be 0 to 3.3 m: 0.3 °C in 0.3 m at 28 °C is 0.28 kg/m⁴.
    """
    found = found_in(((0.0, skin_degc), *SKIN[1:], *DEEP))
    assert 1.05 <= found.metalimnion_top_m <= 1.35
    assert 2.1 <= found.metalimnion_bottom_m <= 2.55
    assert found.seasonal_thermocline_depth_m == pytest.approx(1.7, abs=0.15)


def test_a_skin_over_water_that_is_layered_all_the_way_ends_the_metalimnion():
    """Steps of 3.0, 0.5, 0.9 and 2.0 °C by half a metre: all over 15 %; the weakest lies from 0.5 to 1 m."""
    rows = ((0.0, 31.0), (0.5, 28.0), (1.0, 27.5), (1.5, 26.6), (2.0, 24.6), (2.5, 24.3))
    assert found_in(rows).metalimnion_top_m == pytest.approx(0.75)


def test_in_a_cold_lake_the_bound_is_read_2011s():
    """Gradients of 0.6 kg/m⁴ and less: 15 % of them is under 0.1, so 0.1 decides, straight between the middles."""
    rows = ((0.0, 18.0), (4.0, 18.0), (6.0, 12.0), (8.0, 10.0), (10.0, 9.9))
    found = found_in(rows)
    density = {z: density_kell_1975(t) for z, t in rows}
    strong, weak = (density[8.0] - density[6.0]) / 2.0, (density[10.0] - density[8.0]) / 2.0
    assert found.bound_kg_m4 == 0.1
    assert found.metalimnion_bottom_m == pytest.approx(7.0 + 2.0 * (strong - 0.1) / (strong - weak))


def test_wedderburn_takes_the_mixed_layer_and_the_water_below(box, make_job):
    """28 °C to 2 m, 18 °C from 3 m on: g Δρ/ρ_h z_e²/(u*² L) with z_e = 2 m, worked out apart (Read et al. 2011).

    Round pond of 1,000 m², 3 m/s: u*² = 0.001 × 1.2 × 9/996.23.
    """
    job = make_job(
        [(0.0, 28.0, 8.0), (2.0, 28.0, 8.0), (3.0, 18.0, 1.0), (4.0, 18.0, 0.0)], wind_speed_m_s=3.0
    )
    found = reading(job, box)
    warm, cold = density_kell_1975(28.0), density_kell_1975(18.0)
    squared = 0.001 * 1.2 * 9.0 / warm
    expected = 9.80665 * (cold - warm) / cold * 2.0**2 / (squared * 2.0 * math.sqrt(1000.0 / math.pi))
    assert found.strata.metalimnion_top_m == pytest.approx(2.0)
    assert found.wind.wedderburn_number == pytest.approx(expected, rel=1e-6)


def test_no_mixed_layer_no_wedderburn_number(box, make_job):
    """A straight line of temperature from the surface down."""
    job = make_job([(z, 28.0 - 2.5 * z, 5.0) for z in (0.0, 1.0, 2.0, 3.0, 4.0)], wind_speed_m_s=3.0)
    found = reading(job, box)
    assert found.wind.wedderburn_number is None
    assert found.wind.lake_number > 0.0
