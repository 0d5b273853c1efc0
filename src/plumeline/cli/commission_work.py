"""``plumeline commission``: the sheet of gauges for the first start, what was read, and the accepted record."""

from __future__ import annotations

import argparse
import dataclasses
from pathlib import Path
from typing import Any

from plumeline.cli.commands import UsageError
from plumeline.cli.common import day_asked
from plumeline.cli.gauge_rows import fitting
from plumeline.cli.show_commission import accepted_block, commission_blocks
from plumeline.cli.stage_work import Asked, all_typed, asked_job, print_answer, sized_pond, with_pond
from plumeline.errors import InputError, JobFolderError
from plumeline.files.findings import Findings
from plumeline.files.gauges import read_gauges
from plumeline.files.json_values import json_value
from plumeline.files.site_part import zone_of
from plumeline.files.write_as_built import write_as_built
from plumeline.job.document import AsBuilt, Place
from plumeline.stages.air import AirResult, air
from plumeline.stages.air.acceptance import Standing, accepted, as_built
from plumeline.stages.air.commissioning import CommissioningResult, commissioning
from plumeline.stages.air.faults import GaugeReading
from plumeline.stages.sizing import Sized
from plumeline.stages.survey import Survey


def commission(args: argparse.Namespace) -> int:
    """Print the sheet, and what was read beside it."""
    _check_options(args)
    asked = asked_job(args, pond_needed=False)
    readings = _readings(args, asked)
    pond: tuple[Survey, Sized] | None = None
    if all_typed(asked.job):
        line = air(asked.job)
    else:
        asked = with_pond(args)
        pond = sized_pond(asked)
        line = pond[1].air
    if readings:
        names = [item.name for item in line.branches]
        # what somebody accepts is all of what was read
        readings, said = fitting(Path(args.gauge).name, names, readings, all_needed=args.accept is not None)
        asked = dataclasses.replace(asked, notices=(*asked.notices, *said))
    found = _found(args, asked, line, readings)
    blocks = commission_blocks(found, args.units)
    more: dict[str, Any] = {}
    if args.accept is not None:
        built = _accept(args, asked, found, line, pond)
        blocks.append(accepted_block(built, Path(args.folder)))
        more["as_built"] = json_value(built)
    if args.pdf:
        # what sets type is slow to load
        from plumeline.paper.sheet import render_sheet

        Path(args.pdf).write_bytes(render_sheet(found, asked.job, asked.day, args.units))
    return print_answer(args, asked, "commission", found, blocks, more=more, working=True)


def _accept(
    args: argparse.Namespace,
    asked: Asked,
    found: CommissioningResult,
    line: AirResult,
    pond: tuple[Survey, Sized] | None,
) -> AsBuilt:
    """Write the record into the folder, and return it.

    Raises:
        InputError: it can't be accepted; nothing is written then.
    """
    day = day_asked(args)
    record = accepted(found, line, args.accept, args.reason or "", day)
    standing: dict[str, Standing] | None = None
    manifold: Place | None = None
    if pond is not None:
        basin, sized = pond
        point = basin.plane.to_point
        manifold = point(*sized.layout.manifold_xy)
        standing = {
            item.name: Standing(point(item.x_m, item.y_m), item.branch_pipe)
            for item in sized.layout.diffusers
        }
    built = as_built(asked.job, line, record, standing, manifold)
    write_as_built(Path(args.folder), built, today=day, pond_needed=pond is not None)
    return built


def _check_options(args: argparse.Namespace) -> None:
    """Refuse options that ask for nothing together.

    Raises:
        UsageError: an option without the one that it belongs to.
    """
    if args.accept is not None and not args.gauge:
        raise UsageError("--accept was given without --gauge.", remedy="Name the file of what was read.")
    if args.accept is not None and not args.accept.strip():
        raise UsageError("--accept names nobody.", remedy="Write who accepts: --accept 'J. Miller'.")
    if args.reason is not None and args.accept is None:
        raise UsageError("--reason was given without --accept.", remedy="Give both, or neither.")


def _readings(args: argparse.Namespace, asked: Asked) -> tuple[GaugeReading, ...]:
    """Return the readings of the file of gauges, where one is named.

    Raises:
        JobFolderError: with every fault of the file.
        InputError: the file holds no reading.
    """
    if not args.gauge:
        return ()
    findings = Findings()
    readings = read_gauges(Path(args.gauge), zone_of(asked.job.site), day_asked(args), findings)
    if findings.faults:
        raise JobFolderError(findings.all_faults(), "the file of gauges")
    if not readings:
        raise InputError(
            "no gauge was read.",
            remedy="Give at least the gauge at the compressor.",
            place=Path(args.gauge).name,
        )
    return readings


def _found(
    args: argparse.Namespace, asked: Asked, line: AirResult, readings: tuple[GaugeReading, ...]
) -> CommissioningResult:
    """Return the sheet; an error of a row names the file.

    Raises:
        InputError: from the stage.
    """
    level_m = None if args.level is None else args.level.value
    try:
        return commissioning(
            asked.job,
            line,
            water_level_m=level_m,
            intake_degc=None if args.intake is None else args.intake.value,
            readings=readings,
            seed=asked.seed,
        )
    except InputError as error:
        if not error.place.startswith("row "):
            raise
        place = f"{Path(args.gauge).name}, {error.place}"
        raise InputError(error.message, remedy=error.remedy, place=place) from None
