"""``plumeline choose``: what to buy, and where the compressor stands."""

from __future__ import annotations

import argparse
import dataclasses
from pathlib import Path
from typing import Any

from plumeline.cli.commands import UsageError
from plumeline.cli.show_choice import choice_blocks
from plumeline.cli.stage_work import Asked, all_typed, asked_job, print_answer, typed_job, with_pond
from plumeline.job.document import Job
from plumeline.stages.air import air as air_stage
from plumeline.stages.choice import ChoiceResult, OwnDesign, design_of
from plumeline.stages.choice import choose as choose_stage
from plumeline.stages.sizing import sizing
from plumeline.stages.survey import Survey
from plumeline.stages.survey import survey as survey_stage


def choose(args: argparse.Namespace) -> int:
    """Print the ranking; write the page and the chart that were asked for."""
    if args.branch_lengths and not args.depths:
        raise UsageError(
            "--branch-lengths was given without --depths.", remedy="Give --depths '12 ft, 10 ft' too."
        )
    asked, basin = _asked(args)
    asked = dataclasses.replace(asked, job=_with_years(asked.job, args))
    found = choose_stage(asked.job, basin)
    _write(args, asked, found, basin)
    before: tuple[Any, ...] = () if basin is None else (basin,)
    return print_answer(args, asked, "choose", found, choice_blocks(found, args.units), before=before)


def _asked(args: argparse.Namespace) -> tuple[Asked, Survey | None]:
    """Return the job, and its pond unless every diffuser's depth and length are typed in."""
    asked = asked_job(args, pond_needed=False)
    if args.depths:
        job, said = typed_job(asked.job, args.depths, args.branch_lengths or ())
        return dataclasses.replace(asked, job=job, notices=(*asked.notices, *said)), None
    if all_typed(asked.job):
        return asked, None
    asked = with_pond(args)
    return asked, survey_stage(asked.job, asked.seed)


def _with_years(job: Job, args: argparse.Namespace) -> Job:
    """Return the job with the years and the rate of the command line."""
    given: dict[str, Any] = {}
    if args.years is not None:
        given["years"] = args.years
    if args.discount_rate is not None:
        given["discount_rate_fraction"] = args.discount_rate.value
    return job.model_copy(update={"costs": job.costs.model_copy(update=given)}) if given else job


def _write(args: argparse.Namespace, asked: Asked, found: ChoiceResult, basin: Survey | None) -> None:
    """Write the page of the job's own design, which is the one that a plan simulates, and the chart."""
    if args.chart:
        # what draws is slow to load
        from plumeline.charts import chart_svg
        from plumeline.charts.distance import distance_chart

        if found.service is None:
            raise UsageError(
                "there is nothing to draw: no combination works, or the line lies in the ground already.",
                remedy="Leave --chart out.",
            )
        Path(args.chart).write_text(chart_svg(distance_chart(found, args.units)), encoding="utf-8")
    if args.pdf:
        from plumeline.paper.quote import render_choice

        if basin is None:
            design = OwnDesign(air_stage(asked.job))
        else:
            design = design_of(sizing(asked.job, basin, seed=asked.seed))
        quoted = choose_stage(asked.job, basin, design)
        Path(args.pdf).write_bytes(render_choice(quoted, asked.job, asked.day, args.units))
