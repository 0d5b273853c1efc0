"""What all commands share: the common flags, options whose value has a unit, and the two ways to answer."""

from __future__ import annotations

import argparse
import dataclasses
import json
import math
import sys
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any, TypeVar

from plumeline.cli.tables import listing, paragraph
from plumeline.errors import PlumelineError
from plumeline.notices import Notice, caution
from plumeline.pairs import said
from plumeline.units import SUFFIXES, AirFlow, as_number, echo, parse, parse_air, show_air
from plumeline.units.showing import System

Read = TypeVar("Read")

LEAST_BOTTOM_SHARE = 0.05
"""At 1:19 one reading's error of 0.2 mg/L is 6 mg/L of demand."""

if TYPE_CHECKING:
    Subparsers = argparse._SubParsersAction[argparse.ArgumentParser]


def day_asked(args: argparse.Namespace) -> date:
    """Return ``--date``, else today: the day of a job that names none itself, which is then said.

    Ten answers are enough for a first plan, and the date is not one of them.
    """
    asked: date | None = args.date
    return asked or date.today()


def common_flags() -> argparse.ArgumentParser:
    """Return a parser to give to a command as a parent."""
    flags = argparse.ArgumentParser(add_help=False)
    group = flags.add_argument_group("common options")
    group.add_argument("--json", action="store_true", help="answer in JSON, always in SI units")
    group.add_argument(
        "--units", choices=("us", "si"), default="us", help="units of the tables (default: %(default)s)"
    )
    group.add_argument("--seed", type=_seed, help="seed of the random draws (default: the job's, else 1)")
    group.add_argument("--date", type=_date, help="day of the work, 2026-08-11 (default: the job's)")
    return flags


def _seed(text: str) -> int:
    try:
        seed = int(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"'{text}' is not a whole number.") from None
    if not 0 <= seed < 2**31:
        raise argparse.ArgumentTypeError(f"{text} is outside 0 to 2147483647.")
    return seed


def _date(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(
            f"'{text}' is not a date. Write year-month-day: 2026-08-11."
        ) from None


@dataclass(frozen=True)
class Given:
    """The value of an option: as written, as a number in the option's unit, and as it was understood."""

    text: str
    value: float
    understood: str
    bare_unit: str = ""
    """The unit in which a length, area, pressure or temperature without one was read; empty where it was given."""


@dataclass(frozen=True)
class GivenAir:
    """A flow of air as written and as understood."""

    text: str
    flow: AirFlow
    understood: str


def quantity(
    suffix: str,
    *,
    gauge: bool | None = True,
    above: float = -math.inf,
    least: float = -math.inf,
    most: float = math.inf,
) -> Callable[[str], Given]:
    """Return an argparse type for a value with a unit.

    Args:
        suffix: the unit of the number, as a name's ending (``m``, ``degc``).
        gauge: for pressures, as in ``units.parse``.
        above: a limit that the number must exceed, in that unit.
        least: the lowest allowed number, in that unit.
        most: the highest allowed number, in that unit.
    """
    unit = SUFFIXES[suffix].spellings[0]

    def read(text: str) -> Given:
        number = _as_usage(lambda: parse(text, suffix, gauge=gauge))
        if number <= above:
            raise argparse.ArgumentTypeError(f"'{text}' is not above {_limit(above, unit)}.")
        if number < least:
            why = " A gauge reads 0 or more: check the sign." if suffix == "pa" and least == 0.0 else ""
            raise argparse.ArgumentTypeError(f"'{text}' is below {_limit(least, unit)}.{why}")
        if number > most:
            raise argparse.ArgumentTypeError(f"'{text}' is above {most:g} {unit}.{_bare(text, unit)}")
        bare = unit if suffix in ("m", "m2", "pa", "degc") and number != 0.0 and _bare(text, unit) else ""
        return Given(text, number, echo(text, suffix, gauge=gauge), bare)

    return read


def _limit(value: float, unit: str) -> str:
    """Return a limit with its unit; zero is zero in every unit but a temperature's."""
    return "0" if value == 0.0 and not unit.startswith("deg") else f"{value:g} {unit}"


def _bare(text: str, unit: str) -> str:
    """Return how a number without a unit was read, or nothing where it has one."""
    try:
        float(text)
    except ValueError:
        return ""
    return f" Without a unit it is read in {unit}; write the unit with it, in quotes."


def pure_number(*, low: float, high: float) -> Callable[[str], float]:
    """Return an argparse type for a number without a unit, within limits.

    Args:
        low: lowest allowed number.
        high: highest allowed number.
    """

    def read(text: str) -> float:
        try:
            number = as_number(float(text))
        except (ValueError, PlumelineError):
            raise argparse.ArgumentTypeError(f"'{text}' is not a number.") from None
        if not low <= number <= high:
            raise argparse.ArgumentTypeError(f"{text} is outside {low:g} to {high:g}.")
        return number

    return read


def bottom_share(text: str) -> float:
    """Read parts of bottom water to parts of surface water, ``1:3``, as the share of bottom water."""
    parts = text.split(":")
    try:
        bottom, surface = (as_number(float(part)) for part in parts)
    except (ValueError, PlumelineError):
        raise argparse.ArgumentTypeError(
            f"'{text}' is not a mixture. Write parts of bottom water to parts of surface water: 1:1 or 1:3."
        ) from None
    if bottom <= 0.0 or surface < 0.0:
        raise argparse.ArgumentTypeError(f"'{text}' holds no bottom water: write 1:1 or 1:3.")
    share = bottom / (bottom + surface)
    if share < LEAST_BOTTOM_SHARE:
        raise argparse.ArgumentTypeError(
            f"'{text}' holds too little bottom water to read anything: no weaker than 1:19."
        )
    return share


def air_flow(text: str) -> GivenAir:
    """Read an option that is a flow of air, above zero."""
    flow = _as_usage(lambda: parse_air(text))
    if flow.flow_m3_s <= 0:
        raise argparse.ArgumentTypeError(f"'{text}' is no flow of air at all.")
    if flow.basis == "intake":
        return GivenAir(text, flow, f"{text} at the intake")
    other = show_air(flow.standard_m3_s(), "si" if "scfm" in text.casefold() else "us")
    return GivenAir(text, flow, f"{text} = {other}")


def _as_usage(read: Callable[[], Read]) -> Read:
    try:
        return read()
    except PlumelineError as error:
        raise argparse.ArgumentTypeError(str(error)) from None


def answer(
    args: argparse.Namespace,
    data: Mapping[str, Any],
    *,
    understood: Mapping[str, str],
    lines: Iterable[tuple[str, str]],
    notices: Iterable[Notice] = (),
) -> int:
    """Print one answer, as JSON or for people, and return the exit code for done.

    Args:
        args: the parsed arguments, with the common flags.
        data: what ``--json`` prints: SI numbers under names that carry their units.
        understood: what was given, by name, as it was understood.
        lines: (what, value with its unit) for people.
        notices: warnings, printed on both surfaces.
    """
    notices = (*_bare_numbers(args), *notices)
    if args.json:
        print_json({**data, "understood": dict(understood), "notices": notice_rows(notices)})
        return 0
    if understood:
        print(listing(list(understood.items()), title="Understood"))
        print()
    print(listing(list(lines), title="Answer"))
    print_notices(notices, args.units)
    return 0


def _bare_numbers(args: argparse.Namespace) -> tuple[Notice, ...]:
    """Say which lengths, areas, pressures and temperatures came without a unit, and how they were read."""
    bare = [
        f"--{name.replace('_', '-')} {given.text} as {given.text} {given.bare_unit}"
        for name, given in vars(args).items()
        if isinstance(given, Given) and given.bare_unit
    ]
    if not bare:
        return ()
    words = f"Read without a unit: {', '.join(bare)}. Write the unit, as '260 ft' or '8.5 psig'."
    return (caution("number-without-unit", words),)


def print_json(data: Mapping[str, Any]) -> None:
    """Print a document as JSON; NaN and infinity are refused, for JSON has none."""
    text = json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False)
    sys.stdout.write(said(text, "si") + "\n")


def notice_rows(notices: Iterable[Notice]) -> list[dict[str, str]]:
    """Return notices as JSON rows."""
    return [{key: str(value) for key, value in dataclasses.asdict(notice).items()} for notice in notices]


def print_notices(notices: Iterable[Notice], units: System) -> None:
    """Print notices below an answer, the gravest first, in one system of units."""
    rank = {"danger": 0, "caution": 1, "note": 2}
    for notice in sorted(_blank_files_in_one(notices), key=lambda notice: rank[notice.severity]):
        print()
        print(paragraph(f"{notice.severity.value.capitalize()}: {notice.said(units)}"))


def _blank_files_in_one(notices: Iterable[Notice]) -> list[Notice]:
    """Return the notices with those on files that hold nothing yet said in one sentence."""
    kept: list[Notice] = []
    blank: list[Notice] = []
    for notice in notices:
        (blank if notice.code in ("no-rows", "no-outline") else kept).append(notice)
    if len(blank) < 2:
        return [*kept, *blank]
    names = [notice.text.split()[0] for notice in blank]
    text = f"{', '.join(names[:-1])} and {names[-1]} hold nothing yet: they count as not there."
    return [*kept, dataclasses.replace(blank[0], text=text)]
