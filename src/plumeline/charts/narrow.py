"""A chart for a phone: the same specification, its parts below one another and no wider than a hand holds."""

from __future__ import annotations

import copy
import re
from dataclasses import replace
from typing import Any

from plumeline.charts.common import Chart, chart_svg

PHONE_PX = 350.0
"""A phone of 390 pixels less the margins of a page: letters of 12 stay 12 there."""
FIRST_PX = 270
LEAST_PX = 90
NAME_PX = 110
"""Names at the left of a plot may be so wide; they go on in a second line, and end in dots beyond."""
_TWO_LINES = "split(replace(datum.label, regexp('^(.{6,15}?[^ ]) '), '$1|'), '|')"
_WIDTH = re.compile(r'<svg[^>]* width="([\d.]+)"')


def narrow_svg(chart: Chart) -> str:
    """Return a chart as SVG text for a phone; the same chart gives the same bytes."""
    return _fitted(chart)[1]


def narrow_chart(chart: Chart) -> Chart:
    """Return a chart as it is drawn for a phone."""
    return _fitted(chart)[0]


def _fitted(chart: Chart) -> tuple[Chart, str]:
    """Return a chart that fits a phone, axes, names and all, and its SVG."""
    plot_px = FIRST_PX
    while True:
        small = replace(chart, specification=narrowed(chart.specification, plot_px))
        text = chart_svg(small)
        found = _WIDTH.search(text)
        over_px = float(found[1]) - PHONE_PX if found else 0.0
        if over_px <= 0.0 or plot_px <= LEAST_PX:
            return small, text
        plot_px = max(LEAST_PX, plot_px - int(over_px) - 1)


def narrowed(specification: dict[str, Any], plot_px: int) -> dict[str, Any]:
    """Return a specification with its plots below one another, each so wide at most.

    Args:
        specification: Vega-Lite; it stays as it is.
        plot_px: width of a plot without its axes.
    """
    found = copy.deepcopy(specification)
    found.setdefault("config", {})["legend"] = {
        **found["config"].get("legend", {}), "orient": "bottom", "columns": 1, "labelLimit": int(PHONE_PX) - 40,
    }  # fmt: skip
    _below(found, plot_px)
    return found


def _below(part: Any, plot_px: int) -> None:
    """Change one part of a specification and those in it."""
    if isinstance(part, list):
        for item in part:
            _below(item, plot_px)
        return
    if not isinstance(part, dict):
        return
    if "hconcat" in part:
        part["vconcat"] = part.pop("hconcat")
    if isinstance(part.get("width"), int | float) and "height" in part:
        part["width"] = min(part["width"], plot_px)
    across, mark = part.get("encoding", {}).get("x"), part.get("mark")
    is_by_steps = isinstance(across, dict) and across.get("type") == "ordinal"
    if is_by_steps and isinstance(mark, dict) and mark.get("type") == "text":
        # words over bars or points that stand closer than the words are long
        mark |= {"angle": 270, "align": "left", "baseline": "middle", "dx": 8, "dy": 0}
    names = part.get("y") if isinstance(part.get("y"), dict) and part["y"].get("type") == "nominal" else None
    if names is not None:
        names["axis"] = {**(names.get("axis") or {}), "labelLimit": NAME_PX, "labelExpr": _TWO_LINES}
    for key, value in part.items():
        if key not in ("data", "datasets"):
            _below(value, plot_px)
