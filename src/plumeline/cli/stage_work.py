"""The commands that run one stage of a job, or all of them."""

from __future__ import annotations

import argparse
import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from plumeline.cli.commands import UsageError
from plumeline.cli.common import Given, day_asked, notice_rows, print_json, print_notices
from plumeline.cli.figures import bullets, safety_block, safety_rows
from plumeline.cli.progress import Progress
from plumeline.cli.show_air import air_blocks
from plumeline.cli.show_layout import layout_blocks
from plumeline.cli.show_reading import reading_blocks
from plumeline.cli.show_startup import startup_blocks
from plumeline.cli.show_survey import survey_blocks
from plumeline.cli.tables import paragraph
from plumeline.errors import Fault, InputError, JobFolderError
from plumeline.files.calendar import write_calendar
from plumeline.files.job_folder import check_job
from plumeline.files.json_values import json_value
from plumeline.files.readings import LATEST_D
from plumeline.files.route_in import FILE as ROUTE
from plumeline.files.toml_values import JOB_FILE
from plumeline.job.digest import origin
from plumeline.job.document import Diffuser, Job, OxygenReading, Profile
from plumeline.notices import Notice, note
from plumeline.stages.air import AirResult
from plumeline.stages.air import air as air_stage
from plumeline.stages.column import believed, screened
from plumeline.stages.plan import all_notices, start_up_of
from plumeline.stages.reading import reading as reading_stage
from plumeline.stages.sizing import Sized, sizing
from plumeline.stages.survey import Survey
from plumeline.stages.survey import survey as survey_stage
from plumeline.units.showing import System

DEFAULT_BRANCH_M = 30.48
"""Branch length, 100 ft, where depths are typed in without lengths; said in a notice."""


@dataclass(frozen=True)
class Asked:
    """A job as a command asks for it: with the date and the seed of the command line."""

    job: Job
    seed: int
    day: date
    notices: tuple[Notice, ...]

    @property
    def head(self) -> dict[str, Any]:
        """Return what stands first in every document."""
        return {
            "job": self.job.id,
            "name": self.job.name,
            "date": self.day.isoformat(),
            "seed": self.seed,
            **origin(self.job),
        }


def asked_job(args: argparse.Namespace, *, pond_needed: bool = True) -> Asked:
    """Return the job of the folder named on the command line.

    Raises:
        JobFolderError: with every fault of every file.
    """
    readings, runs = (getattr(args, name, None) for name in ("readings", "runs"))
    report = check_job(
        Path(args.folder),
        today=day_asked(args),
        pond_needed=pond_needed,
        readings=Path(readings) if readings else None,
        runs=Path(runs) if runs else None,
    )
    if report.job is None:
        raise JobFolderError(report.faults)
    job = report.job
    job = job.model_copy(update={"date": args.date or latest_day(job)})
    seed = job.seed if args.seed is None else args.seed
    return Asked(job, seed, job.date, report.notices)


def latest_day(job: Job) -> date:
    """Return the job's date, or the day of a later visit: a plan is not dated before the readings that it rests on."""
    zone = ZoneInfo(job.site.time_zone)
    read: list[Profile | OxygenReading] = [*job.profiles, *job.oxygen_readings]
    days = [item.time.astimezone(zone).date() for item in read]
    return max([job.date, *(day for day in days if (day - job.date).days <= LATEST_D)])


def svg_path(name: str, option: str) -> Path:
    """Return where a drawing goes.

    Raises:
        InputError: the file is no .svg.
    """
    if Path(name).suffix.lower() != ".svg":
        raise InputError(
            f"{Path(name).name} is no drawing.", remedy="Name a file ending in .svg.", place=option
        )
    return Path(name)


def survey(args: argparse.Namespace) -> int:
    """Print the basin, and draw it where asked."""
    asked = asked_job(args)
    out = args.drawing and svg_path(args.drawing, "--drawing")
    found = survey_stage(asked.job, asked.seed)
    if out:
        # what draws is slow to load
        from plumeline.drawing import sounded_scene, svg

        out.write_text(svg(sounded_scene(found, asked.job, args.units)), encoding="utf-8")
    return print_answer(args, asked, "survey", found, survey_blocks(found, args.units))


def reading(args: argparse.Namespace) -> int:
    """Print the water as it stands."""
    asked = asked_job(args)
    basin = survey_stage(asked.job, asked.seed)
    job, doubts = screened(asked.job)
    found = reading_stage(job, basin)
    found = dataclasses.replace(found, notices=(*doubts, *found.notices))
    return print_answer(args, asked, "reading", found, reading_blocks(found, args.units), before=(basin,))


def layout(args: argparse.Namespace) -> int:
    """Print where everything lies, or the alternatives to it."""
    if args.front:
        # it runs the simulated water, which is slow to load
        from plumeline.cli.front_work import front

        return front(args)
    if args.chart:
        raise UsageError("--chart was given without --front.", remedy="Give --front too.")
    asked = asked_job(args)
    basin, sized = sized_pond(asked)
    blocks = layout_blocks(sized.layout, sized.plume, basin, args.units)
    more = {"plume": json_value(sized.plume), "places": places_of(basin, sized)}
    return print_answer(
        args, asked, "layout", sized.layout, blocks, before=(basin, sized, sized.plume), more=more
    )


def air(args: argparse.Namespace) -> int:
    """Print the air line: typed depths, else the job's own branches, else those of the layout."""
    if args.branch_lengths and not args.depths:
        raise UsageError(
            "--branch-lengths was given without --depths.", remedy="Give --depths '12 ft, 10 ft' too."
        )
    asked = _balanced(asked_job(args, pond_needed=False), args.balance)
    before: tuple[Any, ...] = ()
    if args.depths:
        job, said = typed_job(asked.job, args.depths, args.branch_lengths or ())
        asked = dataclasses.replace(asked, job=job, notices=(*asked.notices, *said))
        found = air_stage(job)
    elif all_typed(asked.job):
        found = air_stage(asked.job)
    else:
        asked = _balanced(with_pond(args), args.balance)
        basin, sized = sized_pond(asked)
        found, before = sized.air, (basin, sized)
    if args.route_drawing:
        _write_route(Path(args.route_drawing), found, args.units)
    return print_answer(args, asked, "air", found, air_blocks(found, args.units), before=before, working=True)


def _write_route(path: Path, found: AirResult, units: System) -> None:
    """Write the profile of the route as a drawing.

    Raises:
        InputError: the job has no route, or the file is no .svg.
    """
    if found.route is None:
        raise InputError(
            "there is no route to draw.", remedy=f"Put {ROUTE} into the folder.", place="--route-drawing"
        )
    if path.suffix.lower() != ".svg":
        raise InputError(
            f"{path.name} is no drawing.", remedy="Name a file ending in .svg.", place="--route-drawing"
        )
    # what draws is slow to load
    from plumeline.drawing import route_scene, svg

    path.write_text(svg(route_scene(found.route, units)), encoding="utf-8")


def _balanced(asked: Asked, mode: str | None) -> Asked:
    """Return the job with another way of sharing the air, where one is asked for."""
    if mode is None:
        return asked
    line = asked.job.air.model_copy(update={"balance": mode})
    return dataclasses.replace(asked, job=asked.job.model_copy(update={"air": line}))


def with_pond(args: argparse.Namespace) -> Asked:
    """Return the job where the air line needs a pond, with the way round it in the error."""
    try:
        return asked_job(args)
    except JobFolderError as error:
        way_round = Fault(
            JOB_FILE,
            "air.diffusers",
            "have no depth and branch_length, so a pond is needed to lay them out.",
            "Give each diffuser both, or give --depths '12 ft, 10 ft'.",
        )
        raise JobFolderError((*error.faults, way_round)) from None


def startup(args: argparse.Namespace) -> int:
    """Print the start-up plan, and write its calendar where one is asked for."""
    asked = asked_job(args)
    outage_d = 0 if args.outage is None else max(1, round(args.outage.value))
    with Progress(quiet=args.json) as progress:
        basin, sized = sized_pond(asked, progress)
        water = reading_stage(believed(asked.job), basin)
        found = start_up_of(asked.job, basin, sized, seed=asked.seed, progress=progress, outage_d=outage_d)
    if args.ics:
        write_calendar(Path(args.ics), asked.job, found, args.units)
    before = (basin, water, sized, sized.layout, sized.air, sized.plume)
    return print_answer(
        args, asked, "startup", found, startup_blocks(found, args.units), before=before, working=True
    )


def plan(args: argparse.Namespace) -> int:
    """Run all stages and write the files."""
    asked = asked_job(args)
    # what draws and sets type is slow to load, so a fault of the folder is told first
    from plumeline.cli.plan_work import write_all

    return write_all(args, asked)


def sized_pond(asked: Asked, progress: Progress | None = None) -> tuple[Survey, Sized]:
    """Return the basin, and a layout and an air line that agree."""
    tell = progress or Progress(quiet=True)
    tell("surveying the basin", 0.0)
    basin = survey_stage(asked.job, asked.seed)
    tell("placing diffusers and solving the air line", 0.0)
    return basin, sizing(asked.job, basin, seed=asked.seed)


def all_typed(job: Job) -> bool:
    """Return whether every diffuser has its depth and its branch's length, so that no pond is needed."""
    diffusers = job.listed_diffusers
    return bool(diffusers) and all(
        item.depth_m is not None and item.branch_length_m is not None for item in diffusers
    )


def typed_job(job: Job, depths: Sequence[Given], lengths: Sequence[Given]) -> tuple[Job, tuple[Notice, ...]]:
    """Return the job with the diffusers typed on the command line, D1, D2, …, in place of its own.

    Raises:
        UsageError: neither one length nor as many lengths as depths.
    """
    if len(lengths) not in (0, 1, len(depths)):
        raise UsageError(
            f"--branch-lengths has {len(lengths)} values and --depths has {len(depths)}.",
            remedy="Give one length for all, or one for each depth.",
        )
    said: tuple[Notice, ...] = ()
    metres = [length.value for length in lengths]
    if not metres:
        metres = [DEFAULT_BRANCH_M]
        said = (
            note(
                "branch-length-assumed",
                "Each branch is taken as 100 ft (30.5 m): give --branch-lengths to say otherwise.",
            ),
        )
    if len(metres) == 1:
        metres *= len(depths)
    diffusers = tuple(
        Diffuser(name=f"D{count}", depth_m=depth.value, branch_length_m=length_m)
        for count, (depth, length_m) in enumerate(zip(depths, metres, strict=True), start=1)
    )
    line = job.air.model_copy(update={"diffusers": diffusers, "manifold": None})
    return job.model_copy(update={"air": line, "as_built": None}), said


def places_of(basin: Survey, sized: Sized) -> dict[str, Any]:
    """Return where manifold and diffusers lie, in longitude and latitude."""

    def degrees(x_m: float, y_m: float) -> dict[str, float]:
        point = basin.plane.to_point(x_m, y_m)
        return {"longitude_deg": point.longitude_deg, "latitude_deg": point.latitude_deg}

    return {
        "manifold": degrees(*sized.layout.manifold_xy),
        "diffusers": {item.name: degrees(item.x_m, item.y_m) for item in sized.layout.diffusers},
    }


def print_answer(
    args: argparse.Namespace,
    asked: Asked,
    stage: str,
    found: Any,
    blocks: Sequence[str],
    *,
    before: Sequence[Any] = (),
    more: dict[str, Any] | None = None,
    working: bool = False,
) -> int:
    """Print the result of a stage, as JSON or for people, with every notice of it and of those before it.

    Args:
        args: the parsed arguments.
        asked: the job.
        stage: the command.
        found: the stage's result.
        blocks: its texts for people.
        before: results of earlier stages, whose notices hold here too.
        more: further parts of the document.
        working: whether work is done by this answer, so that the safety card belongs to it.
    """
    notices = all_notices(asked.notices, *(part.notices for part in before), found.notices)
    if args.json:
        document = {**asked.head, stage: json_value(found), **(more or {})}
        document[stage].pop("notices", None)
        document["notices"] = notice_rows(notices)
        if working:
            document["safety"] = safety_rows()
        print_json(document)
        return 0
    print(title(asked, stage))
    for block in blocks:
        print()
        print(block)
    print_notices(notices, args.units)
    if found.assumptions:
        print()
        print(bullets(found.assumptions, "Taken for granted", args.units))
    if working:
        print()
        print(safety_block())
    return 0


def title(asked: Asked, stage: str) -> str:
    """Return the first line of an answer."""
    return paragraph(f"{asked.job.name}: {stage}, {asked.day.isoformat()}, seed {asked.seed}")
