"""The lines that set a plan beside other schedules: one set of cells for the terminal and the paper."""

from __future__ import annotations

from plumeline.stages.startup.result import ReadingValue, Risk, StartUp, VisitValue
from plumeline.units import plain

EMPTY = "–"
COMPARISON_HEADS = ("schedule", "lost", "upper\n95 %", "no\nair", "added", "days", "done", "visits")


COMPARISONS = (
    "“No air” counts the same ponds over the days that each schedule takes, so it differs from line to line; “added” "
    "is the difference in percentage points. Schedules are fairly compared by what they add."
)


def comparison_cells(found: StartUp) -> list[list[str]]:
    """Return one row of texts a schedule: this plan, what it is always compared with, and waiting.

    Args:
        found: the start-up plan.
    """
    rows = [
        _cells(
            "this plan",
            found.risk,
            found.days_to_complete,
            found.completed_fraction,
            found.expected_visits_number,
        )
    ]
    rows += [
        _cells(
            item.name, item.risk, item.days_to_complete, item.completed_fraction, item.expected_visits_number
        )
        for item in found.comparisons
    ]
    rows += [_cells(item.name, item.risk, item.days_to_complete, None, None) for item in found.waiting]
    if not found.risk_stated:
        rows[0][1:5] = ["not stated", EMPTY, EMPTY, EMPTY]
        # the others are counted on the same ponds, too few of them apart for a bound of any schedule
        for row in rows[1:]:
            row[2] = EMPTY
    return rows


def bound_cell(found: StartUp, bound_fraction: float) -> str:
    """Return an upper bound of losses as a cell: a dash where no risk is stated, and so no bound of one."""
    return f"{100.0 * bound_fraction:.1f} %" if found.risk_stated else EMPTY


NOT_STATED = (
    "not stated: only {ponds:.0f} simulated ponds differ from each other; the cautious rule stands in"
)


def risk_line(found: StartUp) -> str:
    """Return the plan's risk as words that promise nothing, or that and why it is not stated."""
    if not found.risk_stated:
        return NOT_STATED.format(ponds=found.effective_members)
    risk = found.risk
    return (
        f"of {plain(risk.members, 0)} simulated ponds like this one, {plain(risk.failures, 0)} lost their refuge "
        "for more than an hour"
    )


def _cells(
    name: str, risk: Risk, days: float | None, completed_fraction: float | None, visits_number: float | None
) -> list[str]:
    return [
        name,
        f"{plain(risk.failures, 0)} of {plain(risk.members, 0)}",
        f"{100.0 * risk.risk_upper95_fraction:.1f} %",
        f"{plain(round(risk.baseline_risk * risk.members), 0)}",
        f"{100.0 * risk.added_risk:+.1f} %",
        EMPTY if days is None else f"{days:.1f}",
        EMPTY if completed_fraction is None else f"{100.0 * completed_fraction:.0f} %",
        EMPTY if visits_number is None else f"{visits_number:.1f}",
    ]


SAVINGS = (
    "Lost now: with one plan for all ponds. Lost then: the ponds that would read low, middle and high have each their "
    "own plan, chosen on one half of them and judged in the other; a pond that never completes counts as three weeks. "
    "A difference no larger than the root of the ponds "
    "that only one of the two loses is chance, and is marked so."
)
SPREAD = (
    "Of the spread: of each pond's least oxygen after the first run, the part that the input would explain if it were "
    "known exactly. What narrows this most may still save no pond and no day: where one schedule is the best however "
    "the reading comes out, the reading changes the forecast and not the plan."
)


def saved_word(item: ReadingValue | VisitValue) -> str:
    """Return whether what is saved is more than chance (McNemar 1947): a mark for the last column."""
    change = abs(item.lost_without_count - item.lost_with_count)
    return "chance: " if 0 < change <= item.apart_count**0.5 else ""


def later_cells(found: StartUp) -> tuple[str, str, str] | None:
    """Return days, losses and bound of the days after the last of the day table; None where none are left."""
    later = found.later
    if later is None:
        return None
    days = (
        f"{later.first_number}"
        if later.first_number == later.last_number
        else f"{later.first_number}–{later.last_number}"
    )
    bound = bound_cell(found, later.worst_upper95_fraction)
    return days, f"{plain(later.failures, 0)} of {plain(found.risk.members, 0)}", bound


def whole_cells(found: StartUp) -> tuple[str, str]:
    """Return losses and bound of the whole plan, which the days come to."""
    risk = found.risk
    bound = bound_cell(found, risk.risk_upper95_fraction)
    return f"{plain(risk.failures, 0)} of {plain(risk.members, 0)}", bound


def waiting_words(found: StartUp) -> list[str]:
    """Return what waiting itself costs, one sentence a line of waiting."""
    return [
        f"{item.name}: while waiting, without air, {plain(item.waiting_failures, 0)} of {plain(item.risk.members, 0)} "
        "lost their refuge"
        + (
            ""
            if item.started_fraction >= 0.995
            else f"; a front came in {item.started_fraction:.0%} of "
            f"{plain(round(item.risk.members / item.started_fraction), 0)} simulated ponds"
        )
        for item in found.waiting
    ]


def bounds_words(found: StartUp) -> str:
    """Return the upper bounds of what the plan answers for, beside what is accepted."""
    kept = "kept by this plan" if found.promise_kept else "NOT kept on the fresh simulated ponds"
    bounds = (found.answered_upper95_fraction, found.worst_day_upper95_fraction)
    accepted = (found.accepted_job_risk, found.accepted_day_risk)
    ours, day = (f"{100.0 * share:.1f} %" for share in bounds)
    job, daily = (f"{100.0 * share:.1f} %" for share in accepted)
    if not found.already_failing:
        ours = f"{ours} on the job"
    elif found.answered_upper95_fraction < 0.0:
        # the air saves more ponds than it costs
        ours = f"at least {-100.0 * found.answered_upper95_fraction:.1f} % fewer lost than without air"
    else:
        ours = f"{ours} added to what the pond loses by itself"
    return f"{ours}, {day} on the riskiest day; accepted are {job} on the job and {daily} a day: {kept}"


def still_words(found: StartUp) -> str:
    """Return the losses without air over all days simulated, before the readings and after them."""
    after = f"{plain(found.no_air_failures, 0)} of {plain(found.risk.members, 0)} lost it with the readings"
    before = found.no_air_before
    return (
        after
        if before is None
        else f"{after}, {plain(before.failures, 0)} of {plain(before.members, 0)} before them"
    )
