"""What the survey's page offers of soundings left out: which can be put back, and which were."""

from __future__ import annotations

from typing import Any

from plumeline.job.document import Job
from plumeline.pairs import said
from plumeline.stages.survey import Survey
from plumeline.units import show
from plumeline.units.showing import System

MOST_BUTTONS = 200
"""Buttons on one page: a bad log has more left out, and the rest is named in the job's file."""


def put_back_rows(survey: Survey, job: Job, units: System) -> dict[str, Any]:
    """Return what the survey's page offers: rows to put back, and rows that were.

    Args:
        survey: the basin.
        job: with its soundings and the rows kept.
        units: of the depths shown.
    """
    puttable = [item for item in survey.left_out if item.puttable]
    depths = {item.row: item.depth_m for item in job.pond.soundings}
    return {
        "out": [
            {"row": item.row, "depth": show(item.depth_m, "m", units), "why": said(item.reason, units)}
            for item in puttable[:MOST_BUTTONS]
        ],
        "more": max(len(puttable) - MOST_BUTTONS, 0),
        "back": [
            {"row": row, "depth": show(depths[row], "m", units) if row in depths else "no such row"}
            for row in job.pond.keep_rows[:MOST_BUTTONS]
        ],
    }
