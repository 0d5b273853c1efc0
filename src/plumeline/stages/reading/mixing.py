"""The chemistry of the whole pond mixed: alkalinity, inorganic carbon and ammonia mix, pH does not.

Averaging pH errs: pH is a logarithm, and the carbonate system between two waters is not straight. What is
conserved is mixed, and pH is what the mixture's alkalinity and carbon make it at the mixture's temperature.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from plumeline.notices import Notice, caution, note
from plumeline.science.carbonate import carbon_from_alkalinity_and_ph
from plumeline.science.chemistry import (
    ammonia_acute_epa_2013,
    ammonia_acute_trout_epa_2013,
    ammonia_chronic_epa_2013,
    ammonia_unionized_fraction_bell_2008,
)
from plumeline.science.mixing import carbonate_alkalinity_stumm_morgan_1996
from plumeline.stages.checked import checked
from plumeline.stages.reading.profile import Filled, Lines, filled
from plumeline.stages.reading.slices import Array, Slices

ALKALINITY_MG_PER_MOL_M3 = 50.04
"""Alkalinity as CaCO₃, 100.09 g/mol, two equivalents: mg/L by meq/L."""

DEFAULT_ALKALINITY_MG_L = 75.0
"""As CaCO₃, where it was not read (judgement). Where it is alike in all layers the mixed pH hardly turns on it."""

LEAST_PH, MOST_PH = 3.0, 13.0
"""Between these the pH of the mixture is sought."""


@dataclass(frozen=True)
class MixedChemistry:
    """Chemistry of the whole pond mixed now, before anything is oxidised or given off.

    Attributes:
        alkalinity_mg_l: as CaCO₃.
        carbon_mol_m3: dissolved inorganic carbon.
        ph: of the mixture.
        ammonia_mg_l: total, as N.
        salinity_g_kg: salinity of the mixture.
        unionized_fraction: un-ionised part of it.
        unionized_mg_l: un-ionised ammonia, as N.
        criterion_acute_mg_l, criterion_acute_trout_mg_l, criterion_chronic_mg_l: EPA 2013, total as N.
        ph_assumed, ammonia_assumed, alkalinity_assumed: True where a prior stands in for a reading.
    """

    alkalinity_mg_l: float
    carbon_mol_m3: float
    ph: float
    ammonia_mg_l: float
    salinity_g_kg: float
    unionized_fraction: float
    unionized_mg_l: float
    criterion_acute_mg_l: float
    criterion_acute_trout_mg_l: float
    criterion_chronic_mg_l: float
    ph_assumed: bool
    ammonia_assumed: bool
    alkalinity_assumed: bool


def mixed_chemistry(
    lines: Lines, slices: Slices, temperature_degc: float
) -> tuple[MixedChemistry | None, tuple[Notice, ...]]:
    """Return the chemistry of the whole pond mixed.

    Args:
        lines: the profile
        slices: the basin
        temperature_degc: temperature of the mixture [°C]

    Returns:
        the chemistry, and cautions; None where hydroxide alone is more than a layer's alkalinity, for then pH
        and alkalinity contradict each other
    """
    ph = filled(lines, [point.ph for point in lines.points], "surface_ph", "bottom_ph")
    ammonia = filled(
        lines, [point.ammonia_mg_l for point in lines.points], "surface_ammonia", "bottom_ammonia"
    )
    alkalinity_mg_l, guessed = _alkalinity(lines)
    volume = float(slices.volume_m3.sum())
    bearable, stretched = _bearable(lines, alkalinity_mg_l, ph)
    if not bearable:
        return None, (_contradicts(max(ph.value), min(alkalinity_mg_l)),)

    def mean(values: tuple[float, ...]) -> float:
        return slices.integral(lines.line(values)) / volume

    def carbon_mol_m3(depth_m: Array) -> Array:
        columns = (lines.line(v)(depth_m) for v in (alkalinity_mg_l, ph.value, lines.temperature_degc))
        at = zip(*columns, strict=True)
        return np.array([_carbon_mol_m3(a / ALKALINITY_MG_PER_MOL_M3, p, t) for a, p, t in at])

    mixed_alkalinity, carbon = mean(alkalinity_mg_l), slices.integral(carbon_mol_m3) / volume
    mixed_ph = mixed_ph_of(mixed_alkalinity / ALKALINITY_MG_PER_MOL_M3, carbon, temperature_degc)
    water = {"temperature_degc": temperature_degc, "ph": mixed_ph}
    salinity_g_kg = mean(lines.salinity_g_kg)
    fraction, odd = checked(
        ammonia_unionized_fraction_bell_2008, outside="caveat", salinity_g_kg=salinity_g_kg, **water
    )
    acute, beyond = checked(ammonia_acute_epa_2013, outside="caveat", **water)
    trout, _ = checked(ammonia_acute_trout_epa_2013, outside="caveat", **water)
    chronic, _ = checked(ammonia_chronic_epa_2013, outside="caveat", **water)
    total = mean(ammonia.value)
    found = MixedChemistry(
        alkalinity_mg_l=mixed_alkalinity,
        carbon_mol_m3=carbon,
        ph=mixed_ph,
        ammonia_mg_l=total,
        salinity_g_kg=salinity_g_kg,
        unionized_fraction=fraction,
        unionized_mg_l=fraction * total,
        criterion_acute_mg_l=acute,
        criterion_acute_trout_mg_l=trout,
        criterion_chronic_mg_l=chronic,
        ph_assumed=any(ph.assumed),
        ammonia_assumed=any(ammonia.assumed),
        alkalinity_assumed=guessed,
    )
    return found, (*_assumed(ph, ammonia, guessed), *stretched, *odd, *beyond)


def mixed_ph_of(alkalinity_mol_m3: float, carbon_mol_m3: float, temperature_degc: float) -> float:
    """Return the pH of water of known alkalinity and inorganic carbon, hydroxide and all.

    Args:
        alkalinity_mol_m3: alkalinity [mol/m³ = meq/L]
        carbon_mol_m3: dissolved inorganic carbon [mol/m³]
        temperature_degc: temperature [°C]

    Returns:
        pH; the carbon that an alkalinity goes with falls with pH, so there is one
    """

    def over_mol_m3(ph: float) -> float:
        return _carbon_mol_m3(alkalinity_mol_m3, ph, temperature_degc) - carbon_mol_m3

    return float(brentq(over_mol_m3, LEAST_PH, MOST_PH, xtol=1e-10))


def _carbon_mol_m3(alkalinity_mol_m3: float, ph: float, temperature_degc: float) -> float:
    """Return the inorganic carbon of water of known alkalinity and pH, hydroxide taken off the alkalinity."""
    carbonate = carbonate_alkalinity_stumm_morgan_1996(alkalinity_mol_m3, ph, temperature_degc)
    return carbon_from_alkalinity_and_ph(carbonate, ph, temperature_degc)


def _alkalinity(lines: Lines) -> tuple[tuple[float, ...], bool]:
    """Return alkalinity at every reading [mg/L as CaCO₃], and whether it had to be assumed."""
    read = [(p.depth_m, p.alkalinity_mg_l) for p in lines.points if p.alkalinity_mg_l is not None]
    if not read:
        return (DEFAULT_ALKALINITY_MG_L,) * len(lines.points), True
    at, values = zip(*read, strict=True)
    return tuple(float(v) for v in np.interp(lines.depth_m, at, values)), False


def _bearable(
    lines: Lines, alkalinity_mg_l: tuple[float, ...], ph: Filled
) -> tuple[bool, tuple[Notice, ...]]:
    """Tell whether alkalinity and pH of every reading can go together, with caveats of the carbonate system."""
    caveats: dict[str, Notice] = {}
    for a, p, t in zip(alkalinity_mg_l, ph.value, lines.temperature_degc, strict=True):
        carbonate = carbonate_alkalinity_stumm_morgan_1996(a / ALKALINITY_MG_PER_MOL_M3, p, t)
        if carbonate <= 0.0:
            return False, ()
        _, odd = checked(
            carbon_from_alkalinity_and_ph,
            outside="caveat",
            alkalinity_mol_m3=carbonate,
            ph_number=p,
            temperature_degc=t,
        )
        caveats.update({notice.text: notice for notice in odd})
    return True, tuple(caveats.values())


def _contradicts(ph: float, alkalinity_mg_l: float) -> Notice:
    return caution(
        "ph-beyond-alkalinity",
        f"A pH of {ph:.1f} can't be had with an alkalinity of {alkalinity_mg_l:.0f} mg/L as CaCO₃: the pH of the "
        "mixed water is not stated. Test both again.",
    )


def _assumed(ph: Filled, ammonia: Filled, alkalinity_assumed: bool) -> tuple[Notice, ...]:
    """Say what of the mixture's chemistry rests on priors."""
    parts = (("pH", any(ph.assumed)), ("ammonia", any(ammonia.assumed)), ("alkalinity", alkalinity_assumed))
    missing = [name for name, assumed in parts if assumed]
    if not missing:
        return ()
    names = missing[0] if len(missing) == 1 else f"{', '.join(missing[:-1])} and {missing[-1]}"
    text = (
        f"Not read in every layer: {names}. The middle of the prior stands in, so the mixed pH and its "
        "un-ionised ammonia are a guess."
    )
    serious = any(ph.assumed) or any(ammonia.assumed)
    return (caution("mixed-chemistry-assumed", text) if serious else note("mixed-chemistry-assumed", text),)
