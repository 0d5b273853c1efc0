"""A small plan by the real stages, for the tests of what is drawn and written; made once, when asked for."""

from __future__ import annotations

import os
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from hypothesis import settings
from tests.nursery import in_tests

from plumeline.job.document import (
    AirSystem,
    Diffuser,
    Fish,
    Job,
    LocalPoint,
    Pond,
    Profile,
    ProfilePoint,
    Site,
    Sounding,
    Wishes,
)

SHORE = ((0, 0), (60, 5), (90, 40), (70, 80), (25, 85), (-10, 45))
ISLAND = ((40, 40), (46, 40), (46, 46), (40, 46))
SOUNDINGS = (
    (20, 20, 1.8), (40, 20, 2.1), (60, 30, 2.6), (30, 55, 3.4), (55, 60, 3.6), (15, 45, 2.6), (70, 50, 2.2),
    (40, 72, 2.0), (30, 35, 3.0), (60, 45, 3.1), (50, 30, 2.7), (65, 65, 2.0),
)  # fmt: skip
WATER = ((0.0, 28.0, 8.0), (1.0, 27.5, 7.5), (2.0, 22.0, 1.0), (3.0, 19.0, 0.1), (3.4, 18.5, 0.1))


def _ring(ring):
    return tuple(LocalPoint(x_m=x, y_m=y) for x, y in ring)


@pytest.fixture(scope="session")
def small_job():
    """A pond with an island, two diffusers and one reading; its name has marks that XML and Typst escape."""
    points = tuple(ProfilePoint(depth_m=z, temperature_degc=t, do_mg_l=o) for z, t, o in WATER)
    return Job(
        id="small-pond",
        name="Pond <1> & #2 *new*",
        date=date(2026, 8, 11),
        site=Site(latitude_deg=35.9, longitude_deg=-79.5, elevation_m=200, time_zone="America/New_York"),
        pond=Pond(
            secchi_depth_m=0.8,
            outline=(_ring(SHORE), _ring(ISLAND)),
            soundings=tuple(Sounding(place=LocalPoint(x_m=x, y_m=y), depth_m=z) for x, y, z in SOUNDINGS),
        ),
        fish=Fish(species=("bluegill",)),
        air=AirSystem(
            route_length_m=60,
            rise_m=2,
            air_per_diffuser_m3_s=6e-4,
            manifold=LocalPoint(x_m=28, y_m=85),
            diffusers=(
                Diffuser(name="A", place=LocalPoint(x_m=55, y_m=60)),
                Diffuser(name="B", place=LocalPoint(x_m=28, y_m=45)),
            ),
        ),
        wishes=Wishes(longest_start_up_d=3),
        observations=(Profile(id="p1", time=datetime(2026, 8, 11, 18, tzinfo=UTC), points=points),),
    )


@pytest.fixture(scope="session")
def small_plan(small_job):
    """The plan of that pond, with few simulated ponds so that it is made in seconds."""
    from plumeline.stages.blooms import blooms
    from plumeline.stages.plan import Plan, all_notices
    from plumeline.stages.reading import reading
    from plumeline.stages.sizing import sizing
    from plumeline.stages.startup import startup
    from plumeline.stages.survey import survey

    basin = survey(small_job, 1)
    water = reading(small_job, basin)
    sized = sizing(small_job, basin, seed=1)
    placed = sized.layout.diffusers
    plan = startup(
        small_job, basin.hypsograph, basin.area_m2, basin.volume_m3, basin.volume_se_m3, basin.max_depth_m,
        tuple(item.depth_m for item in placed),
        tuple(sized.air.diffuser_flow_standard_m3_s(item.name) for item in placed),
        seed=1, search_members=8, fresh_members=12,
    )  # fmt: skip
    parts = (basin, water, sized.layout, sized.air, sized.plume, sized, plan)
    notices = all_notices(*(part.notices for part in parts))
    held = blooms(small_job, basin, sized, seed=1, members=8)
    return Plan(small_job, basin, water, sized.layout, sized.air, sized.plume, sized, plan, notices, held)


def pytest_sessionstart():
    """Servers of this run are forked from one process that has read the program."""
    in_tests(True)


def pytest_sessionfinish():
    """The process that forked them is ended."""
    in_tests(False)


@pytest.fixture(scope="session")
def empty_database(tmp_path_factory):
    """The bytes of a new database: its tables are made by all steps once, not before each test."""
    from plumeline.store import open_store

    path = tmp_path_factory.mktemp("empty") / "plumeline.sqlite3"
    open_store(path).close()
    return path.read_bytes()


# Each file goes whole to one of the processes (--dist loadfile): one that takes long and comes last would keep one
# core waiting for it.
LONGEST_FIRST = (
    "browser/test_main_job.py", "published/test_synthetic_surveys.py", "test_setup.py", "cli/test_bad_visits.py",
    "web/test_looking.py", "science/test_mutations.py", "metamorphic/test_plans.py", "web/test_equations_redone.py",
    "metamorphic/test_schedule_held.py", "web/test_many_clients.py", "web/test_photo_soak.py",
    "web/test_hand_over_killed.py", "web/test_saving_killed.py", "web/test_byte_flips.py", "store/test_power_cut.py",
    "store/test_io_errors.py", "store/test_crash.py", "cli/test_plan.py", "stages/startup/", "stages/column/",
    "stages/choice/", "web/test_quotes.py", "browser/",
)  # fmt: skip


def pytest_collection_modifyitems(items):
    """Begin with the files that take longest; the others keep their order."""

    def rank(item):
        path = item.path.relative_to(Path(__file__).parent).as_posix()
        return next((n for n, name in enumerate(LONGEST_FIRST) if path.startswith(name)), len(LONGEST_FIRST))

    items.sort(key=rank)


# In CI the drawn examples are the same each time, so that a change is judged and not the luck of the draw; on a
# developer's machine they are fresh, and what they find becomes a test of its own.
settings.register_profile("ci", derandomize=True)
if os.environ.get("CI"):
    settings.load_profile("ci")
