"""The closed table of units: what each is called in a name's ending, how people write it, and its size in SI.

Sizes: the international foot and pound, the US liquid gallon and the conventional millimetre of mercury and
inch of water are exact by definition (NIST Special Publication 811, appendix B).
"""

from __future__ import annotations

from dataclasses import dataclass

FOOT_M = 0.3048
INCH_M = 0.0254
GALLON_M3 = 231 * INCH_M**3
ACRE_M2 = 43560 * FOOT_M**2
POUND_KG = 0.45359237
PSI_PA = POUND_KG * 9.80665 / INCH_M**2
MERCURY_PA_M = 133.322387415e3
WATER_PA_M = 9806.65
HORSEPOWER_W = 550 * FOOT_M * POUND_KG * 9.80665
DAY_S = 86400.0


@dataclass(frozen=True)
class Unit:
    """One unit.

    Attributes:
        suffix: its name as the ending of a field (``ft``, ``m3_s``).
        kind: what it measures, in words.
        scale: its size in the SI unit of its kind (the first unit of the kind in the table).
        spellings: how people write it; the first is how Plumeline writes it.
        offset: added after scaling, for temperatures.
        metric: whether it belongs to the SI side of the house.
        mark: ``gauge`` or ``absolute`` for the pressures that say so, else empty.
    """

    suffix: str
    kind: str
    scale: float
    spellings: tuple[str, ...]
    offset: float = 0.0
    metric: bool = True
    mark: str = ""


def _us(suffix: str, kind: str, scale: float, *spellings: str, mark: str = "") -> Unit:
    """Return a unit of the US side."""
    return Unit(suffix, kind, scale, spellings, metric=False, mark=mark)


def _si(suffix: str, kind: str, scale: float, *spellings: str, mark: str = "") -> Unit:
    """Return a unit of the SI side."""
    return Unit(suffix, kind, scale, spellings, mark=mark)


LENGTHS = (
    _si("m", "length", 1.0, "m", "metre", "metres", "meter", "meters"),
    _si("mm", "length", 1e-3, "mm", "millimetre", "millimetres", "millimeter", "millimeters"),
    _si("cm", "length", 1e-2, "cm", "centimetre", "centimetres", "centimeter", "centimeters"),
    _si("km", "length", 1e3, "km", "kilometre", "kilometres", "kilometer", "kilometers"),
    _si("um", "length", 1e-6, "µm", "micron", "microns"),
    _us("ft", "length", FOOT_M, "ft", "foot", "feet", "'"),
    _us("in", "length", INCH_M, "in", "inch", "inches", '"', "''"),
    _us("yd", "length", 3 * FOOT_M, "yd", "yard", "yards"),
    _us("mi", "length", 5280 * FOOT_M, "mi", "mile", "miles"),
)

AREAS = (
    _si("m2", "area", 1.0, "m²", "sq m", "square metre", "square metres", "square meter", "square meters"),
    _si("cm2", "area", 1e-4, "cm²", "sq cm"),
    _si("mm2", "area", 1e-6, "mm²", "sq mm"),
    _si("ha", "area", 1e4, "ha", "hectare", "hectares"),
    _si("km2", "area", 1e6, "km²", "sq km"),
    _us("acre", "area", ACRE_M2, "acre", "acres", "ac"),
    _us("ft2", "area", FOOT_M**2, "ft²", "sq ft", "sqft", "square foot", "square feet"),
    _us("in2", "area", INCH_M**2, "in²", "sq in"),
    _us("yd2", "area", (3 * FOOT_M) ** 2, "yd²", "sq yd"),
)

VOLUMES = (
    _si("m3", "volume", 1.0, "m³", "cu m", "cubic metre", "cubic metres", "cubic meter", "cubic meters"),
    _si("l", "volume", 1e-3, "L", "litre", "litres", "liter", "liters"),
    _si("ml", "volume", 1e-6, "mL", "millilitre", "millilitres", "milliliter", "milliliters"),
    _us("gal", "volume", GALLON_M3, "gal", "gallon", "gallons", "US gal", "gal (US)", "gallons (US)"),
    _us("mgal", "volume", 1e6 * GALLON_M3, "Mgal", "million gallons", "million gal"),
    _us("ft3", "volume", FOOT_M**3, "ft³", "cu ft", "cubic foot", "cubic feet"),
    _us("yd3", "volume", (3 * FOOT_M) ** 3, "yd³", "cu yd", "cubic yards"),
    _us(
        "acre_ft", "volume", ACRE_M2 * FOOT_M,
        "acre-ft", "acre-feet", "acre-foot", "ac-ft", "acft", "acre ft", "acre feet", "acre foot", "ac ft",
    ),
)  # fmt: skip

TEMPERATURES = (
    Unit("degc", "temperature", 1.0, ("°C", "degC", "deg C", "C", "celsius")),
    Unit("k", "temperature", 1.0, ("K", "kelvin"), offset=-273.15),
    Unit(
        "degf", "temperature", 5.0 / 9.0, ("°F", "degF", "deg F", "F", "fahrenheit"),
        offset=-160.0 / 9.0, metric=False,
    ),
)  # fmt: skip

PRESSURES = (
    _si("pa", "pressure", 1.0, "Pa", "pascal", "pascals"),
    _si("kpa", "pressure", 1e3, "kPa"),
    _si("mpa", "pressure", 1e6, "MPa"),
    _si("hpa", "pressure", 1e2, "hPa"),
    _si("mbar", "pressure", 1e2, "mbar", "millibar", "millibars", "mb"),
    _si("bar", "pressure", 1e5, "bar", "bars"),
    _si("atm", "pressure", 101325.0, "atm", "atmosphere", "atmospheres"),
    _si("mmhg", "pressure", 1e-3 * MERCURY_PA_M, "mmHg", "mm Hg", "mm of mercury"),
    _si("m_h2o", "pressure", WATER_PA_M, "mH2O", "m H2O", "m of water"),
    _us("inhg", "pressure", INCH_M * MERCURY_PA_M, "inHg", "in Hg", "in. Hg", '"Hg', "inches of mercury"),
    _us("in_h2o", "pressure", INCH_M * WATER_PA_M, "inH2O", "in H2O", '"H2O', "in WC", "inches of water"),
    _us("ft_h2o", "pressure", FOOT_M * WATER_PA_M, "ftH2O", "ft H2O", "ft of water", "feet of water"),
    _us("psi", "pressure", PSI_PA, "psi", "lb/in2", "lbf/in2"),
    _us("psig", "pressure", PSI_PA, "psig", "psi gauge", "psi g", "psi (gauge)", mark="gauge"),
    _us("psia", "pressure", PSI_PA, "psia", "psi absolute", "psi a", "psi (absolute)", mark="absolute"),
    _si("kpag", "pressure", 1e3, "kPa gauge", "kPag", "kPa(g)", mark="gauge"),
    _si("kpaa", "pressure", 1e3, "kPa absolute", "kPaa", "kPa(a)", mark="absolute"),
    _si("barg", "pressure", 1e5, "barg", "bar gauge", "bar(g)", mark="gauge"),
    _si("bara", "pressure", 1e5, "bara", "bar absolute", "bar(a)", mark="absolute"),
)

WATER_FLOWS = (
    _si("m3_s", "water flow", 1.0, "m³/s", "cubic metres per second", "cubic meters per second"),
    _si("m3_h", "water flow", 1 / 3600, "m³/h", "m³/hr"),
    _si("m3_d", "water flow", 1 / DAY_S, "m³/d", "m³/day"),
    _si("l_s", "water flow", 1e-3, "L/s"),
    _si("l_min", "water flow", 1e-3 / 60, "L/min", "lpm"),
    _us("gpm", "water flow", GALLON_M3 / 60, "gpm", "gal/min", "gallons per minute"),
    _us("gal_d", "water flow", GALLON_M3 / DAY_S, "gal/d", "gal/day", "gpd", "gallons per day"),
    _us(
        "mgal_d", "water flow", 1e6 * GALLON_M3 / DAY_S,
        "Mgal/d", "Mgal/day", "MGD", "million gallons per day", "million gal/day", "million gal/d",
    ),
    _us("ft3_s", "water flow", FOOT_M**3, "ft³/s", "cu ft/s", "cfs"),
    _us(
        "acre_ft_d", "water flow", ACRE_M2 * FOOT_M / DAY_S,
        "acre-ft/d", "acre-ft/day", "acre-feet/day", "ac-ft/d",
    ),
)  # fmt: skip

SPEEDS = (
    _si("m_s", "speed", 1.0, "m/s", "metres per second", "meters per second"),
    _si("m_h", "speed", 1 / 3600, "m/h"),
    _si("m_d", "speed", 1 / DAY_S, "m/d", "m/day"),
    _si("cm_s", "speed", 1e-2, "cm/s"),
    _si("cm_h", "speed", 1e-2 / 3600, "cm/h"),
    _si("km_h", "speed", 1 / 3.6, "km/h", "kph", "kmh"),
    _us("ft_s", "speed", FOOT_M, "ft/s", "fps", "ft/sec", "feet per second"),
    _us("mph", "speed", 5280 * FOOT_M / 3600, "mph", "mi/h", "miles per hour"),
    _us("kn", "speed", 1852 / 3600, "kn", "kt", "kts", "knot", "knots"),
)

WATER_QUALITY = (
    _si("mg_l", "concentration", 1.0, "mg/L", "ppm", "milligrams per litre", "milligrams per liter"),
    _si("g_m3", "concentration", 1.0, "g/m³"),
    _si("ug_l", "concentration", 1e-3, "µg/L", "ppb", "micrograms per litre", "micrograms per liter"),
    _si("us_cm", "conductivity", 1.0, "µS/cm", "umho/cm"),
    _si("ms_cm", "conductivity", 1e3, "mS/cm"),
    _si("g_kg", "salinity", 1.0, "g/kg", "ppt", "psu", "‰"),
)

ELECTRIC = (
    _si("w", "power", 1.0, "W", "watt", "watts"),
    _si("kw", "power", 1e3, "kW", "kilowatt", "kilowatts"),
    _us("hp", "power", HORSEPOWER_W, "hp", "horsepower"),
    _si("v", "voltage", 1.0, "V", "volt", "volts", "VAC", "V AC"),
    _si("kv", "voltage", 1e3, "kV"),
    _si("a", "current", 1.0, "A", "amp", "amps", "ampere", "amperes"),
    _si("ma", "current", 1e-3, "mA"),
    _si("w_m2", "radiation", 1.0, "W/m²"),
    _si("dba", "sound level", 1.0, "dB(A)", "dBA", "dB A"),
)

TIMES = (
    _si("s", "duration", 1.0, "s", "sec", "secs", "second", "seconds"),
    _si("min", "duration", 60.0, "min", "mins", "minute", "minutes"),
    _si("h", "duration", 3600.0, "h", "hr", "hrs", "hour", "hours"),
    _si("d", "duration", DAY_S, "d", "day", "days"),
    _si("week", "duration", 7 * DAY_S, "week", "weeks", "wk"),
    _si("per_d", "rate", 1.0, "per day", "/d", "/day", "per d"),
    _si("per_day", "rate", 1.0, "times a day", "times per day"),
    _si("per_h", "rate", 24.0, "per hour", "/h", "/hr", "per h"),
)

MASSES = (
    _si("kg", "mass", 1.0, "kg", "kilogram", "kilograms"),
    _si("g", "mass", 1e-3, "g", "gram", "grams"),
    _us("lb", "mass", POUND_KG, "lb", "lbs", "pound", "pounds"),
    _us("oz", "mass", POUND_KG / 16, "oz", "ounce", "ounces"),
    _si("kg_s", "mass flow", 1.0, "kg/s"),
    _si("kg_m3", "density", 1.0, "kg/m³"),
)

PLAIN = (
    _si("deg", "angle", 1.0, "°", "deg", "degree", "degrees"),
    _si("fraction", "fraction", 1.0, "as a fraction"),
    _si("pct", "fraction", 1e-2, "%", "percent", "pct", "per cent"),
    _si("per_mille", "fraction", 1e-3, "per mille"),
)

PRICES = (
    _si("each", "price", 1.0, "each", "a piece", "apiece"),
    _si("per_kwh", "price of energy", 1.0, "/kWh", "per kWh", "a kWh"),
    _si("cents_per_kwh", "price of energy", 1e-2, "cents/kWh", "ct/kWh", "cents per kWh", "c/kWh", "¢/kWh"),
    _si("per_m", "price by length", 1.0, "/m", "per m", "a metre", "a meter", "per metre", "per meter"),
    _si("per_month", "price by time", 1.0, "/month", "per month", "a month"),
    _us("per_ft", "price by length", 1 / FOOT_M, "/ft", "per ft", "a foot", "per foot"),
)

UNITS: tuple[Unit, ...] = (
    *LENGTHS, *AREAS, *VOLUMES, *TEMPERATURES, *PRESSURES, *WATER_FLOWS, *SPEEDS, *WATER_QUALITY,
    *ELECTRIC, *TIMES, *MASSES, *PLAIN, *PRICES,
)  # fmt: skip

SUFFIXES: dict[str, Unit] = {unit.suffix: unit for unit in UNITS}
"""Every ending that a number's name, a key or a column header may carry."""
