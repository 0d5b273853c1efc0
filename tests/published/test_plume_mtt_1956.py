"""The production plume, bubbles made into plain buoyancy, against Morton, Taylor & Turner 1956.

Proc. R. Soc. A 234:1: b = 6αz/5, Q = (6α/5)(9α/10)^(1/3) π^(2/3) B^(1/3) z^(5/3) over the virtual origin.
Design notes, section 4: α 0.1, B 1e-3 m⁴/s³, z 3 m gives 0.07198 m³/s (b 0.36 m, w 0.1768 m/s).
"""

import math

import numpy as np
import pytest

from plumeline.kernels.plume import RECORD_COLUMNS, fill_setting, rise_all
from plumeline.kernels.rise import EXPANSION, SETTING_COUNT, SLIP, STRATIFICATION
from plumeline.kernels.solubility import WUEST_LAW
from plumeline.science.plume import (
    plume_flow_morton_1956,
    plume_radius_morton_1956,
    plume_velocity_morton_1956,
)
from plumeline.stages.plume.water import water_of_one_temperature, water_of_rows

FLUX_M4_S3 = 1e-3
ALPHA = 0.1
SOURCE_M = 0.02
DEPTH_M = 5.0


def pure_plume(water, stratification=1.0, depth=DEPTH_M, flux=FLUX_M4_S3):
    """Return height, radius and velocity of the plume without expansion, slip and exchange, λ = 1."""
    interface, ambient = water.segments(depth, 101325.0, WUEST_LAW)
    setting = np.empty(SETTING_COUNT)
    fill_setting(ALPHA, 1.6, 1.0, SOURCE_M, 0.0, 101325.0, WUEST_LAW, setting)
    setting[SLIP] = 0.0
    setting[EXPANSION] = 0.0
    setting[STRATIFICATION] = stratification
    pressure = 101325.0 + 9806.65 * depth
    moles = flux / 9.80665 * pressure / (8.314462618 * (water.temperature_degc[-1] + 273.15))
    trace = np.full((1, len(interface), 3), np.nan)
    rise_all(
        depth, moles, 1e-3, interface, ambient, setting, 1,
        np.zeros((1, len(ambient))), trace, np.zeros((1, RECORD_COLUMNS)),
    )  # fmt: skip
    passed = trace[0][np.isfinite(trace[0, :, 0])][::-1]
    return depth - passed[:, 0], passed[:, 1], passed[:, 2]


def far_plume(flux=FLUX_M4_S3):
    """Return height over the virtual origin, radius and velocity where z/b₀ ≥ 50."""
    z, b, w = pure_plume(water_of_one_temperature(20.0), flux=flux)
    far = z >= 50.0 * SOURCE_M
    slope, offset = np.polyfit(z[far], b[far], 1)
    return z[far] + offset / slope, b[far], w[far]


def test_radius_grows_by_six_fifths_alpha():
    """The radius grows by 6α/5 a metre, to 0.5 %."""
    z, b, _ = far_plume()
    assert np.polyfit(z, b, 1)[0] == pytest.approx(6.0 / 5.0 * ALPHA, rel=0.005)


def test_exponents_are_those_of_the_similarity_solution():
    """Radius, velocity and flow go with z^1, z^(-1/3) and z^(5/3), to 0.5 %.

    The solution is Boussinesq: a weak flux keeps the bubbles under 0.2 % of the plume's volume.
    """
    z, b, w = far_plume(flux=1e-4)
    for values, exponent in ((b, 1.0), (w, -1.0 / 3.0), (math.pi * b * b * w, 5.0 / 3.0)):
        assert np.polyfit(np.log(z), np.log(values), 1)[0] == pytest.approx(exponent, rel=0.005)


def test_flow_at_three_metres_is_that_of_the_similarity_solution():
    """0.07198 m³/s at 3 m over the virtual origin, to 0.5 %."""
    z, b, w = far_plume()
    flow = np.exp(np.interp(math.log(3.0), np.log(z), np.log(math.pi * b * b * w)))
    assert flow == pytest.approx(0.07198, rel=0.005)
    assert np.interp(3.0, z, w) == pytest.approx(0.1768, rel=0.005)
    assert np.interp(3.0, z, b) == pytest.approx(0.36, rel=0.005)


def test_the_similarity_relations_give_the_printed_case():
    """b 0.36 m, Q 0.071983 m³/s, w 0.17680 m/s (confirmed by an ODE in the reference notes)."""
    assert plume_radius_morton_1956(0.1, 3.0) == pytest.approx(0.36, rel=1e-9)
    assert plume_flow_morton_1956(0.1, 1e-3, 3.0) == pytest.approx(0.071983, rel=1e-5)
    assert plume_velocity_morton_1956(0.1, 1e-3, 3.0) == pytest.approx(0.17680, rel=1e-4)


def test_the_similarity_relations_belong_together():
    """Q = π b² w, and the buoyancy flux through any height is B: momentum and volume equations hold."""
    alpha, flux = 0.083, 4e-3
    for z in (0.5, 2.0, 9.0):
        b, w = plume_radius_morton_1956(alpha, z), plume_velocity_morton_1956(alpha, flux, z)
        assert plume_flow_morton_1956(alpha, flux, z) == pytest.approx(math.pi * b * b * w, rel=1e-12)
        h = 1e-5 * z
        above, below = (
            plume_radius_morton_1956(alpha, z + s) ** 2 * plume_velocity_morton_1956(alpha, flux, z + s) ** 2
            for s in (h, -h)
        )
        assert math.pi * (above - below) / (2 * h) == pytest.approx(flux / w, rel=1e-6)


def test_switched_off_stratification_is_water_of_one_density():
    """With the switch off a plume in strongly layered water passes as through water of one density."""
    layered = water_of_rows([0.0, 2.0, 5.0], [28.0, 15.0, 15.0])
    z, _, w = pure_plume(layered, stratification=0.0)
    assert z[-1] == DEPTH_M
    # the switched-off plume still warms, which changes the gas volume a little and nothing else
    assert w[-1] == pytest.approx(pure_plume(water_of_one_temperature(15.0))[2][-1], rel=0.02)
    assert pure_plume(layered)[0][-1] < DEPTH_M
