"""The dye's diffusivity and the odds against blue-greens, against closed forms and independent draws."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm

from plumeline.kernels import column_index as ix
from plumeline.stages.column import AirPlan, make_grid, march, still
from plumeline.stages.column.bluegreens import (
    DYE_MOL_M3,
    Regime,
    diffusivity_m2_s,
    holding_probability,
    mixed,
    slowest_mode,
    stirring,
)
from plumeline.stages.column.run import standing

HOUR_S = 3600.0
HOURS = 24 * 4


@pytest.fixture(name="box", scope="module")
def _box(bowl):
    """Return the layers of a box of 4,000 m² by 4 m."""
    return make_grid(bowl(4000.0, 4.0, 0.0), 4.0, 0.1)


@pytest.fixture(name="columns", scope="module")
def _columns(make_job, grid, limits):
    """Return 24 ponds from the priors, wholly mixed."""
    return mixed(standing(make_job(), grid, limits, 24, 3, HOURS).columns)


def cosine(box):
    """Return half a cosine over the box's depth, of greatest value 1 at the layers' middles."""
    values = np.cos(np.pi * box.centre_m / 4.0)
    return values / values[0]


CLOCK = np.arange(HOURS) % 24


def test_the_slowest_shape_of_a_box_is_half_a_cosine(box):
    """Eigenvalue (π/H)² and cos(πz/H): the textbook's box with closed ends (Carslaw & Jaeger 1959)."""
    mode = slowest_mode(box, 4.0)
    assert mode.decay_1_m2 == pytest.approx((np.pi / 4.0) ** 2, rel=2e-3)
    assert mode.shape_fraction == pytest.approx(np.cos(np.pi * box.centre_m / 4.0), abs=5e-3)
    assert mode.depth_m == pytest.approx(4.0)


def test_the_slowest_shape_holds_no_dye_in_all(bowl):
    """Dye is lent and taken in equal amounts: the volume's mean is zero in any basin."""
    mode = slowest_mode(make_grid(bowl(4000.0, 4.0, 2.0), 4.0), 3.5)
    assert float(mode.shape_fraction @ mode.volume_m3) == pytest.approx(0.0, abs=1e-9)
    assert mode.depth_m < 4.0


@pytest.mark.parametrize("k_m2_s", [1e-6, 1e-5, 1e-4, 5e-4])
def test_dye_that_decays_as_the_box_does_gives_its_diffusivity_back(box, k_m2_s):
    """cos(πz/H) exp(−K π² t/H²), written down and not computed by the program."""
    mode = slowest_mode(box, 4.0)
    left = cosine(box) * np.exp(-k_m2_s * (np.pi / 4.0) ** 2 * HOUR_S)
    assert diffusivity_m2_s(mode, left[:, None], HOUR_S)[0] == pytest.approx(k_m2_s, rel=0.01)


def test_dye_that_is_gone_gives_a_least_value_and_no_infinity(box):
    """ln(1e6)/(λ t): what an hour can show at most."""
    mode = slowest_mode(box, 4.0)
    found = diffusivity_m2_s(mode, np.zeros((box.layers, 1)), HOUR_S)[0]
    assert found == pytest.approx(np.log(1e6) / ((np.pi / 4.0) ** 2 * HOUR_S), rel=5e-3)


def test_dye_in_plug_flow_decays_at_the_rate_worked_on_paper(box):
    """Water drawn at the bottom and laid on top at w = Q/A: the cosine falls at 4 w/H, so K = 4 w H/π².

    By hand: d/dt of the projection is (2/H) w (c(H) − c(0)) cos(0) = −4 w/H; a short time, moved by hand.
    """
    mode = slowest_mode(box, 4.0)
    w_m_s = 2e-6
    fine = np.linspace(0.0, 4.0, 4001)
    shift = w_m_s * HOUR_S
    crest = np.cos(np.pi * box.centre_m[0] / 4.0)
    moved = np.where(fine < shift, -1.0, np.cos(np.pi * (fine - shift) / 4.0)) / crest
    dye = np.interp(box.centre_m, fine, moved)
    # the sliver laid on top is thinner than a layer: its dye goes into that layer by volume
    thick = box.interface_depth_m[1]
    dye[0] = (-shift + (thick - shift) * np.cos(np.pi * (thick - shift) / 8.0)) / thick / crest
    found = diffusivity_m2_s(mode, dye[:, None], HOUR_S)[0]
    assert found == pytest.approx(4.0 * w_m_s * 4.0 / np.pi**2, rel=0.1)


def test_a_column_of_known_diffusivity_is_measured_by_its_dye(make_job, grid, limits):
    """Still water of one strong salt gradient: Hondzo & Stefan 1993 by hand, and the dye finds it.

    K = 8.17e-4 A[km²]^0.56 N²^−0.43 cm²/s, times the pond's factor; no wind, no light, air as warm as water.
    """
    columns = standing(make_job(), grid, limits, 16, 1, HOURS).columns
    state = columns.state.copy()
    state[ix.TEMPERATURE] = 20.0
    state[ix.SALT] = (0.5 + 1.0 * grid.centre_m / 4.0)[:, None]
    parameters = columns.parameters.copy()
    parameters[ix.DIFFUSIVITY] = 2000.0
    parameters[ix.WIND] = 1e-3
    weather = columns.weather.copy()
    weather[ix.SHORTWAVE] = 0.0
    weather[ix.AIR_TEMPERATURE] = 21.0
    weather[ix.VAPOUR] = 24.0
    weather[ix.SKY] = 0.97 * 5.67e-8 * 294.5**4 / 0.97
    held = replace(
        columns,
        state=state,
        parameters=parameters,
        weather=weather,
        bed_degc=np.full_like(columns.bed_degc, 20.0),
    )
    mode = slowest_mode(grid, 4.0)
    dyed = held.take(slice(None))
    dyed.state[ix.ALKALINITY] += DYE_MOL_M3 * mode.shape_fraction[:, None]
    plan = still(HOURS)
    plain = march(held, plan, held.hour + 1).after.state[ix.ALKALINITY]
    seen = (march(dyed, plan, held.hour + 1).after.state[ix.ALKALINITY] - plain) / DYE_MOL_M3
    n2_1_s2 = 9.81 / 998.6 * 0.76 * 1.0 / 4.0  # 0.76 kg/m³ by g/kg of salt (Chen & Millero 1986)
    by_hand_m2_s = 2000.0 * 8.17e-4 * (4000e-6) ** 0.56 * n2_1_s2**-0.43 * 1e-4
    assert np.median(diffusivity_m2_s(mode, seen, HOUR_S)) == pytest.approx(by_hand_m2_s, rel=0.1)


def test_the_dye_changes_nothing_but_itself(columns, grid):
    """Temperature, salt and oxygen of dyed water are those of undyed water: 1e-4 K, 1e-6 g/kg, 1e-3 mg/L.

    Not to the last bit: alkalinity moves the pH a little, and the pH the algae that want for carbon.
    """
    mode = slowest_mode(grid, 3.5)
    dyed = columns.take(slice(None))
    dyed.state[ix.ALKALINITY, : len(mode.shape_fraction)] += DYE_MOL_M3 * mode.shape_fraction[:, None]
    air = AirPlan(np.array([3.5]), np.array([0.03]), np.ones((HOURS * 12, 1), dtype=np.uint8))
    plain, other = (march(one, air, one.hour + 6).after.state for one in (columns, dyed))
    assert other[ix.TEMPERATURE] == pytest.approx(plain[ix.TEMPERATURE], abs=1e-4)
    assert other[ix.SALT] == pytest.approx(plain[ix.SALT], abs=1e-6)
    assert other[ix.OXYGEN] == pytest.approx(plain[ix.OXYGEN], abs=1e-3)
    lent = np.einsum("km,k->m", other[ix.ALKALINITY] - plain[ix.ALKALINITY], grid.volume_m3)
    assert np.abs(lent).max() < 1e-6 * DYE_MOL_M3 * grid.volume_m3.sum()


def test_odds_are_those_of_independent_draws():
    """Rise speed lognormal about 0.4 m/h (90 % 0.08 to 2), error a factor of 3: 400,000 draws by numpy."""
    generator = np.random.default_rng(5)
    rise_m_s = 0.4 * np.exp(np.log(5.0) / 1.6448536 * generator.standard_normal(400_000)) / HOUR_S
    error = 3.0 ** generator.standard_normal(400_000)
    for k_m2_s, depth_m in ((6e-5, 3.7), (4e-4, 3.7), (2e-3, 2.0)):
        drawn = float((rise_m_s * depth_m / (k_m2_s * error) < 1.0).mean())
        assert holding_probability(np.array(k_m2_s), depth_m) == pytest.approx(drawn, abs=0.005)


def test_odds_are_the_normal_law_in_closed_form():
    """Two lognormals multiply to a lognormal: Φ(ln(K/(H v̄))/√(σ_v² + ln² 3))."""
    sigma = np.hypot(np.log(5.0) / norm.ppf(0.95), np.log(3.0))
    for k_m2_s in (1e-6, 5e-5, 4e-4, 5e-3):
        by_hand = norm.cdf(np.log(k_m2_s / 3.0 / (0.4 / HOUR_S)) / sigma)
        assert holding_probability(np.array([k_m2_s]), 3.0)[0] == pytest.approx(by_hand, abs=0.003)


def test_the_peclet_number_is_rise_times_depth_over_diffusivity():
    """0.4 m/h over 3.6 m against 4 cm²/s: 1.0 in the middle, by hand."""
    regime = Regime("r", (True,) * 24, np.full((24, 8), 4e-4), (0.5,) * 24, 0.5, 1.0)
    low, middle, high = regime.peclet(6, 3.6)
    assert middle == pytest.approx(1.0, rel=0.02)
    assert low < 0.2
    assert high > 5.0


def test_air_stirs_more_than_none_and_all_day_more_than_half(columns, grid):
    """Two discs in a 4 m pond: more air holds more, hour by hour against still water and over the day."""
    mode = slowest_mode(grid, 3.5)
    hours = columns.hour + HOURS
    everywhere = np.ones((hours * 12, 2), dtype=np.uint8)
    night = everywhere * np.repeat(((np.arange(hours) - 20) % 24 < 12), 12)[:, None].astype(np.uint8)
    found = [
        stirring(columns, AirPlan(np.array([3.5, 3.2]), np.array([0.03, 0.03]), on), CLOCK, "a", mode)
        for on in (everywhere, night, 0 * everywhere)
    ]
    always, part, none = (regime.all_day_probability for regime in found)
    assert always > part
    assert always > none
    assert sum(found[1].running) == 12
    assert np.median(found[0].diffusivity_m2_s[14]) > 10.0 * np.median(found[2].diffusivity_m2_s[14])


def test_a_mixed_pond_has_one_water_and_all_of_it(columns, make_job, grid, limits):
    """Every state alike in all layers, its amount as before."""
    before = standing(make_job(), grid, limits, 24, 3, HOURS).columns.state
    assert np.ptp(columns.state, axis=1).max() == 0.0
    amounts = [np.einsum("skm,k->sm", state, grid.volume_m3) for state in (before, columns.state)]
    assert amounts[1] == pytest.approx(amounts[0], rel=1e-12)
