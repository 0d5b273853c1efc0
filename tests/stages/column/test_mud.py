"""The mud under the water: how warm it is at the start, and what it takes from the water."""

from datetime import UTC, datetime

import numpy as np
import pytest

from plumeline.errors import ModelError
from plumeline.job.document import Site
from plumeline.kernels import column_index as ix
from plumeline.stages.column.march import Columns
from plumeline.stages.column.mud import mud_at_start

NORTH = Site(latitude_deg=46.0, longitude_deg=-89.6, elevation_m=500.0, time_zone="Etc/GMT+6")
SOUTH = Site(latitude_deg=-46.0, longitude_deg=170.0, elevation_m=500.0, time_zone="Etc/GMT-12")
JUNE, SEPTEMBER = datetime(2008, 6, 10, tzinfo=UTC), datetime(2008, 10, 5, tzinfo=UTC)
WATER = np.array([[20.0], [4.0]])


def test_mud_under_warm_water_is_colder_in_june_and_the_deeper_the_colder():
    """Heat goes down in early summer (Birge, Juday & March 1927 measured it under Lake Mendota, from memory)."""
    slabs = mud_at_start(WATER, NORTH, JUNE).reshape(ix.BED_SLABS, 2)
    assert 20.0 > slabs[0, 0] > slabs[1, 0] > slabs[2, 0] > 4.0
    # some 5-9 W/m² through a lake's bed in early summer (same source, from memory)
    flux = (20.0 - slabs[0, 0]) * ix.SKIN_CONDUCTANCE_W_M2_K
    assert 3.0 < flux < 15.0


def test_mud_is_warmer_than_the_water_over_it_in_autumn():
    """In October the mud of a shallow bog is up to 5 °C warmer than the water (Crystal Bog's README: sensors in it)."""
    slabs = mud_at_start(np.array([[12.0]]), NORTH, SEPTEMBER)
    assert (slabs > 12.0).all()
    assert slabs.max() < 17.5


def test_water_that_stays_cold_all_year_lies_on_mud_as_cold():
    """At 5 to 7 m under Trout Bog the water keeps 4 °C from April to October: there is no yearly wave to follow."""
    slabs = mud_at_start(WATER, NORTH, JUNE).reshape(ix.BED_SLABS, 2)
    assert slabs[:, 1] == pytest.approx(4.0)


def test_june_there_is_december_here():
    """South of the equator the year is turned by half."""
    here = mud_at_start(WATER, NORTH, datetime(2008, 6, 10, tzinfo=UTC))
    there = mud_at_start(WATER, SOUTH, datetime(2008, 12, 10, tzinfo=UTC))
    assert there == pytest.approx(here, abs=0.1)


@pytest.fixture(name="columns")
def _columns(ensemble):
    return ensemble.columns


def test_mud_of_another_shape_is_refused_and_one_row_a_layer_goes_all_the_way_down(columns):
    """The kernel reads three slabs a layer and asks no more."""
    given = np.asarray(columns.state[ix.TEMPERATURE])
    fields = {name: getattr(columns, name) for name in Columns.__dataclass_fields__}
    laid = Columns(**{**fields, "bed_degc": given})
    assert laid.bed_degc.shape == (ix.BED_SLABS * columns.grid.layers, columns.members)
    assert (laid.bed_degc[-columns.grid.layers :] == given).all()
    with pytest.raises(ModelError, match="mud"):
        Columns(**{**fields, "bed_degc": given[:-1]})


@pytest.mark.parametrize(("days", "allowed"), [(2, 0.12), (10, 0.1), (40, 0.1)])
def test_heat_goes_into_the_mud_as_conduction_says(days, allowed):
    """Under water that is 10 K warmer than it the mud takes up 2 ΔT √(k ρc t / π) (Carslaw & Jaeger 1959, §2.5).

    The kernel's own step, over one layer of water so deep that it keeps its temperature.
    """
    from plumeline.kernels.column_step import warming_step

    state = np.zeros((ix.STATES, 1, ix.LANES))
    state[ix.TEMPERATURE] = 20.0
    bed = np.full((ix.BED_SLABS, ix.LANES), 10.0)
    rates = np.zeros((ix.RATES, 1, ix.LANES))
    books = np.zeros((ix.FLUXES, ix.LANES))
    for _ in range(288 * days):
        warming_step(state, bed, rates, np.array([1.0]), np.array([1e9]), 300.0, books)
    expected = 2.0 * 10.0 * np.sqrt(1.2 * 3.0e6 * 86400.0 * days / np.pi)
    assert -books[ix.HEAT_BED, 0] == pytest.approx(expected, rel=allowed)
