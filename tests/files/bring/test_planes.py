"""Reference systems: worked examples that others printed."""

from __future__ import annotations

import numpy as np
import pytest
from pyproj import Transformer

from plumeline.files.bring.planes import known_crs, suggested, to_lon_lat

# IOGP, Geomatics Guidance Note 7 part 2 (Coordinate Conversions and Transformations including Formulas), worked
# examples of the methods named; from memory, not read again here
PRINTED = [
    ("EPSG:3857", -11169055.58, 2800000.00, -(100 + 20 / 60), 24 + 22 / 60 + 54.433 / 3600, "EPSG:4326"),
    ("EPSG:32661", 3320416.75, 632668.43, 44.0, 73.0, "EPSG:4326"),
    ("EPSG:32040", 2963503.91, 254759.80, -96.0, 28.5, "EPSG:4267"),
]
IDS = ["pseudo-Mercator", "polar stereographic", "Lambert in US survey feet"]


@pytest.mark.parametrize(("crs", "x", "y", "lon", "lat", "datum"), PRINTED, ids=IDS)
def test_printed_examples(crs, x, y, lon, lat, datum):
    """Eastings and northings to two decimals give the printed degrees to the digit; NAD 27 by its own way back."""
    found = to_lon_lat(np.array([x]), np.array([y]), known_crs(crs, "test"))
    back = Transformer.from_crs("EPSG:4326", datum, always_xy=True).transform(found[0][0], found[1][0])
    assert back == pytest.approx((lon, lat), abs=3e-7)


def test_what_lies_outside_a_system_is_not_a_number():
    """It does not become a place somewhere else."""
    lon, _ = to_lon_lat(np.array([1e30, 500000.0]), np.array([1e30, 4e6]), known_crs("32617", "test"))
    assert np.isnan(lon[0])
    assert np.isfinite(lon[1])


def test_no_system_is_suggested_without_a_site_or_far_from_it():
    """Nothing is guessed where nothing can be held against the guess."""
    assert suggested(1_800_000.0, 800_000.0, None) == ()
    assert suggested(1e12, 1e12, (-79.5631, 35.8652)) == ()
