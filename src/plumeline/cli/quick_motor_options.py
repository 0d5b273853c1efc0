"""The options of the quick questions about compressor, motor and wire."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from plumeline.cli.common import air_flow, quantity
from plumeline.cli.questions import elevation, question
from plumeline.sources import read_table

if TYPE_CHECKING:
    from plumeline.cli.common import Subparsers

INTAKE = quantity("degc", least=-30.0, most=60.0)
# the relations hold to an absolute pressure of four times the intake
PRESSURE = quantity("pa", least=0.0, most=3.0e5)


def _share(parser: argparse.ArgumentParser, words: str) -> None:
    parser.add_argument(
        "--efficiency", type=quantity("fraction", least=0.05, most=1.0), required=True, help=words
    )


def power(questions: Subparsers) -> None:
    """Add the question of a compressor's power."""
    parser = question(
        questions,
        "power",
        "what a compressor takes from the wire",
        "Power of an ideal adiabatic compression in one stage, and what the motor draws for it.",
        "quick_motor",
    )
    parser.add_argument("--air", type=air_flow, required=True, help="flow of air, '2.6 icfm' or '2.6 scfm'")
    parser.add_argument("--pressure", type=PRESSURE, required=True, help="gauge at the outlet, '6 psig'")
    _share(
        parser, "ideal power over the wire's, motor and machine together, '30 %%'; small machines 20 to 40 %%"
    )
    parser.add_argument(
        "--intake", type=INTAKE, default="68 degF", help="air drawn in (default: %(default)s)"
    )
    elevation(parser)


def _conductor(text: str) -> str:
    """Read a size of conductor of the table, with or without "#" and "AWG"."""
    known = [row["gauge"] for row in read_table("conductors")]
    name = text.casefold().replace("awg", "").strip(" #")
    if name in known:
        return name
    if not name.isdecimal():
        raise argparse.ArgumentTypeError(
            f"'{text}' is no AWG size of the table. Use one of: {', '.join(known)}."
        )
    # a higher number is a thinner wire
    thicker = [size for size in known if int(size) < int(name)]
    thinner = [size for size in known if int(size) > int(name)]
    near = [f"{max(thicker, key=int)}, the next thicker"] if thicker else []
    near += [f"{min(thinner, key=int)}, the next thinner"] if thinner else []
    raise argparse.ArgumentTypeError(
        f"'{text}' is no AWG size of the table. Use {' or '.join(near)} ({', '.join(known)} are known)."
    )


def wire(questions: Subparsers) -> None:
    """Add the question of a wire's voltage drop."""
    parser = question(
        questions,
        "wire",
        "voltage lost on a single-phase copper circuit",
        "Stranded uncoated copper at 75 °C by NEC chapter 9 table 8; for the licensed electrician.",
        "quick_motor",
    )
    parser.add_argument("--volts", type=quantity("v", above=0.0, most=1000.0), required=True, help="'120 V'")
    parser.add_argument(
        "--amps", type=quantity("a", above=0.0, most=200.0), required=True, help="running current, '5 A'"
    )
    parser.add_argument(
        "--length", type=quantity("m", above=0.0, most=1000.0), required=True, help="one way, '260 ft'"
    )
    parser.add_argument(
        "--gauge",
        type=_conductor,
        required=True,
        metavar="AWG",
        help="size of the conductors: " + ", ".join(row["gauge"] for row in read_table("conductors")),
    )


def outlet_temperature(questions: Subparsers) -> None:
    """Add the question of the air's heat as it leaves the compressor."""
    parser = question(
        questions,
        "outlet-temperature",
        "how hot the air leaves the compressor",
        "Adiabatic compression of an efficiency; no heat is lost in the machine.",
        "quick_motor",
        "outlet_temperature",
    )
    parser.add_argument("--intake", type=INTAKE, required=True, help="air drawn in, '95 degF'")
    parser.add_argument("--pressure", type=PRESSURE, required=True, help="gauge at the outlet, '6 psig'")
    _share(parser, "of the compression itself, '70 %%'")
    elevation(parser)
