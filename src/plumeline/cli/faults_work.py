"""``plumeline faults``: what is wrong with an air line, from its gauges."""

from __future__ import annotations

import argparse
import dataclasses
from pathlib import Path

from plumeline.cli.common import day_asked
from plumeline.cli.gauge_rows import fitting
from plumeline.cli.show_faults import fault_blocks
from plumeline.cli.stage_work import all_typed, asked_job, print_answer, sized_pond, with_pond
from plumeline.errors import JobFolderError
from plumeline.files.findings import Findings
from plumeline.files.gauges import read_gauges
from plumeline.files.site_part import zone_of
from plumeline.stages.air.fault_stage import find_faults
from plumeline.stages.air.results import BranchSpec


def faults(args: argparse.Namespace) -> int:
    """Print the causes by probability, the next reading, the order of work, and the growth over the visits."""
    asked = asked_job(args, pond_needed=False)
    findings = Findings()
    readings = read_gauges(Path(args.gauge), zone_of(asked.job.site), day_asked(args), findings)
    if findings.faults:
        raise JobFolderError(findings.all_faults(), "the file of gauges")
    branches: tuple[BranchSpec, ...] = ()
    if not all_typed(asked.job):
        asked = with_pond(args)
        _basin, sized = sized_pond(asked)
        branches = sized.air.branches
    names = [item.name for item in branches or asked.job.listed_diffusers]
    readings, said = fitting(Path(args.gauge).name, names, readings)
    asked = dataclasses.replace(asked, notices=(*asked.notices, *said))
    found = find_faults(asked.job, readings, branches)
    return print_answer(args, asked, "faults", found, fault_blocks(found, args.units), working=True)
