"""Where a second depth is read: at the step of density, whoever makes it."""

from types import SimpleNamespace

import numpy as np
import pytest

from plumeline.kernels import column_index as ix
from plumeline.stages.mixed import MIXED_WORDS
from plumeline.stages.startup.stage import _thermocline_m

FACES_M = np.linspace(0.0, 4.0, 21)


def scene(temperature_degc, salt_g_kg):
    """Return three like ponds of twenty layers, as far as the depth is asked of them."""
    state = np.zeros((ix.FRESH + 1, 20, 3))
    state[ix.TEMPERATURE], state[ix.SALT] = temperature_degc[:, None], salt_g_kg[:, None]
    columns = SimpleNamespace(state=state, grid=SimpleNamespace(interface_depth_m=FACES_M))
    return SimpleNamespace(ensemble=SimpleNamespace(columns=columns))


@pytest.mark.parametrize(
    ("warm_to_m", "salt_from_m", "expected_m"),
    [(None, 2.6, 2.6), (1.4, None, 1.4), (1.4, 2.6, 2.6), (None, None, 2.0)],
)
def test_the_second_depth_is_the_step_of_density(warm_to_m, salt_from_m, expected_m):
    """By hand: 6 g/kg weigh 4.5 kg/m³ and six degrees 1.6 (Chen & Millero 1986, Kell 1975); mixed water has none."""
    middle = 0.5 * (FACES_M[1:] + FACES_M[:-1])
    warm = np.full(20, 24.0) if warm_to_m is None else np.where(middle < warm_to_m, 28.0, 22.0)
    salt = np.full(20, 0.2) if salt_from_m is None else np.where(middle < salt_from_m, 0.2, 6.2)
    assert _thermocline_m(scene(warm, salt)) == pytest.approx(expected_m)


def test_what_counts_as_mixed_names_salt():
    """Top and bottom of one warmth may still lie apart by salt: both limits are told."""
    assert "1 K" in MIXED_WORDS
    assert "0.5 g/kg of salt" in MIXED_WORDS
