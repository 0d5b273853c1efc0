"""A pond made by hand for the water column: a paraboloid of 4,000 m² and 4 m, read at dusk and at dawn."""

from dataclasses import dataclass
from datetime import UTC, date, datetime

import pytest

from plumeline.job.document import Fish, Job, Pond, Profile, ProfilePoint, Site
from plumeline.stages.column import draw_ensemble, make_grid, refuge_for
from plumeline.stages.column import members as members_module

AREA_M2, DEPTH_M = 4000.0, 4.0
READ = ((0.0, 28.0, 8.0), (1.0, 27.5, 7.0), (2.0, 22.0, 1.0), (3.0, 18.0, 0.1), (4.0, 17.0, 0.1))


@dataclass(frozen=True)
class Bowl:
    """A solid whose area falls with depth as (1 − z/H)^power: 1 a paraboloid, 2 a cone, 0 a box."""

    surface_m2: float
    depth_m: float
    power_number: float

    def area_at(self, depth_m):
        """Area at a depth [m²]."""
        return self.surface_m2 * max(1.0 - depth_m / self.depth_m, 0.0) ** self.power_number

    def volume_below(self, depth_m):
        """Volume below a depth [m³], the integral done on paper."""
        rest = max(1.0 - depth_m / self.depth_m, 0.0) ** (self.power_number + 1.0)
        return self.surface_m2 * self.depth_m / (self.power_number + 1.0) * rest


def profile(rows, time, name="p"):
    """Return a profile of rows of (depth, temperature, oxygen)."""
    points = tuple(ProfilePoint(depth_m=z, temperature_degc=t, do_mg_l=o) for z, t, o in rows)
    return Profile(id=name, time=time, points=points)


@pytest.fixture(scope="session")
def bowl():
    """Return the maker of solids."""
    return Bowl


@pytest.fixture(scope="session")
def make_job():
    """Return a maker of jobs; `profiles` are (time, rows), other fields as of Job."""

    def make(profiles=((datetime(2026, 8, 11, 23, tzinfo=UTC), READ),), observations=(), **changes):
        read = tuple(profile(rows, time, f"p{i}") for i, (time, rows) in enumerate(profiles))
        fields = {
            "id": "bowl",
            "name": "Bowl",
            "date": date(2026, 8, 11),
            "site": Site(
                latitude_deg=35.9, longitude_deg=-79.5, elevation_m=200.0, time_zone="America/New_York"
            ),
            "pond": Pond(area_m2=AREA_M2, max_depth_m=DEPTH_M, secchi_depth_m=0.8),
            "fish": Fish(species=("bluegill",)),
            "observations": (*read, *observations),
            **changes,
        }
        return Job(**fields)

    return make


@pytest.fixture(scope="session")
def grid():
    """Return the paraboloid's layers."""
    return make_grid(Bowl(AREA_M2, DEPTH_M, 1.0), DEPTH_M, 0.3)


@pytest.fixture(scope="session")
def limits():
    """Return the limits of a pond of bluegill."""
    return refuge_for(Fish(species=("bluegill",)), AREA_M2, (3.5,)).as_array()


@pytest.fixture(scope="session")
def draw(grid, limits):
    """Return a drawer of ensembles; with few pilots, which is quick where few are wanted."""

    def drawn(job, members, seed, horizon_hours):
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(members_module, "PILOTS", 48)
            return draw_ensemble(job, grid, limits, members, seed, horizon_hours)

    return drawn


@pytest.fixture(scope="session")
def ensemble(make_job, draw):
    """Return 48 ponds that agree with the reading, with two days of weather after it."""
    return draw(make_job(), 48, 1, 48)
