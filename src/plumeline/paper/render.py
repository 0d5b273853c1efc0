"""plan.pdf by Typst: our own template, our own font, no network, and the day as the only clock."""

from __future__ import annotations

import json
import tempfile
from datetime import UTC, date, datetime
from importlib import resources
from pathlib import Path
from typing import Literal

import typst

from plumeline.charts import all_charts, chart_svg
from plumeline.drawing import cut_scene, plan_scene, route_scene, svg
from plumeline.pairs import said
from plumeline.paper.document import document
from plumeline.stages.plan import Plan
from plumeline.units.showing import System

FOLDER = Path(str(resources.files("plumeline").joinpath("paper")))
FONTS = FOLDER / "fonts"
TEMPLATE = FOLDER / "plan.typ"
MOST_PAGES = 4
"""Of a plan; one more where a route on land or an old pipe has a page of its own, one for what to buy, and one for
heat, noise and the electrician."""
Tightness = tuple[int, int]
TIGHTNESS: tuple[Tightness, ...] = tuple(
    sorted(((body, notes) for body in range(4) for notes in range(4)), key=lambda pair: (sum(pair), pair))
)
"""How tight body and notes are set, loosest first; a fifth page comes only after the last."""


def render(plan: Plan, day: date, system: System = "us") -> bytes:
    """Return plan.pdf; the same plan, day and units give the same bytes.

    Args:
        plan: the plan.
        day: the day of the work, in the text and in the PDF's metadata.
        system: units.
    """
    charts = {chart.name: chart for chart in all_charts(plan, system)}
    with tempfile.TemporaryDirectory(prefix="plumeline-") as place:
        folder = Path(place)
        texts = {
            "plan.typ": TEMPLATE.read_text(encoding="utf-8"),
            "data.json": said(
                json.dumps(document(plan, day, system, charts), ensure_ascii=False, allow_nan=False), system
            ),
            "plan-view.svg": svg(plan_scene(plan, system)),
            "cut.svg": svg(cut_scene(plan, system)),
            **({"route.svg": svg(route_scene(plan.air.route, system))} if plan.air.route else {}),
            **{f"chart-{name}.svg": chart_svg(chart) for name, chart in charts.items()},
        }
        for name, text in texts.items():
            (folder / name).write_text(text, encoding="utf-8")
        most = (
            MOST_PAGES
            + bool(plan.air.route or plan.air.old_pipe)
            + (plan.choice is not None)
            + (plan.air.electrical is not None)
        )
        tight = next((pair for pair in TIGHTNESS if _pages(folder, pair) <= most), TIGHTNESS[-1])
        try:
            return _compiled(folder, day, tight, "ua-1")
        except typst.TypstError:
            # a name in letters that the font lacks can't be read aloud; it can still be printed
            return _compiled(folder, day, tight, None)


def typst_fonts() -> typst.Fonts:
    """Return our own font alone."""
    return typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[FONTS])


def _inputs(tight: Tightness) -> dict[str, str]:
    return {"tight": str(tight[0]), "notes": str(tight[1])}


def _pages(folder: Path, tight: Tightness) -> int:
    """Return how many pages it takes when set so tight."""
    compiler = typst.Compiler(
        folder / "plan.typ",
        root=folder,
        font_paths=typst_fonts(),
        ignore_system_fonts=True,
        sys_inputs=_inputs(tight),
    )
    return int(json.loads(compiler.query("<pages>", field="value", one=True)))


def _compiled(folder: Path, day: date, tight: Tightness, standard: Literal["ua-1"] | None) -> bytes:
    """Return the PDF of a folder with the template and its data."""
    pdf = typst.compile(
        folder / "plan.typ",
        root=folder,
        font_paths=typst_fonts(),
        ignore_system_fonts=True,
        sys_inputs=_inputs(tight),
        format="pdf",
        pdf_standards=standard or [],
        timestamp=datetime(day.year, day.month, day.day, tzinfo=UTC),
    )
    return bytes(pdf)
