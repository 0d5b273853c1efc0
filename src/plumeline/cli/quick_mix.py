"""The answer about a pond that turned over now."""

from __future__ import annotations

import argparse
import dataclasses
from pathlib import Path
from typing import Any

from plumeline.cli.common import answer, day_asked
from plumeline.cli.show_reading import ASSUMED, mixed_chemistry_lines
from plumeline.files.job_folder import load_job
from plumeline.stages.reading import MixedChemistry, mixed_chemistry_now, mixed_now
from plumeline.stages.survey import survey
from plumeline.units import show


def mix(args: argparse.Namespace) -> int:
    """Answer what the whole pond would be if it all turned over now."""
    job = load_job(Path(args.folder), today=day_asked(args))
    basin = survey(job, job.seed if args.seed is None else args.seed)
    found = mixed_now(job, basin)
    chemistry, odd = mixed_chemistry_now(job, basin)
    units = args.units
    low, high = (
        show(value, "mg_l", units) for value in (found.do_after_debt_low_mg_l, found.do_after_debt_high_mg_l)
    )
    debt_low, debt_high = (show(value, "kg", units) for value in (found.debt_low_kg, found.debt_high_kg))
    return answer(
        args,
        {**dataclasses.asdict(found), **_chemistry(chemistry)},
        understood={"pond": job.name},
        lines=[
            ("volume", show(found.volume_m3, "m3", units)),
            ("temperature", show(found.temperature_degc, "degc", units)),
            ("oxygen before any debt", show(found.do_mg_l, "mg_l", units)),
            (
                "oxygen after the first day's debt",
                f"{show(found.do_after_debt_mg_l, 'mg_l', units)} ({low} to {high})",
            ),
            ("the first day's debt", f"{show(found.debt_kg, 'kg', units)} ({debt_low} to {debt_high})"),
            ("debt with its slow part", show(found.debt_total_kg, "kg", units)),
            *mixed_chemistry_lines(chemistry),
            *([(ASSUMED, "from the table of priors, not measured")] if _guessed(chemistry) else []),
        ],
        notices=(*basin.notices, *odd),
    )


def _chemistry(found: MixedChemistry | None) -> dict[str, Any]:
    """Return the mixed water's chemistry by key; all null where pH and alkalinity contradict each other."""
    if found is None:
        return dict.fromkeys(field.name for field in dataclasses.fields(MixedChemistry))
    return dataclasses.asdict(found)


def _guessed(found: MixedChemistry | None) -> bool:
    return found is not None and (found.ph_assumed or found.ammonia_assumed)
