"""Typst: our own templates, our own font, no network, and the day as the only clock."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Mapping
from datetime import UTC, date, datetime
from importlib import resources
from pathlib import Path
from typing import Any, Literal

import typst

from plumeline.files.trade_words import on_paper
from plumeline.pairs import said
from plumeline.units.showing import System

FOLDER = Path(str(resources.files("plumeline").joinpath("paper")))
FONTS = FOLDER / "fonts"
DATA = "data.json"
SHARED = "units.typ"
"""What every template imports."""
AS_TYPED = ("name", "id")
"""What stands on paper letter by letter as somebody typed it."""


def typst_fonts() -> typst.Fonts:
    """Return our own font alone."""
    return typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[FONTS])


def data_text(data: Mapping[str, Any], system: System) -> str:
    """Return what a template reads, its sentences in one system of units and in the trade's words."""
    worded = {key: value if key in AS_TYPED else _worded(value) for key, value in data.items()}
    return said(json.dumps(worded, ensure_ascii=False, allow_nan=False), system)


def _worded(value: Any) -> Any:
    """Return a part of the data with each of its sentences as paper says it."""
    if isinstance(value, str):
        return on_paper(value)
    if isinstance(value, Mapping):
        return {key: _worded(item) for key, item in value.items()}
    return [_worded(item) for item in value] if isinstance(value, list | tuple) else value


def fill(folder: Path, template: str, texts: Mapping[str, str]) -> None:
    """Write a template of ours, what it imports, and the texts that it reads, by name, into a folder."""
    ours = {name: (FOLDER / name).read_text(encoding="utf-8") for name in (template, SHARED)}
    for name, text in (ours | dict(texts)).items():
        (folder / name).write_text(text, encoding="utf-8")


def pdf_of(folder: Path, template: str, day: date, inputs: Mapping[str, str] | None = None) -> bytes:
    """Return the PDF of a filled folder: for reading aloud (PDF/UA-1) where that can be."""
    try:
        return _compiled(folder, template, day, inputs, "ua-1")
    except typst.TypstError:
        # a name in letters that the font lacks can't be read aloud; it can still be printed
        return _compiled(folder, template, day, inputs, None)


def _compiled(
    folder: Path, template: str, day: date, inputs: Mapping[str, str] | None, standard: Literal["ua-1"] | None
) -> bytes:
    pdf = typst.compile(
        folder / template,
        root=folder,
        font_paths=typst_fonts(),
        ignore_system_fonts=True,
        sys_inputs=dict(inputs or {}),
        format="pdf",
        pdf_standards=standard or [],
        timestamp=datetime(day.year, day.month, day.day, tzinfo=UTC),
    )
    return bytes(pdf)


def page_of(
    template: str,
    data: Mapping[str, Any],
    day: date,
    system: System,
    drawings: Mapping[str, str] | None = None,
) -> bytes:
    """Return a paper of its own as PDF: a template, its data, and the drawings that it shows, by file name."""
    with tempfile.TemporaryDirectory(prefix="plumeline-") as place:
        folder = Path(place)
        fill(folder, template, {DATA: data_text(data, system), **(drawings or {})})
        return pdf_of(folder, template, day)
