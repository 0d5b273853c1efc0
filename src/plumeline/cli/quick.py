"""``plumeline quick``: one-line answers in the truck.

Only the options stand here; the module with the answer is loaded when it is asked for.
"""

from __future__ import annotations

import argparse
import difflib
from collections.abc import Callable
from typing import TYPE_CHECKING

from plumeline.cli.common import air_flow, bottom_share, pure_number, quantity
from plumeline.cli.questions import elevation, question
from plumeline.cli.quick_motor_options import outlet_temperature, power, wire
from plumeline.sources import read_table

if TYPE_CHECKING:
    from plumeline.cli.common import Subparsers

WATER_TEMPERATURE = quantity("degc", least=0.0, most=40.0)
AIR_TEMPERATURE = quantity("degc", least=-40.0, most=200.0)
PIPE_TEMPERATURE = quantity("degc", least=-40.0, most=60.0)


def add_commands(subparsers: Subparsers) -> None:
    """Add ``quick`` and the questions it answers."""
    quick = subparsers.add_parser(
        "quick",
        help="one-line answers, values with their units",
        description="One-line answers in the truck. A value carries its unit: '12 ft 6 in', '8 psig'.",
    )
    questions = quick.add_subparsers(title="questions", metavar="QUESTION", required=True)
    for add in (
        _saturation,
        _ammonia,
        _plume,
        _pipe,
        _volume,
        _mix,
        _bottle,
        _blooms,
        _hold_test,
        _bore_test,
        _condensate,
        power,
        wire,
        outlet_temperature,
    ):
        add(questions)


def _saturation(questions: Subparsers) -> None:
    parser = question(
        questions,
        "saturation",
        "oxygen that water holds in balance with the air",
        "Dissolved oxygen at saturation, by Benson & Krause 1984, at the pressure of the place.",
        "quick_water",
    )
    parser.add_argument(
        "--temperature", type=WATER_TEMPERATURE, required=True, help="of the water, '72 degF'"
    )
    parser.add_argument(
        "--salinity",
        type=quantity("g_kg", least=0.0, most=40.0),
        default="0",
        help="in g/kg (default: %(default)s)",
    )
    place = parser.add_mutually_exclusive_group()
    elevation(place)
    place.add_argument(
        "--pressure",
        type=quantity("pa", gauge=False, above=0.0),
        help="of the air at the station, not reduced to sea level, '29.1 inHg'",
    )


def _ammonia(questions: Subparsers) -> None:
    parser = question(
        questions,
        "ammonia",
        "un-ionised ammonia, and the EPA's criteria",
        "Un-ionised ammonia by Emerson et al. 1975, in salt water with Bell et al. 2008, beside "
        "the EPA's criteria of 2013 for the total as N.",
        "quick_water",
    )
    parser.add_argument(
        "--total", type=quantity("mg_l", least=0.0), required=True, help="total ammonia, as N, '1.2 mg/L'"
    )
    parser.add_argument("--ph", type=pure_number(low=0.0, high=14.0), required=True, help="of the water")
    parser.add_argument(
        "--temperature", type=WATER_TEMPERATURE, required=True, help="of the water, '29 degC'"
    )
    parser.add_argument(
        "--salinity",
        type=quantity("g_kg", least=0.0, most=40.0),
        default="0",
        help="in g/kg (default: %(default)s)",
    )


def _plume(questions: Subparsers) -> None:
    parser = question(
        questions,
        "plume",
        "water that one diffuser lifts, and whether it reaches the surface",
        "The bubble plume over one diffuser, by Wüest, Brooks & Imboden 1992, with the band of the priors.",
        "quick_plume",
    )
    parser.add_argument(
        "--depth",
        type=quantity("m", above=0.0),
        required=True,
        help="of the membrane, '12 ft'",
    )
    parser.add_argument("--air", type=air_flow, required=True, help="flow of air, '1.3 scfm'")
    water = parser.add_mutually_exclusive_group(required=True)
    water.add_argument(
        "--temperature", type=WATER_TEMPERATURE, help="of water that is the same from top to bottom"
    )
    water.add_argument("--profile", metavar="FILE", help="CSV with depth_m,temperature_degc[,do_mg_l]")
    parser.add_argument("--oxygen", type=quantity("mg_l", least=0.0), help="in the water (default: 0 mg/L)")
    parser.add_argument(
        "--alpha",
        type=pure_number(low=0.02, high=0.2),
        help="top-hat entrainment coefficient; given, there is no band (default: 0.075 with a band)",
    )
    parser.add_argument(
        "--bubble-radius",
        type=quantity("m", above=0.0),
        help="as bubbles leave the membrane (default: 1 mm, drawn from its prior for the band)",
    )
    parser.add_argument(
        "--disc-radius",
        type=quantity("m", above=0.0),
        default="0.115 m",
        help="of the membrane (default: %(default)s)",
    )
    elevation(parser)


def _pipe(questions: Subparsers) -> None:
    parser = question(
        questions,
        "pipe",
        "pressure that a flow of air loses in a pipe",
        "Isothermal compressible flow of air in one straight pipe, friction by Churchill 1977.",
        "quick_pipe",
    )
    parser.add_argument("--air", type=air_flow, required=True, help="flow of air, '2.6 scfm'")
    parser.add_argument(
        "--length", type=quantity("m", above=0.0), required=True, help="of the pipe, '430 ft'"
    )
    size = parser.add_mutually_exclusive_group(required=True)
    size.add_argument("--bore", type=quantity("m", above=0.0), help="inside diameter, '0.824 in'")
    size.add_argument("--pipe", type=_named("pipes", "name"), metavar="NAME", help="pipe by name, pvc40-3/4")
    parser.add_argument(
        "--inlet-pressure", type=quantity("pa", least=0.0), required=True, help="gauge, '6 psig'"
    )
    parser.add_argument("--temperature", type=AIR_TEMPERATURE, required=True, help="of the air, '95 degF'")
    parser.add_argument(
        "--roughness", type=quantity("m", least=0.0), help="of the wall (default: the pipe's, else 0.0015 mm)"
    )
    elevation(parser)


def _volume(questions: Subparsers) -> None:
    parser = question(
        questions,
        "volume",
        "volume of a pond from area, depth and shape",
        "Volume of a pond without soundings, with its standard error.",
        "quick_volume",
    )
    parser.add_argument("--area", type=quantity("m2", above=0.0), required=True, help="'1.6 acre'")
    parser.add_argument(
        "--max-depth", type=quantity("m", above=0.0), required=True, help="at the deepest place, '14 ft'"
    )
    parser.add_argument(
        "--shape",
        type=_named("shapes", "shape"),
        default="unknown",
        help="class of basin: "
        + ", ".join(row["shape"] for row in read_table("shapes"))
        + " (default: %(default)s)",
    )


def _mix(questions: Subparsers) -> None:
    parser = question(
        questions,
        "mix",
        "if the whole pond turned over now",
        "The whole pond mixed now: temperature, oxygen before and after its debt is paid, and the pH and "
        "un-ionised ammonia that alkalinity and inorganic carbon give the mixture (pH itself does not mix).",
        "quick_mix",
    )
    parser.add_argument("folder", metavar="FOLDER", help="a job folder")


def _bottle(questions: Subparsers) -> None:
    parser = question(
        questions,
        "bottle",
        "oxygen that the bottom water takes up, from a bottle test",
        "Dark, full bottles without bubbles, at pond temperature: a mixture of bottom and surface water, and "
        "surface water alone as the control. The demand of a litre of bottom water within 15 min (iron and "
        "little else) and within 24 h. One bottle is one depth; it says nothing of the mud.",
        "quick_bottle",
    )
    oxygen = quantity("mg_l", least=0.0, most=40.0)
    for name, water in (("--bottom-do", "bottom water"), ("--surface-do", "surface water")):
        parser.add_argument(
            name, type=oxygen, required=True, help=f"oxygen of the {water} at filling, '0.2 mg/L'"
        )
    parser.add_argument("--after-15min", type=oxygen, help="oxygen of the mixture after 15 minutes")
    parser.add_argument("--after-24h", type=oxygen, help="oxygen of the mixture after 24 hours")
    parser.add_argument(
        "--surface-after-24h", type=oxygen, help="oxygen of the surface bottle, the control, after 24 hours"
    )
    parser.add_argument(
        "--dilution",
        type=bottom_share,
        default="1:1",
        metavar="PARTS",
        help="parts of bottom water to parts of surface water, 1:1 or 1:3 (default: %(default)s)",
    )


def _blooms(questions: Subparsers) -> None:
    parser = question(
        questions,
        "blooms",
        "odds that the air holds floating blue-greens down, hour by hour",
        "The stirring of the running column, measured by a dye in simulated ponds, against the rise of "
        "blue-green colonies: air all day, air in part of the day, and no air. No cure is promised.",
        "quick_blooms",
    )
    parser.add_argument("folder", metavar="FOLDER", help="a job folder")
    parser.add_argument(
        "--run-hours",
        type=quantity("s", least=3600.0, most=86400.0),
        default="12 h",
        help="air a day of the regime that runs in part, from 20:00 (default: %(default)s)",
    )
    parser.add_argument(
        "--members",
        type=_members,
        default=64,
        metavar="PONDS",
        help="simulated ponds, 16 to 2000 (default: %(default)s)",
    )


def _hold_test(questions: Subparsers) -> None:
    parser = question(
        questions,
        "hold-test",
        "air that a shut pipe loses, from the fall of its gauge",
        "An old pipe pumped up, shut in until it has the soil's temperature, then watched: its leak as "
        "standard air. "
        "Test at 1.5 × working at most and never over the relief valve, people clear; never 100 psi of air.",
        "quick_old_pipe",
        "hold_test_answer",
    )
    _length(parser)
    parser.add_argument("--bore", type=quantity("m", above=0.0), required=True, help="inside, '0.824 in'")
    parser.add_argument("--start", type=quantity("pa"), required=True, help="gauge at the start, '10 psig'")
    parser.add_argument("--end", type=quantity("pa"), required=True, help="gauge at the end, '8.5 psig'")
    parser.add_argument("--minutes", type=quantity("min", above=0.0), required=True, help="between them, '6'")
    parser.add_argument("--temperature", type=PIPE_TEMPERATURE, required=True, help="of the pipe, '62 degF'")
    parser.add_argument("--end-temperature", type=PIPE_TEMPERATURE, help="at the end (default: the same)")
    elevation(parser)


def _bore_test(questions: Subparsers) -> None:
    parser = question(
        questions,
        "bore-test",
        "what an old pipe may be, from a known flow blown through it",
        "A known flow through an old pipe with its far end open, gauge at the inlet: the chance of each kind of "
        "pipe, by Bayes' rule. The print line on the wall beats it.",
        "quick_old_pipe",
        "bore_test_answer",
    )
    parser.add_argument("--air", type=air_flow, required=True, help="known flow, '3.5 scfm'")
    _length(parser)
    parser.add_argument(
        "--pressure", type=quantity("pa"), required=True, help="gauge at the inlet, '0.31 psig'"
    )
    parser.add_argument("--temperature", type=AIR_TEMPERATURE, required=True, help="of the air, '70 degF'")
    parser.add_argument(
        "--gauge-error",
        type=quantity("pa", gauge=None, above=0.0),
        help="standard error of the gauge, '0.01 psi' (default: a plain gauge's)",
    )
    parser.add_argument(
        "--flow-error",
        type=pure_number(low=0.001, high=0.5),
        default=0.05,
        metavar="PART",
        help="standard error of the flow, as a part of it (default: %(default)s)",
    )
    parser.add_argument(
        "--nominal", type=_named("pipes", "nominal"), metavar="SIZE", help="if known, '3/4 in'"
    )
    parser.add_argument(
        "--material", type=_named("pipe_materials", "material"), metavar="NAME", help="if known, polyethylene"
    )
    elevation(parser)


def _condensate(questions: Subparsers) -> None:
    parser = question(
        questions,
        "condensate",
        "water that falls out of the air in a buried line, a day",
        "Water that the air drawn in holds, less what it still holds at the line's pressure and the "
        "soil's temperature.",
        "quick_condensate",
    )
    parser.add_argument("--air", type=air_flow, required=True, help="flow of air, '2.6 scfm'")
    parser.add_argument(
        "--pressure", type=quantity("pa", least=0.0), required=True, help="gauge in the line, '6 psig'"
    )
    parser.add_argument(
        "--intake",
        type=quantity("degc", least=-10.0, most=45.0),
        required=True,
        help="air drawn in, '95 degF'",
    )
    parser.add_argument(
        "--humidity", type=quantity("fraction", least=0.0, most=1.0), required=True, help="relative, '60 %%'"
    )
    parser.add_argument(
        "--soil", type=quantity("degc", least=-10.0, most=45.0), required=True, help="'60 degF'"
    )
    elevation(parser)


def _length(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--length", type=quantity("m", above=0.0), required=True, help="of the pipe, '300 ft'"
    )


def _members(text: str) -> int:
    """Read a number of simulated ponds."""
    if not text.isdecimal() or not 16 <= int(text) <= 2000:
        raise argparse.ArgumentTypeError(f"'{text}' is not a whole number from 16 to 2000.")
    return int(text)


def _named(table_name: str, column: str) -> Callable[[str], str]:
    """Return an argparse type for a name in a table."""

    def read(text: str) -> str:
        names = [row[column] for row in read_table(table_name)]
        if text in names:
            return text
        near = difflib.get_close_matches(text, names, n=3, cutoff=0.4)
        hint = f"Did you mean {' or '.join(near)}?" if near else f"Use one of: {', '.join(names)}."
        raise argparse.ArgumentTypeError(f"'{text}' is not in the table of {table_name}. {hint}")

    return read
