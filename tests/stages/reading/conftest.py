"""A pond made by hand: a box of 1,000 m² and 4 m, and profiles whose integrals can be done on paper."""

from dataclasses import dataclass
from datetime import UTC, date, datetime

import pytest

from plumeline.job.document import Fish, Job, Pond, Profile, ProfilePoint, Site, WeatherHour
from plumeline.stages.survey import Hypsograph


@dataclass(frozen=True)
class FakeSurvey:
    """What the reading needs of a survey."""

    hypsograph: Hypsograph


@pytest.fixture
def box():
    """Return a survey of a box, 1,000 m² by 4 m."""
    return FakeSurvey(Hypsograph((0.0, 2.0, 4.0), (1000.0,) * 3, (4000.0, 2000.0, 0.0)))


@pytest.fixture
def make_job():
    """Return a maker of jobs from rows of (depth, temperature, oxygen, further fields)."""

    def make(rows, *, hour=6, day=1, wind_speed_m_s=None, **changes):
        time = datetime(2026, 8, day, hour, tzinfo=UTC)
        points = tuple(
            ProfilePoint(
                depth_m=row[0], temperature_degc=row[1], do_mg_l=row[2], **(row[3] if len(row) > 3 else {})
            )
            for row in rows
        )
        weather = ()
        if wind_speed_m_s is not None:
            weather = (
                WeatherHour(
                    time=time,
                    air_temperature_degc=25.0,
                    relative_humidity_fraction=0.6,
                    wind_speed_m_s=wind_speed_m_s,
                    shortwave_w_m2=300.0,
                ),
            )
        fields = {
            "id": "box",
            "name": "Box",
            "date": date(2026, 8, 1),
            "site": Site(latitude_deg=36.0, longitude_deg=-79.0, elevation_m=0.0),
            "pond": Pond(area_m2=1000.0, max_depth_m=4.0),
            "fish": Fish(species=("bluegill",)),
            "observations": (Profile(id="p", time=time, points=points),),
            "weather": weather,
            **changes,
        }
        return Job(**fields)

    return make
