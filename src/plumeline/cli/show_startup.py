"""The start-up plan for people."""

from __future__ import annotations

from plumeline.cli.figures import EMPTY, bullets, clock, column_unit, percent, running_time
from plumeline.cli.tables import listing, paragraph, table
from plumeline.pairs import said
from plumeline.stages.column import NEAR_SURFACE_M
from plumeline.stages.startup import Band, Risk, RunDay, StartUp
from plumeline.stages.startup.lines import (
    COMPARISON_HEADS,
    COMPARISONS,
    SAVINGS,
    SPREAD,
    bound_cell,
    bounds_words,
    comparison_cells,
    later_cells,
    risk_line,
    saved_word,
    still_words,
    waiting_words,
    whole_cells,
)
from plumeline.stages.startup.words import LATER, VALVES
from plumeline.units import plain, show
from plumeline.units.showing import System


def startup_blocks(found: StartUp, units: System) -> list[str]:
    """Return the texts of the start-up plan: figures, days, water, comparisons, what would tell more."""
    blocks = [listing(_figures(found, units), title="Start-up")]
    if found.emergency:
        blocks.append(
            bullets(found.emergency, "First of all: without air this pond is already failing", units)
        )
    if found.changes:
        blocks.append(bullets(found.changes, "What changed since the last plan", units))
    blocks += [
        _days(found),
        _stops(found, units),
        bullets(found.stop_words, "How the stop rule is carried out", units),
    ]
    if found.measures:
        blocks.append(_measures(found, units))
    blocks += [_water(found, units), _comparisons(found, units)]
    if found.bound_by:
        rows = [
            (limit, f"{count} simulated pond{'' if count == 1 else 's'}") for limit, count in found.bound_by
        ]
        blocks.append(listing(rows, title="What took the refuge"))
    if found.readings_value or found.one_more_visit:
        blocks.append(_values(found, units))
    if found.narrowing:
        blocks.append(_narrowing(found))
    if found.kept_running or found.days_off:
        blocks.append(_afterwards(found))
    return blocks


def risk_words(risk: Risk) -> str:
    """Return a risk as words that promise nothing."""
    return (
        f"of {plain(risk.members, 0)} simulated ponds like this one, {plain(risk.failures, 0)} lost their "
        "refuge for more "
        "than an hour"
    )


def beside_words(risk: Risk) -> str:
    """Return the same ponds and days without air, in words."""
    still = round(risk.baseline_risk * risk.members)
    return f"of the same {plain(risk.members, 0)}, over the same days without any air, {plain(still, 0)}"


def days_words(found: StartUp) -> str:
    """Return how long it takes, in words."""
    done = percent(found.completed_fraction)
    if found.days_to_complete is None:
        return f"not complete in {found.horizon_d} days: {done} of the simulated ponds are"
    return (
        f"{found.days_to_complete:.1f} days from the first run (median); {done} complete in {found.horizon_d}"
    )


def _figures(found: StartUp, units: System) -> list[tuple[str, str]]:
    risk = found.risk
    rows = [("schedule", found.name)]
    if found.hold_until is not None:
        day = found.hold_until
        rows.append(("hold", f"no air until the reading of {day:%a} {day.day} {day:%b} at sunrise"))
    if found.already_failing:
        rows.append(("without air", "this pond loses its refuge by itself: emergency steps first"))
    rows.append(("risk", risk_line(found)))
    if found.risk_stated:
        rows += [("upper bounds (95 %)", bounds_words(found)), ("beside it", beside_words(risk))]
    if found.no_air_before is not None:
        rows.append((f"no air, {found.horizon_d} days", still_words(found)))
    rows += [
        ("complete after", days_words(found)),
        ("visits", f"{found.expected_visits_number:.1f} expected, the one that proves it among them"),
        ("refuge", said(found.limits_words, units)),
        (
            "searched",
            f"{found.searched_candidates} schedules in up to {plain(found.search_members, 0)} ponds, "
            f"{plain(found.member_days, 0)} pond-days; "
            f"{plain(found.drawn_members, 0)} simulated ponds drawn",
        ),
    ]
    return rows


def _start(day: RunDay) -> str:
    return "runs on" if day.start_hour_h is None else clock(day.start_hour_h)


def _days(found: StartUp) -> str:
    rows: list[tuple[str, ...]] = [
        (
            str(day.number),
            f"{day.date:%a %b} {day.date.day}",
            _start(day),
            running_time(day.minutes) if day.minutes else "no air",
            ", ".join(day.diffusers) or "all",
            "visit" if day.visit else "card",
            f"{day.turnover_fraction.median:.2f}",
            f"{day.failures} of {plain(found.risk.members, 0)}",
            bound_cell(found, day.risk_upper95_fraction),
            "firm" if day.firm else "prov.",
        )
        for day in found.days
    ]
    heads = (
        "day", "date", "start", "run", "open", "by", "turn-\novers", "lost their\nrefuge", "upper\n95 %", "",
    )  # fmt: skip
    title = "Days: by visit, or by the card (nobody need come to read); firm for two days"
    first = found.first_run
    rest = "" if found.later is None else f" {LATER}"
    since = "" if first is None else f" Days count from the first run, {first:%a} {first.day} {first:%b}."
    return (
        table(heads, [*rows, *_after_the_days(found)], align="rlrrllrrrl", title=title)
        + "\n"
        + paragraph(VALVES + rest + since)
    )


def _after_the_days(found: StartUp) -> list[tuple[str, ...]]:
    """Return the rows under the days: what is lost after the last of them, and the plan's own count."""
    lost, bound = whole_cells(found)
    rows = [("all", *[""] * 6, lost, bound, "")]
    later = later_cells(found)
    if later is not None:
        rows.insert(0, (later[0], "later", "runs on", *[""] * 4, later[1], later[2], ""))
    return rows


def _stops(found: StartUp, units: System) -> str:
    """Return the stop readings by hour of the run, beside the expected low and its hour."""
    hours = max((item.after_h for day in found.days for item in day.stop_by_hour), default=0)
    if not hours:
        return "Stop readings: no run is watched."
    rows = []
    for day in found.days:
        by_hour = {item.after_h: item.do_mg_l for item in day.stop_by_hour}
        texts = []
        for hour in range(1, hours + 1):
            reading = by_hour.get(hour)
            texts.append(EMPTY if reading is None else f"{reading:.1f}")
        low = f"{day.least_do_mg_l.median:.1f} ({day.least_do_mg_l.p05:.1f})"
        rows.append((str(day.number), *texts, low, clock(day.least_hour_h)))
    heads = ("day", *(f"after\n{hour} h" for hour in range(1, hours + 1)), "expected low\n(5 %)", "at")
    deep = show(NEAR_SURFACE_M, "m", units)
    title = f"Shut off when oxygen {deep} down reads under this, mg/L, while water is layered"
    return table(heads, rows, align="r" * len(heads), title=title)


def _measures(found: StartUp, units: System) -> str:
    rows = [
        (item.when, item.time, ", ".join(show(z, "m", units) for z in item.depth_m), item.what, item.why)
        for item in found.measures
    ]
    title = "What to read next, two depths away from the boils (readings.csv takes it)"
    return table(("when", "about", "at", "what", "it decides"), rows, align="lllll", title=title)


def _values(found: StartUp, units: System) -> str:
    rows = [
        (
            item.name,
            plain(item.lost_without_count, 0),
            plain(item.lost_with_count, 0),
            _signed(item.days_saved_d),
            _signed(item.visits_saved_number),
            plain(item.members, 0),
            saved_word(item) + said(item.how, units),
        )
        for item in found.readings_value
    ]
    more = found.one_more_visit
    if more is not None and (more.days_saved_d > 0.0 or more.lost_with_count < more.lost_without_count):
        rows.append(
            (
                f"one more visit, day {more.day_number}",
                plain(more.lost_without_count, 0),
                plain(more.lost_with_count, 0),
                _signed(more.days_saved_d),
                "-1.0",
                plain(more.members, 0),
                saved_word(more) + "gate at dawn and stop rule on that day",
            )
        )
    heads = (
        "reading not yet taken",
        "lost\nnow",
        "lost\nthen",
        "days\nsaved",
        "visits\nsaved",
        "of\nponds",
        "how",
    )
    title = "What each would save: ponds lost, days, visits, each with its best plan then"
    return table(heads, rows, align="lrrrrrl", title=title) + "\n" + paragraph(SAVINGS)


def _signed(number: float) -> str:
    """Return a saving with its sign; what rounds to nothing is "+0.0" from either side."""
    return f"{round(number, 1) + 0.0:+.1f}"


def _afterwards(found: StartUp) -> str:
    rows = [
        (
            f"run {item.name}",
            f"{percent(item.mixed_fraction)} of {item.members} simulated ponds stay mixed over a week, "
            f"{item.lost_members} of them lost",
        )
        for item in found.kept_running
    ]
    off = found.days_off
    if off is not None:
        if off.unsafe_d is None:
            text = (
                f"up to {off.safe_d} days, the longest tried, 24 h at once kept the accepted risk in {off.members} "
                "simulated ponds"
            )
        else:
            lost = dict(off.lost_by_days)[off.unsafe_d]
            text = (
                f"after {off.unsafe_d} days a full restart is unsafe ({lost} of {off.members} simulated ponds lost): "
                f"plan it with --outage {off.unsafe_d}d"
            )
        rows.append(("days off", text))
    return listing(rows, title="Once it is complete")


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
        "at the\nbottom\nmg/L",
        f"top less\nbottom {degree}",
        "room for\nfish, %",
    )
    depth = show(0.6, "m", units)
    title = f"Oxygen {depth} down, median (5 % to 95 % of the simulated ponds)"
    return table(heads, rows, align="rrrrrrr", title=title)


def _comparisons(found: StartUp, units: System) -> str:
    title = "Beside other schedules: simulated ponds that lost their refuge"
    text = table(COMPARISON_HEADS, comparison_cells(found), title=title) + "\n" + paragraph(COMPARISONS)
    waits = waiting_words(found)
    return text + "\n" + bullets(waits, "Waiting is counted from its own first run", units) if waits else text


def _narrowing(found: StartUp) -> str:
    rows = [
        (item.input, item.how, percent(item.share_fraction), plain(item.members, 0))
        for item in found.narrowing
    ]
    heads = ("input", "how to get it", "of the\nspread", "of\nponds")
    title = "What would narrow the plan, the most telling first"
    return table(heads, rows, align="llrr", title=title) + "\n" + paragraph(SPREAD)
