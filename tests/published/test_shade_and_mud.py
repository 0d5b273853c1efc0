"""Shadow and sky of a pond behind trees, and the yearly wave in the ground: geometry and conduction done anew."""

import math

import numpy as np
import pytest

from plumeline.science.heat import (
    coldest_water_by_latitude,
    open_sky_fraction_howell_1982,
    sunlit_fraction_circle,
    yearly_wave_carslaw_1959,
)


@pytest.mark.parametrize(
    ("height_m", "elevation_deg"), [(12.0, 20.0), (12.0, 45.0), (3.0, 10.0), (25.0, 60.0)]
)
def test_the_sunlit_part_of_a_pond_is_what_a_million_points_of_it_see(height_m, elevation_deg):
    """A point is lit where the shore towards the sun is farther than the shadow of what stands on it is long."""
    area_m2 = 5350.4
    radius_m = math.sqrt(area_m2 / math.pi)
    side = np.linspace(-radius_m, radius_m, 1001)
    x, y = np.meshgrid(side, side)
    inside = x**2 + y**2 <= radius_m**2
    shore_m = (
        np.sqrt(np.maximum(radius_m**2 - y**2, 0.0)) - x
    )  # from the point to the shore, the sun along +x
    lit = inside & (shore_m > height_m / math.tan(math.radians(elevation_deg)))
    expected = lit.sum() / inside.sum()
    assert sunlit_fraction_circle(area_m2, height_m, elevation_deg) == pytest.approx(expected, abs=2e-3)


def test_no_sun_reaches_the_pond_at_the_horizon_and_all_of_it_overhead_or_without_obstacles():
    """The ends of the range, by geometry."""
    assert sunlit_fraction_circle(5000.0, 3.0, 0.0) == 0.0
    assert sunlit_fraction_circle(5000.0, 3.0, -5.0) == 0.0
    assert sunlit_fraction_circle(5000.0, 3.0, 1.0) == 0.0
    just_dark_deg = math.degrees(math.atan(3.0 / (1.05 * math.sqrt(4.0 * 5000.0 / math.pi))))
    assert sunlit_fraction_circle(5000.0, 3.0, just_dark_deg) == 0.0
    assert sunlit_fraction_circle(5000.0, 3.0, 1.15 * just_dark_deg) > 0.0
    assert sunlit_fraction_circle(5000.0, 3.0, 89.999) == pytest.approx(1.0, abs=1e-5)
    assert sunlit_fraction_circle(5000.0, 0.0, 10.0) == pytest.approx(1.0)


@pytest.mark.parametrize(("area_m2", "height_m"), [(10995.0, 12.0), (1011.7, 20.0), (5350.4, 3.0)])
def test_the_open_sky_is_the_cosine_mean_over_the_pond_of_rays_that_clear_the_trees(area_m2, height_m):
    """Rays from points of the pond, drawn by Lambert's law (numpy, seed 1), that leave above the obstacles."""
    generator = np.random.default_rng(1)
    count = 400_000
    radius_m = math.sqrt(area_m2 / math.pi)
    start = radius_m * np.sqrt(generator.random(count))
    turn = 2.0 * math.pi * generator.random(count)
    sine = np.sqrt(generator.random(count))  # of the angle from overhead
    tangent = sine / np.sqrt(1.0 - sine**2)
    out_m = -start * np.cos(turn) + np.sqrt(radius_m**2 - (start * np.sin(turn)) ** 2)
    expected = (out_m > height_m * tangent).mean()
    assert open_sky_fraction_howell_1982(area_m2, height_m) == pytest.approx(expected, abs=3e-3)


def test_the_open_sky_of_two_discs_one_radius_apart_is_0_382():
    """View factor of equal coaxial discs at h = R: (3 - √5)/2 (any text on radiation, from memory)."""
    assert open_sky_fraction_howell_1982(math.pi, 1.0) == pytest.approx(
        (3.0 - math.sqrt(5.0)) / 2.0, rel=1e-12
    )


def test_the_yearly_wave_solves_the_equation_of_conduction():
    """A finite-difference march of the ground for six years and a summer ends on it (own march, 10 cm, 3 h)."""
    thermal_m2_s, step_m, step_s = 4e-7, 0.1, 3 * 3600.0
    depth_m = np.arange(0.0, 16.0, step_m)
    ground = np.full(len(depth_m), 12.0)
    year_s = 365.25 * 86400.0
    steps = int(6.3 * year_s / step_s)
    for n in range(steps):
        ground[0] = 12.0 + 8.0 * math.cos(2.0 * math.pi * n * step_s / year_s)
        ground[1:-1] += thermal_m2_s * step_s / step_m**2 * (ground[2:] - 2.0 * ground[1:-1] + ground[:-2])
    phase = 2.0 * math.pi * steps * step_s / year_s
    for metres in (0.1, 0.5, 1.5, 3.0):
        expected = ground[round(metres / step_m)]
        assert yearly_wave_carslaw_1959(12.0, 8.0, phase, metres, thermal_m2_s) == pytest.approx(
            expected, abs=0.05
        )


def test_the_coldest_water_follows_the_years_mean_of_the_air():
    """The air loses 6.5 K/km (ICAO 1993) and, in the eastern United States, 12.3 K from 26° to 40° of latitude.

    24.5 °C at 26°, 12.2 °C at 40° (climate normals, from memory); lakes of south Florida are some 15.5 °C at their
    coldest (from memory); water that freezes over lies at 4 °C, its greatest density.
    """
    warmest = coldest_water_by_latitude(26.0, 0.0)
    assert warmest == pytest.approx(15.5, abs=0.5)
    assert warmest - coldest_water_by_latitude(30.0, 0.0) == pytest.approx(4.0 * 12.3 / 14.0, rel=0.02)
    assert warmest - coldest_water_by_latitude(26.0, 1000.0) == pytest.approx(6.5, rel=0.02)
    assert coldest_water_by_latitude(-30.0, 0.0) == coldest_water_by_latitude(30.0, 0.0)
    assert coldest_water_by_latitude(46.0, 490.0) == 4.0
