"""What the column must do whatever its numbers: signs, orders and bookkeeping, on one pond made by hand."""

import numpy as np
import pytest

from plumeline.kernels import column
from plumeline.kernels import column_index as ix
from plumeline.kernels.column_block import Air, Basin, Conditions, Members, Told
from plumeline.science.carbonate import ph_from_alkalinity_and_carbon

DAY_S = 86400.0
LAYERS, DEPTH_M, AREA_M2 = 24, 6.0, 5000.0
SUN_W_M2 = np.maximum(0.0, np.sin((np.arange(24) - 6.0) / 12.0 * np.pi)) * 850.0
MIDDLE = (
    (ix.BULK, 1.3e-3), (ix.LONGWAVE, 1.0), (ix.EXTINCTION, 0.7), (ix.PAR, 0.45), (ix.OPEN_WIND, 0.3), (ix.WIND, 0.6),
    (ix.DIFFUSIVITY, 1.0), (ix.K600_CALM, 0.4 / DAY_S), (ix.K600_WIND, 0.6), (ix.SEDIMENT, 1.0 / DAY_S),
    (ix.SEDIMENT_THETA, 1.065), (ix.SEDIMENT_HALF, 1.4), (ix.SWEEP, 1.5), (ix.RESPIRATION, 2.0 / DAY_S),
    (ix.RESPIRATION_THETA, 1.05), (ix.P_MAX, 12.0 / 3600.0), (ix.I_K, 150.0), (ix.RATE_A, 2e-4), (ix.RATE_S, 5e-6),
    (ix.RATE_C, 0.15 / DAY_S), (ix.REDUCED_FLUX, 0.6 / DAY_S), (ix.BOIL_TRANSFER, 4.0 / DAY_S), (ix.BOIL_RADIUS, 0.6),
    (ix.BLOOM_LOSS, 0.0), (ix.CHLOROPHYLL_0, 30.0), (ix.STIRRED_MUD, 0.0), (ix.ALPHA, 0.075), (ix.FROUDE, 1.6),
    (ix.LAMBDA, 0.8), (ix.SOURCE_RADIUS, 0.115), (ix.BUBBLE_RADIUS, 1e-3), (ix.TRANSFER, 0.75), (ix.REENTRAINMENT, 0.5),
    (ix.SULPHIDE_SHARE, 1.0), (ix.FREE_CONVECTION, 1.5), (ix.BLOOM_TURNOVER, 0.1 / DAY_S), (ix.BLOOM_MOST, 2.0),
    (ix.FRESH_DECAY, 0.7 / DAY_S), (ix.FRESH_SETTLING, 0.2 / DAY_S),
)  # fmt: skip


class Pond:
    """One pond of two members alike, with days of weather alike."""

    def __init__(self, days, *, sun=1.0, chlorophyll=30.0, oxygen=8.0, air_depth_m=None):
        faces = np.linspace(0.0, DEPTH_M, LAYERS + 1)
        area = AREA_M2 * (1.0 - 0.85 * faces / DEPTH_M)
        self.basin = Basin(
            faces, area, 0.5 * (area[1:] + area[:-1]) * np.diff(faces), 0.5 * (faces[1:] + faces[:-1])
        )
        centre = self.basin.centre_m
        self.parameters = np.zeros((ix.PARAMETERS, 2))
        for row, value in MIDDLE:
            self.parameters[row] = value
        self.parameters[ix.CHLOROPHYLL_0] = chlorophyll
        state = np.zeros((ix.STATES, LAYERS, 2))
        deep = 1.0 / (1.0 + np.exp(-(centre - 2.0) / 0.3))
        for row, above, below in (
            (ix.TEMPERATURE, 27.0, 15.0), (ix.OXYGEN, oxygen, 0.2), (ix.SULPHIDE, 0.0, 1.0), (ix.DEBT_C, 1.0, 8.0),
            (ix.CHLOROPHYLL, chlorophyll, 0.3 * chlorophyll), (ix.AMMONIA, 0.1, 1.0), (ix.CARBON, 1.55, 1.9),
        ):  # fmt: skip
            state[row] = (above + (below - above) * deep)[:, None]
        state[ix.SALT], state[ix.ALKALINITY] = 0.1, 1.6
        hours = 24 * days
        weather = np.zeros((ix.WEATHER, hours, 2))
        for row, value in (
            (ix.AIR_TEMPERATURE, 25.0), (ix.VAPOUR, 2200.0), (ix.WIND_SPEED, 1.5), (ix.SKY, 370.0), (ix.PRESSURE, 1e5),
        ):  # fmt: skip
            weather[row] = value
        weather[ix.SHORTWAVE] = np.tile(SUN_W_M2 * sun, days)[:, None]
        self.conditions = Conditions(self.parameters, weather, np.array([3.0, 34.0, 0.2, 0.01, 0.15, 0.6]))
        on = np.zeros((hours * ix.STEPS_EACH_HOUR, 0 if air_depth_m is None else 1), dtype=np.uint8)
        on[:] = 1
        depths = np.array([] if air_depth_m is None else [air_depth_m], dtype=float)
        self.air = Air(on, depths, np.full(len(depths), 0.03))
        nothing = np.zeros(2, dtype=np.int64)
        self.members = Members(
            state, np.tile(state[ix.TEMPERATURE], (ix.BED_SLABS, 1)), nothing.copy(), nothing - 1, nothing.copy(),
            np.zeros(1, dtype=np.int64),
        )  # fmt: skip
        self.told = Told(
            np.zeros((ix.FLUXES, 2)), np.zeros((ix.RECORDS, hours, 2)), np.zeros((2, hours, LAYERS, 2))
        )
        self.hour = 0

    @property
    def state(self):
        """The first member's state (STATES, layers)."""
        return self.members.state[:, :, 0]

    def run(self, until_hour, stride=2):
        """Carry the pond on; return it."""
        broke = column.advance(
            self.members, self.basin, self.conditions, self.air, self.told, 2, stride, self.hour, until_hour
        )
        assert broke == (-1, -1, -1)
        self.hour = until_hour
        return self

    def ph(self, layer):
        """The pH of one layer."""
        return ph_from_alkalinity_and_carbon(
            *(float(self.state[row, layer]) for row in (ix.ALKALINITY, ix.CARBON, ix.TEMPERATURE))
        )


def test_water_below_the_lowest_diffuser_stays_a_compartment_of_its_own():
    """Air at 3 m for two days: what lies 0.75 m under it and deeper keeps its oxygen debt and all but 0.5 K.

    Air at 5.7 m takes it up: the same water warms by more than 4 K.
    """
    under = Pond(2).basin.centre_m > 3.75
    start = Pond(2).state.copy()
    shallow, deep = (Pond(2, air_depth_m=depth).run(48).state for depth in (3.0, 5.7))
    still = Pond(2).run(48).state
    kept = shallow[ix.TEMPERATURE] - start[ix.TEMPERATURE]
    assert np.abs(kept[under]).max() < 0.5
    assert shallow[ix.SULPHIDE][under].min() > 0.9 * still[ix.SULPHIDE][under].min()
    above = (Pond(2).basin.centre_m > 0.5) & (Pond(2).basin.centre_m < 2.8)
    spread = np.ptp(shallow[ix.TEMPERATURE][above])
    assert spread < 0.5 * np.ptp(still[ix.TEMPERATURE][above])
    lifted = under & (Pond(2).basin.centre_m < 5.5)
    assert (deep[ix.TEMPERATURE] - start[ix.TEMPERATURE])[lifted].min() > 4.0


def test_a_bloom_grows_in_light_and_dies_away_in_the_dark():
    """In a week of sun chlorophyll of the upper 1.5 m rises; with one twentieth of the sun it falls by a tenth."""
    found = {}
    for sun in (1.0, 0.05):
        pond = Pond(7, sun=sun).run(7 * 24)
        found[sun] = pond.state[ix.CHLOROPHYLL, :6].mean() / 30.0
    assert 1.1 < found[1.0] < 2.0  # never over what the nutrients bear
    assert found[0.05] < 0.9


def test_mixing_carries_algae_into_the_dark_and_their_oxygen_is_lost():
    """With the same bloom and sun, the pond that air mixes makes less oxygen in its first day."""
    still, mixed = (Pond(1, air_depth_m=depth).run(24).told.books[ix.O2_MADE, 0] for depth in (None, 5.7))
    assert mixed < 0.9 * still


def test_ph_rises_by_day_and_falls_by_night_the_more_the_greener():
    """Between dawn and dusk pH near the surface rises by 0.3 or more in green water, and by less in clear."""
    swing = {}
    for chlorophyll in (5.0, 60.0):
        pond = Pond(3, chlorophyll=chlorophyll).run(30)
        dawn = pond.ph(1)
        dusk = pond.run(42).ph(1)
        night = pond.run(54).ph(1)
        assert dusk > dawn
        assert dusk > night
        swing[chlorophyll] = dusk - dawn
    assert swing[60.0] > 0.3
    assert swing[5.0] < 0.5 * swing[60.0]


def test_clear_water_over_poor_carbon_takes_carbon_dioxide_from_the_air():
    """Water short of carbon gains it from the air, water rich in it gives it off."""
    for carbon, sign in ((1.35, 1.0), (2.4, -1.0)):
        pond = Pond(1, chlorophyll=1.0)
        pond.members.state[ix.CARBON, :6] = carbon
        assert np.sign(pond.run(24).told.books[ix.CARBON_GAS, 0]) == sign


@pytest.mark.parametrize("air_depth_m", [None, 5.0])
def test_the_error_of_long_steps_falls_with_the_step(air_depth_m):
    """Against steps of five minutes, steps of 10, 20 and 60 over three days: first order, so as 1 : 3 : 11, within 2.

    Root mean square over all layers and hours of temperature and of oxygen; ten minutes stay within 0.05 of each.
    """
    exact = Pond(3, air_depth_m=air_depth_m).run(72, stride=1).told.snapshots
    off = {}
    for stride in (2, 4, 12):
        found = Pond(3, air_depth_m=air_depth_m).run(72, stride=stride).told.snapshots
        off[stride] = np.sqrt(((found - exact) ** 2).mean(axis=(1, 2, 3)))
    print({stride: [f"{value:.4f}" for value in values] for stride, values in off.items()})
    assert (off[2] < 0.05).all()
    assert (off[4] / off[2] > 1.5).all()
    assert (off[4] / off[2] < 6.0).all()
    assert (off[12] / off[4] > 1.5).all()


@pytest.mark.parametrize("stride", [1, 2, 3, 4, 6, 12])
def test_a_pond_without_oxygen_fails_at_the_same_step_however_long_the_steps(stride):
    """Without refuge from the start it has failed at the thirteenth step of five minutes, for want of oxygen."""
    pond = Pond(1, sun=0.0, oxygen=0.5).run(4, stride=stride)
    assert list(pond.members.failed_step) == [12, 12]
    assert list(pond.members.cause_index) == [0, 0]
    assert list(pond.members.under_steps) == [48, 48]
