"""The page for the quote: what to buy, what it costs over the years, why the others lost."""

from __future__ import annotations

import json
import tempfile
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any, Literal

import typst

import plumeline
from plumeline.charts import chart_svg
from plumeline.charts.distance import distance_chart
from plumeline.job.document import Job
from plumeline.pairs import said
from plumeline.paper.figures import long_date
from plumeline.paper.render import FOLDER, typst_fonts
from plumeline.stages.choice import ChoiceResult
from plumeline.stages.choice.life_cost import PARTS
from plumeline.stages.choice.lines import margin_rows
from plumeline.stages.choice.verdicts import money
from plumeline.units import show_air
from plumeline.units.showing import System

MOST_COSTS_COUNT = 6


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


def document_of(found: ChoiceResult, job: Job, day: date, system: System) -> dict[str, Any]:
    """Return everything that the template prints."""
    return {
        "name": job.name,
        "id": job.id,
        "date": long_date(day),
        "iso_date": day.isoformat(),
        "version": plumeline.__version__,
        "summary": _summary(found, system),
        "figures": [list(row) for row in margin_rows(found.winner, system)] if found.winner else [],
        "costs": _costs(found),
        "losers": _losers(found),
        "groups": _groups(found),
        "chart": said(found.service.sentence, system) if found.service else "",
        "notices": [notice.text for notice in found.notices],
        "assumptions": list(found.assumptions),
    }


def _summary(found: ChoiceResult, system: System) -> str:
    one = found.winner
    of = f"Of {found.tried_count} combinations of compressor, trunk and number of diffusers"
    tried = f"{of} {found.works_count} work."
    if one is None or one.cost is None:
        return tried
    turned = ""
    if one.turnover_per_day is not None:
        turned = f" The plumes turn the pond over {one.turnover_per_day:.1f} times a day."
    return (
        f"{tried} The least cost over {found.years} years: {one.words}, "
        f"{money(one.cost.total_money, found.currency)} in the money of today. Each diffuser gets "
        f"{show_air(one.air_per_diffuser_m3_s or 0.0, system)} of air.{turned}"
    )


def _table(heads: list[str], rows: list[list[str]], align: str, grow: str) -> dict[str, Any]:
    return {"heads": heads, "rows": rows, "align": align, "grow": grow}


def _costs(found: ChoiceResult) -> dict[str, Any]:
    """Return the parts of the cost of the winner and of those next to it."""
    shown = [found.winner] if found.winner else []
    shown += [item.combination for item in found.alternatives[: MOST_COSTS_COUNT - 1]]
    rows = [
        [one.words, *(f"{one.cost.part_money(part):,.0f}" for part in PARTS), f"{one.cost.total_money:,.0f}"]
        for one in shown
        if one.cost is not None
    ]
    heads = [f"over {found.years} years, {found.currency}", *PARTS, "in all"]
    return _table(heads, rows, "lrrrrrr", "*......")


def _losers(found: ChoiceResult) -> dict[str, Any]:
    """Return each other compressor at its best, and why it loses."""
    rows = [
        [
            f"{item.compressor_count} × {item.machine}" if item.compressor_count > 1 else item.machine,
            item.reason,
        ]
        for item in found.verdicts
        if item.reason != "chosen" and (item.works or item.compressor_count == 1)
    ]
    return _table(["compressor", "why it loses, at its best"], rows, "ll", ".*")


def _groups(found: ChoiceResult) -> dict[str, Any]:
    """Return the causes that rule combinations out, with the nearest of each."""
    rows = [
        [group.cause, f"{group.member_count}", f"{group.nearest}: {group.words}"] for group in found.groups
    ]
    return _table(["cause", "how many", "the nearest of them"], rows, "lrl", "..*")
