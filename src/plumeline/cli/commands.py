"""The list of commands. Only the module of the command that is asked for is imported.

A module of commands has ``add_commands(subparsers)``: it adds a parser for each command of its group, with
``parents=[common_flags()]`` and ``set_defaults(run=handler)``; a handler takes the parsed arguments and
returns an exit code. For the other groups only name and help are entered here, which costs no import.
"""

from __future__ import annotations

import argparse
import importlib
from dataclasses import dataclass

import plumeline
from plumeline.cli.parsing import Parser
from plumeline.errors import PlumelineError


class UsageError(PlumelineError):
    """A command that was asked for wrongly; the program ends with 2."""


@dataclass(frozen=True)
class Group:
    """Commands that one module adds, with the help that stands in the list."""

    module: str
    commands: tuple[tuple[str, str], ...]

    def names(self) -> tuple[str, ...]:
        """Return the names of the commands."""
        return tuple(name for name, _ in self.commands)


GROUPS = (
    Group("plumeline.cli.quick", (("quick", "one-line answers, values with their units"),)),
    Group("plumeline.cli.column", (("column", "the water column alone: hourly profiles, with or without air"),)),
    Group(
        "plumeline.cli.stages",
        (
            ("new", "write a commented job folder to fill in"),
            ("check", "report every fault of a job folder at once"),
            ("known", "what is known of a pond: facts of its site and the ten answers"),
            ("survey", "the basin: area, volume with its error, depths"),
            ("reading", "the water as it stands: layers, oxygen, debt, ammonia"),
            ("layout", "where diffusers, manifold and lines lie"),
            ("air", "pressures, flows, valves and heat along the air line"),
            ("choose", "compressor, trunk and number of diffusers by cost over years"),
            ("commission", "the sheet of gauges for the first start, and what was read beside it"),
            ("faults", "what is wrong with the air line, from its gauges"),
            ("startup", "how long to run on which day, and at what risk"),
            ("plan", "all stages, and the files for crew and customer"),
        ),
    ),
    Group(
        "plumeline.cli.foreign",
        (
            ("bring", "shores and soundings out of files of other programs and devices"),
            ("export", "the pond and its layout as a file for another program or a handheld"),
        ),
    ),
    Group(
        "plumeline.web.commands",
        (
            ("serve", "all ponds in a browser, on this machine or for the phones of the local network"),
            ("fieldsheet", "the page at the water as one file, for a shop without a server"),
            ("people", "who may sign in"),
            ("backup", "a copy of the ponds' database that was read back"),
            ("restore", "put a backup in the database's place"),
            ("doctor", "look the database over"),
        ),
    ),
)  # fmt: skip


def build_parser(words: list[str], *, all_groups: bool = False) -> argparse.ArgumentParser:
    """Return the parser for a command line, with the full options of the command in it.

    Args:
        words: the words after the program's name.
        all_groups: True to load the options of every command, as the reference page wants.
    """
    parser = Parser(
        prog="plumeline",
        description="From the survey of a stratified pond to the aeration start-up plan.",
        epilog="plumeline COMMAND --help tells more. A value carries its unit: '12 ft 6 in', '8 psig'.",
    )
    parser.add_argument(
        "--version", action="version", version=f"plumeline {plumeline.__version__}", help="print the version"
    )
    subparsers = parser.add_subparsers(title="commands", metavar="COMMAND", required=True)
    asked = next((word for word in words if not word.startswith("-")), "")
    for group in GROUPS:
        if all_groups or asked in group.names():
            importlib.import_module(group.module).add_commands(subparsers)
        else:
            for name, summary in group.commands:
                subparsers.add_parser(name, help=summary)
    return parser
