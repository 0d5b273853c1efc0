"""The start-up plan for people."""

from __future__ import annotations

from plumeline.cli.figures import EMPTY, clock, column_unit, percent, running_time
from plumeline.cli.tables import listing, table
from plumeline.stages.startup import Band, Risk, RunDay, StartUp
from plumeline.units import show
from plumeline.units.showing import System


def startup_blocks(found: StartUp, units: System) -> list[str]:
    """Return the texts of the start-up plan: figures, days, water, comparisons, what would tell more."""
    blocks = [
        listing(_figures(found), title="Start-up"),
        _days(found),
        _water(found, units),
        _comparisons(found),
    ]
    if found.bound_by:
        rows = [(limit, f"{count} simulated ponds") for limit, count in found.bound_by]
        blocks.append(listing(rows, title="What took the refuge"))
    if found.narrowing:
        blocks.append(_narrowing(found))
    return blocks


def risk_words(risk: Risk) -> str:
    """Return a risk as words that promise nothing."""
    return (
        f"of {risk.members:,} simulated ponds like this one, {risk.failures:,} lost their refuge for more "
        "than an hour"
    )


def beside_words(risk: Risk) -> str:
    """Return the same ponds and days without air, in words."""
    still = round(risk.baseline_risk * risk.members)
    return f"of the same {risk.members:,}, over the same days without any air, {still:,}"


def days_words(found: StartUp) -> str:
    """Return how long it takes, in words."""
    done = percent(found.completed_fraction)
    if found.days_to_complete is None:
        return f"not complete in {found.horizon_d} days: {done} of the simulated ponds are"
    return (
        f"{found.days_to_complete:.1f} days from the first run (median); {done} complete in {found.horizon_d}"
    )


def _figures(found: StartUp) -> list[tuple[str, str]]:
    risk = found.risk
    accepted = percent(found.accepted_job_risk, 1)
    kept = "kept by this plan" if found.promise_kept else "NOT kept on the fresh simulated ponds"
    rows = [
        ("schedule", found.name),
        ("risk", risk_words(risk)),
        ("upper bound (95 %)", f"{percent(risk.risk_upper95_fraction, 1)}; accepted is {accepted}, {kept}"),
        ("beside it", beside_words(risk)),
        ("complete after", days_words(found)),
        ("refuge", found.limits_words),
        ("searched", f"{found.searched_candidates} schedules; {found.drawn_members:,} simulated ponds drawn"),
    ]
    if found.already_failing:
        rows.insert(1, ("without air", "this pond loses its refuge by itself: emergency aeration first"))
    return rows


def _start(day: RunDay) -> str:
    return "runs on" if day.start_hour_h is None else clock(day.start_hour_h)


def _days(found: StartUp) -> str:
    rows = [
        (
            str(day.number),
            f"{day.date:%a %b} {day.date.day}",
            _start(day),
            running_time(day.minutes),
            EMPTY if day.stop_do_mg_l is None else f"{day.stop_do_mg_l:.1f}",
            f"{day.turnover_fraction.median:.2f}",
            f"{day.failures} of {found.risk.members:,}",
            percent(day.risk_upper95_fraction, 1),
        )
        for day in found.days
    ]
    heads = (
        "day", "date", "start", "run", "stop under\nmg/L", "turnovers", "lost their\nrefuge", "upper\n95 %",
    )  # fmt: skip
    title = "Days: stop when oxygen 2 ft down, away from the boils, falls under the reading"
    return table(heads, rows, align="rlrrrrrr", title=title)


def _band(band: Band, digits: int = 1) -> str:
    return f"{band.median:.{digits}f} ({band.p05:.{digits}f}–{band.p95:.{digits}f})"


def _water(found: StartUp, units: System) -> str:
    factor = 1.8 if units == "us" else 1.0
    rows = [
        (
            str(day.number),
            _band(day.dawn_do_mg_l),
            _band(day.least_do_mg_l),
            clock(day.least_hour_h),
            f"{day.bottom_do_mg_l.median:.1f}",
            f"{factor * day.difference_k.median:.1f}",
            f"{100 * day.refuge_fraction.median:.0f} ({100 * day.refuge_fraction.p05:.0f}–"
            f"{100 * day.refuge_fraction.p95:.0f})",
        )
        for day in found.days
    ]
    degree = "K" if units == "si" else column_unit("degc", units)
    heads = (
        "day",
        "next dawn\nmg/L",
        "least\nmg/L",
        "about",
        "at the\nbottom",
        f"top less\nbottom {degree}",
        "room for\nfish, %",
    )
    depth = show(0.6, "m", units)
    title = f"Oxygen {depth} down, median (5 % to 95 % of the simulated ponds)"
    return table(heads, rows, align="rrrrrrr", title=title)


def _comparisons(found: StartUp) -> str:
    rows = [("this plan", found.risk, found.days_to_complete, found.completed_fraction, _run_days(found))]
    rows += [
        (item.name, item.risk, item.days_to_complete, item.completed_fraction, item.run_days)
        for item in found.comparisons
    ]
    cells = [
        (
            name,
            f"{risk.failures:,}",
            percent(risk.risk_upper95_fraction, 1),
            f"{round(risk.baseline_risk * risk.members):,}",
            f"{100 * risk.added_risk:+.1f} %",
            EMPTY if days is None else f"{days:.1f}",
            percent(done),
            str(visits),
        )
        for name, risk, days, done, visits in rows
    ]
    heads = (
        "schedule", "lost", "upper\n95 %", "without\nair", "added", "days to\ncomplete", "com-\nplete",
        "timed\nruns",
    )  # fmt: skip
    title = f"Beside other schedules: of {found.risk.members:,} simulated ponds, how many lost their refuge"
    return table(heads, cells, title=title)


def _run_days(found: StartUp) -> int:
    return sum(1 for day in found.days if day.start_hour_h is not None and day.minutes < 1440)


def _narrowing(found: StartUp) -> str:
    rows = [(item.input, item.how, percent(item.share_fraction)) for item in found.narrowing]
    heads = ("input", "how to get it", "of the\nspread")
    return table(heads, rows, align="llr", title="What would narrow the plan, the most telling first")
