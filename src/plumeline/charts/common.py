"""What all charts share: type, colours, and the way to SVG text without a browser or a network."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

import altair as alt
import vl_convert

from plumeline.palette import DEEP, INK, PAPER
from plumeline.twins import Twin
from plumeline.units.numerals import THIN

FONT = "Noto Serif"
FONT_FOLDER = resources.files("plumeline").joinpath("paper", "fonts")

CONFIG: dict[str, Any] = {
    "background": PAPER,
    "font": FONT,
    "padding": 6,
    "view": {"stroke": INK, "strokeWidth": 0.8},
    "axis": {
        "labelFontSize": 12, "titleFontSize": 12, "labelColor": INK, "titleColor": DEEP,
        "gridColor": "#cfcabb", "domainColor": INK, "tickColor": INK, "titleFontWeight": "bold",
        "labelAngle": 0,
        # as everywhere, thousands are parted from 10 000 on
        "labelExpr": f"abs(datum.value) < 10000 ? replace(datum.label, '{THIN}', '') : datum.label",
    },
    "header": {"labelFontSize": 12, "labelColor": INK, "titleColor": DEEP},
    "legend": {"labelFontSize": 12, "titleFontSize": 12, "labelColor": INK, "titleColor": DEEP},
    "text": {"fontSize": 12, "color": INK, "font": FONT},
    "title": {"fontSize": 13, "color": DEEP, "font": FONT},
}  # fmt: skip

LOCALE = {"decimal": ".", "thousands": THIN, "grouping": [3], "currency": ["", ""]}
"""Numbers on axes have their thousands parted as elsewhere."""


@dataclass(frozen=True)
class Chart:
    """One chart.

    Attributes:
        name: of its file.
        sentence: what it means for this pond.
        specification: Vega-Lite.
        twins: tables of the specification's own data.
    """

    name: str
    sentence: str
    specification: dict[str, Any]
    twins: tuple[Twin, ...]


def chart_of(name: str, sentence: str, drawing: Any, twins: Sequence[Twin] = ()) -> Chart:
    """Return a chart from an Altair drawing and the tables of its data, in the house's type and colours."""
    specification = drawing.configure(**CONFIG).to_dict()
    specification.setdefault("usermeta", {"description": sentence})
    specification["description"] = sentence
    return Chart(name, sentence, specification, tuple(twins))


def rows_of(rows: Sequence[Mapping[str, Any]]) -> alt.InlineData:
    """Return rows as the data of a chart, written into its specification."""
    return alt.InlineData(values=[dict(row) for row in rows])


@cache
def _fonts_known() -> bool:
    vl_convert.register_font_directory(str(FONT_FOLDER))
    return True


def chart_svg(chart: Chart) -> str:
    """Return a chart as SVG text; the same chart gives the same bytes."""
    _fonts_known()
    text: str = vl_convert.vegalite_to_svg(chart.specification, allowed_base_urls=[], format_locale=LOCALE)
    return _counted_afresh(text)


def _counted_afresh(text: str) -> str:
    """Number the clips and gradients of an SVG from nought: the renderer counts on from chart to chart."""
    for stem in ("clip", "gradient_"):
        names = list(dict.fromkeys(re.findall(rf'id="({stem}\d+)"', text)))
        for n, name in enumerate(names):
            text = re.sub(rf"\b{name}\b", f"{stem}-{n}", text)
    return text
