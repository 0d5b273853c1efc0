"""The page for the quote: what to buy, what it costs over the years, why the others lost."""

from __future__ import annotations

import json
import tempfile
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Literal

import typst

from plumeline.charts import chart_svg
from plumeline.charts.distance import distance_chart
from plumeline.job.document import Job
from plumeline.pairs import said
from plumeline.paper.render import FOLDER, typst_fonts
from plumeline.paper.what_to_buy import document_of
from plumeline.stages.choice import ChoiceResult
from plumeline.units.showing import System


def render_choice(found: ChoiceResult, job: Job, day: date, system: System = "us") -> bytes:
    """Return the page as PDF; the same choice, day and units give the same bytes.

    Args:
        found: the choice.
        job: its job.
        day: the day of the work, in the text and in the PDF's metadata.
        system: units.
    """
    data = document_of(found, job, day, system)
    with tempfile.TemporaryDirectory(prefix="plumeline-") as place:
        folder = Path(place)
        (folder / "quote.typ").write_text(
            (FOLDER / "quote.typ").read_text(encoding="utf-8"), encoding="utf-8"
        )
        text = said(json.dumps(data, ensure_ascii=False, allow_nan=False), system)
        (folder / "data.json").write_text(text, encoding="utf-8")
        if found.service is not None:
            (folder / "chart.svg").write_text(chart_svg(distance_chart(found, system)), encoding="utf-8")
        try:
            return _compiled(folder, day, "ua-1")
        except typst.TypstError:
            # a name in letters that the font lacks can't be read aloud; it can still be printed
            return _compiled(folder, day, None)


def _compiled(folder: Path, day: date, standard: Literal["ua-1"] | None) -> bytes:
    pdf = typst.compile(
        folder / "quote.typ",
        root=folder,
        font_paths=typst_fonts(),
        ignore_system_fonts=True,
        format="pdf",
        pdf_standards=standard or [],
        timestamp=datetime(day.year, day.month, day.day, tzinfo=UTC),
    )
    return bytes(pdf)
