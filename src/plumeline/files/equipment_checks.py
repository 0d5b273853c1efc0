"""Checks of the air system in job.toml: names of pipes, the compressor's curve, the power it needs."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from functools import cache
from importlib import resources
from itertools import pairwise

from plumeline.files.findings import Findings, near
from plumeline.files.toml_values import JOB_FILE
from plumeline.job.document import AirSystem, Compressor, Diffuser, OldPipe, PipeSegment
from plumeline.sources import read_table

OLD_PIPE = "old-pipe"
"""Name of a piece of trunk that is the pipe in the ground."""

UNLIKE_NUMBER = 15.0
"""A curve does not fall so many times from one point to the next, save at its end; cfm over L/min would be 28."""


@cache
def pipe_names() -> tuple[str, ...]:
    """Return the names of sources/pipes.csv."""
    text = resources.files("plumeline.sources").joinpath("pipes.csv").read_text(encoding="utf-8")
    return tuple(row["name"] for row in csv.DictReader(text.splitlines()))


def check_air(air: AirSystem, findings: Findings) -> None:
    """Add faults on the air system."""
    check_trunk(air.trunk, "air.trunk", findings, old_pipe=air.old_pipe is not None)
    if air.old_pipe is not None:
        check_old_pipe(air.old_pipe, air.trunk, findings)
    check_diffusers(air.diffusers, "air.diffusers", findings)
    check_tree(air, findings)
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


def check_trunk(
    trunk: tuple[PipeSegment, ...], path: str, findings: Findings, *, old_pipe: bool = False
) -> None:
    """Add faults on the pieces of the trunk: a pipe nobody knows, or neither name nor bore.

    Args:
        trunk: the pieces.
        path: where they stand.
        findings: added to.
        old_pipe: whether a pipe in the ground is described, which a piece may then be.
    """
    for number, segment in enumerate(trunk, start=1):
        here = f"{path}[{number}]"
        if segment.pipe == OLD_PIPE:
            if not old_pipe:
                findings.fault(JOB_FILE, f"{here}.pipe", "names a pipe in the ground, and none is described.",
                               "Describe it in [air.old_pipe], or name the pipe.")  # fmt: skip
        elif segment.pipe:
            _check_pipe(segment.pipe, f"{here}.pipe", findings)
        elif segment.bore_m is None:
            remedy = 'Write pipe = "pe-3/4", or bore = "0.824 in".'
            findings.fault(JOB_FILE, here, "has neither pipe nor bore.", remedy)


def check_old_pipe(old: OldPipe, trunk: tuple[PipeSegment, ...], findings: Findings) -> None:
    """Add faults on a pipe in the ground: a size or material no table has, a hold test in which pressure rises."""
    path = "air.old_pipe"
    sizes = sorted({row["nominal"] for row in read_table("pipes")})
    materials = [row["material"] for row in read_table("pipe_materials")]
    for key, value, known in (("nominal", old.nominal, sizes), ("material", old.material, materials)):
        if value and value not in known:
            close = near(value, known)
            hint = f'Did you mean "{close}"? ' if close else ""
            words = f"{hint}Use one of: {', '.join(known)}; or leave it out."
            findings.fault(JOB_FILE, f"{path}.{key}", f"{value!r} is not in the tables.", words)
    hold = old.hold_test
    if (
        hold is not None
        and hold.end_temperature_degc is None
        and hold.end_pressure_pa > hold.start_pressure_pa
    ):
        findings.fault(
            JOB_FILE,
            f"{path}.hold_test",
            "the pressure rises, which no shut pipe does.",
            "Its air grew warmer, the readings are exchanged, or the valve lets by: shut it in until it has the "
            "soil's temperature, then start the clock; or give end_temperature too.",
        )
    if trunk and not any(piece.pipe == OLD_PIPE for piece in trunk):
        findings.caution(
            "old-pipe-unused",
            f'{JOB_FILE}: {path} is described, and no piece of air.trunk is pipe = "{OLD_PIPE}": it is proved, and '
            "carries no air.",
        )


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


def check_tree(air: AirSystem, findings: Findings) -> None:
    """Add faults on what hangs from what: a line or diffuser from nothing, a name twice, a loop, which is named."""
    above = {line.name: line.hangs_from for line in air.lines}
    known = ("manifold", *above)
    rows = [(f"air.lines[{n}]", line.name, line.hangs_from) for n, line in enumerate(air.lines, start=1)]
    for path, name, _parent in rows:
        if name == "manifold" or sum(row[1] == name for row in rows) > 1:
            findings.fault(
                JOB_FILE, path, f"has the name {name}, which is taken.", "Name each line otherwise."
            )
        way = [name]
        while (up := above.get(way[-1])) is not None and up not in way:
            way.append(up)
        if up is not None:
            loop = " hangs from ".join([*way[way.index(up) :], up])
            remedy = "Let one of them hang from the manifold."
            findings.fault(JOB_FILE, path, f"is part of a loop, which is not a tree: {loop}.", remedy)
    rows += [
        (f"air.diffusers[{n}]", item.name, item.hangs_from) for n, item in enumerate(air.diffusers, start=1)
    ]
    for path, name, parent in rows:
        if parent not in known:
            findings.fault(
                JOB_FILE,
                path,
                f"{name} hangs from {parent!r}, which is not there.",
                f"It may hang from: {', '.join(known)}.",
            )
    for number, line in enumerate(air.lines, start=1):
        _check_pipe(line.pipe, f"air.lines[{number}].pipe", findings)


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
        elif number < len(curve) and before.intake_flow_m3_s > UNLIKE_NUMBER * after.intake_flow_m3_s > 0.0:
            ratio_number = before.intake_flow_m3_s / after.intake_flow_m3_s
            remedy = "Check the units of both, such as cfm, L/min, m3/h."
            findings.fault(
                JOB_FILE, here, f"gives {ratio_number:.0f} times less air than the point before.", remedy
            )
