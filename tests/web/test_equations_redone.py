"""Who has a calculator and the page gets the number: the printed equations hold every constant they need."""

import math

import pytest
from tests.web import shown_lines
from tests.web.calculator import of_text
from tests.web.shown_lines import shown_value, worked_again

SYMBOLS = {
    "do_saturation_benson_krause_1984": "t S p", "ammonia_acute_epa_2013": "t pH",
    "ammonia_acute_trout_epa_2013": "t pH", "ammonia_chronic_epa_2013": "t pH",
    "ammonia_unionized_fraction_bell_2008": "t S pH", "sulphide_undissociated_fraction_millero_1988": "t S pH",
    "lake_number_imberger_patterson_1990": "S_T z_e z_h ρ_h u* A₀ z_v",
    "wedderburn_number_imberger_patterson_1990": "Δρ ρ_h z_e u* L", "friction_factor_churchill_1977": "Re e",
    "reynolds_number_reynolds_1883": "ṁ D μ", "resistance_number_crane_2009": "f L D ΣK",
    "contraction_loss_number_crane_2009": "σ", "expansion_loss_number_borda_1766": "σ",
    "nusselt_number_gnielinski_2013": "Re", "conductivity_us_standard_atmosphere_1976": "T",
    "shape_factor_incropera_2007": "z D", "line_conductance_incropera_2007": "h_i D_i D_o k_p R_o",
    "carbon_from_alkalinity_and_ph": "A pH t", "carbonate_alkalinity_stumm_morgan_1996": "A pH t",
    "density_chen_millero_1986": "t S", "density_kell_1975": "t", "density_clapeyron_1834": "p T",
    "salinity_hill_1986": "C", "buoyancy_frequency_squared_read_2011": "ρ dρ", "friction_velocity_read_2011": "U ρ",
    "pressure_icao_1993": "h", "vapour_pressure_bolton_1980": "t", "viscosity_sutherland_1893": "T",
    "discharge_temperature_mills_2004": "T1 r η", "line_temperature_incropera_2007": "T_0 T_g x L_c",
    "intake_flow_iso_1217_2009": "q_std p_in p_v T_in", "condensate_ashrae_2021": "ṁ_a t_1 φ p_1 t_2 p_2",
    "adiabatic_power_perry_2008": "p1 V1 r", "isothermal_power_perry_2008": "p1 V1 r",
    "stored_energy_crowl_1992": "V p1 pa", "level_at_distance_iso_9613_1996": "L0 r0 r",
    "level_of_several_iso_3744_2010": "L1 n", "distance_of_level_iso_9613_1996": "L0 r0 L",
    "longest_run_nec_2023": "V I R", "cooling_length_incropera_2007": "ṁ UA′", "voltage_drop_nec_2023": "I L R",
    "continuous_current_nec_2023": "I", "motor_current": "P V F", "submerged_mass_archimedes": "m d ρ",
}  # fmt: skip
"""How each printed equation writes the arguments of the line beside it, in their order."""

SOLVED = {"upstream_pressure_isothermal_crane_2009", "downstream_pressure_isothermal_crane_2009"}
"""Printed with the balance that they solve: put back into it below."""


def rows_of(browser, stage, units):
    return browser.get(f"/api/v1/ponds/{browser.pond}/workings/{stage}?units={units}").json()


@pytest.mark.parametrize("units", ["us", "si"])
@pytest.mark.parametrize("stage", ["reading", "air", "layout"])
def test_every_line_comes_out_by_the_equations_that_the_page_prints(shared, monkeypatch, stage, units):
    """Each relation replaced by the text printed beside the line; the lines still come to what is shown."""
    redone = set()
    for row in rows_of(shared, stage, units):
        names = {equation["name"] for equation in row["equations"]}
        if not row["line"] or not names & set(SYMBOLS):
            continue
        for equation in row["equations"]:
            if equation["name"] in SYMBOLS:
                told = of_text(equation["equation"], SYMBOLS[equation["name"]])
                monkeypatch.setitem(
                    shown_lines.SCIENCE, equation["name"], _named_like(equation["name"], told)
                )
        goal, step = shown_value(row["comes_to"])
        assert abs(worked_again(row["line"]) - goal) <= step * (0.5 + 1e-5), (row["key"], row["line"][:300])
        monkeypatch.undo()
        redone |= names & set(SYMBOLS)
    print(f"{stage}, {units}: {len(redone)} equations redone")
    assert len(redone) >= {"reading": 13, "air": 26, "layout": 2}[stage]


@pytest.mark.parametrize("stage", ["survey", "reading", "layout", "air"])
def test_no_equation_on_a_page_is_left_out(shared, stage):
    """Every relation that a page names is redone here, or is a balance that is put back."""
    named = {equation["name"] for row in rows_of(shared, stage, "us") for equation in row["equations"]}
    assert named <= set(SYMBOLS) | SOLVED


@pytest.mark.parametrize("name", sorted(SOLVED))
def test_a_solved_pressure_meets_its_balance(name):
    """p1² − p2² = G² R T (K + 2 ln(p1/p2)), as printed."""
    flow, pressure, resistance, bore, constant, kelvin = 2.3e-3, 1.43e5, 60.0, 0.0209, 287.06, 300.0
    found = shown_lines.SCIENCE[name](flow, pressure, resistance, bore, constant, kelvin)
    high, low = max(found, pressure), min(found, pressure)
    flux = 4.0 * flow / (math.pi * bore**2)
    right = flux**2 * constant * kelvin * (resistance + 2.0 * math.log(high / low))
    assert high**2 - low**2 == pytest.approx(right, rel=1e-9)


def test_an_equation_without_its_constant_is_found():
    """The calculator knows no constant that the text does not hold."""
    with pytest.raises(KeyError, match="pKa"):
        of_text("f = 1/(1 + 10^(pKa − pH))", "t pH")(25.0, 8.0)
    with pytest.raises(KeyError, match="c_p"):
        of_text("L_c = ṁ c_p/UA′", "ṁ UA′")(1e-3, 0.6)


def test_the_calculator_against_published_values():
    """20 °C at 1 atm 9.09 mg/L (Standard Methods 4500-O); 25 °C, pH 8 5.37 % (Emerson et al. 1975)."""
    rows = {name: function for name, function in shown_lines.SCIENCE.items() if name in SYMBOLS}
    text = {name: _equation(function) for name, function in rows.items()}
    oxygen = "do_saturation_benson_krause_1984"
    assert of_text(text[oxygen], SYMBOLS[oxygen])(20.0, 0.0, 101325.0) == pytest.approx(9.092, abs=5e-4)
    ammonia = "ammonia_unionized_fraction_bell_2008"
    assert of_text(text[ammonia], SYMBOLS[ammonia])(25.0, 0.0, 8.0) == pytest.approx(0.05366, abs=5e-6)


def _equation(function):
    from plumeline.workings.formulas import Relation

    return Relation(function, "").equation


def _named_like(name, told):
    """Return a function with the arguments' names of the science, that works by the printed text."""
    import inspect

    signature = inspect.signature(shown_lines.SCIENCE[name])

    def function(*arguments):
        return told(*arguments)

    function.__signature__ = signature
    return function
