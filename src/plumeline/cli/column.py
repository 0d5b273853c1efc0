"""``plumeline column``: the options. The work is in column_work, which is slow to load."""

from __future__ import annotations

import argparse
import importlib
import re
from datetime import date, datetime, time
from typing import TYPE_CHECKING

from plumeline.cli.common import common_flags, quantity
from plumeline.cli.stages import list_of

if TYPE_CHECKING:
    from plumeline.cli.common import Subparsers

SUMMARY = "the water column alone: hourly profiles, with or without air"
DEFAULT_MEMBERS = 200
ALSO_NAMES = (
    "salinity", "chlorophyll", "debt-a", "sulphide", "debt-c", "ammonia", "alkalinity", "carbon",
)  # fmt: skip


def add_commands(subparsers: Subparsers) -> None:
    """Add the command."""
    parser = subparsers.add_parser(
        "column",
        help=SUMMARY,
        description="The water column alone, on the job's pond, profile and weather: temperature and oxygen by "
        "hour and depth, median and 90 % band of the simulated ponds. The run starts from the last profile at or "
        "before --from. Weather up to the end of the job's day is taken as a record, later hours as a forecast.",
        parents=[common_flags()],
    )
    parser.add_argument("folder", metavar="FOLDER", help="a job folder")
    parser.add_argument(
        "--from", dest="first", type=moment, metavar="TIME",
        help="first hour shown, 2026-08-11 or 2026-08-11T06:30, on the pond's clock unless an offset stands "
        "with it (default: the last profile)",
    )  # fmt: skip
    parser.add_argument(
        "--to", dest="last", type=moment, metavar="TIME",
        help="end of the last hour; a day alone means its end (default: seven days after --from)",
    )  # fmt: skip
    parser.add_argument(
        "--air", choices=("off", "plan", "always"), default="off",
        help="no air; as the start-up plan runs it (from the plan.json of an earlier 'plumeline plan', else "
        "computed now); or all diffusers day and night from --from (default: %(default)s)",
    )  # fmt: skip
    parser.add_argument("--csv", metavar="OUT", help="file for the hourly profiles, '-' for stdout")
    parser.add_argument(
        "--depths", type=list_of(quantity("m", least=0.0, most=60.0)), metavar="LIST",
        help="depths, '1 ft, 3 ft, 10 ft 6 in'; ';' parts too (default: 1 ft, then every 2 ft)",
    )  # fmt: skip
    parser.add_argument(
        "--also", type=_names, default=(), metavar="LIST",
        help=f"further states: {', '.join(ALSO_NAMES)}",
    )  # fmt: skip
    parser.add_argument(
        "--members", type=_members, default=DEFAULT_MEMBERS, metavar="N",
        help="simulated ponds (default: %(default)s)",
    )  # fmt: skip
    parser.add_argument(
        "--condition", action="store_true",
        help="choose the simulated ponds by what was read and seen before, as the start-up plan does (slower)",
    )  # fmt: skip
    parser.set_defaults(run=_run)


def _run(args: argparse.Namespace) -> int:
    work = importlib.import_module("plumeline.cli.column_work")
    code: int = work.column(args)
    return code


def moment(text: str) -> date | datetime:
    """Read a day, or a day and a time with or without an offset."""
    try:
        if re.fullmatch(r"\d{4}-\d{2}-\d{2}", text.strip()):
            return date.fromisoformat(text.strip())
        return datetime.fromisoformat(text.strip())
    except ValueError:
        raise argparse.ArgumentTypeError(
            f"'{text}' is not a time. Write 2026-08-11, 2026-08-11T06:30 or 2026-08-11T06:30-04:00."
        ) from None


def on_the_ponds_clock(given: date | datetime, time_zone: str, *, end: bool = False) -> datetime:
    """Return a time as given with the pond's offset where none stands with it; a day alone is its start or end."""
    from datetime import timedelta
    from zoneinfo import ZoneInfo

    zone = ZoneInfo(time_zone)
    if isinstance(given, datetime):
        return given if given.tzinfo else given.replace(tzinfo=zone)
    return datetime.combine(given + timedelta(days=1) if end else given, time(0), zone)


def _names(text: str) -> tuple[str, ...]:
    names = tuple(part.strip() for part in text.split(",") if part.strip())
    wrong = [name for name in names if name not in ALSO_NAMES]
    if wrong:
        raise argparse.ArgumentTypeError(f"'{wrong[0]}' is none of {', '.join(ALSO_NAMES)}.")
    return names


def _members(text: str) -> int:
    try:
        members = int(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"'{text}' is not a whole number.") from None
    if not 16 <= members <= 5000:
        raise argparse.ArgumentTypeError(f"{text} is outside 16 to 5000.")
    return members
