"""Flows of air, which say at what conditions their volume is counted.

``standard``: 68 °F, dry, 14.696 psia, the scfm of this program (one of four that are in use; reference tables
state theirs). ``normal``: 0 °C, dry, 101325 Pa, the Nm³. ``intake``: the volume that the compressor swallows,
as its curves are printed (cfm, icfm, acfm): its mass depends on pressure and heat where it stands.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from plumeline.errors import UnitError
from plumeline.units.numerals import split_number, tidy
from plumeline.units.reading import AIR_ONLY, _key, as_number, match_unit
from plumeline.units.showing import System, join, plain
from plumeline.units.table import FOOT_M, PSI_PA

Basis = Literal["standard", "intake", "normal"]

SCFM_M3_S = FOOT_M**3 / 60
STANDARD_TEMPERATURE_K = (68.0 + 459.67) * 5 / 9
STANDARD_PRESSURE_PA = 14.696 * PSI_PA
NORMAL_TEMPERATURE_K = 273.15
NORMAL_PRESSURE_PA = 101325.0

MARKED: dict[str, tuple[float, Basis]] = {
    "scfm": (SCFM_M3_S, "standard"),
    "cfm": (SCFM_M3_S, "intake"),
    "icfm": (SCFM_M3_S, "intake"),
    "acfm": (SCFM_M3_S, "intake"),
    "nm3/h": (1 / 3600, "normal"),
    "nm3/hr": (1 / 3600, "normal"),
    "nl/min": (1e-3 / 60, "normal"),
}
UNMARKED = ("m3_s", "m3_h", "l_s", "l_min", "ft3_s")


@dataclass(frozen=True)
class AirFlow:
    """A flow of air: a volume a second, and the conditions at which it is counted."""

    flow_m3_s: float
    basis: Basis

    def standard_m3_s(self, pressure_pa: float | None = None, temperature_degc: float | None = None) -> float:
        """Return the same mass of air as a standard flow (68 °F, dry, 14.696 psia), in m³/s.

        Args:
            pressure_pa: absolute pressure of the dry air at the intake [Pa]; needed for an intake flow.
            temperature_degc: temperature at the intake [°C]; needed for an intake flow.

        Raises:
            UnitError: for an intake flow without the intake's pressure and temperature.
        """
        if self.basis == "standard":
            return self.flow_m3_s
        if self.basis == "normal":
            from_pa, from_k = NORMAL_PRESSURE_PA, NORMAL_TEMPERATURE_K
        elif pressure_pa is None or temperature_degc is None:
            raise UnitError(
                "a flow counted at the intake needs the intake's pressure and temperature.",
                remedy="Write scfm, or give the elevation and the temperature.",
            )
        else:
            from_pa, from_k = pressure_pa, temperature_degc + 273.15
        return self.flow_m3_s * (from_pa / STANDARD_PRESSURE_PA) * (STANDARD_TEMPERATURE_K / from_k)


def parse_air(value: str | float | int, basis: Basis = "standard") -> AirFlow:
    """Return a flow of air from a text such as "1.3 scfm", "4.5 cfm", "60 L/min", "2.2 Nm3/h".

    Args:
        value: a text, or a bare number in m³/s.
        basis: at what conditions a flow is counted that does not say so itself (a bare number, m³/h, L/min).

    Raises:
        UnitError: when it is no flow of air, or below zero.
    """
    if isinstance(value, int | float):
        return AirFlow(_not_below_zero(as_number(value), str(value)), basis)
    text = tidy(value)
    if not text:
        raise UnitError("there is no value.", remedy="Write a flow of air: 1.3 scfm.")
    number, rest = split_number(text)
    _not_below_zero(number, text)
    for ending in ("(standard)", "standard"):
        if rest.casefold().endswith(ending):
            rest, basis = rest[: -len(ending)].strip(), "standard"
    if not rest:
        return AirFlow(number, basis)
    marked = MARKED.get(_key(rest))
    if marked:
        return AirFlow(number * marked[0], marked[1])
    try:
        unit = match_unit(rest, "water flow", text)
    except UnitError as error:
        message = error.message.replace("a water flow is wanted", "a flow of air is wanted")
        raise UnitError(message, remedy=_remedy(rest)) from None
    if unit.suffix not in UNMARKED:
        raise UnitError(f"'{text}' is a flow of water; a flow of air is wanted here.", remedy=_remedy(rest))
    return AirFlow(number * unit.scale, basis)


def _not_below_zero(value: float, text: str) -> float:
    if value < 0:
        raise UnitError(f"'{text}' is below zero; a flow of air can't be.")
    return value


def _remedy(spelling: str) -> str:
    near = "scfm" if "cf" in spelling.casefold() else ""
    head = f"Did you mean {near}? " if near else ""
    return f"{head}Write it in scfm, cfm (at the intake), Nm3/h, L/min or m3/h."


def show_air(flow_m3_s: float, system: System = "us", digits: int | None = None) -> str:
    """Return a standard flow of air as a text: "1.30 scfm", or "2.21 m³/h standard".

    Args:
        flow_m3_s: standard flow [m³/s].
        system: "us" or "si".
        digits: decimals; by default three figures.
    """
    if system == "us":
        return join(plain(flow_m3_s / SCFM_M3_S, digits), "scfm")
    return join(plain(flow_m3_s * 3600, digits), "m³/h standard")


__all__ = ["AIR_ONLY", "AirFlow", "Basis", "parse_air", "show_air"]
