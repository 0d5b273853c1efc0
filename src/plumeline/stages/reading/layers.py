"""Every depth of the profile with what follows from it: saturation, density, poisons, fit for fish."""

from __future__ import annotations

import numpy as np

from plumeline.science.chemistry import (
    ammonia_unionized_fraction_bell_2008,
    sulphide_undissociated_fraction_millero_1988,
)
from plumeline.science.gases import do_saturation_benson_krause_1984
from plumeline.science.stability import buoyancy_frequency_squared_read_2011
from plumeline.stages.limits import RefugeLimits
from plumeline.stages.reading.debt import OXYGEN_PER_SULPHIDE_FRACTION, sulphide_anchors, sulphide_prior_mg_l
from plumeline.stages.reading.profile import Filled, Lines, filled
from plumeline.stages.reading.result import LayerReading
from plumeline.stages.reading.strata import gradients_kg_m4

H2S_PER_SULPHIDE_FRACTION = 34.081 / 32.06
"""Gram of H₂S by gram of sulphide-S, from atomic weights."""


def layers_of(
    lines: Lines, pressure_pa: float, limits: RefugeLimits
) -> tuple[tuple[LayerReading, ...], tuple[str, ...]]:
    """Return every reading with what follows from it, and what was assumed.

    Args:
        lines: the profile
        pressure_pa: air pressure at the pond [Pa]
        limits: what the fish can bear

    Returns:
        readings from the top down, and the assumptions in words
    """
    ph = filled(lines, [point.ph for point in lines.points], "surface_ph", "bottom_ph")
    ammonia = filled(
        lines, [point.ammonia_mg_l for point in lines.points], "surface_ammonia", "bottom_ammonia"
    )
    sulphide = _sulphide(lines)
    owing = lines.owing_fraction(np.array(lines.depth_m))
    slope = gradients_kg_m4(lines.depth_m, lines.density_kg_m3)
    layers: list[LayerReading] = []
    for i, point in enumerate(lines.points):
        t, salt = point.temperature_degc, lines.salinity_g_kg[i]
        saturation = do_saturation_benson_krause_1984(t, salt, pressure_pa)
        unionized = ammonia.value[i] * ammonia_unionized_fraction_bell_2008(t, salt, ph.value[i])
        h2s = sulphide.value[i] * sulphide_undissociated_fraction_millero_1988(t, salt, ph.value[i])
        h2s *= H2S_PER_SULPHIDE_FRACTION
        frequency = None
        if i < len(slope):
            middle = (lines.density_kg_m3[i] + lines.density_kg_m3[i + 1]) / 2.0
            frequency = buoyancy_frequency_squared_read_2011(middle, slope[i])
        layers.append(
            LayerReading(
                depth_m=point.depth_m,
                temperature_degc=t,
                do_mg_l=point.do_mg_l,
                do_saturation_mg_l=saturation,
                saturation_fraction=point.do_mg_l / saturation,
                salinity_g_kg=salt,
                density_kg_m3=lines.density_kg_m3[i],
                buoyancy_frequency_squared_per_s2=frequency,
                ph=ph.value[i],
                ammonia_mg_l=ammonia.value[i],
                unionized_ammonia_mg_l=unionized,
                sulphide_mg_l=sulphide.value[i],
                hydrogen_sulphide_mg_l=h2s,
                ph_assumed=ph.assumed[i],
                ammonia_assumed=ammonia.assumed[i],
                sulphide_assumed=sulphide.assumed[i],
                owing_fraction=float(owing[i]),
                usable=point.do_mg_l >= limits.oxygen_mg_l
                and t <= limits.max_temperature_degc
                and unionized <= limits.unionized_ammonia_mg_l
                and h2s <= limits.hydrogen_sulphide_mg_l,
            )
        )
    return tuple(layers), _assumptions(lines, {"pH": ph, "ammonia": ammonia, "sulphide": sulphide})


def _sulphide(lines: Lines) -> Filled:
    """Return sulphide at every reading; where it was never read, the prior in the water that owes oxygen."""
    read = sulphide_anchors(lines)
    if read:
        at, values, guessed = zip(*read, strict=True)
        share = np.where(np.array(lines.depth_m) < at[0], lines.owing_fraction(np.array(lines.depth_m)), 1.0)
        value = np.interp(lines.depth_m, at, values) * share
        marks = np.interp(lines.depth_m, at, np.array(guessed, dtype=np.float64))
        return Filled(tuple(float(v) for v in value), tuple(bool(mark > 1e-6) for mark in marks))
    central = sulphide_prior_mg_l(lines)[1] / OXYGEN_PER_SULPHIDE_FRACTION
    value = central * lines.owing_fraction(np.array(lines.depth_m))
    return Filled(tuple(float(v) for v in value), (True,) * len(value))


def _assumptions(lines: Lines, parts: dict[str, Filled]) -> tuple[str, ...]:
    """Return in words what was assumed."""
    words = [
        "Between readings the profile is a straight line; above the first and below the last it is constant.",
        "The reading stands for the whole pond at its depth.",
        "Debt: iron, sulphide and a day's part of the slow pool, in water under 2 mg/L or that smells.",
    ]
    if all(point.conductivity_us_cm is None for point in lines.points):
        words.append("Salt: none, for conductivity was not read.")
    for name, part in parts.items():
        if name == "sulphide" and any(part.assumed):
            words.append(_sulphide_words(part))
        elif part.all_assumed:
            words.append(f"{name}: not read; the middle of the prior stands in (sources/priors.csv).")
        elif any(part.assumed):
            words.append(f"{name}: not read in every layer; the middle of the prior stands in there.")
    return tuple(words)


def _sulphide_words(part: Filled) -> str:
    """Return what is taken for sulphide that was not read."""
    middle = "the middle of the prior, moved by the smell (sources/priors.csv),"
    if part.all_assumed:
        return (
            f"Sulphide: not read; {middle} stands in where water owes oxygen; elsewhere it is taken as none."
        )
    return f"Sulphide: not read near the bottom; {middle} stands in at the last reading."
