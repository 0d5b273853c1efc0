"""A pond made by hand for the start-up: a paraboloid, layered or of one temperature, with or without debt."""

from dataclasses import dataclass, replace
from datetime import UTC, date, datetime

import numpy as np
import pytest

from plumeline.job.document import Fish, Job, Pond, Profile, ProfilePoint, Site, Wishes
from plumeline.kernels import column_index as ix
from plumeline.stages.column import draw_ensemble, make_grid, refuge_for
from plumeline.stages.column import members as members_module
from plumeline.stages.startup import stage as stage_module
from plumeline.stages.startup.crew import Crew
from plumeline.stages.startup.scene import Running, make_scene
from plumeline.stages.startup.schedule import NOTHING, WHOLE_DAY_MIN, doubling, growing, steady
from plumeline.stages.startup.tree import Tally, run_all

AREA_M2, DEPTH_M = 4000.0, 4.0
LAYERED = ((0.0, 28.0, 8.0), (1.0, 27.5, 7.0), (2.0, 22.0, 1.0), (3.0, 18.0, 0.1), (4.0, 17.0, 0.1))
ISOTHERMAL = tuple((z, 12.0, 10.0) for z in (0.0, 1.0, 2.0, 3.0, 4.0))


@dataclass(frozen=True)
class Paraboloid:
    """A basin whose area falls in proportion to depth."""

    def area_at(self, depth_m):
        """Area at a depth [m²]."""
        return AREA_M2 * max(1.0 - depth_m / DEPTH_M, 0.0)

    def volume_below(self, depth_m):
        """Volume below a depth [m³]."""
        return 0.5 * AREA_M2 * DEPTH_M * max(1.0 - depth_m / DEPTH_M, 0.0) ** 2


@pytest.fixture(scope="session")
def make_job():
    """Return a maker of jobs from a profile's rows."""

    def make(rows=LAYERED, month=8, **changes):
        points = tuple(
            ProfilePoint(depth_m=z, temperature_degc=t, do_mg_l=o, **more)
            for z, t, o, more in ((*row[:3], row[3] if len(row) > 3 else {}) for row in rows)
        )
        fields = {
            "id": "bowl",
            "name": "Bowl",
            "date": date(2026, month, 11),
            "site": Site(
                latitude_deg=35.9, longitude_deg=-79.5, elevation_m=200.0, time_zone="America/New_York"
            ),
            "pond": Pond(area_m2=AREA_M2, max_depth_m=DEPTH_M, secchi_depth_m=1.0),
            "fish": Fish(species=("bluegill",)),
            "wishes": Wishes(longest_start_up_d=5),
            "observations": (Profile(id="p", time=datetime(2026, month, 11, 21, tzinfo=UTC), points=points),),
            **changes,
        }
        return Job(**fields)

    return make


@pytest.fixture(scope="session")
def run():
    """Return a runner of the stage on the paraboloid with two diffusers."""

    def started(job, *, seed=1, flow=(6e-4, 6e-4), members=24, fresh=32, brief=True, **more):
        # the search tries a handful of schedules, and few pilots find the law
        some = (growing(WHOLE_DAY_MIN, 2.0, 10.0, 5), doubling(60, 5), steady(120, 2, 15.0))
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(members_module, "PILOTS", 48)
            return stage_module.startup(
                job, Paraboloid(), AREA_M2, 0.5 * AREA_M2 * DEPTH_M, 400.0, DEPTH_M, (3.4, 3.0), flow,
                seed=seed, search_members=members, fresh_members=fresh, schedules=some, brief=brief, **more,
            )  # fmt: skip

    return started


@pytest.fixture(scope="session")
def running():
    """Return two diffusers with 0.6 L/s of standard air each."""
    return Running(np.array([3.4, 3.0]), np.array([0.025, 0.025]))


@pytest.fixture(scope="session")
def refuge():
    """Return the refuge of bluegill."""
    return refuge_for(Fish(species=("bluegill",)), AREA_M2, (3.4, 3.0))


@pytest.fixture(scope="session")
def ensemble(make_job, refuge):
    """Return 48 ponds that agree with the layered reading, with five days after it."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(members_module, "PILOTS", 48)
        grid = make_grid(Paraboloid(), DEPTH_M, 0.3)
        return draw_ensemble(make_job(), grid, refuge.as_array(), 48, 1, 120)


@pytest.fixture(scope="session")
def scene_of(running, refuge):
    """Return a maker of the scene of an ensemble: a run may start an hour after the reading."""

    def made(ensemble, *, crew=None, earliest_hour=None, horizon_d=4, seed=1):
        site = Site(latitude_deg=35.9, longitude_deg=-79.5, elevation_m=200.0, time_zone="America/New_York")
        earliest = ensemble.columns.hour + 1 if earliest_hour is None else earliest_hour
        return make_scene(
            ensemble, running, refuge, site=site, crew=crew or Crew(), earliest_hour=earliest,
            horizon_d=horizon_d, seed=seed,
        )  # fmt: skip

    return made


@pytest.fixture(scope="session")
def scene(ensemble, scene_of):
    """Return the scene of those ponds."""
    return scene_of(ensemble)


@pytest.fixture(scope="session")
def judge():
    """Return a judge of one schedule in all members of a scene."""

    def judged(scene, schedule, **more):
        member = np.arange(scene.members)
        return run_all(scene, member, [schedule], promise=None, tally=Tally(), **more)[0]

    return judged


@pytest.fixture
def fouled(ensemble):
    """Return a maker of the same ponds with a state scaled: nothing else of them is changed."""

    def made(row, factor, below_m=1.5):
        columns = ensemble.columns
        state = columns.state.copy()
        state[row, columns.grid.centre_m > below_m] *= factor
        return replace(ensemble, columns=replace(columns, state=state))

    return made


@pytest.fixture(scope="session")
def rows():
    """Return the states that foul bottom water, and the schedule without air."""
    return {"sulphide": ix.SULPHIDE, "debt A": ix.DEBT_A, "slow debt": ix.DEBT_C, "nothing": NOTHING}
