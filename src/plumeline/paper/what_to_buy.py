"""What is said on paper of what to buy: costs over the years, and why the others lost."""

from __future__ import annotations

from datetime import date
from typing import Any

import plumeline
from plumeline.charts.distance import HERE, distance_chart
from plumeline.job.document import Job
from plumeline.pairs import said
from plumeline.paper.figures import long_date
from plumeline.paper.site import site_part
from plumeline.stages.choice import ChoiceResult, Verdict
from plumeline.stages.choice.life_cost import PARTS
from plumeline.stages.choice.lines import margin_rows
from plumeline.stages.choice.verdicts import CHOSEN, money
from plumeline.stages.site_facts import power_notices
from plumeline.units import plain, show_air
from plumeline.units.numerals import ungrouped
from plumeline.units.showing import System

MOST_COSTS_COUNT = 6
MOST_DISTANCES_COUNT = 6
"""Even steps of distance in the table under the chart."""


def document_of(found: ChoiceResult, job: Job, day: date, system: System) -> dict[str, Any]:
    """Return everything that the template prints."""
    return {
        "name": job.name,
        "id": job.id,
        "date": long_date(day),
        "iso_date": day.isoformat(),
        "version": plumeline.__version__,
        "figures": [list(row) for row in margin_rows(found.subject, system)] if found.subject else [],
        "distances": _distances(found, system),
        "alerts": [one.text for one in power_notices(job.power)],
        "site": site_part(job),
        **(choice_part(found, system) or {}),
    }


def _distances(found: ChoiceResult, system: System) -> dict[str, Any] | None:
    """Return some rows of the chart's own table: its ends, even steps, and this job; None without a chart."""
    if found.service is None:
        return None
    twin = distance_chart(found, system).twins[0]
    step = max(1, -(-len(twin.rows) // MOST_DISTANCES_COUNT))
    last = len(twin.rows) - 1
    rows = [list(row) for n, row in enumerate(twin.rows) if n % step == 0 or n == last or row[-1] == HERE]
    heads = [*twin.heads[:-1], ""]
    # money as in the other tables of the page
    shown = [
        [
            row[0],
            *(cell if cell == "–" else plain(float(ungrouped(cell)), 0) for cell in row[1:-1]),
            row[-1].strip("–"),
        ]
        for row in rows
    ]
    return _table(heads, shown, "rrrrl", ".....")


def choice_part(found: ChoiceResult | None, system: System) -> dict[str, Any] | None:
    """Return what a plan says of the choice; None where it was not asked for."""
    if found is None:
        return None
    return {
        "summary": _summary(found, system),
        "costs": _costs(found),
        "losers": _losers(found),
        "groups": _groups(found),
        "service": _service(found, system),
        "notices": [notice.text for notice in found.notices],
        "assumptions": list(found.assumptions),
    }


def _service(found: ChoiceResult, system: System) -> str:
    """Return what the comparison by distance means, and why its line is not the design's; empty without one."""
    if found.service is None:
        return ""
    sentence = said(found.service.sentence, system)
    pipe = found.service.here.line_pipe
    if found.planned is None or not pipe:
        return sentence
    return (
        f"{sentence} The air line is counted as laid anew at each distance, in the pipe that costs least there ({pipe} "
        "for this job), so it need not be the cost of this design."
    )


def _summary(found: ChoiceResult, system: System) -> str:
    one, own = found.subject, found.planned
    of = f"Of {found.tried_count} combinations of compressor, trunk and number of diffusers"
    tried = f"{of} {found.works_count} work."
    if one is None or one.cost is None:
        return tried
    turned = ""
    if one.turnover_per_day is not None:
        turned = f" The plumes turn the pond over {one.turnover_per_day:.1f} times a day."
    sum_words = f"{money(one.cost.total_money, found.currency)} in the money of today"
    gets = f"Each diffuser gets {show_air(one.air_per_diffuser_m3_s or 0.0, system)} of air.{turned}"
    if own is not None:
        return (
            f"This design, the one that the start-up plan is made for: {own.words}, {sum_words} over {found.years} "
            f"years. {gets} {tried}"
        )
    return f"{tried} The least cost over {found.years} years: {one.words}, {sum_words}. {gets}"


def _table(heads: list[str], rows: list[list[str]], align: str, grow: str) -> dict[str, Any]:
    return {"heads": heads, "rows": rows, "align": align, "grow": grow, "boxes": False}


def _costs(found: ChoiceResult) -> dict[str, Any]:
    """Return the parts of the cost of the design or the winner, and of those next to it."""
    shown = [found.subject] if found.subject else []
    shown += [item.combination for item in found.alternatives[: MOST_COSTS_COUNT - 1]]
    rows = [
        [
            f"this design: {one.words}" if one is found.planned else one.words,
            *(plain(one.cost.part_money(part), 0) for part in PARTS),
            plain(one.cost.total_money, 0),
        ]
        for one in shown
        if one.cost is not None
    ]
    heads = [f"over {found.years} years, {found.currency}", *PARTS, "in all"]
    return _table(heads, rows, "lrrrrrr", "*......")


def _losers(found: ChoiceResult) -> dict[str, Any]:
    """Return each compressor at its best beside the design, or each other one beside the winner, and why it loses."""
    rows = [
        [_loser(item, found), item.reason]
        for item in found.verdicts
        if item.reason != CHOSEN and (item.works or item.compressor_count == 1)
    ]
    if found.planned is not None:
        return _table(["compressor, at its best", "beside this design"], rows, "ll", ".*")
    return _table(["compressor", "why it loses, at its best"], rows, "ll", ".*")


def _loser(item: Verdict, found: ChoiceResult) -> str:
    if found.planned is not None and item.works:
        return item.best.words
    return f"{item.compressor_count} × {item.machine}" if item.compressor_count > 1 else item.machine


def _groups(found: ChoiceResult) -> dict[str, Any]:
    """Return the causes that rule combinations out, with the nearest of each."""
    rows = [
        [group.cause, f"{group.member_count}", f"{group.nearest}: {group.words}"] for group in found.groups
    ]
    return _table(["cause", "how many", "the nearest of them"], rows, "lrl", "..*")
