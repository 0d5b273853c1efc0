"""The foreign pond is a sound judge: it owes nothing to the program, keeps its books, and behaves like a pond."""

from __future__ import annotations

import ast
from pathlib import Path

import numpy as np
import pytest
from tests.truth import names as n
from tests.truth.laws import acidity, density, evaporation, renewal, saturation, sky, toxic_ammonia
from tests.truth.meter import Meter, Surveyed, bottle
from tests.truth.plume import rise
from tests.truth.pond import KINDS, SCFM_MOL_S, make_pond
from tests.truth.weather import REGIMES, forecast, weather

HERE = Path(__file__).resolve().parent
LIMITS = np.array([3.0, 34.0, 0.2, 0.010, 0.15, 0.6])
ALLOWED = {
    "__future__",
    "ast",
    "collections",
    "dataclasses",
    "hashlib",
    "math",
    "os",
    "pathlib",
    "tempfile",
    "numba",
    "numpy",
    "pytest",
}


@pytest.fixture(scope="module")
def two_acres():
    """Return a pond of two acres and 15 ft in mild weather, layered, at the midnight before the survey."""
    return make_pond(KINDS[3], "mild", 11, LIMITS)


def run(pond, hours, on=False):
    """Run a copy of a pond for some hours, with all its air or none."""
    pond = pond.copy()
    air = np.full((n.STEPS, len(pond.gas)), int(on), dtype=np.uint8)
    for _ in range(hours):
        pond.run(air)
    return pond


def whole(pond, s):
    """Return the amount of a state in the pond (times volume)."""
    return float((pond.state[:, :, s] * pond.shape.volume).sum())


def test_the_truth_imports_nothing_from_the_program():
    """Every import of every module here is the standard library, numpy, numba, pytest, or this folder."""
    for path in HERE.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                names = [alias.name for alias in node.names]
            elif isinstance(node, ast.ImportFrom):
                names = [node.module]
                assert node.level == 0
            else:
                continue
            for name in names:
                assert name.split(".")[0] in ALLOWED or name.startswith("tests.truth"), f"{path.name}: {name}"


@pytest.mark.parametrize("on", [False, True])
def test_heat_is_conserved(two_acres, on):
    """Two days: the heat of water and mud moves by what crossed the surface, to round-off, with air and without.

    The mud's own books are the exchange with the water.
    """
    after = run(two_acres, 48, on)
    books = after.books
    gained = (whole(after, n.T) - whole(two_acres, n.T)) * 4.18e6
    crossed = books[n.B_SUN] + books[n.B_SURFACE] + books[n.B_BED]
    assert gained == pytest.approx(crossed, abs=1e-9 * abs(books[n.B_SUN]))


@pytest.mark.parametrize("on", [False, True])
def test_the_oxygen_budget_closes(two_acres, on):
    """Two days: oxygen moves by gas exchange, boils, bubbles, algae and every demand, to round-off."""
    after = run(two_acres, 48, on)
    b = after.books
    gains = b[n.B_GAS] + b[n.B_BOIL] + b[n.B_BUBBLES] + b[n.B_MADE]
    uses = (n.B_ALGAE, n.B_WATER, n.B_SOD, n.B_IRON, n.B_SULPHIDE, n.B_METHANE, n.B_LABILE, n.B_NITRIFIED)
    uses = sum(b[i] for i in uses)
    moved = whole(after, n.O2) - whole(two_acres, n.O2)
    assert moved == pytest.approx(gains - uses, abs=1e-9 * b[n.B_MADE])
    assert (b[n.B_BOIL] > 0.0) == on
    assert after.state[:, :, n.O2].min() > -1e-9


def test_currents_and_plumes_neither_make_nor_lose_a_substance(two_acres):
    """A dye in place of alkalinity, without reactions, stays the same amount under air and currents."""
    pond = two_acres.copy()
    pond.state[:, :, [n.FE, n.HS, n.CH4, n.LABILE, n.NH4]] = 0.0
    pond.numbers = pond.numbers.copy()
    pond.numbers[[n.P_FLUX, n.P_MUD]] = 0.0
    pond.state[:, :, n.ALK] = 1.0
    pond.state[0, -3:, n.ALK] = 50.0
    before = whole(pond, n.ALK)
    after = run(pond, 24, on=True)
    # what labile carbon of the day's dead algae nitrifies takes alkalinity: thousandths
    assert whole(after, n.ALK) == pytest.approx(before, rel=1e-3)
    assert after.state[0, -1, n.ALK] < 0.7 * 50.0


def test_a_still_pond_layers_and_a_mixed_one_does_not(two_acres):
    """Made uniform, the pond without air layers again within ten days; with air it stays far more alike."""
    pond = two_acres.copy()
    for s in range(n.STATES):
        pond.state[:, :, s] = whole(two_acres, s) / two_acres.shape.volume.sum()
    layered, mixed = run(pond, 240), run(pond, 240, on=True)

    def difference(one):
        return one.at(0, 0.2)[n.T] - one.at(0, one.shape.max_depth_m - 0.3)[n.T]

    assert difference(layered) > 3.0
    assert difference(mixed) < 0.5 * difference(layered)


def test_air_mixes_a_layered_pond(two_acres):
    """Three weeks of air bring top and bottom within 1.5 K where they were over 6 apart, and oxygen down."""
    after = run(two_acres, 24 * 21, on=True)
    deep = two_acres.shape.max_depth_m - 0.3
    assert two_acres.at(0, 0.2)[n.T] - two_acres.at(0, deep)[n.T] > 6.0
    assert after.at(0, 0.2)[n.T] - after.at(0, deep)[n.T] < 1.5
    assert after.at(0, deep)[n.O2] > two_acres.at(0, deep)[n.O2] + 1.0


def test_oxygen_swings_by_day_and_night(two_acres):
    """Over five days dusk has 0.5-8 mg/L more oxygen at 0.3 m than the dawn before: swings as measured in ponds.

    Shallow lakes: up to 5.6 mg/L (MINLAKE2018, from memory); green ponds more.
    """
    pond = two_acres.copy()
    dawn, dusk = [], []
    for hour in range(120):
        pond.run()
        (dawn if hour % 24 == 5 else dusk if hour % 24 == 17 else []).append(pond.at(0, 0.3)[n.O2])
    swing = np.mean(dusk) - np.mean(dawn)
    assert 0.5 < swing < 8.0


def test_the_arm_is_not_the_deep_box(two_acres):
    """At dawn after clear nights the boxes differ in temperature, and patches make their beds unlike."""
    pond = run(two_acres, 6)
    top = [pond.at(b, 0.3)[n.T] for b in range(3)]
    assert 0.01 < max(top) - min(top) < 4.0
    assert np.ptp(pond.patch) > 0.1


def test_a_pond_runs_the_same_again(two_acres):
    """The same pond from the same seed and hour is the same to the last bit."""
    again = make_pond(KINDS[3], "mild", 11, LIMITS)
    assert np.array_equal(run(again, 24, True).state, run(two_acres, 24, True).state)


def test_every_kind_of_pond_lives_through_its_burn_in():
    """All six ponds can be drawn in all three weathers, warm on top and with the numbers finite."""
    for i, kind in enumerate(KINDS):
        pond = make_pond(kind, REGIMES[i % 3], 40 + i, LIMITS)
        assert np.isfinite(pond.state).all()
        assert 17.0 < pond.at(0, 0.3)[n.T] < 35.0
        assert pond.shape.area[:, 0].sum() == pytest.approx(kind.acres * 4046.86)


def test_a_plume_in_uniform_water_lifts_what_discs_lift():
    """1.3 scfm at 12 ft lifts 0.08-0.30 m³/s: the span of published integral plumes for α 0.045-0.12.

    (0.1385 m³/s by Wüest et al. 1992 at α 0.06, 0.2463 at 0.11, from the reference solves of the project's notes.)
    """
    p = make_pond(KINDS[3], "mild", 11, LIMITS).numbers.copy()
    p[n.P_ALPHA], p[n.P_ALPHA_POWER], p[n.P_PLUNGE] = 0.08, 0.1, 0.0
    layers, thick = 18, 0.2032
    temp = np.full(layers, 28.0)
    rho = np.full(layers, density(28.0))
    moved = np.zeros((layers, layers))
    flow, warm, peels = rise(temp, rho, layers, thick, 3.6576, 1.3 * SCFM_MOL_S, p, moved)
    assert 0.08 < flow < 0.30
    assert (warm, peels) == (pytest.approx(28.0), 0)
    assert moved.sum() == pytest.approx(flow)


def test_a_plume_in_sharp_layers_turns_back_and_loses_nothing():
    """Little air under a strong thermocline: it peels, and all that was lifted is put somewhere."""
    p = make_pond(KINDS[3], "mild", 11, LIMITS).numbers.copy()
    p[n.P_ALPHA], p[n.P_PEEL], p[n.P_PLUNGE] = 0.09, 0.5, 0.5
    layers, thick = 15, 0.2
    temp = np.where(np.arange(layers) < 5, 30.0, 16.0)
    rho = np.array([density(t) for t in temp])
    moved = np.zeros((layers, layers))
    _, _, peels = rise(temp, rho, layers, thick, 2.9, 0.2 * SCFM_MOL_S, p, moved)
    assert peels >= 1
    # water from under the thermocline does not end at the surface
    assert moved[8:, :2].sum() < 0.2 * moved[8:].sum()


def test_laws_stand_near_known_values():
    """Values of standard tables: density and saturation (CRC; USGS), sky and evaporation as orders of magnitude."""
    assert density(4.0) == pytest.approx(1000.0, abs=0.05)
    assert density(25.0) == pytest.approx(997.05, abs=0.1)
    assert saturation(20.0, 1.0) == pytest.approx(9.09, abs=0.1)
    assert saturation(30.0, 1.0) == pytest.approx(7.56, abs=0.15)
    assert sky(30.0, 25.5, 0.0) == pytest.approx(417.0, rel=0.06)  # Brutsaert 1975: 416.9 W/m²
    latent, sensible = evaporation(28.0, 20.0, 18.7, 0.0)
    assert (
        50.0 < latent + sensible < 200.0
    )  # calm night: 70 W/m² by TVA 1972, twice that by Adams et al. 1990
    assert 0.05 / 86400 < renewal(25.0, 0.0, 80.0) < 2.0 / 86400  # small ponds: 0.13-0.7 m/d
    assert toxic_ammonia(25.0, 8.0) == pytest.approx(0.0537, rel=0.06)  # Emerson et al. 1975
    # half the carbon in each form at pK1: alkalinity/carbon one half gives pH near 6.35
    assert acidity(25.0, 1.0, 2.0) == pytest.approx(6.36, abs=0.05)


def test_weather_has_the_regimes_and_forecasts_get_worse():
    """Hot is hotter than stormy, stormy windier than hot; the error on day 7 is over that on day 1."""
    kinds = {
        regime: np.mean([weather(regime, 20, s)[:3].mean(axis=1) for s in range(8)], axis=0)
        for regime in REGIMES
    }
    assert kinds["hot"][n.W_AIR] > kinds["stormy"][n.W_AIR] + 1.0
    assert kinds["stormy"][n.W_WIND] > 1.3 * kinds["hot"][n.W_WIND]
    errors = []
    for seed in range(30):
        truth = weather("stormy", 20, seed)
        climate = truth.reshape(n.WEATHER, 20, 24).mean(axis=1)
        told = forecast(truth, climate, 48, 7, seed)
        off = np.abs(told[n.W_AIR] - truth[n.W_AIR, 48 : 48 + 168])
        errors.append((off[:24].mean(), off[-24:].mean()))
    first, last = np.mean(errors, axis=0)
    assert last > 1.5 * first
    assert 0.2 < first < 2.0


def test_the_meter_is_biased_by_the_day_and_sometimes_sticks(two_acres):
    """Errors within a day are alike, between days not; a stuck meter reads one value at all depths."""
    days = []
    for seed in range(40):
        meter = Meter.of(seed)
        meter.stuck_day = -5
        truth = two_acres.at(0, 0.5)[n.O2]
        days.append([[meter.oxygen(two_acres, 0, 0.5, day) - truth for _ in range(4)] for day in range(3)])
    days = np.array(days)
    between = days.mean(axis=2).std()
    assert 0.3 < between < 1.2
    assert days.std(axis=2).mean() > 0.1
    stuck = Meter.of(1)
    stuck.stuck_day = 2
    assert len({stuck.oxygen(two_acres, 0, z, 2) for z in (0.3, 1.0, 2.0, 3.0)}) == 1
    assert sum(Meter.of(seed).stuck_day < 10 for seed in range(240)) in range(8, 36)


def test_a_bottle_of_foul_water_loses_oxygen_faster_than_surface_water(two_acres):
    """Mixed with bottom water more oxygen goes in a day than in the control, and some within 15 minutes."""
    test = bottle(two_acres, two_acres.shape.max_depth_m - 0.5, 3)
    mixed = 0.5 * (test.bottom + test.surface)
    assert mixed - test.after_24h > test.surface - test.surface_after_24h - 0.5
    assert test.after_24h <= test.after_15min + 0.5


def test_the_survey_is_the_shape_within_its_errors(two_acres):
    """Surveyed volume is within 20 % of the true one and falls to nothing at the bottom."""
    survey = Surveyed.of(two_acres, 4)
    assert survey.volume_below(0.0) == pytest.approx(two_acres.shape.volume.sum(), rel=0.2)
    assert survey.volume_below(survey.max_depth_m) == pytest.approx(0.0, abs=1e-6)
    assert survey.area_at(0.0) > survey.area_at(1.0) > survey.area_at(3.0)
