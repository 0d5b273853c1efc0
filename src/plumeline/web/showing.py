"""What a page shows, as data for the templates: the parts of the shell's own texts, notices, drawings."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterable, Sequence
from typing import Any

from markupsafe import Markup

from plumeline.charts import all_charts, chart_svg
from plumeline.charts.narrow import narrow_svg
from plumeline.cli.plan_work import figures
from plumeline.cli.show_air import air_blocks
from plumeline.cli.show_layout import layout_blocks
from plumeline.cli.show_reading import reading_blocks
from plumeline.cli.show_startup import startup_blocks
from plumeline.cli.show_survey import survey_blocks
from plumeline.cli.tables import Part, listing, parts_of
from plumeline.drawing import Scene, cut_scene, muck_scene, plan_scene, route_scene, sounded_scene, svg
from plumeline.drawing.cut import PHONE_CUT
from plumeline.drawing.plan_view import PHONE_SHEET
from plumeline.drawing.route import PHONE_ROUTE
from plumeline.files.trade_words import in_trade_words
from plumeline.notices import Notice
from plumeline.pairs import said
from plumeline.stages.plan import Designed, Plan
from plumeline.twins import Twin
from plumeline.units.showing import System
from plumeline.web.asked import field_of
from plumeline.web.left_out import put_back_rows
from plumeline.web.opening import Opener
from plumeline.web.sentences import (
    cut_sentence,
    muck_sentence,
    plan_sentence,
    route_sentence,
    sounded_sentence,
)
from plumeline.web.surveyed import Surveyed
from plumeline.web.work import Design

STAGES = ("survey", "reading", "layout", "air")


def part_rows(blocks: Iterable[str]) -> list[dict[str, Any]]:
    """Return the parts of texts as a template takes them."""
    return [dataclasses.asdict(part) for block in blocks for part in _parts(block)]


def _parts(block: str) -> tuple[Part, ...]:
    return tuple(part for part in parts_of(block) if part.rows)


def opened_parts(blocks: Iterable[str], opener: Opener) -> list[dict[str, Any]]:
    """Return the parts of texts as a template takes them, their numbers as links."""
    return [opener.part(part) for block in blocks for part in _parts(block)]


def notice_lines(notices: Iterable[Notice], units: System) -> list[dict[str, str]]:
    """Return notices in one system of units, each with the field of the page of what is known that it speaks of."""
    told = [(notice, notice.said(units)) for notice in notices]
    return [
        {
            "code": notice.code, "severity": notice.severity.value, "text": in_trade_words(text),
            "field": field_of(notice.code, text),
        }
        for notice, text in told
    ]  # fmt: skip


def stage_page(design: Design | Surveyed, stage: str, units: System, opener: Opener) -> dict[str, Any]:
    """Return what the page of a stage shows, its numbers as links."""
    # what rests on a layout is asked for only on its own page: there may be none
    blocks = {
        "survey": lambda: survey_blocks(design.survey, units),
        "reading": lambda: reading_blocks(design.reading, units),
        "layout": lambda: layout_blocks(design.layout, design.plume, design.survey, units),
        "air": lambda: air_blocks(design.air, units),
    }[stage]()
    assumptions: Sequence[str] = design.result(stage).assumptions
    return {
        "shown": [opener.part(part) for block in blocks for part in _parts(block)],
        "notices": [opener.notice(row) for row in notice_lines(design.notices(stage), units)],
        "assumptions": [opener.sentence(said(text, units)) for text in assumptions],
        "drawings": [
            {**item, "sentence": opener.sentence(item["sentence"])}
            for item in _drawings(design, stage, units)
        ],
        "lacking": design.lacking,
        "rows": put_back_rows(design.survey, design.job, units) if stage == "survey" else None,
    }


def _drawings(design: Design | Surveyed, stage: str, units: System) -> list[dict[str, Any]]:
    # the basin and its water are shown where no layout can be made yet
    pair = [] if stage == "air" or design.lacking else _pair(design, units)
    if stage == "survey":
        if design.job.pond.soundings:
            pair = [
                _drawn(
                    "soundings",
                    sounded_scene(design.survey, design.job, units),
                    sounded_sentence(design.survey),
                    sounded_scene(design.survey, design.job, units, PHONE_SHEET),
                ),
                *_muck(design, units),
                *pair,
            ]
        chart = design.hypsograph(units)
        small = narrow_svg(chart)
        return [
            *pair, drawing("hypsograph", chart_svg(chart), said(chart.sentence, units), chart.twins, small),
        ]  # fmt: skip
    if stage in ("reading", "layout"):
        return pair
    route = design.air.route
    if not route:
        return []
    narrow = route_scene(route, units, PHONE_ROUTE)
    return [_drawn("route", route_scene(route, units), route_sentence(route, units), narrow)]


def _muck(design: Design | Surveyed, units: System) -> list[dict[str, Any]]:
    """Return the muck from above with its sentence; nothing where it is not known."""
    scene = muck_scene(design.survey, design.job, units)
    if scene is None or design.survey.muck is None:
        return []
    small = muck_scene(design.survey, design.job, units, PHONE_SHEET)
    return [_drawn("muck", scene, muck_sentence(design.survey.muck, units), small)]


def _pair(design: Designed, units: System) -> list[dict[str, Any]]:
    """Return the plan beside the cut, each with its sentence."""
    small = narrow_pair(design, units)
    return [
        drawing(name, svg(scene), sentence, scene.twins, small[name])
        for name, scene, sentence in _two(design, units)
    ]


def narrow_pair(design: Designed, units: System) -> dict[str, str]:
    """Return plan and cut as they are drawn for a phone, by name."""
    return {
        "plan-view": svg(plan_scene(design, units, PHONE_SHEET)), "cut": svg(cut_scene(design, units, PHONE_CUT)),
    }  # fmt: skip


def _two(design: Designed, units: System) -> tuple[tuple[str, Scene, str], ...]:
    """Return the names, scenes and sentences of plan and cut."""
    return (
        ("plan-view", plan_scene(design, units), plan_sentence(design, units)),
        ("cut", cut_scene(design, units), cut_sentence(design, units)),
    )


def _drawn(name: str, scene: Scene, sentence: str, small: Scene | None) -> dict[str, Any]:
    return drawing(name, svg(scene), sentence, scene.twins, svg(small) if small else "")


def hero(design: Design, units: System) -> list[dict[str, Any]]:
    """Return the two drawings at the head of a pond's page."""
    return _pair(design, units)


def pond_page(design: Design, units: System, opener: Opener) -> dict[str, Any]:
    """Return what a pond's own page shows: the two drawings and what stands against it, its numbers as links."""
    return {
        "drawings": [{**item, "sentence": opener.sentence(item["sentence"])} for item in hero(design, units)],
        "warnings": [opener.notice(row) for row in notice_lines(design.warnings(), units)],
    }


def drawing(
    name: str, text: str, sentence: str, twins: Sequence[Twin | dict[str, Any]] = (), small: str = ""
) -> dict[str, Any]:
    """Return a drawing for a page: our own SVG, its ids made its own, so that two may stand on one page.

    Args:
        name: of the drawing, in its ids.
        text: the SVG.
        sentence: what it means for this pond.
        twins: tables of what it shows, as they are or as they were kept with a run.
        small: the same drawn for a phone; empty where there is none.
    """
    return {
        "name": name, "svg": _set_in(name, text, sentence), "sentence": sentence, "twins": twins,
        "small": _set_in(f"{name}-small", small, sentence) if small else "",
    }  # fmt: skip


def _set_in(name: str, text: str, sentence: str) -> Markup:
    """Return an SVG as a part of a page, its ids its own."""
    text = text.removeprefix('<?xml version="1.0" encoding="UTF-8"?>').strip()
    for known in dict.fromkeys(re.findall(r'\bid="([^"]+)"', text)):
        for old, new in ((f'id="{known}"', f'id="{name}-{known}"'), (f"#{known})", f"#{name}-{known})")):
            text = text.replace(old, new)
    if "aria-label" not in text.split(">", 1)[0] and sentence:
        label = str(Markup.escape(sentence))
        # what leads somewhere is no picture to a screen reader, which would hide its links
        role = "group" if "<a " in text else "img"
        text = text.replace("<svg ", f'<svg role="{role}" aria-label="{label}" ', 1)
    return Markup(text)


def startup_document(plan: Plan, units: System, opener: Opener | None = None) -> dict[str, Any]:
    """Return what the page of a start-up shows, kept with the run.

    Args:
        plan: every stage.
        units: the system of units.
        opener: takes the texts apart into numbers that open and the words between; None for plain texts alone.
    """
    blocks = [listing(figures(plan, units), title="Main figures"), *startup_blocks(plan.startup, units)]
    two, charts = _two(plan, units), all_charts(plan, units)
    found: dict[str, Any] = {
        "parts": part_rows(blocks),
        "notices": notice_lines(plan.notices, units),
        "assumptions": [said(text, units) for text in plan.startup.assumptions],
        "sentences": {
            **{name: sentence for name, _, sentence in two},
            **{chart.name: said(chart.sentence, units) for chart in charts},
        },
        "twins": {
            **{name: kept_twins(scene.twins) for name, scene, _ in two},
            **{chart.name: kept_twins(chart.twins) for chart in charts},
        },
        "small": {**narrow_pair(plan, units), **{chart.name: narrow_svg(chart) for chart in charts}},
    }
    if opener is not None:
        found["opened"] = _opened(found, [part for block in blocks for part in _parts(block)], opener)
    return found


def _opened(document: dict[str, Any], parts: list[Part], opener: Opener) -> dict[str, Any]:
    """Return the texts of a start-up's page again, taken apart into numbers that open and the words between."""
    return {
        "parts": [opener.part(part) for part in parts],
        "notices": [opener.notice(row) for row in document["notices"]],
        "assumptions": [opener.sentence(text) for text in document["assumptions"]],
        "sentences": {name: opener.sentence(text) for name, text in document["sentences"].items()},
    }


def kept_twins(twins: Iterable[Twin]) -> list[dict[str, Any]]:
    """Return tables as they are kept with a run."""
    return [dataclasses.asdict(twin) for twin in twins]
