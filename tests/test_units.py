"""The units of the trade: every spelling, both systems, what is refused, and pint as an outside judge.

pint's own reading of the trade's texts is not used, for it has traps (seen with pint 0.25.3): it reads
"1.3 cfm" as 1.3 centifermi (1.3e-17 m), "2,5 m" as 25 m, "12 ft 6 in" as 72 foot-inches, "5 F" as farads, and
"8 psig" not at all. It is asked only for the sizes of units, under its own names.
"""

from __future__ import annotations

import math

import pint
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from plumeline.errors import UnitError
from plumeline.units import (
    SUFFIXES,
    UNITS,
    AirFlow,
    Unit,
    as_number,
    column_factor,
    convert,
    echo,
    half_band,
    not_negative,
    parse,
    parse_air,
    plain,
    positive,
    show,
    show_air,
    split_header,
)

REGISTRY = pint.UnitRegistry()
FEW = settings(max_examples=12)

PINT_NAMES = {
    "m": "m", "mm": "mm", "cm": "cm", "km": "km", "um": "um", "ft": "foot", "in": "inch", "yd": "yard",
    "mi": "mile", "m2": "m**2", "cm2": "cm**2", "mm2": "mm**2", "ha": "hectare", "km2": "km**2",
    "ft2": "foot**2", "in2": "inch**2", "yd2": "yard**2", "m3": "m**3", "l": "liter", "ml": "milliliter",
    "gal": "US_liquid_gallon", "mgal": "1e6 * US_liquid_gallon", "ft3": "foot**3", "yd3": "yard**3",
    "degc": "degC", "k": "kelvin", "degf": "degF", "pa": "pascal", "kpa": "kilopascal", "mpa": "megapascal",
    "hpa": "hectopascal", "mbar": "millibar", "bar": "bar", "atm": "atm", "mmhg": "mmHg", "inhg": "inHg",
    "psi": "psi", "m_h2o": "100 * cmH2O", "in_h2o": "2.54 * cmH2O", "ft_h2o": "30.48 * cmH2O",
    "m3_s": "m**3/s", "m3_h": "m**3/hour", "m3_d": "m**3/day", "l_s": "liter/s", "l_min": "liter/minute",
    "gpm": "US_liquid_gallon/minute", "gal_d": "US_liquid_gallon/day",
    "mgal_d": "1e6 * US_liquid_gallon/day", "ft3_s": "foot**3/s",
    "m_s": "m/s", "m_h": "m/hour", "m_d": "m/day", "cm_s": "cm/s", "cm_h": "cm/hour", "km_h": "km/hour",
    "ft_s": "foot/s", "mph": "mile/hour", "kn": "knot", "mg_l": "mg/liter", "g_m3": "g/m**3",
    "ug_l": "ug/liter", "us_cm": "microsiemens/cm", "ms_cm": "millisiemens/cm", "w": "watt",
    "kw": "kilowatt", "hp": "horsepower", "v": "volt", "kv": "kilovolt", "a": "ampere", "ma": "milliampere",
    "w_m2": "watt/m**2", "s": "s", "min": "minute", "h": "hour", "d": "day", "week": "week", "kg": "kg",
    "g": "g", "lb": "pound", "oz": "ounce", "kg_s": "kg/s", "kg_m3": "kg/m**3",
}  # fmt: skip

SPELLED = [(unit, spelling) for unit in UNITS for spelling in unit.spellings]
KINDS = sorted({unit.kind for unit in UNITS})


def of_kind(kind: str) -> list[Unit]:
    """Return the units of one kind."""
    return [unit for unit in UNITS if unit.kind == kind]


def gauge_for(unit: Unit) -> bool | None:
    """Return the sort of pressure in which a unit may be read."""
    return {"gauge": True, "absolute": False, "": None}[unit.mark]


def written(number: float, spelling: str) -> str:
    """Return a number with its unit, as a person would write it."""
    return f"{number!r} {spelling}"


@pytest.mark.parametrize(("unit", "spelling"), SPELLED, ids=lambda item: getattr(item, "suffix", item))
@FEW
@given(number=st.floats(min_value=1e-3, max_value=1e5))
def test_every_spelling_reads_as_its_unit_in_every_suffix_of_its_kind(unit, spelling, number):
    """A number with any spelling of a unit, read into any suffix of that kind, agrees with `convert`."""
    text = written(number, spelling)
    for goal in of_kind(unit.kind):
        value = parse(text, goal.suffix, gauge=gauge_for(unit))
        assert value == pytest.approx(convert(number, unit.suffix, goal.suffix), rel=1e-12, abs=1e-12)


@pytest.mark.parametrize("suffix", sorted(SUFFIXES))
@FEW
@given(number=st.floats(min_value=-200, max_value=1e6))
def test_convert_there_and_back_is_the_same_number(suffix, number):
    """A number taken to another unit of its kind and back is itself."""
    for other in of_kind(SUFFIXES[suffix].kind):
        back = convert(convert(number, suffix, other.suffix), other.suffix, suffix)
        assert back == pytest.approx(number, rel=1e-12, abs=1e-9)


@pytest.mark.parametrize("system", ["us", "si"])
@pytest.mark.parametrize("suffix", sorted(SUFFIXES))
@FEW
@given(number=st.floats(min_value=1e-3, max_value=1e6))
def test_what_is_shown_reads_back_within_what_was_shown(suffix, system, number):
    """A shown text, read back, is the number within half a unit of its last figure (5 parts in 1000)."""
    assume(SUFFIXES[suffix].kind != "temperature" or convert(number, suffix, "degc") > -273.0)
    text = show(number, suffix, system, gauge=None)
    back = parse(text, suffix, gauge=None)
    rounding = {
        "length": 0.0128 / SUFFIXES[suffix].scale,
        "temperature": 0.051 / SUFFIXES[suffix].scale,
        "concentration": 0.0051 / SUFFIXES[suffix].scale,
        "angle": 5.1e-6,
    }
    assert back == pytest.approx(number, rel=5.1e-3, abs=rounding.get(SUFFIXES[suffix].kind, 0.0))


@pytest.mark.parametrize("suffix", sorted(PINT_NAMES))
@FEW
@given(number=st.floats(min_value=-100, max_value=1e4))
def test_the_size_of_every_unit_agrees_with_pint(suffix, number):
    """Conversion to the SI unit of the kind agrees with the pint library; its mercury is rounded (1e-6)."""
    base = of_kind(SUFFIXES[suffix].kind)[0].suffix
    if SUFFIXES[suffix].kind == "temperature":
        expected = REGISTRY.Quantity(number, PINT_NAMES[suffix]).to("degC").magnitude
    else:
        size = REGISTRY.parse_expression(PINT_NAMES[suffix]).to(PINT_NAMES[base])
        expected = number * size.magnitude
    assert convert(number, suffix, base) == pytest.approx(expected, rel=2e-6, abs=1e-9)


def test_units_without_a_pint_name_are_known_by_hand():
    """Units that pint lacks or sizes otherwise: gauge marks, prices, shares, international acre and cfm."""
    unnamed = set(SUFFIXES) - set(PINT_NAMES)
    assert unnamed == {
        "acre", "acre_ft", "acre_ft_d", "psig", "psia", "kpag", "kpaa", "barg", "bara", "g_kg", "per_d",
        "per_day", "per_h", "dba", "deg", "fraction", "pct", "per_mille", "each", "per_kwh", "cents_per_kwh",
        "per_m", "per_ft", "per_month",
    }  # fmt: skip
    # NIST SP 811, appendix B.8: acre 4.046 873e3 m² and acre-foot 1.233 489e3 m³ (both of the survey
    # foot, which is 2e-6 longer; the international foot is in use since 2023); psi 6.894 757e3 Pa.
    assert convert(1.0, "acre", "m2") == pytest.approx(4046.873, rel=5e-6)
    assert convert(1.0, "acre_ft", "m3") == pytest.approx(1233.489, rel=7e-6)
    assert convert(1.0, "psig", "pa") == pytest.approx(6894.757, rel=1e-7)


@pytest.mark.parametrize(
    ("text", "suffix", "value"),
    [
        ("12 ft 6 in", "m", 150 * 0.0254),
        ("12' 6\"", "m", 150 * 0.0254),
        ("12′6″", "m", 150 * 0.0254),
        ("12’ 6”", "m", 150 * 0.0254),
        ("12'-6\"", "m", 150 * 0.0254),
        ("12' 6", "m", 150 * 0.0254),
        ("5' 6 1/2\"", "m", 66.5 * 0.0254),
        ("5 ft 6½ in", "m", 66.5 * 0.0254),
        ("3/4 in", "m", 0.75 * 0.0254),
        ("1 1/2 in", "m", 1.5 * 0.0254),
        ("1-1/2 in", "m", 1.5 * 0.0254),
        ("1½ in", "m", 1.5 * 0.0254),
        ("¾\"", "m", 0.75 * 0.0254),
        ("-3 ft", "m", -0.9144),
        ("−2 m", "m", -2.0),
        ("1 mi 100 yd", "m", 1609.344 + 91.44),
        ("680FT", "m", 207.264),
        ("3.81", "m", 3.81),
        ("1.6 acres", "m2", 1.6 * 4046.8564224),
        ("10 sq. ft.", "m2", 10 * 0.09290304),
        ("5.4 ac-ft", "m3", 5.4 * 1233.48183754752),
        ("5.4 acre feet", "m3", 5.4 * 1233.48183754752),
        ("100 gal (US)", "m3", 0.3785411784),
        ("72 degF", "degc", 200 / 9),
        ("72°F", "degc", 200 / 9),
        ("-40 F", "degc", -40.0),
        ("300 K", "degc", 26.85),
        ("29.1 inHg", "pa", 29.1 * 3386.389),
        ("29.92 in. Hg", "pa", 101320.8),
        ("3 ft H2O", "pa", 3 * 2989.067),
        ("2 Mgal/d", "m3_s", 0.0876253),
        ("2 MGD", "m3_s", 0.0876253),
        ("100 gal/min", "m3_s", 0.00630902),
        ("3.5 mg / L", "mg_l", 3.5),
        ("250 ug/L", "mg_l", 0.25),
        ("0.3 mS/cm", "us_cm", 300.0),
        ("1/2 hp", "w", 372.85),
        ("1 h 30 min", "s", 5400.0),
        ("1h30min", "h", 1.5),
        ("9d", "d", 9.0),
        ("2 weeks", "d", 14.0),
        ("5 lb 8 oz", "kg", 5.5 * 0.45359237),
        ("35° 12' 30\" N", "deg", 35.208333333333336),
        ("80° 51.5' W", "deg", -80.85833333333333),
        ("W 80.85", "deg", -80.85),
        ("-80.85", "deg", -80.85),
        ("42 %", "fraction", 0.42),
        ("0.42", "fraction", 0.42),
        ("$0.14/kWh", "per_kwh", 0.14),
        ("14 cents/kWh", "per_kwh", 0.14),
        ("0.14 EUR/kWh", "per_kwh", 0.14),
        ("12 /ft", "per_m", 12 / 0.3048),
        ("$120 each", "each", 120.0),
        ("2,5 m", "m", 2.5),
        ("0,125 in", "m", 0.125 * 0.0254),
        ("1,200.5 ft", "m", 1200.5 * 0.3048),
        ("1.200,5 m", "m", 1200.5),
        ("1,200,000 gal", "m3", 1.2e6 * 0.003785411784),
        (5, "m", 5.0),
        (2.5, "degc", 2.5),
    ],
)  # fmt: skip
def test_the_texts_of_the_trade_are_read(text, suffix, value):
    """Each text means its value; sizes by NIST Special Publication 811, appendix B."""
    assert parse(text, suffix) == pytest.approx(value, rel=2e-6)


@pytest.mark.parametrize(
    ("text", "suffix", "says"),
    [
        ("8 psig", "m", "is a pressure; a length is wanted"),
        ("12 ft", "m2", "is a length; an area is wanted"),
        ("1.3 scfm", "m3_s", "flow of air"),
        ("72 deg", "degc", "is an angle; a temperature is wanted"),
        ("8 furlong", "m", "no unit that is known"),
        ("12 parsecs", "m", "no unit that is known here. Write it in m,"),
        ("8 feeet", "m", "Did you mean feet"),
        ("3 mgl", "mg_l", "Did you mean mg/L"),
        ("1,200 ft", "m", "Write 1200 or 1.200"),
        ("12,34,567 ft", "m", "not a number"),
        ("1.2.3 m", "m", "not a number"),
        ("1 200 ft", "m", "two numbers"),
        ("1/0 in", "m", "zero"),
        ("12 ft 14 in", "m", "not less than one ft"),
        ("6 in 3 ft", "m", "large to small"),
        ("1.5 ft 6 in", "m", "part of a ft"),
        ("5 ML", "m3", "no unit that is known"),
        ("5 mPa", "pa", "no unit that is known"),
        ("-500 degF", "degc", "absolute zero"),
        ("35° 72' N", "deg", "less than 60"),
        ("-35 S", "deg", "sign and a direction"),
        ("", "m", "no value"),
        ("   ", "m", "no value"),
        ("ft", "m", "start with a number"),
        ("nan", "m", "start with a number"),
        ("inf ft", "m", "start with a number"),
        ("1e999 ft", "m", "too large"),
        ("1e308 km", "m", "too large"),
        ("12 ft", "parsec", "name of no unit"),
        (math.nan, "m", "not a number"),
        (math.inf, "m", "not a number"),
        (True, "m", "not a number"),
    ],
)
def test_what_cannot_be_read_in_one_way_is_refused_with_the_way_out(text, suffix, says):
    """Unknown units, wrong kinds, ambiguous commas and non-numbers raise an error that says which it is."""
    with pytest.raises(UnitError) as caught:
        parse(text, suffix)
    assert says in str(caught.value)


@given(text=st.text(max_size=24), suffix=st.sampled_from(sorted(SUFFIXES)))
def test_no_text_at_all_makes_any_other_error(text, suffix):
    """Any text gives a finite number or a UnitError."""
    try:
        value = parse(text, suffix)
    except UnitError:
        return
    assert math.isfinite(value)


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("27\u202f739 m", 27739.0), ("27\u2009739 m", 27739.0), ("27\u00a0739 m", 27739.0),
        ("-27\u202f739 m", -27739.0),
        ("1\u202f234\u202f567.25 m", 1234567.25), ("27\u202f739,5 m", 27739.5),
        ("1\u202f250/300 m", 1.0 + 250.0 / 300.0),
    ],
)  # fmt: skip
def test_thousands_parted_by_a_space_that_no_key_types_are_one_number(text, number):
    """As a shown number has them (ISO 80000-1, 7.3.1: a small space, neither point nor comma)."""
    assert parse(text, "m") == pytest.approx(number, rel=1e-12)


@pytest.mark.parametrize(
    "text", ["27 739 m", "27\u202f7390 m", "27\u202f73 m", "0\u202f739 m", "2773\u202f900 m"]
)
def test_other_groups_are_refused(text):
    """A plain space may stand between two numbers; groups that are not of three are a slip."""
    with pytest.raises(UnitError, match="two numbers"):
        parse(text, "m")


@FEW
@given(number=st.floats(min_value=1e4, max_value=1e9), digits=st.integers(0, 3))
def test_a_number_with_its_thousands_parted_reads_back(number, digits):
    """Whatever the count of figures and decimals, by the machine's own reader of numbers."""
    text = plain(number, digits)
    assert parse(f"{text} m", "m") == float(f"{number:.{digits}f}")


@pytest.mark.parametrize(
    ("half", "system", "text"),
    [
        (0.3048, "si", "0.30 m"), (0.3048, "us", "1 ft"), (0.0127, "us", "0.50 in"), (0.0127, "si", "13 mm"),
        (1.2345, "si", "1.2 m"), (45.6, "si", "46 m"),
    ],
)  # fmt: skip
def test_half_a_band_is_shown_to_two_figures(half, system, text):
    """GUM (JCGM 100:2008), 7.2.6: two figures of an uncertainty are usually enough."""
    assert half_band(half, "m", system) == text


@given(whole=st.integers(1, 999), thousandths=st.integers(0, 999))
def test_a_comma_never_changes_a_number_a_thousandfold(whole, thousandths):
    """ "2,5 m" is never 25 m, and "1,200 m" is neither 1200 nor 1.2 without a question."""
    text = f"{whole},{thousandths:03d} m"
    with pytest.raises(UnitError, match="can be read as"):
        parse(text, "m")
    for digits in (f"{thousandths:03d}"[:1], f"{thousandths:03d}"[:2]):
        assert parse(f"{whole},{digits} m", "m") == float(f"{whole}.{digits}")


@pytest.mark.parametrize(
    ("text", "gauge", "fine"),
    [
        ("8 psig", True, True), ("8 psi", True, True), ("8 psia", True, False), ("8 psig", False, False),
        ("8 psi", False, True), ("22.7 psia", False, True), ("0.5 psi", None, True),
        ("0.5 psig", None, False),
        ("0.5 bar(g)", True, True), ("50 kPa absolute", True, False),
    ],
)  # fmt: skip
def test_gauge_and_absolute_pressures_are_kept_apart(text, gauge, fine):
    """A text that says gauge where absolute is wanted is refused, and the other way round; psi goes along."""
    if fine:
        assert parse(text, "pa", gauge=gauge) > 0
    else:
        with pytest.raises(UnitError, match="pressure"):
            parse(text, "pa", gauge=gauge)


@pytest.mark.parametrize(
    ("text", "flow_m3_s", "basis"),
    [
        ("1.3 scfm", 1.3 * 4.71947443e-4, "standard"),
        ("1.3 SCFM", 1.3 * 4.71947443e-4, "standard"),
        ("4.5 cfm", 4.5 * 4.71947443e-4, "intake"),
        ("4.5 icfm", 4.5 * 4.71947443e-4, "intake"),
        ("4.5 acfm", 4.5 * 4.71947443e-4, "intake"),
        ("2.2 Nm3/h", 2.2 / 3600, "normal"),
        ("60 L/min", 1e-3, "standard"),
        ("3.6 m³/h", 1e-3, "standard"),
        ("0.001 m3/s", 1e-3, "standard"),
        ("0.001", 1e-3, "standard"),
    ],
)
def test_flows_of_air_carry_their_basis(text, flow_m3_s, basis):
    """A flow of air keeps at what conditions it is counted (1 ft³ = 0.0283168466 m³, NIST SP 811)."""
    found = parse_air(text)
    assert found.basis == basis
    assert found.flow_m3_s == pytest.approx(flow_m3_s, rel=1e-8)


def test_an_intake_flow_becomes_the_standard_flow_of_the_reference():
    """4.5 icfm at 95 °F, sea level, dry is 4.281 scfm, and at 5000 ft, 70 °F 3.730 scfm (flow-unit table)."""
    flow = parse_air("4.5 icfm")
    psi_pa = 6894.757293168
    sea = flow.standard_m3_s(14.696 * psi_pa, 35.0) / 4.71947443e-4
    high = flow.standard_m3_s(12.228 * psi_pa, (70 - 32) / 1.8) / 4.71947443e-4
    assert sea == pytest.approx(4.281, abs=5e-4)
    assert high == pytest.approx(3.730, abs=1.5e-3)


def test_a_normal_cubic_metre_holds_the_air_of_1_0735_standard_ones():
    """0 °C against 68 °F at one atmosphere: volumes go as absolute temperatures (Gay-Lussac)."""
    assert AirFlow(1.0, "normal").standard_m3_s() == pytest.approx(293.15 / 273.15, rel=1e-5)


def test_an_intake_flow_without_its_conditions_is_refused():
    """Litres that a compressor swallows say nothing about mass until pressure and temperature are known."""
    with pytest.raises(UnitError, match="intake"):
        AirFlow(1.0, "intake").standard_m3_s()


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("-1 scfm", "below zero"), ("5 gpm", "flow of water"), ("5 psi", "is a pressure; a flow of air"),
        ("5 scfn", "Did you mean scfm"), ("", "no value"), ("nan", "number"), (-1.0, "below zero"),
        (math.nan, "not a number"),
    ],
)  # fmt: skip
def test_what_is_no_flow_of_air_is_refused(text, says):
    """Flows of water, pressures, negative and missing flows raise an error."""
    with pytest.raises(UnitError, match=says):
        parse_air(text)


@given(flow=st.floats(min_value=1e-5, max_value=1.0), system=st.sampled_from(["us", "si"]))
def test_a_shown_flow_of_air_reads_back(flow, system):
    """A shown standard flow of air, read back, is itself within its three figures."""
    found = parse_air(show_air(flow, system))
    assert found.basis == "standard"
    assert found.flow_m3_s == pytest.approx(flow, rel=5.1e-3)


@pytest.mark.parametrize(
    ("value", "suffix", "system", "text"),
    [
        (3.81, "m", "us", "12 ft 6 in"), (131.064, "m", "us", "430 ft"), (0.0209296, "m", "us", "0.824 in"),
        (0.0209296, "m", "si", "20.9 mm"), (-0.9144, "m", "us", "-3 ft"), (6474.97, "m2", "us", "1.60 acre"),
        (6474.97, "m2", "si", "6475 m²"), (13568.3, "m3", "us", "11.0 acre-ft"),
        (0.378541, "m3", "us", "100 gal"),
        (0.0876253, "m3_s", "us", "1389 gpm"), (0.00630902, "m3_s", "us", "100 gpm"),
        (0.0876253, "m3_s", "si", "87.6 L/s"), (105.0, "m3", "us", "27\u202f738 gal"), (9999.0, "m3", "si", "9999 m³"),
        (1234567.0, "m3", "si", "1\u202f234\u202f567 m³"),
        (41368.5, "pa", "us", "6.00 psig"), (41368.5, "pa", "si", "41.4 kPa gauge"),
        (28.0, "degc", "us", "82.4 °F"),
        (900.0, "s", "us", "15 min"), (0.42, "fraction", "us", "42 %"), (8.263, "mg_l", "us", "8.26 mg/L"),
    ],
)  # fmt: skip
def test_values_are_shown_as_the_trade_writes_them(value, suffix, system, text):
    """Feet and inches, acres, acre-feet, gpm, psig and °F in US; metric in SI; thousands parted from 10,000 on."""
    assert show(value, suffix, system) == text


def test_digits_ask_for_decimal_feet():
    """With a number of digits, a length is in decimal feet."""
    assert show(3.81, "m", "us", digits=1) == "12.5 ft"


@pytest.mark.parametrize(
    ("text", "suffix", "echoed"),
    [
        ("12 ft 6 in", "m", "12 ft 6 in = 3.81 m"), ("680 ft", "m", "680 ft = 207 m"),
        ("3.81 m", "m", "3.81 m = 12 ft 6 in"), ("3.81", "m", "3.81 m = 12 ft 6 in"),
        ("72 degF", "degc", "72 degF = 22.2 °C"), ("3.5 mg/L", "mg_l", "3.5 mg/L"), ("15 min", "h", "15 min"),
    ],
)  # fmt: skip
def test_what_was_understood_is_said_in_the_other_system(text, suffix, echoed):
    """US texts are answered in SI, SI texts in US units, and a bare number gets the unit it was given."""
    assert echo(text, suffix) == echoed


@pytest.mark.parametrize(
    ("header", "name", "suffix"),
    [
        ("depth_ft", "depth", "ft"), ("do_mg_l", "do", "mg_l"), ("after_15min_mg_l", "after_15min", "mg_l"),
        ("air_temperature_degc", "air_temperature", "degc"), ("shortwave_w_m2", "shortwave", "w_m2"),
        ("relative_humidity_pct", "relative_humidity", "pct"), ("Depth (ft)", "depth", "ft"),
        ("Temp [°F]", "temp", "degf"), ("\ufeffx_m", "x", "m"), ("time", "time", ""), ("lon", "lon", ""),
        ("ph", "ph", ""), ("bottom_do_mg_l", "bottom_do", "mg_l"),
    ],
)  # fmt: skip
def test_headers_split_into_name_and_unit(header, name, suffix):
    """The longest known ending is the unit; a unit in brackets is known by any of its spellings."""
    assert split_header(header) == (name, suffix)


def test_a_column_in_feet_is_turned_to_metres_by_a_factor():
    """Whole columns convert by factor and offset: 0.3048 exactly, and 32 °F is 0 °C."""
    assert column_factor("ft", "m") == (0.3048, 0.0)
    factor, offset = column_factor("degf", "degc")
    assert 32.0 * factor + offset == pytest.approx(0.0, abs=1e-12)
    with pytest.raises(UnitError, match="is a pressure"):
        column_factor("psi", "m")


def test_helpers_refuse_numbers_below_zero_and_non_numbers():
    """`not_negative` lets zero pass, `positive` does not, `as_number` refuses NaN."""
    assert not_negative(0.0, "0 scfm", "a flow") == 0.0
    with pytest.raises(UnitError, match="below zero"):
        not_negative(-1.0, "-1 scfm", "a flow")
    with pytest.raises(UnitError, match="not above zero"):
        positive(0.0, "0 ft", "a depth")
    with pytest.raises(UnitError, match="not a number"):
        as_number(math.nan)


def test_no_spelling_means_two_units_of_one_kind():
    """Within a kind every spelling, whatever its case, has one meaning."""
    for kind in KINDS:
        seen: dict[str, str] = {}
        for unit in of_kind(kind):
            for spelling in unit.spellings:
                assert seen.setdefault(spelling.casefold(), unit.suffix) == unit.suffix
