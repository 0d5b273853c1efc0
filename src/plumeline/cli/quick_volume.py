"""The answer about the volume of a pond without soundings."""

from __future__ import annotations

import argparse

from plumeline.cli.common import answer
from plumeline.notices import caution
from plumeline.sources import read_table
from plumeline.stages.survey.shape import volume_from_shape
from plumeline.units import convert, show


def volume(args: argparse.Namespace) -> int:
    """Answer the volume of a pond from its area, greatest depth and shape."""
    found = volume_from_shape(args.area.value, args.max_depth.value, args.shape)
    row = next(row for row in read_table("shapes") if row["shape"] == args.shape)
    acre_ft = convert(found.volume_m3, "m3", "acre_ft")
    shown = show(found.volume_m3, "m3", args.units)
    return answer(
        args,
        {
            "volume_m3": found.volume_m3,
            "volume_se_m3": found.volume_se_m3,
            "area_m2": args.area.value,
            "max_depth_m": args.max_depth.value,
            "mean_depth_m": found.volume_m3 / args.area.value,
            "shape": args.shape,
        },
        understood={
            "area": args.area.understood,
            "greatest depth": args.max_depth.understood,
            "shape": f"{args.shape}: {row['words']}",
        },
        lines=[
            ("volume", f"{shown} = {show(found.volume_m3, 'm3', 'si')}" if args.units == "us" else shown),
            ("standard error", show(found.volume_se_m3, "m3", args.units)),
            ("in US gallons", f"{convert(acre_ft, 'acre_ft', 'mgal'):.2f} million"),
            ("mean depth", show(found.volume_m3 / args.area.value, "m", args.units)),
        ],
        notices=[
            caution("volume-from-shape", "The volume is a guess from shape: soundings would narrow it.")
        ],
    )
