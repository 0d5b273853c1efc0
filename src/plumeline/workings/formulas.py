"""Formulas of workings: their small language, worked out, and written with numbers put in.

A formula is an arithmetic expression: symbols, numbers, ``+ - * / ^``, brackets, a few functions (`PLAIN`) and the
published relations of the science by their own names (`RELATIONS`), whose arguments and results carry their units.
"""

from __future__ import annotations

import ast
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from inspect import getdoc, signature
from statistics import NormalDist

from plumeline.science import (
    air,
    carbonate,
    chemistry,
    condensate,
    gases,
    heat,
    mixing,
    pipe,
    plume,
    shore,
    sound,
    stability,
    tightness,
    water,
    wire,
)  # fmt: skip
from plumeline.units import SUFFIXES
from plumeline.workings.quantities import base_of, coherent, units_by_label


def binomial(most_number: float, draws_number: float, chance_probability: float) -> float:
    """Return the chance of at most so many in so many draws, each with one chance: a sum over the counts."""
    chance, most, total = chance_probability, round(most_number), round(draws_number)
    if not 0.0 < chance < 1.0:
        return 1.0 if chance <= 0.0 or most >= total else 0.0
    whole = math.lgamma(total + 1)
    return math.fsum(
        math.exp(
            whole - math.lgamma(count + 1) - math.lgamma(total - count + 1)
            + count * math.log(chance) + (total - count) * math.log1p(-chance)
        )
        for count in range(most + 1)
    )  # fmt: skip


PLAIN: dict[str, Callable[..., float]] = {
    "sqrt": math.sqrt,
    "exp": math.exp,
    "ln": math.log,
    "log10": math.log10,
    "sin": lambda degrees: math.sin(math.radians(degrees)),
    "cos": lambda degrees: math.cos(math.radians(degrees)),
    "abs": abs,
    "min": min,
    "max": max,
    "ceil": lambda number: float(math.ceil(number - 1e-9)),
    "normal": NormalDist().cdf,
    "binomial": lambda most, draws, chance: binomial(most, draws, chance),
}
"""Functions that need no source; ``normal`` is the share of a standard normal distribution below a value,
``binomial`` the chance of at most so many in so many draws, each with one chance."""


@dataclass(frozen=True)
class Relation:
    """A published relation: the function of the science, and the unit of what it returns."""

    function: Callable[..., float]
    suffix: str

    def __call__(self, *arguments: float) -> float:
        """Return its value in the base unit of its kind, from arguments in the base units of theirs."""
        suffixes = [argument_suffix(name) for name in signature(self.function).parameters]
        own = [
            (value - coherent(suffix).offset_number) / coherent(suffix).scale_number if suffix else value
            for value, suffix in zip(arguments, suffixes, strict=False)
        ]
        return base_of(float(self.function(*own)), self.suffix)

    @property
    def equation(self) -> str:
        """The equation as its documentation states it."""
        return _section(self.function, "Equation")

    @property
    def source(self) -> str:
        """Where it was published."""
        return _section(self.function, "Source")

    @property
    def limits(self) -> dict[str, tuple[float, float]]:
        """Lowest and highest value for which it holds, by argument."""
        table: dict[str, dict[str, tuple[float, float]]] = getattr(
            __import__(self.function.__module__, fromlist=["RANGE"]), "RANGE", {}
        )
        return table.get(self.function.__name__, {})


RELATIONS: dict[str, Relation] = {
    function.__name__: Relation(function, suffix)
    for suffix, functions in {
        "mg_l": (gases.do_saturation_benson_krause_1984, chemistry.ammonia_acute_epa_2013,
                 chemistry.ammonia_acute_trout_epa_2013, chemistry.ammonia_chronic_epa_2013),
        "": (chemistry.ammonia_unionized_fraction_bell_2008, stability.lake_number_imberger_patterson_1990,
             chemistry.sulphide_undissociated_fraction_millero_1988,
             stability.wedderburn_number_imberger_patterson_1990, pipe.friction_factor_churchill_1977,
             pipe.reynolds_number_reynolds_1883, pipe.resistance_number_crane_2009,
             shore.contraction_loss_number_crane_2009, shore.expansion_loss_number_borda_1766,
             air.nusselt_number_gnielinski_2013, air.conductivity_us_standard_atmosphere_1976,
             air.shape_factor_incropera_2007, air.line_conductance_incropera_2007),
        "mol/m³": (carbonate.carbon_from_alkalinity_and_ph, mixing.carbonate_alkalinity_stumm_morgan_1996),
        "kg_m3": (water.density_chen_millero_1986, water.density_kell_1975, air.density_clapeyron_1834),
        "g_kg": (water.salinity_hill_1986,),
        "1/s²": (stability.buoyancy_frequency_squared_read_2011,),
        "m_s": (stability.friction_velocity_read_2011, plume.slip_velocity_wuest_1992),
        "pa": (gases.pressure_icao_1993, water.vapour_pressure_bolton_1980,
               pipe.upstream_pressure_isothermal_crane_2009, pipe.downstream_pressure_isothermal_crane_2009),
        "Pa·s": (air.viscosity_sutherland_1893,),
        "k": (air.discharge_temperature_mills_2004,),
        "degc": (air.line_temperature_incropera_2007, heat.coldest_water_by_latitude),
        "m3_s": (air.intake_flow_iso_1217_2009, tightness.leak_flow_clapeyron_1834),
        "kg_s": (condensate.condensate_ashrae_2021,),
        "w": (air.adiabatic_power_perry_2008, air.isothermal_power_perry_2008),
        "J": (air.stored_energy_crowl_1992,),
        "dba": (sound.level_at_distance_iso_9613_1996, sound.level_of_several_iso_3744_2010),
        "m": (sound.distance_of_level_iso_9613_1996, wire.longest_run_nec_2023, air.cooling_length_incropera_2007),
        "v": (wire.voltage_drop_nec_2023,),
        "a": (wire.continuous_current_nec_2023, wire.motor_current),
        "kg/m": (shore.submerged_mass_archimedes,),
    }.items()
    for function in functions
}  # fmt: skip
"""The relations that formulas may name."""

NOT_UNITS = (
    "_w_m_k",
    "_w_m2_k",
    "_m_k_w",
    "_j_kg_k",
    "_mol_m3",
    "_l_mg",
    "_umol_m2_s",
    "_ohm_per_m",
    "_kg_m",
)
"""Endings of arguments whose last part only looks like a unit of the table."""


@cache
def argument_suffix(name: str) -> str:
    """Return the unit that the name of an argument ends in; empty for a bare number."""
    if name.endswith(NOT_UNITS):
        return ""
    parts = name.split("_")
    ends = ("_".join(parts[i:]) for i in range(len(parts)))
    return next((end for end in ends if end in SUFFIXES), "")


def _section(function: Callable[..., float], head: str) -> str:
    """Return what a docstring says under a head, in one line."""
    found: list[str] = []
    inside = False
    for line in (getdoc(function) or "").splitlines():
        if line.startswith(f"{head}:"):
            inside = True
            line = line.removeprefix(f"{head}:")
        elif inside and (not line.strip() or (not line.startswith(" ") and line.rstrip().endswith(":"))):
            break
        if inside and line.strip():
            found.append(line.strip())
    return " ".join(found)


@cache
def parsed(formula: str) -> ast.expr:
    """Return the tree of a formula.

    Raises:
        ValueError: it holds anything but arithmetic.
    """
    tree = ast.parse(formula.replace("^", "**"), mode="eval").body
    for node in ast.walk(tree):
        if not isinstance(node, ALLOWED):
            raise ValueError(f"{formula!r} holds {type(node).__name__}")
    return tree


ALLOWED = (
    ast.BinOp, ast.UnaryOp, ast.Call, ast.Name, ast.Constant, ast.Add, ast.Sub, ast.Mult, ast.Div, ast.Pow, ast.USub,
    ast.Load,
)  # fmt: skip


def worked(node: ast.expr, numbers: Mapping[str, float]) -> float:
    """Return what a formula comes to, with every symbol's number in the base unit of its kind."""
    match node:
        case ast.Constant(value=float() | int() as value):
            return float(value)
        case ast.Name(id=name):
            return numbers[name]
        case ast.UnaryOp(operand=operand):
            return -worked(operand, numbers)
        case ast.BinOp(left=left, op=op, right=right):
            return _binary(op, worked(left, numbers), worked(right, numbers))
        case ast.Call(func=ast.Name(id=name), args=arguments):
            return function_of(name)(*(worked(argument, numbers) for argument in arguments))
    raise ValueError(ast.dump(node))


def function_of(name: str) -> Callable[..., float]:
    """Return a function that formulas may name."""
    return PLAIN[name] if name in PLAIN else RELATIONS[name]


def _binary(op: ast.operator, lower: float, upper: float) -> float:
    match op:
        case ast.Add():
            return lower + upper
        case ast.Sub():
            return lower - upper
        case ast.Mult():
            return lower * upper
        case ast.Div():
            return lower / upper
    return float(lower**upper)


STRENGTH = {ast.Add: 1, ast.Sub: 1, ast.Mult: 2, ast.Div: 2, ast.Pow: 4}
SIGNS = {ast.Add: " + ", ast.Sub: " − ", ast.Mult: " × ", ast.Div: " / ", ast.Pow: "^"}


def written_out(node: ast.expr, texts: Mapping[str, str], above: int = 0) -> str:
    """Return a formula as people write it, each symbol by its text; brackets where they are needed."""
    match node:
        case ast.Constant(value=float() | int() as value):
            return f"{value:.12g}"
        case ast.Name(id=name):
            text = texts[name]
            return (
                f"({text})" if above > 1 and (text.startswith("−") or (above > 3 and " " in text)) else text
            )
        case ast.UnaryOp(operand=operand):
            return f"−{written_out(operand, texts, 3)}"
        case ast.Call(func=ast.Name(id=name), args=arguments):
            return f"{name}({', '.join(written_out(argument, texts) for argument in arguments)})"
        case ast.BinOp(left=left, op=op, right=right):
            own = STRENGTH[type(op)]
            sides = (written_out(left, texts, own), written_out(right, texts, own + 1))
            text = SIGNS[type(op)].join(sides)
            return f"({text})" if own < above else text
    raise ValueError(ast.dump(node))


def relations_in(node: ast.expr) -> list[Relation]:
    """Return the published relations that a formula names, in order."""
    names = [
        part.func.id
        for part in ast.walk(node)
        if isinstance(part, ast.Call) and isinstance(part.func, ast.Name)
    ]
    return [RELATIONS[name] for name in dict.fromkeys(names) if name in RELATIONS]


def unit_label(suffix: str) -> str:
    """Return how the unit of a suffix is written."""
    return SUFFIXES[suffix].spellings[0] if suffix in SUFFIXES else units_by_label()[suffix].label
