"""``plumeline column``: run the water column, write the hourly profiles and print the main ones."""

from __future__ import annotations

import argparse
import csv
import io
import json
import sys
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from plumeline.cli.column import on_the_ponds_clock
from plumeline.cli.common import notice_rows, print_json, print_notices
from plumeline.cli.figures import bullets, column_unit
from plumeline.cli.figures import column as number
from plumeline.cli.progress import Progress
from plumeline.cli.stage_work import Asked, asked_job, sized_pond
from plumeline.cli.stages import OUT_NAME
from plumeline.cli.tables import paragraph, table
from plumeline.errors import InputError
from plumeline.job.document import Job
from plumeline.notices import Notice
from plumeline.stages.column import runs_of
from plumeline.stages.column.run import (
    ALSO,
    ColumnRun,
    Series,
    column_run,
    default_depths,
)
from plumeline.stages.column.run_air import Blow, RunAir
from plumeline.stages.mixed import STANDARD_AIR_MOL_M3
from plumeline.stages.plan import all_notices, start_up_of
from plumeline.stages.reading import latest_profile
from plumeline.stages.survey import Survey
from plumeline.stages.survey import survey as survey_stage
from plumeline.units.showing import System

DEFAULT_DAYS = 7
WHOLE_DAY_MIN = 1440
Days = list[tuple[date, float | None, int, tuple[str, ...]]]
"""A plan's run days: date, clock hour of the start (None: the air runs on), minutes, the open diffusers (none: all)."""


def column(args: argparse.Namespace) -> int:
    """Run the water column alone."""
    asked = asked_job(args)
    job = asked.job
    first = on_the_ponds_clock(args.first, job.site.time_zone) if args.first else latest_profile(job).time
    last = (
        on_the_ponds_clock(args.last, job.site.time_zone, end=True)
        if args.last
        else first + timedelta(days=DEFAULT_DAYS)
    )
    said: tuple[Notice, ...] = ()
    with Progress(quiet=args.json or args.csv == "-") as progress:
        progress("surveying the basin", 0.0)
        if args.air == "off" and not runs_of(job)[0]:
            basin, air = survey_stage(job, asked.seed), RunAir()
        else:
            basin, air, said = _aired(args, asked, first, last, progress)
        depths = [depth.value for depth in args.depths or ()] or default_depths(basin.max_depth_m)
        progress("running the simulated ponds", 0.0)
        found = column_run(
            job, basin.hypsograph, basin.max_depth_m, first, last, depths, air=air, members=args.members,
            seed=asked.seed, condition=args.condition, also=[_state_name(name) for name in args.also],
        )  # fmt: skip
    return _answer(args, asked, found, all_notices(asked.notices, basin.notices, said, found.notices))


def _aired(
    args: argparse.Namespace, asked: Asked, first: datetime, last: datetime, progress: Progress
) -> tuple[Survey, RunAir, tuple[Notice, ...]]:
    """Return the basin and the air of a job whose diffusers are sized, running always or as planned."""
    basin, sized = sized_pond(asked, progress)
    flows = [sized.air.diffuser_flow_standard_m3_s(item.name) for item in sized.layout.diffusers]
    carrying = [(item, flow) for item, flow in zip(sized.layout.diffusers, flows, strict=True) if flow > 0.0]
    depth_m = tuple(item.depth_m for item, _ in carrying)
    air_mol_s = tuple(flow * STANDARD_AIR_MOL_M3 for _, flow in carrying)
    names = tuple(item.name for item, _ in carrying)
    if args.air == "off":
        words = f"what air had run before {first:%Y-%m-%d %H:%M} and none after it"
        return basin, RunAir(depth_m, air_mol_s, (), words, names), sized.notices
    if args.air == "always":
        words = f"all {len(depth_m)} diffusers day and night from {first:%Y-%m-%d %H:%M}"
        return basin, RunAir(depth_m, air_mol_s, (Blow(first, last),), words, names), sized.notices
    days, source = _planned_days(Path(args.folder) / OUT_NAME / "plan.json")
    if not days:
        made = start_up_of(asked.job, basin, sized, seed=asked.seed, progress=progress, brief=True)
        days = [(day.date, day.start_hour_h, day.minutes, day.diffusers) for day in made.days]
        source = f"the start-up plan as computed now, seed {asked.seed}: {made.name}"
    blows = planned_blows(days, asked.job, last, names)
    words = f"{len(depth_m)} diffusers by {source}"
    return basin, RunAir(depth_m, air_mol_s, blows, words, names), sized.notices


def _planned_days(path: Path) -> tuple[Days, str]:
    """Return the run days of an earlier plan, and where they stand; none where there is no such file.

    Raises:
        InputError: the file is there and can't be read as a plan.
    """
    if not path.is_file():
        return [], ""
    try:
        start = json.loads(path.read_text(encoding="utf-8"))["startup"]
        days = [
            (
                date.fromisoformat(day["date"]),
                None if day["start_hour_h"] is None else float(day["start_hour_h"]),
                int(day["minutes"]),
                tuple(day.get("diffusers", ())),
            )
            for day in start["days"]
        ]
        return days, f"the plan in {path}: {start['name']}"
    except (ValueError, KeyError, TypeError) as error:
        raise InputError(
            f"the plan can't be read ({type(error).__name__}: {error}).",
            remedy="Make it again with 'plumeline plan', or move it away to have it computed here.",
            place=str(path),
        ) from None


def planned_blows(days: Days, job: Job, last: datetime, names: tuple[str, ...]) -> tuple[Blow, ...]:
    """Return the times that a plan's air runs: each day's minutes, and on to `last` from its first whole day.

    A day without a start of its own goes on from the day before it.
    """
    zone = ZoneInfo(job.site.time_zone)
    blows: list[Blow] = []
    for day, start_hour_h, minutes, through in days:
        opened = tuple(names.index(name) for name in through if name in names)
        begin = datetime.combine(day, time(0), zone)
        if start_hour_h is not None:
            begin = begin.replace(hour=int(start_hour_h), minute=round(start_hour_h % 1.0 * 60.0))
        if minutes >= WHOLE_DAY_MIN or start_hour_h is None:
            if begin < last:
                blows.append(Blow(begin, last, opened))
            break
        if minutes > 0:
            # minutes of the clock's own time: a run over a change of clocks is as long as any other
            blows.append(Blow(begin, _later(begin, minutes), opened))
    return tuple(blows)


def _later(moment: datetime, minutes: int) -> datetime:
    """Return a moment so many real minutes later."""
    return (moment.astimezone(UTC) + timedelta(minutes=minutes)).astimezone(moment.tzinfo)


def _state_name(asked: str) -> str:
    """Return the state's name with its unit for the word of the command line."""
    stem = asked.replace("-", "_")
    return next(name for name in ALSO if name.startswith(f"{stem}_"))


def parted_name(name: str, part: str) -> str:
    """Return the name of a column of the file: the unit stays last (`do_mg_l`, `do_p05_mg_l`)."""
    for unit in ("degc", "mg_l", "ug_l", "g_kg", "mol_m3"):
        if name.endswith(f"_{unit}"):
            return name if part == "median" else f"{name.removesuffix(f'_{unit}')}_{part}_{unit}"
    raise ValueError(name)


def csv_text(found: ColumnRun) -> str:
    """Return the hourly profiles as CSV: one row an hour and depth, SI units, times with their offset."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    parts = ("median", "p05", "p95")
    names = [parted_name(series.name, part) for series in found.series for part in parts]
    writer.writerow(["time", "depth_m", *names])
    for h, moment in enumerate(found.times):
        for d, depth_m in enumerate(found.depth_m):
            values = [getattr(series, part)[h][d] for series in found.series for part in parts]
            writer.writerow(
                [moment.isoformat(timespec="minutes"), f"{depth_m:.3f}", *(f"{v:.4g}" for v in values)]
            )
    return out.getvalue()


def _answer(args: argparse.Namespace, asked: Asked, found: ColumnRun, notices: tuple[Notice, ...]) -> int:
    written = ""
    if args.csv and args.csv != "-":
        Path(args.csv).write_text(csv_text(found), encoding="utf-8")
        written = f"{len(found.times) * len(found.depth_m)} rows in {args.csv}."
    if args.csv == "-":
        sys.stdout.write(csv_text(found))
        return 0
    if args.json:
        print_json({**asked.head, "column": _document(found), "notices": notice_rows(notices)})
        return 0
    print(paragraph(f"{asked.job.name}: column, {asked.day.isoformat()}, seed {asked.seed}"))
    print()
    how = "chosen by what was read and seen" if found.conditioned else "drawn from the priors"
    print(
        paragraph(
            f"{found.members} simulated ponds {how}, from the profile of {found.reading_time:%Y-%m-%d %H:%M}, with "
            f"{found.air_words}."
        )
    )
    for block in _tables(found, args.units):
        print()
        print(block)
    if written:
        print()
        print(paragraph(written))
    print_notices(notices, args.units)
    if found.assumptions:
        print()
        print(bullets(found.assumptions, "Taken for granted", args.units))
    return 0


def _document(found: ColumnRun) -> dict[str, Any]:
    """Return the run for JSON: each quantity as rows by hour, one number a depth."""
    return {
        "reading_time": found.reading_time.isoformat(timespec="minutes"),
        "members": found.members,
        "conditioned": found.conditioned,
        "air": found.air_words,
        "times": [moment.isoformat(timespec="minutes") for moment in found.times],
        "depth_m": list(found.depth_m),
        **{
            parted_name(series.name, part): getattr(series, part)
            for series in found.series
            for part in ("median", "p05", "p95")
        },
        "assumptions": list(found.assumptions),
    }


def _tables(found: ColumnRun, units: System) -> list[str]:
    """Return one table each for temperature and oxygen: a row a depth, at the first, middle and last hour."""
    last = len(found.times) - 1
    hours = sorted({0, last // 3, 2 * last // 3, last})
    blocks = []
    for series, suffix, what in zip(found.series, ("degc", "mg_l"), ("Temperature", "Oxygen"), strict=False):
        heads = (
            f"depth\n{column_unit('m', units)}",
            *(f"{found.times[h]:%b} {found.times[h].day}\n{found.times[h]:%H:%M}" for h in hours),
        )
        rows = [
            (number(depth_m, "m", units, 1), *(_cell(series, h, index, suffix, units) for h in hours))
            for index, depth_m in enumerate(found.depth_m)
        ]
        title = f"{what}, {column_unit(suffix, units)}: median (5 % to 95 % of the simulated ponds)"
        blocks.append(table(heads, rows, align="r" * len(heads), title=title))
    return blocks


def _cell(series: Series, h: int, index: int, suffix: str, units: System) -> str:
    middle, low, high = (
        number(part[h][index], suffix, units, 1) for part in (series.median, series.p05, series.p95)
    )
    return f"{middle} ({low}–{high})"
