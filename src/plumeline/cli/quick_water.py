"""Answers about water alone: oxygen at saturation, ammonia. Nothing heavy is imported here."""

from __future__ import annotations

import argparse

from plumeline.cli.common import Given, answer
from plumeline.notices import Notice, note
from plumeline.science.chemistry import (
    ammonia_acute_epa_2013,
    ammonia_acute_trout_epa_2013,
    ammonia_chronic_epa_2013,
    ammonia_unionized_fraction_bell_2008,
)
from plumeline.science.gases import do_saturation_benson_krause_1984, pressure_icao_1993
from plumeline.stages.checked import checked
from plumeline.units import show


def air_pressure_pa(elevation: Given | None) -> float:
    """Return the pressure [Pa] of the standard atmosphere at an elevation, by default at sea level."""
    value, _ = checked(pressure_icao_1993, elevation_m=elevation.value if elevation else 0.0)
    return value


def saturation(args: argparse.Namespace) -> int:
    """Answer how much oxygen the water holds in balance with the air."""
    temperature, salinity, pressure = args.temperature, args.salinity, args.pressure
    pressure_pa = pressure.value if pressure else air_pressure_pa(args.elevation)
    do_sat_mg_l, _ = checked(
        do_saturation_benson_krause_1984,
        temperature_degc=temperature.value,
        salinity_g_kg=salinity.value,
        pressure_pa=pressure_pa,
    )
    understood = {"temperature": temperature.understood, "salinity": salinity.understood}
    notices = []
    if pressure:
        understood["pressure"] = pressure.understood
    elif args.elevation:
        understood["elevation"] = args.elevation.understood
    else:
        notices.append(note("sea-level", "No elevation or pressure was given: sea level is taken."))
    return answer(
        args,
        {
            "do_sat_mg_l": do_sat_mg_l,
            "temperature_degc": temperature.value,
            "salinity_g_kg": salinity.value,
            "pressure_pa": pressure_pa,
        },
        understood=understood,
        lines=[
            ("oxygen at saturation", show(do_sat_mg_l, "mg_l", args.units)),
            ("pressure of the air", show(pressure_pa, "pa", args.units, 2, gauge=False)),
        ],
        notices=notices,
    )


def ammonia(args: argparse.Namespace) -> int:
    """Answer how much of the ammonia is un-ionised, beside the criteria for the total."""
    water = {"temperature_degc": args.temperature.value, "ph": args.ph}
    salinity = args.salinity
    fraction, _ = checked(ammonia_unionized_fraction_bell_2008, salinity_g_kg=salinity.value, **water)
    acute, caveats = checked(ammonia_acute_epa_2013, outside="caveat", **water)
    acute_trout, _ = checked(ammonia_acute_trout_epa_2013, outside="caveat", **water)
    chronic, _ = checked(ammonia_chronic_epa_2013, outside="caveat", **water)
    unionized_mg_l = fraction * args.total.value
    return answer(
        args,
        {
            "unionized_fraction": fraction,
            "unionized_mg_l": unionized_mg_l,
            "criterion_acute_mg_l": acute,
            "criterion_acute_trout_mg_l": acute_trout,
            "criterion_chronic_mg_l": chronic,
            "criterion_chronic_trout_mg_l": chronic,
            "total_mg_l": args.total.value,
            "ph": args.ph,
            "temperature_degc": args.temperature.value,
            "salinity_g_kg": salinity.value,
        },
        understood={
            "total ammonia": f"{args.total.understood}, as N",
            "pH": f"{args.ph:g}",
            "temperature": args.temperature.understood,
            "salinity": salinity.understood,
        },
        lines=[
            ("un-ionised part", show(fraction, "fraction", args.units)),
            ("un-ionised ammonia", f"{show(unionized_mg_l, 'mg_l', args.units, 3)} as N"),
            ("acute criterion", _criterion(acute, "no trout or salmon", args)),
            ("acute criterion, trout", _criterion(acute_trout, "trout or salmon present", args)),
            ("chronic criterion", _criterion(chronic, "with or without trout", args)),
            ("this water", _verdict(args.total.value, acute, chronic)),
        ],
        notices=[*caveats, *_of_salt(salinity.value)],
    )


def _of_salt(salinity_g_kg: float) -> list[Notice]:
    """Say that the criteria are those of fresh water, where the water is not."""
    if salinity_g_kg == 0.0:
        return []
    return [
        note(
            "fresh-criteria", "The criteria are for fresh water: in salt water EPA 440/5-88-004 (1989) holds."
        )
    ]


def _criterion(value_mg_l: float, where: str, args: argparse.Namespace) -> str:
    return f"{show(value_mg_l, 'mg_l', args.units)} total as N ({where}; EPA 2013)"


def _verdict(total_mg_l: float, acute_mg_l: float, chronic_mg_l: float) -> str:
    if total_mg_l > acute_mg_l:
        return "over the acute criterion"
    if total_mg_l > chronic_mg_l:
        return "over the chronic criterion, under the acute one"
    return "under both criteria"
