"""The answer about water that falls out in a buried line."""

from __future__ import annotations

import argparse

from plumeline.cli.common import answer
from plumeline.cli.quick_water import air_pressure_pa
from plumeline.notices import danger, note
from plumeline.stages.air.condensate import condensate_kg_d

GALLON_KG = 3.785


def condensate(args: argparse.Namespace) -> int:
    """Answer how much water a day falls out of the air in a buried line."""
    ambient_pa = air_pressure_pa(args.elevation)
    flow_m3_s = args.air.flow.standard_m3_s(ambient_pa, args.intake.value)
    found = condensate_kg_d(
        flow_m3_s, args.pressure.value, args.intake.value, args.humidity.value, args.soil.value, ambient_pa
    )
    notices = []
    if found > 0.0:
        words = "It gathers in every dip of the line: slope it to the pond, or fit a drip leg with a drain."
        notices.append(note("condensate-dips", words))
        if args.soil.value <= 0.0:
            notices.append(
                danger(
                    "condensate-freezes", "The soil is at frost: water in a dip freezes and shuts the line."
                )
            )
    return answer(
        args,
        {"condensate_kg_d": found, "standard_flow_m3_s": flow_m3_s},
        understood={
            "air": args.air.understood,
            "pressure": args.pressure.understood,
            "intake": args.intake.understood,
            "humidity": args.humidity.understood,
            "soil": args.soil.understood,
            "elevation": args.elevation.understood if args.elevation else "sea level",
        },
        lines=[("water a day", f"{found / GALLON_KG:.2f} gal" if args.units == "us" else f"{found:.2f} kg")],
        notices=notices,
    )
