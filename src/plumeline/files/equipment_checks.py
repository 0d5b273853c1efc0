"""Checks of the air system in job.toml: names of pipes, the compressor's curve, the power it needs."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from functools import cache
from importlib import resources
from itertools import pairwise

from plumeline.files.findings import Findings, near
from plumeline.files.toml_values import JOB_FILE
from plumeline.job.document import AirSystem, Compressor, Diffuser, PipeSegment


@cache
def pipe_names() -> tuple[str, ...]:
    """Return the names of sources/pipes.csv."""
    text = resources.files("plumeline.sources").joinpath("pipes.csv").read_text(encoding="utf-8")
    return tuple(row["name"] for row in csv.DictReader(text.splitlines()))


def check_air(air: AirSystem, findings: Findings) -> None:
    """Add faults on the air system."""
    check_trunk(air.trunk, "air.trunk", findings)
    check_diffusers(air.diffusers, "air.diffusers", findings)
    _check_pipe(air.branch_pipe, "air.branch_pipe", findings)
    if air.compressor is not None:
        check_compressor(air.compressor, "air.compressor", findings)
    if air.trunk and air.route_length_m is not None:
        length = sum(segment.length_m for segment in air.trunk)
        if not 0.9 <= length / air.route_length_m <= 1.1:
            findings.caution(
                "route-differs",
                f"{JOB_FILE}: the pieces of air.trunk add up to {length:.0f} m, air.route_length is "
                f"{air.route_length_m:.0f} m; the pieces are used.",
            )


def check_trunk(trunk: tuple[PipeSegment, ...], path: str, findings: Findings) -> None:
    """Add faults on the pieces of the trunk: a pipe nobody knows, or neither name nor bore."""
    for number, segment in enumerate(trunk, start=1):
        here = f"{path}[{number}]"
        if segment.pipe:
            _check_pipe(segment.pipe, f"{here}.pipe", findings)
        elif segment.bore_m is None:
            remedy = 'Write pipe = "pe-3/4", or bore = "0.824 in".'
            findings.fault(JOB_FILE, here, "has neither pipe nor bore.", remedy)


def check_diffusers(diffusers: tuple[Diffuser, ...], path: str, findings: Findings) -> None:
    """Add faults on diffusers: a pipe nobody knows, the same name twice."""
    seen: set[str] = set()
    for number, diffuser in enumerate(diffusers, start=1):
        here = f"{path}[{number}]"
        if diffuser.branch_pipe:
            _check_pipe(diffuser.branch_pipe, f"{here}.branch_pipe", findings)
        if diffuser.name in seen:
            findings.fault(JOB_FILE, here, f"has the name {diffuser.name} again.", "Name each one otherwise.")
        seen.add(diffuser.name)


def _check_pipe(name: str, path: str, findings: Findings) -> None:
    if not name or name in pipe_names():
        return
    close = near(name, pipe_names())
    hint = f'Did you mean "{close}"? ' if close else ""
    known = ", ".join(_common(pipe_names()))
    findings.fault(JOB_FILE, path, f"no pipe is called {name!r}.", f"{hint}Names: {known} ...")


def _common(names: tuple[str, ...]) -> Iterator[str]:
    """Return the names with one size each, for a message."""
    return (name for name in names if name.endswith("-3/4"))


def check_compressor(compressor: Compressor, path: str, findings: Findings) -> None:
    """Add faults on a compressor's curve: one point only, or not falling with pressure."""
    curve = compressor.curve
    if not curve:
        if not compressor.name:
            remedy = "Name a generic one of sources/compressors.csv, or give its curve."
            findings.fault(JOB_FILE, path, "has neither name nor curve.", remedy)
        return
    if len(curve) < 2:
        remedy = "Give two points at least, from open outlet to the highest pressure."
        findings.fault(JOB_FILE, f"{path}.curve", "has one point only.", remedy)
    for number, (before, after) in enumerate(pairwise(curve), start=2):
        here = f"{path}.curve[{number}]"
        if after.pressure_pa <= before.pressure_pa:
            remedy = "Order the points by pressure, each pressure once."
            findings.fault(JOB_FILE, here, "stands at no higher pressure than the point before.", remedy)
        elif after.intake_flow_m3_s > before.intake_flow_m3_s:
            remedy = "A compressor gives less air at more pressure; check for exchanged numbers."
            findings.fault(JOB_FILE, here, "gives more air at a higher pressure.", remedy)
