"""The answer whether the pond's air can hold blue-greens down."""

from __future__ import annotations

import argparse
from typing import Any

import numpy as np

from plumeline.cli.common import notice_rows, print_json, print_notices
from plumeline.cli.stage_work import asked_job
from plumeline.cli.tables import paragraph as wrapped
from plumeline.cli.tables import table
from plumeline.stages.blooms import STRONGEST_SAID_FRACTION, Blooms, of_hundred, paragraph
from plumeline.stages.blooms import blooms as blooms_stage
from plumeline.stages.column.bluegreens import DAY_H, Regime
from plumeline.stages.sizing import sizing
from plumeline.stages.survey import survey


def blooms(args: argparse.Namespace) -> int:
    """Answer whether the air stirs enough, hour by hour."""
    asked = asked_job(args)
    basin = survey(asked.job, asked.seed)
    sized = sizing(asked.job, basin, seed=asked.seed)
    found = blooms_stage(
        asked.job,
        basin,
        sized,
        seed=asked.seed,
        members=args.members,
        run_hours_h=args.run_hours.value / 3600.0,
    )
    notices = (*asked.notices, *found.notices)
    if args.json:
        print_json({**asked.head, **_document(found), "notices": notice_rows(notices)})
        return 0
    print(_table(found))
    print()
    print(wrapped(" ".join(paragraph(found, args.units))))
    print_notices(notices, args.units)
    return 0


def _document(found: Blooms) -> dict[str, Any]:
    return {
        "depth_m": found.depth_m,
        "members": found.members,
        "discs_per_acre_number": found.discs_per_acre_number,
        "needed_m2_s": found.needed_m2_s,
        "regimes": [_regime(regime, found.depth_m) for regime in found.regimes],
        "words": list(paragraph(found, "si")),
    }


def _regime(regime: Regime, depth_m: float) -> dict[str, Any]:
    hours = []
    for hour in range(DAY_H):
        low, middle, high = regime.band_m2_s(hour)
        least, usual, most = regime.peclet(hour, depth_m)
        hours.append(
            {
                "clock_hour": hour,
                "running": regime.running[hour],
                "diffusivity_m2_s": middle,
                "diffusivity_p05_m2_s": low,
                "diffusivity_p95_m2_s": high,
                "peclet_number": usual,
                "peclet_p05_number": least,
                "peclet_p95_number": most,
                "holding_probability": regime.holding_probability[hour],
            }
        )
    return {"name": regime.name, "all_day_probability": regime.all_day_probability, "hours": hours}


def _table(found: Blooms) -> str:
    """Return the odds and the stirring by clock hour."""
    rows = []
    for hour in range(DAY_H):
        cells = [f"{hour:02d}:00"]
        for regime in found.regimes:
            middle = regime.band_m2_s(hour)[1] * 1e4
            over = ">" if middle > STRONGEST_SAID_FRACTION * regime.most_m2_s * 1e4 else ""
            mark = "*" if regime.running[hour] else ""
            cells += [f"{over}{middle:.2g}{mark}", f"{100.0 * regime.holding_probability[hour]:.0f}"]
        rows.append(cells)
    rows.append(
        ["all day", *(cell for r in found.regimes for cell in ("", f"{100.0 * r.all_day_probability:.0f}"))]
    )
    heads = ["clock\nhour"]
    for regime in found.regimes:
        heads += [f"{regime.name.split(',')[0]}\nK, cm²/s", "odds\nof 100"]
    best = found.regimes[int(np.argmax([regime.all_day_probability for regime in found.regimes]))]
    title = "Odds that stirring holds floating blue-greens down (Péclet number under 1)"
    below = f"  * air runs. At best: {best.name}, {of_hundred(best.all_day_probability)} all day."
    return table(heads, rows, align="l" + "r" * (len(heads) - 1), title=title) + "\n" + below
