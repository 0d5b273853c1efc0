"""House rule 8: every relation swept over its range: finite, of the right sign, monotone where it must be."""

import importlib
import inspect
import math
import pkgutil

import numpy as np
import pytest

import plumeline.science

MODULES = {
    module.name: importlib.import_module(f"plumeline.science.{module.name}")
    for module in pkgutil.iter_modules(plumeline.science.__path__)
}
RELATIONS = {
    name: (function, module.RANGE[name])
    for module in MODULES.values()
    for name, function in vars(module).items()
    if inspect.isfunction(function) and function.__module__ == module.__name__ and name in module.RANGE
}


def subsonic(row):
    """Say whether a pipe can carry its flow: p² over what friction and speed take, with room to spare."""
    flux = 4.0 * row["mass_flow_kg_s"] / (math.pi * row["bore_m"] ** 2)
    taken = flux**2 * row["gas_constant_j_kg_k"] * row["temperature_k"]
    pressure = row.get("inlet_pressure_pa", row.get("outlet_pressure_pa"))
    return pressure**2 > 1.5 * taken * (1.0 + row["resistance_number"])


POSSIBLE = {
    "upstream_pressure_isothermal_crane_2009": subsonic,
    "downstream_pressure_isothermal_crane_2009": subsonic,
    "schmidt_stability_two_layer_idso_1973": lambda row: row["interface_depth_m"] <= row["depth_m"],
    # carbonate alone can't carry more than two equivalents by mole of carbon
    "ph_from_alkalinity_and_carbon": lambda row: row["carbon_mol_m3"] > 0.55 * row["alkalinity_mol_m3"],
}

MAY_BE_BELOW_ZERO = {
    "submerged_mass_archimedes",  # tubing that floats
    "level_at_distance_iso_9613_1996",  # quieter than the threshold of hearing
    "line_temperature_incropera_2007",  # frost
    "buoyancy_frequency_squared_read_2011",  # heavy water over light
    "latent_heat_bulk_hipsey_2019",  # dew
    "sensible_heat_bulk_hipsey_2019",  # air warmer than water
    "oxygen_transfer_rate_asce_2006",  # water above saturation
    "carbonate_alkalinity_stumm_morgan_1996",  # hydroxide beyond the alkalinity
    "yearly_wave_carslaw_1959",  # a winter of frost
    "leak_flow_clapeyron_1834",  # warmed by more than it lost
}
"""Relations whose value may be negative; all others may not."""

UP, DOWN = 1.0, -1.0
MONOTONE = [
    # (relation, parameter, direction, lowest, highest value to sweep, or None for the valid range)
    ("density_kell_1975", "temperature_degc", DOWN, (4.1, 40.0)),
    ("density_kell_1975", "temperature_degc", UP, (0.0, 3.9)),
    ("density_chen_millero_1986", "temperature_degc", DOWN, (4.1, 40.0)),
    ("density_chen_millero_1986", "salinity_g_kg", UP, None),
    ("salinity_hill_1986", "conductivity_us_cm", UP, None),
    ("vapour_pressure_benson_krause_1980", "temperature_degc", UP, None),
    ("vapour_pressure_bolton_1980", "temperature_degc", UP, None),
    ("pressure_icao_1993", "elevation_m", DOWN, None),
    ("do_nonideality_benson_krause_1980", "temperature_degc", DOWN, None),
    ("do_saturation_benson_krause_1984", "temperature_degc", DOWN, None),
    ("do_saturation_benson_krause_1984", "salinity_g_kg", DOWN, None),
    ("do_saturation_benson_krause_1984", "pressure_pa", UP, None),
    ("nitrogen_saturation_hamme_emerson_2004", "temperature_degc", DOWN, None),
    ("nitrogen_saturation_hamme_emerson_2004", "salinity_g_kg", DOWN, None),
    ("nitrogen_saturation_hamme_emerson_2004", "pressure_pa", UP, None),
    ("solubility_oxygen_benson_krause_1984", "temperature_degc", DOWN, None),
    ("solubility_nitrogen_hamme_emerson_2004", "temperature_degc", DOWN, None),
    ("solubility_oxygen_wuest_1992", "temperature_degc", DOWN, None),
    ("solubility_nitrogen_wuest_1992", "temperature_degc", DOWN, None),
    ("schmidt_number_oxygen_wanninkhof_2014", "temperature_degc", DOWN, None),
    ("k600_cole_caraco_1998", "wind_speed_m_s", UP, None),
    ("k600_crusius_wanninkhof_2003", "wind_speed_m_s", UP, None),
    ("gas_velocity_jahne_1987", "k600_m_s", UP, None),
    ("gas_velocity_jahne_1987", "schmidt_number", DOWN, None),
    ("ammonia_pka_emerson_1975", "temperature_degc", DOWN, None),
    ("ammonia_unionized_fraction_emerson_1975", "ph", UP, None),
    ("ammonia_unionized_fraction_emerson_1975", "temperature_degc", UP, None),
    ("ammonia_acute_epa_2013", "ph", DOWN, None),
    ("ammonia_acute_trout_epa_2013", "ph", DOWN, None),
    ("ammonia_chronic_epa_2013", "ph", DOWN, None),
    ("ammonia_acute_epa_2013", "temperature_degc", DOWN, (11.0, 40.0)),
    ("ammonia_chronic_epa_2013", "temperature_degc", DOWN, (7.0, 40.0)),
    ("ammonia_unionized_fraction_bell_2008", "ph", UP, None),
    ("ammonia_unionized_fraction_bell_2008", "temperature_degc", UP, None),
    ("ammonia_unionized_fraction_bell_2008", "salinity_g_kg", DOWN, None),
    ("sulphide_pk1_millero_1988", "temperature_degc", DOWN, None),
    ("sulphide_pk1_millero_1988", "salinity_g_kg", DOWN, (0.0, 39.0)),
    ("sulphide_undissociated_fraction_millero_1988", "ph", DOWN, None),
    ("buoyancy_frequency_squared_read_2011", "density_gradient_kg_m4", UP, None),
    ("friction_velocity_read_2011", "wind_speed_m_s", UP, None),
    ("wedderburn_number_imberger_patterson_1990", "friction_velocity_m_s", DOWN, None),
    ("lake_number_imberger_patterson_1990", "stability_j_m2", UP, None),
    ("lake_number_imberger_patterson_1990", "friction_velocity_m_s", DOWN, None),
    ("clear_sky_emissivity_brutsaert_1975", "vapour_pressure_pa", UP, None),
    ("sky_emissivity_crawford_1999", "cloud_fraction", UP, None),
    ("longwave_emitted_stefan_1879", "temperature_degc", UP, None),
    ("moist_air_density_bulk_hipsey_2019", "vapour_pressure_pa", DOWN, None),
    ("diffusivity_hondzo_1993", "area_m2", UP, None),
    ("light_extinction_poole_1929", "secchi_depth_m", DOWN, None),
    ("temperature_factor_arrhenius_1889", "temperature_degc", UP, None),
    ("light_limitation_jassby_1976", "light_umol_m2_s", UP, (0.0, 500.0)),
    ("oxygen_limitation_monod_1949", "do_mg_l", UP, None),
    ("reacted_second_order", "do_mg_l", UP, None),
    ("leak_flow_clapeyron_1834", "end_pressure_pa", DOWN, None),
    ("condensate_ashrae_2021", "intake_humidity_fraction", UP, None),
    ("condensate_ashrae_2021", "line_temperature_degc", DOWN, None),
    ("condensate_ashrae_2021", "line_pressure_pa", UP, None),
]


def drawn(rng, low, high):
    """Return a draw between two values, even in the logarithm where they are far apart."""
    if low > 0.0 and high / low > 100.0:
        return float(np.exp(rng.uniform(np.log(low), np.log(high))))
    return float(rng.uniform(low, high))


def rows(name, count=400):
    """Return arguments drawn over the valid range, its corners and edges included."""
    limits = RELATIONS[name][1]
    rng = np.random.default_rng(7)
    middle = {key: (low + high) / 2.0 for key, (low, high) in limits.items()}
    found = [{key: low for key, (low, _) in limits.items()}, {key: high for key, (_, high) in limits.items()}]
    found += [{**middle, key: edge} for key, pair in limits.items() for edge in pair]
    found += [{key: drawn(rng, *pair) for key, pair in limits.items()} for _ in range(count)]
    kept = [row for row in found if POSSIBLE.get(name, lambda _: True)(row)]
    assert len(kept) > count / 20, "the sweep needs rows"
    return kept


def numbers(value):
    """Return a relation's value as a tuple of numbers."""
    return value if isinstance(value, tuple) else (value,)


@pytest.mark.parametrize("name", list(RELATIONS))
def test_finite_over_the_whole_range(name):
    """No NaN, infinity or exception anywhere in the valid range."""
    function = RELATIONS[name][0]
    for row in rows(name):
        assert all(math.isfinite(number) for number in numbers(function(**row))), row


@pytest.mark.parametrize("name", [name for name in RELATIONS if name not in MAY_BE_BELOW_ZERO])
def test_never_below_zero(name):
    """Quantities that can't be negative are not."""
    function = RELATIONS[name][0]
    for row in rows(name):
        assert all(number >= 0.0 for number in numbers(function(**row))), row


@pytest.mark.parametrize(("name", "parameter", "direction", "span"), MONOTONE)
def test_monotone(name, parameter, direction, span):
    """The value moves the way physics says, step by step, at several places of the other parameters."""
    function, limits = RELATIONS[name]
    low, high = span or limits[parameter]
    for row in rows(name, 6):
        sweep = [{**row, parameter: float(value)} for value in np.linspace(low, high, 200)]
        values = [function(**one) for one in sweep if POSSIBLE.get(name, lambda _: True)(one)]
        steps = np.diff(values) * direction
        assert (steps >= -1e-12 * np.abs(values[:-1])).all(), row
        assert values[-1] == values[0] or (values[-1] - values[0]) * direction > 0.0


def test_the_densest_water_is_at_four_degrees():
    """3.98 °C, as everywhere in print."""
    function = RELATIONS["density_kell_1975"][0]
    degrees = np.linspace(3.0, 5.0, 2001)
    assert degrees[int(np.argmax([function(float(t)) for t in degrees]))] == pytest.approx(3.984, abs=0.01)


@pytest.mark.parametrize(
    "name",
    ["ammonia_unionized_fraction_bell_2008", "ammonia_unionized_fraction_emerson_1975",
     "sulphide_undissociated_fraction_millero_1988"],
)  # fmt: skip
def test_fractions_stay_between_zero_and_one(name):
    """A fraction is one."""
    function = RELATIONS[name][0]
    assert all(0.0 < function(**row) < 1.0 for row in rows(name))
