"""The ten answers on a page: each fault, doubt and echo beside the answer that it speaks of, in the page's words."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field

from plumeline.errors import Fault
from plumeline.files.new_answers import ANSWERS
from plumeline.files.toml_values import JOB_FILE
from plumeline.notices import Notice
from plumeline.units.showing import System

_BY_SECTION = {"site": "position", "power": "power", "fish": "species"}
_BY_CODE = {
    "profile-upside-down": "bottom", "site-no-power": "power", "clock-differs": "position",
    "swapped-coordinates": "position", "elevation-low": "position", "time-zone-assumed": "time_zone",
    "date-assumed": "date",
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
    return text[:1].upper() + text[1:]


def answer_of(where: str) -> str:
    """Return the name of the answer that a place of job.toml belongs to; empty for none."""
    for answer in ANSWERS:
        if where == answer.key or where.startswith(f"{answer.key}."):
            return answer.name
    return _BY_SECTION.get(where.partition(".")[0], "")


def by_answer(
    faults: Iterable[Fault], notices: Iterable[Notice], echoes: Iterable[str], units: System
) -> tuple[dict[str, Said], Said]:
    """Return what is said at each answer, and what belongs to none of them.

    Args:
        faults: what is wrong.
        notices: what is to be borne in mind.
        echoes: how values were understood.
        units: of the page.
    """
    found = {answer.name: Said() for answer in ANSWERS}
    rest = Said()
    for fault in faults:
        name = answer_of(fault.where)
        words = for_form(f"{fault.problem} {fault.remedy}".strip())
        if name:
            found[name].wrong.append(words)
        else:
            rest.wrong.append(str(fault))
    for notice in notices:
        text = notice.said(units)
        place = re.match(rf"{re.escape(JOB_FILE)}, ([\w.]+)", text)
        name = _BY_CODE.get(notice.code) or (answer_of(place[1]) if place else "")
        (found.get(name) or rest).odd.append(f"{notice.severity.value.capitalize()}: {for_form(text)}")
    for echo in echoes:
        where, _, words = echo.partition(": ")
        name = answer_of(where)
        (found.get(name) or rest).understood.append(words if name else echo)
    return found, rest
