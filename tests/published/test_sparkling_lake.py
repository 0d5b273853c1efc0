"""A real lake: stability and thermocline depths published for Sparkling Lake, Wisconsin, 2009.

Data: North Temperate Lakes LTER, as packed with the thermocline depths in a public research package; the
folder is not part of a clone, and the tests say so and skip.
"""

import csv
import math
from pathlib import Path

import numpy as np
import pytest

from plumeline.science.water import density_kell_1975
from plumeline.stages.reading.slices import slices_of
from plumeline.stages.reading.strata import schmidt_stability_j_m2, strata
from plumeline.stages.survey import Hypsograph

FOLDER = Path(__file__).parents[3] / "shared" / "reference" / "lakes" / "sparkling-indices"
pytestmark = pytest.mark.skipif(not FOLDER.is_dir(), reason="no lake data beside the repository")


def density_martin_1999(temperature_degc):
    """Return the density law behind the published figures: Martin & McCutcheon 1999."""
    t = temperature_degc
    return 1000.0 * (1.0 - (t + 288.9414) * (t - 3.9863) ** 2 / (508929.2 * (t + 68.12963)))


@pytest.fixture(scope="module")
def profiles():
    """Return depths and, by time stamp, temperatures."""
    rows = [line.split("\t") for line in (FOLDER / "Sparkling.daily.wtr").read_text().splitlines()]
    depth_m = tuple(float(name.split("_")[1]) for name in rows[0][1:])
    return depth_m, {row[0]: tuple(float(value) for value in row[1:]) for row in rows[1:]}


@pytest.fixture(scope="module")
def lake():
    """Return the lake's hypsograph, straight between the published levels."""
    with (FOLDER / "Sparkling.bth").open() as file:
        rows = [(float(a), float(b)) for a, b in list(csv.reader(file))[1:]]
    z, area = (tuple(column) for column in zip(*rows, strict=True))
    steps = [(z[i + 1] - z[i]) * (area[i] + area[i + 1]) / 2.0 for i in range(len(z) - 1)]
    below = tuple(sum(steps[i:]) for i in range(len(z)))
    return Hypsograph(z, area, below)


def published(name):
    """Return the published thermocline depths by time stamp; NaN where the lake was called mixed."""
    rows = [line.split("\t") for line in (FOLDER / name).read_text().splitlines()][1:]
    return {row[0].strip('"'): math.nan if row[1] == "NA" else float(row[1]) for row in rows}


@pytest.mark.parametrize(
    ("name", "field"),
    [
        ("sparkling.thermod.tsv", "thermocline_depth_m"),
        ("Sparkling.sthermod.tsv", "seasonal_thermocline_depth_m"),
    ],
)
def test_thermocline_depths_are_the_published_ones(profiles, name, field):
    """All 200 days of 2009, the mixed ones of November too: 5 mm (their density law differs)."""
    depth_m, days = profiles
    expected = published(name)
    assert len(expected) == 200
    for stamp, value in expected.items():
        temperature = days[stamp]
        found = getattr(strata(depth_m, temperature, [density_kell_1975(t) for t in temperature]), field)
        if math.isnan(value):
            assert found is None, stamp
        else:
            assert found == pytest.approx(value, abs=0.005), stamp


@pytest.mark.parametrize(
    ("stamp", "expected_j_m2"), [("2009-05-02 10:00:00", 7.37), ("2009-05-03 10:00:00", 9.33)]
)
def test_schmidt_stability_with_the_published_density_law(profiles, lake, stamp, expected_j_m2):
    """Density of Martin & McCutcheon at the readings and straight between them: last printed digit."""
    depth_m, days = profiles
    density = [density_martin_1999(t) for t in days[stamp]]
    found = schmidt_stability_j_m2(slices_of(lake, depth_m), lambda z: np.interp(z, depth_m, density))
    assert found == pytest.approx(expected_j_m2, abs=0.006)


@pytest.mark.parametrize(
    ("stamp", "expected_j_m2"), [("2009-05-02 10:00:00", 7.37), ("2009-05-03 10:00:00", 9.33)]
)
def test_schmidt_stability_with_our_density_law(profiles, lake, stamp, expected_j_m2):
    """Kell 1975: 0.3 % more, for near 5 °C the other law spreads density by 0.3 % less (so does IAPWS-95)."""
    depth_m, days = profiles
    density = [density_kell_1975(t) for t in days[stamp]]
    found = schmidt_stability_j_m2(slices_of(lake, depth_m), lambda z: np.interp(z, depth_m, density))
    assert found == pytest.approx(expected_j_m2, rel=0.004)
