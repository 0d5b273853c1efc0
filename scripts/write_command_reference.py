"""Write docs/commands.md from the parser, so that the page always says what the program does.

The page is set out here and not by argparse, whose own layout differs between versions of Python.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from pathlib import Path

from plumeline.cli.commands import build_parser
from plumeline.cli.common import common_flags

PAGE = Path(__file__).resolve().parent.parent / "docs" / "commands.md"

HEAD = """\
# Commands

This page is written by `scripts/write_command_reference.py` from the program itself; do not edit it.

A value carries its unit: `"12 ft 6 in"`, `"72 degF"`, `"8 psig"`, `"1.3 scfm"`. A bare number takes the SI
unit of its option. `"2,5 m"` is 2.5 m; `"1,200 ft"` could be read in two ways and is refused. Data goes to
stdout and talk to stderr; the exit code is 0 when done, 1 when it failed, 2 when the command was asked for
wrongly. The same input gives the same bytes. Every command also takes the common options at the end.
"""

Parser = argparse.ArgumentParser


def with_children(parser: Parser, summary: str = "") -> Iterator[tuple[Parser, str]]:
    """Yield a parser and all parsers below it, each with its line in the list above."""
    yield parser, summary
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction):
            helps = {choice.dest: choice.help or "" for choice in action._choices_actions}
            for name, child in action.choices.items():
                yield from with_children(child, helps.get(name, ""))


def line(action: argparse.Action) -> str:
    """Return one line about an option or argument."""
    value = action.metavar or ("|".join(map(str, action.choices)) if action.choices else action.dest.upper())
    names = ", ".join(action.option_strings)
    shown = f"{names} {value}" if names and action.nargs != 0 else names or str(value)
    told = (action.help or "").replace("%(default)s", str(action.default)).replace("%%", "%")
    must = " (required)" if action.required and action.option_strings else ""
    return f"- `{shown}`{must}{': ' if told else ''}{told}"


def options(parser: Parser) -> list[argparse.Action]:
    """Return what a command takes of its own, without help and the common options."""
    shared = {name for action in common_flags()._actions for name in action.option_strings} | {"-h"}
    return [
        action
        for action in parser._actions
        if not isinstance(action, argparse._SubParsersAction) and not shared & set(action.option_strings)
    ]


def section(parser: Parser, summary: str) -> str:
    """Return the part of the page about one command."""
    words = parser.prog.split()
    out = [f"{'#' * min(len(words) + 1, 4)} {parser.prog}", ""]
    out += [parser.description or f"{summary[:1].upper()}{summary[1:]}.", ""]
    out += [line(action) for action in options(parser)]
    for group in parser._mutually_exclusive_groups:
        names = " or ".join(f"`{action.option_strings[0]}`" for action in group._group_actions)
        out.append(f"- {'One' if group.required else 'At most one'} of {names}.")
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction):
            out += [f"- `{choice.dest}`: {choice.help}" for choice in action._choices_actions]
    return "\n".join(out).rstrip() + "\n"


def page() -> str:
    """Return the whole page."""
    root = build_parser([], all_groups=True)
    common = [line(action) for action in common_flags()._actions]
    end = "\n".join(["## Common options", "", *common, "- `--help`, at every command: what it takes.", ""])
    return "\n".join([HEAD, *(section(*item) for item in with_children(root)), end])


def main() -> int:
    """Write the page, or with ``--check`` say whether it is up to date."""
    text = page()
    if "--check" in sys.argv[1:]:
        same = PAGE.exists() and PAGE.read_text(encoding="utf-8") == text
        if not same:
            print("docs/commands.md is out of date: run scripts/write_command_reference.py", file=sys.stderr)
        return 0 if same else 1
    PAGE.write_text(text, encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
