"""``plumeline export``: the pond and its layout as a file for another program or device."""

from __future__ import annotations

import argparse
import os
import tempfile
from pathlib import Path

from plumeline.cli.common import print_json, print_notices
from plumeline.cli.stage_work import asked_job, sized_pond
from plumeline.cli.tables import paragraph
from plumeline.errors import InputError
from plumeline.files.map_out import map_text, shapes_of, write_geopackage


def export(args: argparse.Namespace) -> int:
    """Write a map of the pond."""
    out = Path(args.out) if args.out else Path(f"{Path(args.folder).resolve().name}.{args.kind}")
    if out.exists() and not args.replace:
        raise InputError(
            "is there already.", remedy="Name another file, or take its place with --replace.", place=str(out)
        )
    if not out.absolute().parent.is_dir():
        raise InputError(
            "the folder for it is not there.", remedy="Make it first, or name another place.", place=str(out)
        )
    asked = asked_job(args)
    basin, sized = sized_pond(asked)
    shapes = shapes_of(asked.job.name, basin, sized.layout)
    with tempfile.TemporaryDirectory(dir=out.parent, prefix=".writing-") as place:
        fresh = Path(place) / f"map.{args.kind}"
        if args.kind == "gpkg":
            write_geopackage(shapes, fresh)
        else:
            fresh.write_text(map_text(shapes, args.kind), encoding="utf-8")
        os.replace(fresh, out)
    counts = {
        layer: sum(one.layer == layer for one in shapes) for layer in ("pond", "contour", "line", "mark")
    }
    if args.json:
        print_json({"file": str(out), "kind": args.kind, "shapes": counts})
        return 0
    said = ", ".join(f"{count} {layer}{'s' if count != 1 else ''}" for layer, count in counts.items())
    # a handheld and a table get what they can show
    left = {"gpx": "marks and the shore", "csv": "marks alone"}.get(args.kind, said)
    print(paragraph(f"Written: {out} ({left})."))
    print_notices(asked.notices, args.units)
    return 0
