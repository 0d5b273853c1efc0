"""Answers on a page: each fault, doubt and echo beside the answer that it speaks of, in the page's words."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from plumeline.errors import Fault
from plumeline.files.new_answers import ANSWERS, Answer
from plumeline.files.site_questions import QUESTIONS
from plumeline.files.toml_values import JOB_FILE
from plumeline.files.trade_words import in_trade_words, place_in_words
from plumeline.notices import Notice
from plumeline.units.showing import System

_BY_SECTION = {"site": "position", "power": "power", "fish": "species"}
_BY_CODE = {
    "profile-upside-down": "bottom", "site-no-power": "power", "clock-differs": "position",
    "swapped-coordinates": "position", "elevation-low": "position", "time-zone-assumed": "time_zone",
    "date-assumed": "date", "species-unknown": "species", "site-owners": "shore_owner",
    "electrical-gfci": "gfci", "electrical-alarm": "trip_alarm", "electrical-datum-unknown": "high_water",
    "electrical-length-unknown": "feeder_length", "electrical-drop": "feeder_length",
    "stock-unknown": "heavy_stock", "route-frost-unknown": "frost_depth", "route-frost": "frost_depth",
    "route-ticket-expired": "ticket_expires", "route-private-lines": "private_lines_located",
    "line-under-straight": "route_length", "line-over-straight": "route_length", "bank-slope-steep": "bank_slope",
}  # fmt: skip
_OF_THE_FILE = (
    (re.compile(rf"^{re.escape(JOB_FILE)}, [\w.]+: "), ""),
    (re.compile(rf"^{re.escape(JOB_FILE)}, site\.time_zone "), "the time zone "),
    (re.compile(rf"^{re.escape(JOB_FILE)} gives no date; "), "no day was given; "),
    (re.compile(rf"^{re.escape(JOB_FILE)}, [\w.]+ is still empty\."), "still empty."),
    (re.compile(r", or the (?:pieces of the line|column smell) (?:as|in) [\[\]\w.]+(?=\.)"), ""),
    (re.compile(r'\b[a-z]\w*(?:\.\w+)* = "([^"]*)"'), r"\1"),
    (re.compile(r"\b[a-z]\w*(?:\.\w+)+ = \[([^\]]*)\]"), r"\1"),
    (re.compile(r",? or (?:depths|readings) in \w+\.csv"), ""),
    (re.compile(r", or \w+ = -?[\d.e+-]+(?=\.$)"), ""),
    (re.compile(r"(?<= as )\[([^\]]*)\]"), r"\1"),
    (re.compile(r'"([^"]*)"'), r"\1"),
)
"""What speaks of job.toml, as whoever fills in the form says it."""


@dataclass
class Said:
    """What is said at one answer.

    Attributes:
        wrong: faults.
        odd: doubts, to be looked at once more.
        understood: how it was read.
    """

    wrong: list[str] = field(default_factory=list)
    odd: list[str] = field(default_factory=list)
    understood: list[str] = field(default_factory=list)


def for_form(text: str) -> str:
    """Return words about job.toml as the form says them."""
    for pattern, words in _OF_THE_FILE:
        text = pattern.sub(words, text)
    text = in_trade_words(text)
    return text[:1].upper() + text[1:]


def answer_of(where: str, answers: Sequence[Answer] = ANSWERS) -> str:
    """Return the name of the answer that a place of job.toml belongs to; empty for none."""
    for answer in answers:
        if where == answer.key or where.startswith((f"{answer.key}.", f"{answer.key}[")):
            return answer.name
    return _BY_SECTION.get(where.partition(".")[0], "")


def field_of(code: str, text: str, answers: Sequence[Answer] = QUESTIONS) -> str:
    """Return the name of the answer that a notice speaks of; empty for none.

    Args:
        code: of the notice.
        text: its words.
        answers: the questions of the page.
    """
    place = re.match(rf"{re.escape(JOB_FILE)}, ([\w.]+)", text)
    fact = code.removeprefix("site-").replace("-", "_")
    found = _BY_CODE.get(code) or (fact if code.startswith("site-") else "")
    found = found or (answer_of(place[1], answers) if place else "")
    return found if any(one.name == found for one in answers) else ""


def notice_field(row: Mapping[str, Any]) -> str:
    """Return the field of the page of what is known that a notice of another page speaks of; empty for none."""
    # a start-up plan kept by an older version has no fields at its notices
    return str(row["field"]) if "field" in row else field_of(str(row["code"]), str(row["text"]))


def named_field(words: str) -> str:
    """Return the field that an error's words name by its place in job.toml; empty for none."""
    place = re.match(r"(?:site\.facts|fish|pond|air|power|reading)\.\w+", words)
    found = answer_of(place[0], QUESTIONS) if place else ""
    return found if place and any(one.name == found and one.key == place[0] for one in QUESTIONS) else ""


def by_answer(
    faults: Iterable[Fault],
    notices: Iterable[Notice],
    echoes: Iterable[str],
    units: System,
    answers: Sequence[Answer] = ANSWERS,
) -> tuple[dict[str, Said], Said]:
    """Return what is said at each answer, and what belongs to none of them.

    Args:
        faults: what is wrong.
        notices: what is to be borne in mind.
        echoes: how values were understood.
        units: of the page.
        answers: the questions of the page.
    """
    found = {answer.name: Said() for answer in answers}
    rest = Said()
    for fault in faults:
        name = answer_of(fault.where, answers)
        words = for_form(f"{fault.problem} {fault.remedy}".strip())
        if name:
            found[name].wrong.append(words)
        else:
            rest.wrong.append(str(fault))
    for notice in notices:
        text = notice.said(units)
        name = field_of(notice.code, text, answers)
        (found.get(name) or rest).odd.append(f"{notice.severity.value.capitalize()}: {for_form(text)}")
    for echo in echoes:
        where, _, words = echo.partition(": ")
        name = answer_of(where, answers)
        (found.get(name) or rest).understood.append(words if name else f"{place_in_words(where)}: {words}")
    return found, rest
