"""What the page of what is known shows: each question with its answer, what follows, and what is wrong there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from plumeline.files.job_folder import CheckReport
from plumeline.files.known_places import corners_of
from plumeline.files.new_answers import ANSWERS, Answer
from plumeline.files.observations import PROFILES
from plumeline.files.site_questions import GROUPS, QUESTIONS
from plumeline.job.document import Job
from plumeline.notices import Notice
from plumeline.stages.site_facts import asked_by_crew, follows, open_questions, site_notices
from plumeline.store import Revision
from plumeline.units.showing import System
from plumeline.web.asked import Said, by_answer, field_of

NOT_NO = "Not known is not no: ask."
CREW_ASKS = "Not known is not no: the crew must ask before digging and before the first air."
LEAST_SOUNDINGS = 3
"""From so many on the bottom is drawn from them, as the survey has it."""
_WORDS = {"yes": "If yes", "no": "If no"}


@dataclass(frozen=True)
class Row:
    """A question on the page.

    Attributes:
        question: what is asked.
        given: what stands in the field.
        said: what is wrong, odd and understood there.
        now: warnings that follow from the answer that is given.
        else_follows: what would follow from other answers.
        unknown: what follows while nobody knows; empty where it is known.
        theirs: what somebody else saved there meanwhile; None for nothing.
        more: where else this is known from.
    """

    question: Answer
    given: str
    said: Said
    now: tuple[dict[str, str], ...] = ()
    else_follows: tuple[str, ...] = ()
    unknown: str = ""
    theirs: str | None = None
    more: str = ""


@dataclass(frozen=True)
class Group:
    """Questions under one title."""

    title: str
    rows: tuple[Row, ...] = field(default=())


def said_at(
    revision: Revision, report: CheckReport | None, units: System
) -> tuple[dict[str, Said], list[str]]:
    """Return what is said at each question, and faults that belong to none.

    Args:
        revision: what is saved.
        report: what a look at the form finds; None where nothing was typed yet.
        units: of the page.
    """
    faults = () if report is None else report.faults
    notices = revision.notices if report is None else report.notices
    echoes = revision.echoes if report is None else report.echoes
    plain = [one for one in notices if not one.code.startswith("site-")]
    found, rest = by_answer(faults, plain, echoes, units, QUESTIONS)
    return found, rest.wrong


def groups_shown(
    saved: Job, job: Job | None, given: Mapping[str, str], said: Mapping[str, Said], theirs: Mapping[str, str],
    units: System, *, asks_readings: bool,
) -> tuple[Group, ...]:  # fmt: skip
    """Return the questions in their groups, those of the site first.

    Args:
        saved: the job that is saved.
        job: as the form says it; None where it says none.
        given: what stands in each field.
        said: what is said at each.
        theirs: what somebody else saved meanwhile, by field.
        units: of the page.
        asks_readings: whether the two short lines of a reading are asked for.
    """
    warned: dict[str, list[Notice]] = {}
    for notice in site_notices(job) if job else ():
        warned.setdefault(field_of(notice.code, ""), []).append(notice)

    def rows(questions: Sequence[Answer]) -> tuple[Row, ...]:
        return tuple(
            Row(
                one, given[one.name], said[one.name], _lines(warned.get(one.name, ()), units),
                _else(one, given[one.name]), _unknown(one, given[one.name]), theirs.get(one.name), _more(one, saved),
            )
            for one in questions
        )  # fmt: skip

    ten = [one for one in ANSWERS if asks_readings or not one.key.startswith("reading.")]
    return (*(Group(title, rows(group)) for title, group in GROUPS), Group("The ten answers", rows(ten)))


def _lines(notices: Sequence[Notice], units: System) -> tuple[dict[str, str], ...]:
    return tuple({"severity": one.severity.value, "text": one.said(units)} for one in notices)


def _else(question: Answer, given: str) -> tuple[str, ...]:
    """Return what would follow from the answers; of the one that is given a fact's own warning says it."""
    words, is_fact = dict(question.choices), question.key.startswith("site.facts.")
    return tuple(
        f"{_WORDS.get(answer) or f'If {words[answer]}'}: {text}"
        for answer, text in (follows(question.name) if words else {}).items()
        if answer != given or not is_fact
    )


def _unknown(question: Answer, given: str) -> str:
    """Return what follows while an answer is not known; empty where it is, or where nobody is asked."""
    if ("unknown", "not known") not in question.choices or given != "unknown":
        return ""
    return CREW_ASKS if asked_by_crew(question.name) else NOT_NO


def has_own_profiles(files: Mapping[str, bytes]) -> bool:
    """Return whether a folder's profiles stand in their own file, so that two short lines are not read."""
    lines = (line.strip() for line in files.get(PROFILES, b"").splitlines())
    return sum(1 for line in lines if line and not line.startswith(b"#")) > 1


def _more(question: Answer, job: Job) -> str:
    """Return from what else the answer of a question comes in this pond, before the one that is typed."""
    length = "Left empty, it is taken from the course that was surveyed." if job.route else ""
    found = {
        "walls": _more_of_walls(job),
        "compressor_place": ""
        if job.pond.outline
        else "It is held against the pond once its shore is drawn.",
        "area": "The shore that is drawn counts before it." if job.pond.outline else "",
        "max_depth": "The soundings count before it." if len(job.pond.soundings) >= LEAST_SOUNDINGS else "",
        "route_length": "The pieces of the line, one by one, count before it." if job.air.trunk else length,
        "rise": "The course that was surveyed says it too; both must agree." if job.route else "",
    }
    return found.get(question.name, "")


def _more_of_walls(job: Job) -> str:
    """Return which corners there are for walls, and what they wait for."""
    count = len(corners_of(job))
    if not count:
        return "No shore is drawn yet: walls count once it is, with soundings."
    corners = (
        f"The shore has {count} corners, counted as where it is drawn: a corner tapped there says its number."
    )
    few = "" if len(job.pond.soundings) >= LEAST_SOUNDINGS else " Walls count once there are soundings."
    return corners + few


def links_of(job: Job) -> list[tuple[str, str]]:
    """Return what is not known of the site as questions, each with the name of its field."""
    return list(open_questions(job.site.facts).items())
