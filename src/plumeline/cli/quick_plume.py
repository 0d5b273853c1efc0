"""The answer about one bubble plume."""

from __future__ import annotations

import argparse
from pathlib import Path

from plumeline.cli.commands import UsageError
from plumeline.cli.common import answer
from plumeline.cli.quick_water import air_pressure_pa
from plumeline.files.plume_profile import read_plume_profile
from plumeline.notices import Notice, note
from plumeline.pairs import said
from plumeline.stages.plume import QuickPlume, Water, quick_plume, water_of_one_temperature, water_of_rows
from plumeline.units import show

INTAKE_TEMPERATURE_DEGC = 20.0


def plume(args: argparse.Namespace) -> int:
    """Answer how much water one diffuser lifts and whether it reaches the surface."""
    water, understood, notices = _water(args)
    if args.air.flow.basis == "intake":
        notices.append(note("intake-air", "The flow at the compressor's intake is taken as air of 68 °F."))
    air_m3_s = args.air.flow.standard_m3_s(air_pressure_pa(args.elevation), INTAKE_TEMPERATURE_DEGC)
    found = quick_plume(
        args.depth.value,
        air_m3_s,
        water,
        alpha_number=args.alpha,
        bubble_radius_m=args.bubble_radius.value if args.bubble_radius else None,
        disc_radius_m=args.disc_radius.value,
        elevation_m=args.elevation.value if args.elevation else 0.0,
        seed=1 if args.seed is None else args.seed,
    )
    return answer(
        args,
        {
            **found.as_json(),
            "oxygen_transfer_kg_s": found.oxygen_transfer_kg_s,
            "engineers_transfer_kg_s": found.engineers_transfer_kg_s,
            "assumptions": list(found.assumptions),
        },
        understood=understood,
        lines=_lines(found, args),
        notices=(*notices, *found.notices),
    )


def _water(args: argparse.Namespace) -> tuple[Water, dict[str, str], list[Notice]]:
    """Return the water that the plume rises through, what was understood, and what was odd in the file."""
    understood = {"depth": args.depth.understood, "air": args.air.understood}
    notices: list[Notice] = []
    oxygen = args.oxygen.value if args.oxygen else 0.0
    if args.profile is None:
        water = water_of_one_temperature(args.temperature.value, oxygen)
        understood["temperature"] = args.temperature.understood
    else:
        rows = read_plume_profile(Path(args.profile))
        if rows.do_mg_l is not None and args.oxygen:
            raise UsageError(
                f"{args.profile} has a column do_mg_l, and --oxygen was given too.",
                remedy="Leave one of them out.",
            )
        water = water_of_rows(
            rows.depth_m, rows.temperature_degc, oxygen if rows.do_mg_l is None else rows.do_mg_l
        )
        notices.extend(rows.notices)
        understood["profile"] = "; ".join((f"{args.profile}, {len(rows.depth_m)} depths", *rows.echoes))
    if args.oxygen:
        understood["oxygen"] = args.oxygen.understood
    for name, given in (
        ("bubble radius", args.bubble_radius),
        ("disc radius", args.disc_radius),
        ("elevation", args.elevation),
    ):
        if given:
            understood[name] = given.understood
    return water, understood, notices


def _lines(found: QuickPlume, args: argparse.Namespace) -> list[tuple[str, str]]:
    """Return the answer for people."""
    lift, units = found.lift, args.units
    lines = [("in words", found.words(units)), ("water lifted", show(lift.water_flow_m3_s, "m3_s", units))]
    if found.water_flow_p05_m3_s is not None and found.water_flow_p95_m3_s is not None:
        low, high = (
            show(value, "m3_s", units) for value in (found.water_flow_p05_m3_s, found.water_flow_p95_m3_s)
        )
        lines.append(("90 % band of its unknowns", f"{low} to {high}"))
    if found.surfacing_probability is not None:
        lines.append(("draws in which it surfaces", f"{100.0 * found.surfacing_probability:.0f} %"))
    if lift.neutral_depth_m is not None:
        rest = show(lift.neutral_depth_m, "m", units) if lift.neutral_depth_m > 0 else "the surface"
        lines.append(("its water comes to rest at", rest))
    lines += [
        ("oxygen taken up so far", show(lift.oxygen_transfer_efficiency, "fraction", units)),
        ("oxygen taken up in all", show(lift.oxygen_transfer_efficiency_to_surface, "fraction", units)),
        ("oxygen given to the water", _kg_d(found.oxygen_transfer_kg_s, units)),
        ("by the engineers' formula", _kg_d(found.engineers_transfer_kg_s, units)),
    ]
    for count, peel in enumerate(lift.peels, start=1):
        place = f"at {show(peel.depth_m, 'm', units)}, {show(peel.water_flow_m3_s, 'm3_s', units)}"
        lines.append((f"turns back ({count})", f"{place}, rests at {show(peel.neutral_depth_m, 'm', units)}"))
    lines.append(("taken for granted", said("; ".join(found.assumptions), args.units)))
    return lines


def _kg_d(rate_kg_s: float, units: str) -> str:
    """Return a rate by day."""
    return f"{show(86400.0 * rate_kg_s, 'kg', 'si' if units == 'si' else 'us')} a day"
