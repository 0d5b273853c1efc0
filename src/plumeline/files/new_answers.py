"""The ten answers as questions, and job.toml made of them."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from plumeline.files.place_text import walls_typed
from plumeline.files.toml_out import toml_text


@dataclass(frozen=True)
class Answer:
    """One question.

    Attributes:
        name: of the field.
        key: where it stands in job.toml, such as pond.area; empty for what is no key of its own.
        label: the question.
        hint: what an answer looks like, or what follows from it.
        choices: what may be chosen, as it is kept and in words; empty where an answer is typed.
        is_long: whether it may take several lines.
    """

    name: str
    key: str
    label: str
    hint: str
    choices: tuple[tuple[str, str], ...] = ()
    is_long: bool = False


ANSWERS = (
    Answer("name", "name", "Name of the pond", "Mill pond"),
    Answer("date", "date", "Day of the plan (year-month-day)", "2026-08-11; today when left empty"),
    Answer(
        "position", "site.latitude_longitude_elevation", "Latitude, longitude (degrees), elevation (ft or m)",
        "35.91, -79.72, 680 ft",
    ),
    Answer("time_zone", "site.time_zone", "Time zone", "America/New_York"),
    Answer("area", "pond.area", "Area of the water (acre or m²)", "1.6 acre"),
    Answer("max_depth", "pond.max_depth", "Greatest depth (ft or m)", "14 ft"),
    Answer("secchi_depth", "pond.secchi_depth", "Secchi depth, where the disc goes out of sight (ft or m)", "2 ft"),
    Answer("surface", "reading.surface", "At the surface: temperature (°F or °C), oxygen (mg/L)", "84 degF, 7.5 mg/L"),
    Answer("bottom", "reading.bottom", "Over the bottom: temperature (°F or °C), oxygen (mg/L)", "64 degF, 0.1 mg/L"),
    Answer("smell", "reading.smell", "Smell of rotten eggs in the bottom water", "none, faint or strong"),
    Answer("route_length", "air.route_length", "Trench from the power to the shore (ft or m)", "430 ft"),
    Answer("rise", "air.rise", "Compressor above the water (ft or m; below: minus)", "12 ft"),
    Answer("power", "power.volts_amps", "Power there: volts, amperes", "120 V, 20 A, or none"),
    Answer("species", "fish.species", "Fish, with commas between", "bluegill, largemouth bass"),
)  # fmt: skip
"""The ten answers of a new job, with its name, day and time zone; two readings count as one answer."""


DAYS = ("date", "herbicide_date", "ticket_expires", "dig_date")
"""Answers that are days."""


def answers_file(given: Mapping[str, str]) -> str:
    """Return job.toml of answers by the names of their fields; what is empty stays not known."""
    lines = ["format = 1"]
    section = ""
    for answer in ANSWERS:
        text = given.get(answer.name, "").strip()
        head, dot, key = answer.key.rpartition(".")
        if head != section:
            section = head
            lines += ["", f"[{head}]"]
        if not text and answer.name in ("date", "time_zone"):
            continue
        lines.append(f"{key if dot else answer.key} = {written_value(answer.name, text)}")
    return "\n".join(lines) + "\n"


def written_value(name: str, text: str) -> str:
    """Return an answer as job.toml writes it: a list of species, a bare day, else a text in quotes."""
    if name == "species":
        parts = re.split(r"[,;&]|\band\b", text)
        return f"[{', '.join(toml_text(part.strip()) for part in parts if part.strip())}]"
    if name == "walls":
        return f"[{', '.join(toml_text(wall) for wall in walls_typed(text))}]"
    if name in DAYS and _is_day(text):
        return text
    # an empty slope would be none; that nobody knows is a word of its own
    return toml_text(text or "unknown") if name == "bank_slope" else toml_text(text)


def _is_day(text: str) -> bool:
    """Return whether a text is a day of the calendar, written as TOML writes it."""
    try:
        return len(text) == len("2026-08-11") and date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False
