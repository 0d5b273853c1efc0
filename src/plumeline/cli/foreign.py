"""Files of other programs: ``plumeline bring`` and ``plumeline export``. Only the options stand here."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from plumeline.cli.common import common_flags

if TYPE_CHECKING:
    from plumeline.cli.common import Subparsers


def add_commands(subparsers: Subparsers) -> None:
    """Add the commands."""
    bring = subparsers.add_parser(
        "bring",
        help="shores and soundings out of files of other programs and devices",
        description="Read files of other programs and devices into a job folder: the shore into outline.geojson, "
        "depths into soundings.csv. What was understood is shown first, and nothing is written before it is confirmed. "
        "Known: GPX, KML and KMZ, GeoJSON, shapefile, GeoPackage, NMEA 0183 logs, and CSV with any headings.",
        parents=[common_flags()],
    )
    bring.add_argument("folder", metavar="FOLDER", help="job folder")
    bring.add_argument("files", metavar="FILE", nargs="+", help="file to read")
    bring.add_argument(
        "--as",
        dest="kinds",
        choices=("outline", "soundings"),
        action="append",
        default=[],
        help="take only this (may be given twice; default: what the files hold)",
    )
    bring.add_argument(
        "--columns",
        default="",
        metavar="MAP",
        help="what holds what, with the depth's unit: 'depth=Sonar Depth:ft, lon=Longitude', by heading, by number "
        "from 1, or by name of the element; what is one of lon, lat, x, y, depth, muck (thickness), firm (depth of the "
        "firm bottom), level (staff gauge), time, name",
    )
    bring.add_argument(
        "--level",
        default="",
        metavar="READING",
        help="staff gauge when these soundings were taken, '2.4 ft': days of other water come to one level by it",
    )
    bring.add_argument(
        "--crs",
        default="",
        metavar="EPSG",
        help="reference system of the file's numbers, as EPSG:2264, where it names none",
    )
    bring.add_argument(
        "--pond",
        default="",
        metavar="NAME",
        help="which pond, where there are several: name or number from 1",
    )
    bring.add_argument(
        "--taped",
        default="",
        metavar="DISTANCE",
        help="scale a traced shore by a distance taped between two of its corners (latitude, longitude): "
        "'35.9102, -79.7204 to 35.9101, -79.7190 = 412 ft'",
    )
    bring.add_argument("--add", action="store_true", help="put soundings behind those that are there")
    bring.add_argument(
        "--replace",
        action="store_true",
        help="put shore or soundings in the place of those that are there; the old file is kept beside it",
    )
    bring.add_argument("--yes", action="store_true", help="take it as it was understood, without asking")
    bring.add_argument("--dry-run", action="store_true", help="show what was understood and write nothing")
    bring.set_defaults(run=_bring)
    _add_export(subparsers)


def _add_export(subparsers: Subparsers) -> None:
    export = subparsers.add_parser(
        "export",
        help="the pond and its layout as a file for another program or a handheld",
        description="Write shore, contours, lines, diffusers and manifold as GeoJSON, KML or GeoPackage; waypoints and "
        "the shore as GPX for a handheld; the places of diffusers and manifold as CSV. Longitude and latitude, WGS 84.",
        parents=[common_flags()],
    )
    export.add_argument("folder", metavar="FOLDER", help="job folder")
    export.add_argument(
        "--as",
        dest="kind",
        choices=("geojson", "kml", "gpx", "gpkg", "csv"),
        required=True,
        help="kind of file",
    )
    export.add_argument(
        "--out", metavar="FILE", help="file to write (default: the folder's name with its ending)"
    )
    export.add_argument("--replace", action="store_true", help="take the place of a file that is there")
    export.set_defaults(run=_export)


def _bring(args: argparse.Namespace) -> int:
    from plumeline.cli.bring_work import bring

    return bring(args)


def _export(args: argparse.Namespace) -> int:
    from plumeline.cli.export_work import export

    return export(args)
