"""The water column's steps against closed forms: sources named beside each check, none of them this program.

Closed forms are those of Carslaw & Jaeger 1959, Conduction of Heat in Solids (ch. II and III, from memory) and
first-order linear equations, solved on paper; the energy of mixing is that of Kraus & Turner 1967 (from memory).
"""

import math

import numpy as np
import pytest

from plumeline.kernels import column_index as ix
from plumeline.kernels.column import mix
from plumeline.kernels.column_block import Basin, make_block, make_plumes
from plumeline.kernels.column_mixing import overturn
from plumeline.kernels.column_rates import diffusion_factors, light_rates
from plumeline.kernels.column_step import diffusion_step, gas_step, surface_step, warming_step, wind_transfer
from plumeline.kernels.column_transport import transport_step
from plumeline.science.carbonate import ph_from_alkalinity_and_carbon

AREA_M2 = 1000.0
CP_J_M3_K = 4.18e6  # of water, any handbook


def box(layers, depth_m):
    """Return thickness, areas, volumes and centres of a box of 1,000 m²."""
    thickness_m = depth_m / layers
    centre_m = (np.arange(layers) + 0.5) * thickness_m
    return (
        thickness_m,
        np.full(layers + 1, AREA_M2),
        np.full(layers, AREA_M2 * thickness_m),
        centre_m,
    )


def still_water(layers, temperature_degc=20.0):
    """Return a state of a block of members alike: fresh water of one temperature, in it nothing but oxygen."""
    state = np.zeros((ix.STATES, layers, ix.LANES))
    state[ix.TEMPERATURE] = temperature_degc
    state[ix.OXYGEN] = 8.0
    state[ix.ALKALINITY] = state[ix.CARBON] = 1.5
    return state


def plain_parameters(**values):
    """Return parameters of the block: all that is not named is switched off."""
    parameters = np.zeros((ix.PARAMETERS, ix.LANES))
    parameters[ix.SEDIMENT_THETA] = parameters[ix.RESPIRATION_THETA] = 1.05
    parameters[ix.SEDIMENT_HALF] = parameters[ix.CHLOROPHYLL_0] = parameters[ix.I_K] = 1.0
    for name, value in values.items():
        parameters[getattr(ix, name)] = value
    return parameters


def row():
    """Return room for one number a member."""
    return np.zeros(ix.LANES)


def conduct(state, layers, geometry, k_m2_s, steps, *, first=0, last=1, each=None):
    """Diffuse for a number of steps with a diffusivity that is given; call `each` before every one."""
    thickness_m, area, volume, _ = geometry
    factors = np.empty((ix.FACTORS, layers, ix.LANES))
    given = np.full((layers, ix.LANES), k_m2_s)
    diffusion_factors(given, 0.0, area, volume, thickness_m, ix.STEP_S, factors, row(), row())
    for _ in range(steps):
        if each is not None:
            each()
        diffusion_step(state, factors, first, last, row())


def test_constant_heating_of_a_still_two_layer_box():
    """Two boxes under constant sun, joined by conduction: mean and difference have closed forms.

    With s the sun into each layer over its heat capacity and k the exchange rate, the mean rises as
    (s₁ + s₂)t/2 and the difference as (s₁ − s₂)(1 − e^(−2kt))/2k.
    """
    depth_m, sun_w_m2, extinction, par, k_m2_s = 2.0, 400.0, 0.8, 0.45, 2e-5
    geometry = box(2, depth_m)
    thickness_m, area, volume, _ = geometry
    state = still_water(2)
    parameters = plain_parameters(EXTINCTION=extinction, PAR=par)
    rates = np.zeros((ix.RATES, 2, ix.LANES))
    light_rates(state, parameters, row() + sun_w_m2, area, thickness_m, rates, row(), row())
    assert (rates[ix.GROWTH] == 0.0).all()  # no bloom, no oxygen from it
    bed = np.concatenate([state[ix.TEMPERATURE]] * ix.BED_SLABS)
    books = np.zeros((ix.FLUXES, ix.LANES))

    def warm():
        warming_step(state, bed, rates, np.zeros(2), volume, ix.STEP_S, books)

    steps = 288
    conduct(state, 2, geometry, k_m2_s, steps, each=warm)
    time_s = steps * 300.0
    # design §5: albedo 0.08, 45 % visible by Beer's law, the rest in the top decimetres
    entering = 0.92 * sun_w_m2
    passed = entering * (par * math.exp(-extinction) + (1.0 - par) * math.exp(-3.0))
    upper, lower = ((entering - passed) / CP_J_M3_K, passed / CP_J_M3_K)
    rate = k_m2_s / 1.0
    mean = 20.0 + (upper + lower) * time_s / 2.0
    difference = (upper - lower) * (1.0 - math.exp(-2.0 * rate * time_s)) / (2.0 * rate)
    top, low = state[ix.TEMPERATURE, :, 0]
    assert 0.5 * (top + low) == pytest.approx(mean, abs=1e-9)
    # implicit steps of five minutes: k·Δt = 0.6 %, of which a part remains
    assert top - low == pytest.approx(difference, rel=0.006)


def test_the_error_of_the_heated_box_is_that_of_an_implicit_step():
    """Without conduction the same box is exact: nothing but the time step stood between it and the closed form."""
    geometry = box(2, 2.0)
    state = still_water(2)
    parameters = plain_parameters(EXTINCTION=0.8, PAR=0.45)
    rates, books = np.zeros((ix.RATES, 2, ix.LANES)), np.zeros((ix.FLUXES, ix.LANES))
    light_rates(state, parameters, row() + 400.0, geometry[1], 1.0, rates, row(), row())
    for _ in range(288):
        warming_step(
            state,
            np.full((2 * ix.BED_SLABS, ix.LANES), 20.0),
            rates,
            np.zeros(2),
            geometry[2],
            ix.STEP_S,
            books,
        )
    passed = 0.92 * 400.0 * (0.45 * math.exp(-0.8) + 0.55 * math.exp(-3.0))
    low = 20.0 + passed * 86400.0 / CP_J_M3_K
    assert state[ix.TEMPERATURE, 1, 0] == pytest.approx(low, abs=1e-9)


def test_diffusion_of_a_step_in_an_endless_column_is_the_error_function():
    """A step of a solute spreads as ½ erfc(x/2√(Kt)) while it is far from both ends (Carslaw & Jaeger, §2.4)."""
    layers, depth_m, k_m2_s, steps = 80, 4.0, 2e-6, 96
    geometry = box(layers, depth_m)
    state = still_water(layers)
    state[ix.SALT, layers // 2 :] = 1.0
    conduct(state, layers, geometry, k_m2_s, steps, first=ix.SALT, last=ix.SALT + 1)
    time_s = steps * 300.0
    x = geometry[3] - 0.5 * depth_m
    exact = np.array([0.5 * math.erfc(-v / (2.0 * math.sqrt(k_m2_s * time_s))) for v in x])
    assert np.abs(state[ix.SALT, :, 0] - exact).max() < 0.004


@pytest.mark.parametrize("days", [1, 4])
def test_diffusion_of_a_step_in_a_closed_box_is_the_cosine_series(days):
    """With closed ends the step dies away as Σ (2/nπ) sin(nπ/2) cos(nπz/H) e^(−(nπ/H)²Kt) (Carslaw & Jaeger, §3.3)."""
    layers, depth_m, k_m2_s = 40, 2.0, 5e-6
    geometry = box(layers, depth_m)
    state = still_water(layers)
    state[ix.SALT, : layers // 2] = 1.0
    conduct(state, layers, geometry, k_m2_s, 288 * days, first=ix.SALT, last=ix.SALT + 1)
    exact = np.full(layers, 0.5)
    for n in range(1, 60):
        wave = n * math.pi / depth_m
        part = 2.0 / (n * math.pi) * math.sin(0.5 * n * math.pi) * np.cos(wave * geometry[3])
        exact += part * math.exp(-(wave**2) * k_m2_s * 86400.0 * days)
    assert np.abs(state[ix.SALT, :, 0] - exact).max() < 0.002


def _sky_in_balance(temperature_degc):
    """Return weather in which a surface of this temperature neither gains nor loses heat."""
    vapour_pa = 611.2 * math.exp(17.67 * temperature_degc / (temperature_degc + 243.5))  # Bolton 1980
    weather = np.zeros((ix.WEATHER, ix.LANES))
    weather[ix.AIR_TEMPERATURE] = temperature_degc
    weather[ix.VAPOUR] = vapour_pa
    weather[ix.SKY] = 5.67037e-8 * (temperature_degc + 273.15) ** 4  # the same emissivity both ways
    weather[ix.PRESSURE] = 101325.0
    return weather


def exchange(state, parameters, weather, depth_m, boil_m2, steps):
    """Exchange heat and gases of a box of one layer for a number of steps; return the books."""
    books, k600, cooling = np.zeros((ix.FLUXES, ix.LANES)), row(), row()
    rates = np.zeros((ix.RATES, 1, ix.LANES))
    rates[ix.H2S_SHARE] = 1.0
    wind_transfer(parameters, weather, k600)
    for _ in range(steps):
        surface_step(state, parameters, weather, AREA_M2, AREA_M2 * depth_m, ix.STEP_S, books, cooling)
        gas_step(
            state, parameters, weather, rates, k600, cooling, AREA_M2, AREA_M2 * depth_m, row() + boil_m2,
            ix.STEP_S, books,
        )  # fmt: skip
    return books


def quiet_pond(**values):
    """Return parameters of a pond whose surface is in balance with its sky."""
    return plain_parameters(LONGWAVE=1.0, BULK=1.3e-3, FREE_CONVECTION=1.0, **values)


@pytest.mark.parametrize("start_mg_l", [0.0, 4.0, 14.0])
def test_gas_exchange_relaxes_to_saturation_exponentially(start_mg_l):
    """Oxygen follows O_sat + (O₀ − O_sat) e^(−kt/h).

    9.09 mg/L at 20 °C (Standard Methods 4500-O); k from Sc = 510 (Wanninkhof 2014, table 1, fresh water at 20 °C)
    and k ∝ Sc^(−2/3) on smooth water (Jähne et al. 1987).
    """
    depth_m, k600_m_d = 0.5, 0.5
    state = still_water(1)
    state[ix.OXYGEN] = start_mg_l
    exchange(state, quiet_pond(K600_CALM=k600_m_d / 86400.0), _sky_in_balance(20.0), depth_m, 0.0, 288)
    assert state[ix.TEMPERATURE, 0, 0] == pytest.approx(20.0, abs=0.01)
    k_m_d = k600_m_d * (600.0 / 510.0) ** (2.0 / 3.0)
    exact = 9.09 + (start_mg_l - 9.09) * math.exp(-k_m_d / depth_m)
    assert state[ix.OXYGEN, 0, 0] == pytest.approx(exact, abs=0.02)


def test_gas_exchange_over_a_boil_and_beside_it_add_by_area():
    """Over half the surface k is 4 m/d and over the rest 0.5: the rate is that of their mean by area."""
    depth_m = 2.0
    state = still_water(1)
    state[ix.OXYGEN] = 2.0
    parameters = quiet_pond(K600_CALM=0.5 / 86400.0, BOIL_TRANSFER=4.0 / 86400.0)
    exchange(state, parameters, _sky_in_balance(20.0), depth_m, 0.5 * AREA_M2, 72)
    rate = 0.5 * 4.0 + 0.5 * 0.5 * (600.0 / 510.0) ** (2.0 / 3.0)
    exact = 9.09 + (2.0 - 9.09) * math.exp(-rate / depth_m * 0.25)
    assert state[ix.OXYGEN, 0, 0] == pytest.approx(exact, abs=0.02)


@pytest.mark.parametrize("start_mol_m3", [1.6, 2.6])
def test_carbon_comes_to_rest_with_the_air_at_the_ph_of_an_open_system(start_mol_m3):
    """Water of 1.5 meq/L left open to air of 420 ppm ends at pH 8.3 (0.05) whatever it began with.

    The open carbonate system (Stumm & Morgan 1996, ch. 4): pH = log A + pK₁ + pK_H − log p_CO₂, pK₁ 6.38 and pK_H
    1.41 at 20 °C: 8.34, less 0.02 for the carbonate ion, and the vapour.
    """
    state = still_water(1)
    state[ix.ALKALINITY], state[ix.CARBON] = 1.5, start_mol_m3
    exchange(state, quiet_pond(K600_CALM=20.0 / 86400.0), _sky_in_balance(20.0), 0.3, 0.0, 288 * 60)
    found = ph_from_alkalinity_and_carbon(1.5, float(state[ix.CARBON, 0, 0]), 20.0)
    open_system = math.log10(1.5e-3) + 6.38 + 1.41 - math.log10(420e-6)
    assert found == pytest.approx(open_system, abs=0.05)


def test_sulphide_that_is_undissociated_leaves_as_carbon_dioxide_would():
    """All of it undissociated, it falls as e^(−kt/h) with k of Sc 600 at 20 °C; half of it, half as fast."""
    state = still_water(1)
    state[ix.SULPHIDE] = 2.0
    exchange(state, quiet_pond(K600_CALM=0.5 / 86400.0), _sky_in_balance(20.0), 0.5, 0.0, 288)
    assert state[ix.SULPHIDE, 0, 0] == pytest.approx(2.0 * math.exp(-0.5 / 0.5), rel=3e-3)


def test_night_convection_moves_gas_under_the_one_law_and_is_held_in_the_other():
    """Calm, 8 K over the air: the second law gives 1.5 to 5 cm/h, what MacIntyre et al. 2010 found on cooling water.

    Their intercept under cooling is 2.0 cm/h (from memory); without cooling Crusius & Wanninkhof leave 0.17.
    """
    found = {}
    for law, sky_degc in ((0.0, 12.0), (1.0, 12.0), (1.0, 20.0)):
        state = still_water(1)
        state[ix.OXYGEN] = 0.0
        parameters = quiet_pond(K600_CALM=0.5 / 86400.0, K600_LAW=law)
        weather = _sky_in_balance(sky_degc)
        exchange(state, parameters, weather, 1.0, 0.0, 1)
        # k (9.09 − 0) Δt / h, back to k600 in cm/h
        velocity_m_s = float(state[ix.OXYGEN, 0, 0]) / 9.09 / ix.STEP_S
        found[law, sky_degc] = velocity_m_s * (510.0 / 600.0) ** (2.0 / 3.0) * 3.6e5
    assert found[0.0, 12.0] == pytest.approx(0.5 / 24.0 * 100.0, rel=0.02)
    assert 1.5 < found[1.0, 12.0] < 5.0
    assert found[1.0, 20.0] == pytest.approx(0.168, rel=0.05)


def pooled(state, volume):
    """Pool what lies heavy over light, one member after another."""
    layers = len(volume)
    for member in range(ix.LANES):
        overturn(state, member, volume, np.empty(layers, dtype=np.int64), *np.empty((3, layers)))


def mixed(state, volume, parameters=None, weather=None, centre_m=None):
    """Mix as one step of the column does: the surface layer of all members together, then what is left."""
    layers = len(volume)
    block = make_block(layers)
    block.state[:] = state
    if parameters is not None:
        block.parameters[:], block.weather[:] = parameters, weather
    centre_m = np.arange(layers) + 0.5 if centre_m is None else centre_m
    basin = Basin(np.arange(layers + 1.0), np.full(layers + 1, AREA_M2), volume, centre_m)
    mix(block, basin, ix.STEP_S, np.empty(layers, dtype=np.int64), np.empty((3, layers)))
    state[:] = block.state


@pytest.mark.parametrize("way", [pooled, mixed])
def test_an_overturn_of_two_layers_ends_at_the_volume_mean_and_keeps_the_heat(way):
    """Cold over warm mixes to (V₁T₁ + V₂T₂)/(V₁ + V₂), oxygen likewise; warm over cold stays."""
    volume = np.array([3000.0, 1000.0])
    state = still_water(2)
    state[ix.TEMPERATURE] = [[14.0], [26.0]]
    state[ix.OXYGEN] = [[9.0], [1.0]]
    way(state, volume)
    assert state[ix.TEMPERATURE, :, 0] == pytest.approx([17.0, 17.0], abs=1e-12)
    assert state[ix.OXYGEN, :, 0] == pytest.approx([7.0, 7.0], abs=1e-12)
    state[ix.TEMPERATURE] = [[26.0], [14.0]]
    way(state, volume)
    assert list(state[ix.TEMPERATURE, :, 0]) == [26.0, 14.0]


@pytest.mark.parametrize("way", [pooled, mixed])
def test_an_overturn_goes_as_far_as_it_must_and_no_further(way):
    """A cold lid sinks through the layers that are warmer than the mixture, and leaves the colder ones alone."""
    state = still_water(4)
    state[ix.TEMPERATURE] = [[18.0], [24.0], [22.0], [12.0]]
    way(state, np.full(4, 500.0))
    # 18 and 24 give 21, still under 22 and so heavier: the three give 21.33, and 12 lies below
    assert state[ix.TEMPERATURE, :, 0] == pytest.approx([64.0 / 3.0] * 3 + [12.0], abs=1e-12)


@pytest.mark.parametrize("way", [pooled, mixed])
def test_heavy_over_light_under_a_warm_lid_overturns_too(way):
    """Under 28 °C, 12 over 20 and 18 pool to 16.67; the lid and the cold bottom stay, in every member alone."""
    state = still_water(5)
    state[ix.TEMPERATURE] = [[28.0], [12.0], [20.0], [18.0], [8.0]]
    state[ix.TEMPERATURE, :, 3] = 28.0, 20.0, 18.0, 12.0, 8.0
    way(state, np.full(5, 500.0))
    assert state[ix.TEMPERATURE, :, 0] == pytest.approx([28.0, *[50.0 / 3.0] * 3, 8.0], abs=1e-12)
    assert list(state[ix.TEMPERATURE, :, 3]) == [28.0, 20.0, 18.0, 12.0, 8.0]


def _wind_work_j(wind_m_s, hours_h):
    """Return 0.23 ρ u*³ A t of Hipsey et al. 2019 (stirring), u*² = (ρ_air/ρ) C_D U², C_D 1e-3, air 1.2 kg/m³."""
    friction = math.sqrt(1.2e-3 / 998.0) * wind_m_s
    return 0.23 * 998.0 * friction**3 * AREA_M2 * hours_h * 3600.0


def _potential_j(state, volume, centre_m):
    """Return the water's potential energy, with a density of its own: 998.2 + 0.76 S (haline contraction)."""
    return float((-9.81 * (998.2 + 0.76 * state[ix.SALT, :, 0]) * volume * centre_m).sum())


@pytest.mark.parametrize("wind_m_s", [2.0, 4.0, 6.0])
def test_wind_work_becomes_the_potential_energy_of_the_mixed_box(wind_m_s):
    """While two layers are not yet one, the water's centre of mass has risen by just the work spent."""
    geometry = box(2, 2.0)
    _, _, volume, centre_m = geometry
    state = still_water(2)
    state[ix.SALT] = [[0.1], [1.1]]
    before = _potential_j(state, volume, centre_m)
    parameters = plain_parameters(OPEN_WIND=1.0, WIND=1.0)
    weather = np.zeros((ix.WEATHER, ix.LANES))
    weather[ix.WIND_SPEED] = wind_m_s
    for _ in range(12):
        mixed(state, volume, parameters, weather, centre_m)
    assert state[ix.SALT, 0, 0] < state[ix.SALT, 1, 0]
    rise = _potential_j(state, volume, centre_m) - before
    assert rise == pytest.approx(_wind_work_j(wind_m_s, 1.0), rel=0.01)


def test_wind_mixes_the_box_when_its_work_exceeds_the_energy_of_mixing():
    """Mixing two layers of h = 1 m needs g Δρ h² A/4: just under it they are two, just over it one."""
    geometry = box(2, 2.0)
    _, _, volume, centre_m = geometry
    need = 9.81 * 0.76 * 1.0 * AREA_M2 / 4.0 * 2.0  # V₁V₂/(V₁+V₂) · (z₂ − z₁) = A h²/2 for h = 1 m
    wind_m_s = (need / _wind_work_j(1.0, 1.0 / 12.0)) ** (1.0 / 3.0)
    parameters = plain_parameters(OPEN_WIND=1.0, WIND=1.0)
    left = {}
    for factor in (0.95, 1.05):
        state = still_water(2)
        state[ix.SALT] = [[0.1], [1.1]]
        weather = np.zeros((ix.WEATHER, ix.LANES))
        weather[ix.WIND_SPEED] = wind_m_s * factor ** (1.0 / 3.0)
        mixed(state, volume, parameters, weather, centre_m)
        left[factor] = float(state[ix.SALT, 1, 0] - state[ix.SALT, 0, 0])
    assert 0.03 < left[0.95] < 0.07  # 5 % of the difference is left
    assert left[1.05] == pytest.approx(0.0, abs=1e-12)


def sunk_step(layers, depth_m, w_m_s, hours_h, width_m):
    """Return how far the column's sinking carried a step of salt, and the variance it gained [m²]."""
    thickness_m, _, volume, centre_m = box(layers, depth_m)
    state = still_water(layers)
    if width_m > 0.0:
        state[ix.SALT] = (0.5 - 0.5 * np.tanh((centre_m - 0.3 * depth_m) / width_m))[:, None]
    else:
        state[ix.SALT, : layers // 4] = 1.0
    plumes = make_plumes(layers, 1)
    plumes.row_count[:] = 1
    plumes.withdrawn_m3_s[0, -1] = plumes.drawn_m3_s[-1] = w_m_s * AREA_M2
    plumes.sinking_m3_s[1:-1] = w_m_s * AREA_M2
    faces = centre_m[:-1] + 0.5 * thickness_m

    def spread():
        weight = state[ix.SALT, :-1, 0] - state[ix.SALT, 1:, 0]
        middle = float((weight * faces).sum() / weight.sum())
        return middle, float((weight * (faces - middle) ** 2).sum() / weight.sum())

    start, first = spread()
    for _ in range(round(hours_h * ix.STEPS_EACH_HOUR)):
        transport_step(
            state, plumes, volume, ix.STEP_S, np.zeros((ix.FLUXES, ix.LANES)), row(), row(),
            np.zeros((layers, ix.LANES)), *np.zeros((2, layers + 1, ix.LANES)),
            np.zeros(ix.LANES, dtype=np.int64),
        )  # fmt: skip
        state[ix.SALT, 0] = 1.0  # the same water goes on coming in at the top
    end, last = spread()
    return end - start, last - first


# measured: a sharp step over 19 layers 0.12 of upwind's spreading, a thermocline of tanh width 0.4 m 0.006
@pytest.mark.parametrize(("width_m", "most"), [(0.0, 0.15), (0.4, 0.02)])
def test_a_sinking_step_spreads_far_less_than_upwind_would(width_m, most):
    """First-order upwind spreads as a diffusivity wΔz/2 (1 − c) (Roache 1972, from memory): here a part of that."""
    layers, depth_m, w_m_s, hours_h = 40, 6.0, 2e-5, 40.0
    moved_m, variance_m2 = sunk_step(layers, depth_m, w_m_s, hours_h, width_m)
    time_s = hours_h * 3600.0
    assert moved_m == pytest.approx(w_m_s * time_s, rel=0.01)
    thickness_m = depth_m / layers
    upwind_m2_s = 0.5 * w_m_s * thickness_m * (1.0 - w_m_s * ix.STEP_S / thickness_m)
    numerical_m2_s = variance_m2 / (2.0 * time_s)
    print(f"numerical diffusion {numerical_m2_s:.2e} m2/s, upwind {upwind_m2_s:.2e} m2/s")
    assert abs(numerical_m2_s) < most * upwind_m2_s
