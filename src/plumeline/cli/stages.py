"""The commands about a job folder: make one, check it, run one stage or all of them.

Only the options stand here; the modules that do the work are loaded when a command is asked for.
"""

from __future__ import annotations

import argparse
import importlib
from collections.abc import Callable
from typing import TYPE_CHECKING

from plumeline.cli.common import Given, common_flags, quantity

if TYPE_CHECKING:
    from plumeline.cli.common import Subparsers

OUT_NAME = "plan"
"""Folder that ``plumeline plan`` writes inside the job folder when ``--out`` names no other."""

DEPTH = quantity("m", least=0.3, most=60.0)
LENGTH = quantity("m", above=0.0, most=5000.0)


def add_commands(subparsers: Subparsers) -> None:
    """Add the commands that work on a job folder."""
    _command(
        subparsers,
        "new",
        "write a commented job folder to fill in",
        "Write a commented job folder to fill in. Only job.toml must be filled; the other files are each "
        "optional. A folder that holds one of the files already is left alone.",
        "folder_work:new",
    )
    _command(
        subparsers,
        "check",
        "report every fault of a job folder at once",
        "Report every fault of a job folder at once: file, row or key, what is wrong, what would be right; "
        "then what is odd, and how each value was understood. The exit code is 1 where there is a fault.",
        "folder_work:check",
    )
    known = _command(
        subparsers,
        "known",
        "what is known of a pond: facts of its site and the ten answers",
        "What is known of a pond, each fact of its site with what follows from it; not known is not no. With answers, "
        "they are written into their own lines of job.toml, where the folder then has no fault; every other line and "
        "comment stays.",
        "known_work:known",
    )
    known.add_argument(
        "answers",
        metavar="NAME=ANSWER",
        nargs="*",
        help="an answer to write: swimmers=yes, 'max_depth=15 ft'",
    )
    survey = _stage(
        subparsers,
        "survey",
        "the basin: area, volume with its error, depths",
        "The basin from outline and soundings: area, volume with its 90 % band, hypsograph. Without "
        "soundings it is estimated from area, greatest depth and class of shape, and that is said.",
    )
    survey.add_argument(
        "--drawing",
        metavar="OUT",
        help="write soundings, those left out, and where to sound next as a drawing (.svg)",
    )
    _stage(
        subparsers,
        "reading",
        "the water as it stands: layers, oxygen, debt, ammonia",
        "The water on the day of the latest profile, weighed with the basin's real shape: thermocline, "
        "stability, oxygen and its debt, ammonia, sulphide, and the pond if it all turned over now.",
    )
    _add_layout(subparsers)
    _add_air(subparsers)
    _add_choose(subparsers)
    _add_commission(subparsers)
    _add_faults(subparsers)
    _add_startup(subparsers)
    _add_plan(subparsers)


def _add_layout(subparsers: Subparsers) -> None:
    layout = _stage(
        subparsers,
        "layout",
        "where diffusers, manifold and lines lie",
        "Diffusers, manifold and lines in the surveyed basin, what each plume lifts and the turnover. Layout "
        "and air line are worked round until they agree.",
    )
    layout.add_argument(
        "--front",
        action="store_true",
        help="instead: each number of diffusers with its served share, turnover, mixing in the simulated water, power "
        "and cost, and which of them no other beats",
    )
    layout.add_argument("--chart", metavar="OUT", help="with --front: write it as a drawing (.svg)")


def _add_air(subparsers: Subparsers) -> None:
    air = _stage(
        subparsers,
        "air",
        "pressures, flows, valves and heat along the air line",
        "Compressor, line, manifold, valves, branches, membranes and water solved together: gauges to "
        "expect, flow of each diffuser, valve settings, heat. Needs no pond where each diffuser has a depth "
        "and a branch_length in job.toml, or with --depths.",
    )
    _add_typed(air)
    air.add_argument(
        "--route-drawing", metavar="OUT", help="write the profile of route.csv as a drawing (.svg)"
    )
    air.add_argument(
        "--balance",
        choices=("equal", "depth", "volume"),
        help="how the valves share the air: alike, by depth, or by the volume each diffuser serves (default: "
        "the job's air.balance)",
    )


def _add_choose(subparsers: Subparsers) -> None:
    choose = _command(
        subparsers,
        "choose",
        "compressor, trunk and number of diffusers by cost over years",
        "Every compressor (generic ones and those of equipment.csv) with every trunk and number of diffusers, solved "
        "on the air line and ranked by life-cycle cost; why each loser lost, with its figure; power at the pond "
        "against a long air line, with the distance at which they change places.",
        "choose_work:choose",
    )
    _add_typed(choose)
    choose.add_argument(
        "--years", type=whole(1, 50), metavar="N", help="years counted (default: costs.years, else 10)"
    )
    choose.add_argument(
        "--discount-rate",
        type=quantity("fraction", least=0.0, most=0.5),
        metavar="RATE",
        help="real discount rate a year, '3 %%' (default: costs.discount_rate, else 3 %%)",
    )
    choose.add_argument("--pdf", metavar="OUT", help="write the comparison as a page for the quote (.pdf)")
    choose.add_argument("--chart", metavar="OUT", help="write the costs by distance as a drawing (.svg)")


def _add_commission(subparsers: Subparsers) -> None:
    commission = _command(
        subparsers,
        "commission",
        "the sheet of gauges for the first start, and what was read beside it",
        "What each gauge must show at today's water with all valves full open, each branch alone, the valves set and "
        "each shut in turn, with bands; beside it what was read, what disagrees and by how much; the accepted record "
        "is kept in job.toml as built.",
        "commission_work:commission",
    )
    commission.add_argument(
        "--level",
        type=quantity("m", least=-5.0, most=5.0),
        metavar="LEVEL",
        help="today's water over the level at which the diffusers' depths hold, '2 in', minus below it (default: that "
        "of the gauges file)",
    )
    commission.add_argument(
        "--intake",
        type=quantity("degc", least=-40.0, most=60.0),
        metavar="TEMP",
        help="today's air where the compressor stands, '68 degF' (default: the job's air.intake_temperature, else a "
        "hot day)",
    )
    commission.add_argument(
        "--gauge",
        metavar="FILE",
        help="what was read: time,place,pressure_psig,water_level_m,open_ports,boil as for faults",
    )
    commission.add_argument(
        "--accept",
        metavar="WHO",
        help="keep what was read in job.toml as the record as built, accepted by WHO",
    )
    commission.add_argument(
        "--reason", metavar="TEXT", help="with --accept: why it is accepted though a gauge disagrees"
    )
    commission.add_argument("--pdf", metavar="OUT", help="write the sheet to fill in at the pond (.pdf)")


def _add_faults(subparsers: Subparsers) -> None:
    faults = _command(
        subparsers,
        "faults",
        "what is wrong with the air line, from its gauges",
        "Causes and places by probability from the gauges of the last visit, what each would show, the one reading "
        "that would tell most, the safe order of work; over several visits, how the back-pressure grows and when the "
        "membranes need care.",
        "faults_work:faults",
    )
    faults.add_argument(
        "--gauge",
        metavar="FILE",
        required=True,
        help="gauges.csv: time,place,pressure_psig,water_level_m,open_ports,boil",
    )


def whole(low: int, high: int) -> Callable[[str], int]:
    """Return an argparse type for a whole number within limits."""

    def read(text: str) -> int:
        if not text.strip().isdigit() or not low <= int(text) <= high:
            raise argparse.ArgumentTypeError(f"'{text}' is not a whole number from {low} to {high}.")
        return int(text)

    return read


def _add_typed(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--depths",
        type=list_of(DEPTH),
        metavar="LIST",
        help="depths of the membranes instead of the job's diffusers, '12 ft, 10 ft 6 in'; ';' parts too",
    )
    parser.add_argument(
        "--branch-lengths",
        type=list_of(LENGTH),
        metavar="LIST",
        help="with --depths: lengths of the branches, one for each or one for all (default: 100 ft)",
    )


def _add_startup(subparsers: Subparsers) -> None:
    startup = _stage(
        subparsers,
        "startup",
        "how long to run on which day, and at what risk",
        "How long to run on which day, with which valves, who reads what and when to stop, at what risk, beside "
        "doing nothing, waiting, 24 hours from the first day and the trade's doubling custom. Planned anew from "
        "the readings of every visit. Runs an ensemble of simulated ponds.",
    )
    startup.add_argument(
        "--readings", metavar="FILE", help="readings of the visits (default: readings.csv in the folder)"
    )
    startup.add_argument(
        "--runs", metavar="FILE", help="what air has run so far (default: runs.csv in the folder)"
    )
    startup.add_argument(
        "--outage",
        type=quantity("d", above=0.0, most=60.0),
        metavar="DAYS",
        help="days that the running, mixed pond has been without air: plan its restart",
    )
    startup.add_argument(
        "--ics", metavar="OUT", help="write runs, readings and visits with reminders as a calendar (.ics)"
    )


def _add_plan(subparsers: Subparsers) -> None:
    plan = _stage(
        subparsers,
        "plan",
        "all stages, and the files for crew and customer",
        "All stages, and the files for crew and customer: plan.pdf, plan.json, plan.geojson, drawings and "
        "charts. Runs an ensemble of simulated ponds: minutes, not seconds.",
    )
    plan.add_argument(
        "--out", metavar="DIR", help=f"folder for the files (default: {OUT_NAME} inside the job folder)"
    )
    plan.add_argument(
        "--choose",
        action="store_true",
        help="a page more on what to buy and why the others lost, as `plumeline choose` ranks them (some seconds)",
    )


def _stage(subparsers: Subparsers, name: str, summary: str, more: str) -> argparse.ArgumentParser:
    return _command(subparsers, name, summary, more, f"stage_work:{name}")


def _command(
    subparsers: Subparsers, name: str, summary: str, more: str, handler: str
) -> argparse.ArgumentParser:
    parser = subparsers.add_parser(name, help=summary, description=more, parents=[common_flags()])
    what = "folder to make" if name == "new" else "a job folder"
    parser.add_argument("folder", metavar="FOLDER", help=what)
    parser.set_defaults(run=_answered_by(handler))
    return parser


def _answered_by(handler: str) -> Callable[[argparse.Namespace], int]:
    """Return a handler that loads its module only when it is called."""
    module, _, name = handler.partition(":")

    def run(args: argparse.Namespace) -> int:
        work: Callable[[argparse.Namespace], int] = getattr(
            importlib.import_module(f"plumeline.cli.{module}"), name
        )
        return work(args)

    return run


def list_of(read_one: Callable[[str], Given]) -> Callable[[str], tuple[Given, ...]]:
    """Return an argparse type for values parted by semicolons, or by commas where there is none."""

    def read(text: str) -> tuple[Given, ...]:
        parts = [part.strip() for part in text.split(";" if ";" in text else ",")]
        if not all(parts):
            raise argparse.ArgumentTypeError(f"'{text}' has an empty place. Write: '12 ft, 10 ft'.")
        return tuple(read_one(part) for part in parts)

    return read
