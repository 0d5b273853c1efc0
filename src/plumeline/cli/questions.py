"""How a question of ``plumeline quick`` is added, and options that several share."""

from __future__ import annotations

import argparse
import importlib
from collections.abc import Callable
from typing import TYPE_CHECKING

from plumeline.cli.common import common_flags, quantity

if TYPE_CHECKING:
    from plumeline.cli.common import Subparsers


def _answered_by(module: str, name: str) -> Callable[[argparse.Namespace], int]:
    """Return a handler that loads its module only when it is called."""

    def run(args: argparse.Namespace) -> int:
        handler: Callable[[argparse.Namespace], int] = getattr(importlib.import_module(module), name)
        return handler(args)

    return run


def question(
    questions: Subparsers, name: str, summary: str, more: str, module: str, handler: str = ""
) -> argparse.ArgumentParser:
    """Add a question whose answer's module is loaded only when it is asked."""
    parser = questions.add_parser(name, help=summary, description=more, parents=[common_flags()])
    parser.set_defaults(run=_answered_by(f"plumeline.cli.{module}", handler or name))
    return parser


def elevation(parser: argparse._ActionsContainer) -> None:
    """Add the height above the sea."""
    parser.add_argument(
        "--elevation",
        type=quantity("m", least=-450.0, most=5000.0),
        metavar="HEIGHT",
        help="above the sea, '680 ft', for the pressure of the air (default: sea level)",
    )
