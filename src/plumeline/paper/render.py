"""plan.pdf by Typst: our own template, our own font, no network, and the day as the only clock."""

from __future__ import annotations

import json
import tempfile
from datetime import date
from pathlib import Path

import typst

from plumeline.paper.document import document
from plumeline.paper.pictures import Pictures, pictures_of
from plumeline.paper.site import site_part
from plumeline.paper.typeset import DATA, data_text, fill, pdf_of, typst_fonts
from plumeline.stages.plan import Plan
from plumeline.units.showing import System

TEMPLATE = "plan.typ"
MOST_PAGES = 5
"""Of a plan, with its warnings and what was assumed, in no print under 7 points; one more where a route on land or an
old pipe has a page of its own, one for what to buy, one for heat, noise and the electrician, and one where the site has
warnings of its own."""
Tightness = tuple[int, int]
TIGHTNESS: tuple[Tightness, ...] = tuple(
    sorted(((body, notes) for body in range(4) for notes in range(4)), key=lambda pair: (sum(pair), pair))
)
"""How tight body and notes are set, loosest first; a sixth page comes only after the last."""


def render(plan: Plan, day: date, system: System = "us", pictures: Pictures | None = None) -> bytes:
    """Return plan.pdf; the same plan, day and units give the same bytes.

    Args:
        plan: the plan.
        day: the day of the work, in the text and in the PDF's metadata.
        system: units.
        pictures: in these units, where they are made already.
    """
    pictures = pictures or pictures_of(plan, system)
    with tempfile.TemporaryDirectory(prefix="plumeline-") as place:
        folder = Path(place)
        texts = {
            DATA: data_text(document(plan, day, system, pictures.charts), system),
            **pictures.texts,
        }
        fill(folder, TEMPLATE, texts)
        most = (
            MOST_PAGES
            + bool(plan.air.route or plan.air.old_pipe)
            + (plan.choice is not None)
            + (plan.air.electrical is not None)
            # what the site forbids stands at the head, and pushes the rest on
            + bool(site_part(plan.job)["rows"])
        )
        tight = next((pair for pair in TIGHTNESS if _pages(folder, pair) <= most), TIGHTNESS[-1])
        return pdf_of(folder, TEMPLATE, day, _inputs(tight))


def _inputs(tight: Tightness) -> dict[str, str]:
    return {"tight": str(tight[0]), "notes": str(tight[1])}


def _pages(folder: Path, tight: Tightness) -> int:
    """Return how many pages it takes when set so tight."""
    compiler = typst.Compiler(
        folder / TEMPLATE,
        root=folder,
        font_paths=typst_fonts(),
        ignore_system_fonts=True,
        sys_inputs=_inputs(tight),
    )
    return int(json.loads(compiler.query("<pages>", field="value", one=True)))
