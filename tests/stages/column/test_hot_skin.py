"""A hot afternoon's skin is not the temperature that the air keeps a pond at."""

from datetime import UTC, date, datetime

import numpy as np
import pytest

from plumeline.job.document import Job, Pond, Site
from plumeline.stages.column.climate import climate_days, lasting_degc

CENTRE_M = np.arange(0.06, 1.2, 0.12)
HOT_DEGC = np.interp(CENTRE_M, [0.1, 0.6, 1.1], [34.0, 32.0, 29.5])


def made():
    return Job(
        id="job-1", name="a pond", date=date(2026, 7, 20), pond=Pond(),
        site=Site(latitude_deg=31.5, longitude_deg=-85.0, elevation_m=90.0, time_zone="Etc/GMT+6"),
    )  # fmt: skip


@pytest.mark.parametrize(("hour", "expected"), [(21, 32.39), (14, 34.0)])
def test_the_mean_of_the_top_metre_counts_in_the_afternoon(hour, expected):
    """By hand: eight layers from 34.0 to 30.5 °C over the top metre at 15:00; at 08:00 there is no skin: the top."""
    read = datetime(2026, 7, 20, hour, tzinfo=UTC)
    assert lasting_degc(made(), read, CENTRE_M, HOT_DEGC) == pytest.approx(expected, abs=0.01)


def test_water_that_is_alike_keeps_its_top():
    """Under a degree over the top metre there is no skin: nothing is changed."""
    alike = np.linspace(28.0, 27.2, len(CENTRE_M))
    assert lasting_degc(made(), datetime(2026, 7, 20, 21, tzinfo=UTC), CENTRE_M, alike) == 28.0


def test_the_air_of_a_shallow_hot_pond_is_a_summers_air():
    """NOAA normals of July at 31 to 32 °N, inland Southeast: mean near 27 °C, highs of 33 (from memory)."""
    read = datetime(2026, 7, 20, 21, tzinfo=UTC)
    days = climate_days(made(), read, lasting_degc(made(), read, CENTRE_M, HOT_DEGC), 3600.0)
    assert days[:, 0].mean() == pytest.approx(27.0, abs=1.0)
    assert days[0, 0].max() == pytest.approx(33.0, abs=1.5)
