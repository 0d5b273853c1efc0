"""What a pond loses before the first run must not hide what it loses after it."""

from __future__ import annotations

from datetime import UTC, datetime
from types import SimpleNamespace

import numpy as np

from plumeline.job.document import Site
from plumeline.kernels import column_index as ix
from plumeline.stages.column import Columns, Ensemble, make_grid, refuge_for
from plumeline.stages.column.members import parameters_of
from plumeline.stages.column.priors import draw_priors
from plumeline.stages.startup.crew import Crew
from plumeline.stages.startup.scene import Running, Scene, lead_in, make_scene
from plumeline.stages.startup.schedule import NOTHING
from plumeline.stages.startup.tree import Tally, run_all

MEMBERS = 4
HOURS = 72
POND = SimpleNamespace(pond=SimpleNamespace(obstacle_height_m=2.0), air=SimpleNamespace(disc_radius_m=0.115))
FISH = SimpleNamespace(species=("bluegill",), stage=None, heavy_stock=False)


class Box:
    """A basin with upright walls."""

    def area_at(self, depth_m: float) -> float:
        """Return the same area at every depth."""
        return 2000.0

    def volume_below(self, depth_m: float) -> float:
        """Return what is left of three metres."""
        return 2000.0 * (3.0 - depth_m)


def ensemble_of(oxygen_mg_l: float) -> Ensemble:
    """Return a small ensemble of warm mixed water in the dark, with one oxygen from top to bottom."""
    grid = make_grid(Box(), 3.0)
    state = np.zeros((ix.STATES, grid.layers, MEMBERS))
    state[ix.TEMPERATURE] = 25.0
    state[ix.OXYGEN] = oxygen_mg_l
    state[ix.CHLOROPHYLL] = 20.0
    state[ix.ALKALINITY], state[ix.CARBON] = 1.5, 1.6
    weather = np.zeros((ix.WEATHER, HOURS, MEMBERS))
    for row, value in ((ix.AIR_TEMPERATURE, 25.0), (ix.VAPOUR, 2500.0), (ix.SKY, 400.0), (ix.PRESSURE, 1e5)):
        weather[row] = value
    nothing = np.zeros(MEMBERS, dtype=np.int64)
    limits = refuge_for(FISH, 2000.0, (2.5,)).as_array()
    draws = draw_priors(MEMBERS, 1)
    columns = Columns(
        grid, state, state[ix.TEMPERATURE].copy(), parameters_of(draws, np.full(MEMBERS, 1.0), POND, 2000.0, True),
        weather, limits, nothing.copy(), nothing - 1, nothing.copy(), np.zeros(1, dtype=np.int64),
    )  # fmt: skip
    local = np.arange(HOURS) % 24
    return Ensemble(columns, datetime(2026, 8, 1, tzinfo=UTC), local, SimpleNamespace(), MEMBERS, (), ())


def scene_of_water(oxygen_mg_l: float) -> Scene:
    """Return the scene of that ensemble, in which a run may start from hour 24 on."""
    ensemble = ensemble_of(oxygen_mg_l)
    running = Running(np.array([2.5]), np.array([0.03]))
    site = Site(latitude_deg=35.9, longitude_deg=0.0, elevation_m=0.0)
    return make_scene(
        ensemble, running, refuge_for(FISH, 2000.0, (2.5,)), site=site, crew=Crew(), earliest_hour=24, horizon_d=2,
        seed=1,
    )  # fmt: skip


def test_a_pond_that_lost_its_refuge_before_the_first_run_is_lost_after_it_too() -> None:
    """Water at 1 mg/L in the dark stays under 3 mg/L all along (EPA 1986, one-day minimum, from memory)."""
    scene = scene_of_water(1.0)
    (outcome,) = run_all(scene, np.arange(MEMBERS), [NOTHING], promise=None, tally=Tally())
    assert outcome.first_hour == 37
    assert outcome.failures == MEMBERS
    assert (outcome.lost_hour >= 37).all()


def test_records_before_the_first_run_are_kept() -> None:
    """The hours before the first run stand in the records, as oxygen that falls in the dark."""
    scene = scene_of_water(6.0)
    _, run = lead_in(scene, np.arange(MEMBERS), NOTHING.start_hour_h)
    assert run is not None
    near = run.records[ix.NEAR_SURFACE_O2]
    assert len(near) == 37
    assert (near > 0.0).all()
    assert (near[36] < near[0]).all()
    assert (np.abs(np.diff(near, axis=0)) < 0.5).all()
