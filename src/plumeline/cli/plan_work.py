"""``plumeline plan``: all stages, then the files."""

from __future__ import annotations

import argparse
import dataclasses
import json
from pathlib import Path
from typing import TYPE_CHECKING

from plumeline.cli.common import print_json, print_notices
from plumeline.cli.figures import percent, safety_block, safety_rows
from plumeline.cli.progress import Progress
from plumeline.cli.show_startup import beside_words, days_words, risk_words
from plumeline.cli.stages import OUT_NAME
from plumeline.cli.tables import listing, paragraph
from plumeline.paper import write_plan
from plumeline.paper.output import check_place
from plumeline.stages.plan import Plan, all_notices, make_plan
from plumeline.stages.startup.lines import risk_line
from plumeline.units import show, show_air
from plumeline.units.showing import System

if TYPE_CHECKING:
    from plumeline.cli.stage_work import Asked


def write_all(args: argparse.Namespace, asked: Asked) -> int:
    """Run all stages of a job, write the files and print the main figures."""
    out = Path(args.out) if args.out else Path(args.folder) / OUT_NAME
    check_place(out)
    with Progress(quiet=args.json) as progress:
        made = make_plan(
            asked.job, seed=asked.seed, progress=progress, choosing=args.choose, stands=progress.stands
        )
        # what the folder itself gave to think about belongs on the paper too
        made = dataclasses.replace(made, notices=all_notices(asked.notices, made.notices))
        progress("writing the files", 0.0)
        write_plan(made, out, args.units, asked.day)
    names = sorted(str(path.relative_to(out)) for path in out.rglob("*") if path.is_file())
    if args.json:
        document = json.loads((out / "plan.json").read_text(encoding="utf-8"))
        print_json({**document, "seed": asked.seed, "out": str(out), "files": names, "safety": safety_rows()})
        return 0
    print(paragraph(f"{asked.job.name}: plan, {asked.day.isoformat()}, seed {asked.seed}"))
    print()
    print(listing(figures(made, args.units), title="Main figures"))
    print_notices(made.notices, args.units)
    print()
    print(safety_block())
    print()
    print(how_to_look(out, names))
    return 0


def figures(made: Plan, units: System) -> list[tuple[str, str]]:
    """Return the figures that decide: volume, turnover, pressures, flows, days, risks."""
    basin, point, start = made.survey, made.air.balanced, made.startup
    low, high = (show(value, "m3", units) for value in (basin.volume_p05_m3, basin.volume_p95_m3))
    each = ", ".join(
        f"{branch.name} {show_air(branch.flow_standard_m3_s, units)}" for branch in point.branches
    )
    rows = [
        ("volume", f"{show(basin.volume_m3, 'm3', units)} ({low} to {high})"),
        ("turnovers a day", f"{made.layout.turnover_per_day:.2f}"),
        ("gauge at the compressor", show(point.compressor_pressure_pa, "pa", units)),
        ("gauge at the manifold", show(point.manifold_pressure_pa, "pa", units)),
        ("air of each diffuser", each),
        ("schedule", start.name),
        ("complete after", days_words(start)),
        ("risk", risk_line(start)),
    ]
    if start.risk_stated:
        rows.append(("beside it", beside_words(start.risk)))
    rows += [(item.name, risk_words(item.risk)) for item in start.comparisons]
    if start.narrowing:
        most = start.narrowing[0]
        told = percent(most.share_fraction)
        rows.append(("would narrow it most", f"{most.how} ({most.input}): {told} of the spread"))
    return rows


def how_to_look(out: Path, names: list[str]) -> str:
    """Return the one line that says where the files are and how to look at them."""
    first = "plan.pdf" if "plan.pdf" in names else names[0]
    return f"{len(names)} files in {out}: open {out / first} in a PDF viewer, the SVG files in a browser."
