"""The alternatives of a pond as the worker makes them: the page as data, how each number came about, the document."""

from __future__ import annotations

import dataclasses
import json
from typing import Any

from plumeline.charts.front import front_chart, leading_svg
from plumeline.charts.narrow import narrow_chart
from plumeline.cli.show_front import front_blocks, sentence
from plumeline.pairs import said
from plumeline.stages.front import Front
from plumeline.stages.front import front as front_stage
from plumeline.stages.plan import all_notices
from plumeline.store import Revision
from plumeline.units.showing import System
from plumeline.web.front_opened import COUNTS, PAGE
from plumeline.web.opening import KeptOpener, book_or_empty
from plumeline.web.showing import kept_twins, notice_lines, opened_parts
from plumeline.web.work import Design, Designs, plain, stage_document
from plumeline.web.worker import WORKINGS
from plumeline.workings.files import Files
from plumeline.workings.front import front_book

DOCUMENT = "alternatives.json"


def front_files(revision: Revision, tell: Any) -> dict[str, bytes]:
    """Return every file of a revision's alternatives, in both systems of units.

    Raises:
        PlumelineError: a stage can't give an answer for this pond.
    """
    tell("surveying the basin and sizing the line", 0.0)
    design = Designs().of(revision)
    found = front_stage(design.job, design.survey, seed=design.asked.seed, progress=tell)
    counts = [item.diffuser_count for item in found.works]
    files: dict[str, Any] = {COUNTS: {"counts": counts, "planned": len(design.layout.diffusers)}}
    document = plain(_document(design, found))
    systems: tuple[System, ...] = ("us", "si")
    for units in systems:
        tell("writing the page", 0.0 if units == "us" else 0.5)
        page, workings = _page(design, found, revision, units)
        files |= {f"{units}/{PAGE}": page, f"{units}/{WORKINGS}": workings, f"{units}/{DOCUMENT}": document}
    return {name: json.dumps(what, ensure_ascii=False).encode() for name, what in files.items()}


def _page(
    design: Design, found: Front, revision: Revision, units: System
) -> tuple[dict[str, Any], dict[str, Any]]:
    """Return the page as data, and how each of its numbers came about."""
    book = book_or_empty(
        lambda: front_book(found, design.survey, Files(design.job, tuple(revision.echoes)), units), units
    )
    opener = KeptOpener(book, "")
    chart = front_chart(found, sentence(found), leads=True)
    page = {
        "plain_sentence": chart.sentence,
        "svg": leading_svg(chart),
        "small": leading_svg(narrow_chart(chart)),
        "twins": kept_twins(chart.twins),
        "sentence": opener.sentence(sentence(found)),
        "shown": opened_parts(front_blocks(found, units), opener),
        "notices": [opener.notice(row) for row in notice_lines(found.notices, units)],
        "assumptions": [opener.sentence(said(text, units)) for text in found.assumptions],
    }
    return page, {key: dataclasses.asdict(one) for key, one in book.workings.items()}


@dataclasses.dataclass(frozen=True)
class _Told:
    """The alternatives as a stage's result, for its document."""

    asked: Any
    found: Front
    before: Design

    def result(self, _stage: str) -> Front:
        return self.found

    def notices(self, _stage: str) -> Any:
        return all_notices(self.before.notices("survey"), self.found.notices)


def _document(design: Design, found: Front) -> dict[str, Any]:
    """Return the document that the command prints with --json."""
    return stage_document(_Told(design.asked, found, design), "front")
