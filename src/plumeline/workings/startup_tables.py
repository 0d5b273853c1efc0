"""What the figures and tables of a start-up plan may show."""

from __future__ import annotations

from plumeline.stages.column import NEAR_SURFACE_M
from plumeline.stages.startup import Band, RunDay
from plumeline.stages.startup.aftermath import KEPT_DAWNS_FRACTION, RESTART_D, TRIED_DAYS_OFF, WEEK_D
from plumeline.stages.startup.beside import STOP_MEMBERS
from plumeline.stages.startup.days import FIRM_D
from plumeline.stages.startup.result import ReadingValue, VisitValue
from plumeline.stages.startup.stop import SLACK_MG_L
from plumeline.units import plain
from plumeline.workings.air_points import PointValues
from plumeline.workings.book import Book
from plumeline.workings.reading import ReadingValues
from plumeline.workings.startup import WATER, StartValues, compared_ponds, values_said
from plumeline.workings.survey import SurveyValues, shape_band
from plumeline.workings.survey_cases import band_values
from plumeline.workings.value import Kind, Value, chosen, given, plain_constant, relation

FIGURES, PLAN = "Main figures", "Start-up"
DAYS = "Days: by visit, or by the card…"
STOPS = "Shut off when oxygen…"
MEASURES = "What to read next, two depths away from the boils (readings.csv takes it)"
OXYGEN = "Oxygen…"
BESIDE = "Beside other schedules: simulated ponds that lost their refuge"
SAVES = "What each would save:…"
NARROW = "What would narrow the plan, the most telling first"
AFTER = "Once it is complete"
FAHRENHEIT_BY_KELVIN = 1.8
STOP_ERROR_MG_L = 0.3
"""Most that the standard deviation of a stop reading is over sets of ponds made up by hand: tests/stages/startup."""


def near_surface() -> Value:
    """Return the depth at which oxygen is read for the fish."""
    words = (
        "where a meter reads what the fish breathe, under the film that the sun warms: a rule of this program"
    )
    return chosen("depth of the reading", NEAR_SURFACE_M, "m", words)


def apart(values: StartValues) -> Value:
    """Return how many ponds the readings leave apart from each other."""
    words = "1 over the sum of the squared weights (Kish 1965) that the readings leave"
    return chosen("ponds that differ from each other", values.start.effective_members, "", words)


def figures(
    book: Book, values: StartValues, basin: SurveyValues, points: PointValues, turnover: Value
) -> None:
    """Say what the main figures may show."""
    start = values.start
    ends = band_values(basin.found, basin.volume) or shape_band(basin)
    flows = [
        flow for item in points.air.branches for flow in points.branch_flow(points.air.balanced, item.name)
    ]
    risk = values.plan_risk
    rows: dict[str, list[Value]] = {
        "volume": [basin.volume, *ends],
        "turnovers a day": [turnover],
        "gauge at the compressor": [points.compressor],
        "gauge at the manifold": [points.manifold],
        "air of each diffuser": flows,
        "schedule": values.schedule(),
        "complete after": [*values.days_to_complete, values.horizon],
        "risk": [risk.members, risk.lost, apart(values)],
        "beside it": [risk.members, risk.still],
    }
    for item in start.comparisons:
        line = values.risk(item.name, item.risk, compared_ponds(item.risk.members))
        rows[item.name] = [line.members, line.lost]
    if start.narrowing:
        rows["would narrow it most"] = [_narrowed(values, 0)]
    for name, cell in rows.items():
        book.at("part", FIGURES, name, values=cell)


def plan_figures(book: Book, values: StartValues, limits: list[Value]) -> None:
    """Say what the figures of the plan may show."""
    start, risk = values.start, values.plan_risk
    found: list[Value] = [
        values.of_ponds(
            "ponds lost without air", float(start.no_air_failures), "", "over all days simulated"
        ),
        values.members,
    ]
    before = start.no_air_before
    if before is not None:
        words = "drawn from the table of priors alone, before any reading spoke"
        found += [
            values.of_ponds("ponds lost without air, before the readings", float(before.failures), "", words,
                            f"{plain(before.members, 0)} simulated ponds"),
            values.pond_count(before.members),
        ]  # fmt: skip
    ninety_five = plain_constant("a bound is kept in", 0.95, "fraction", "one-sided, the custom of the house")
    searched = [
        chosen("schedules tried", float(start.searched_candidates), "", f"counted by the search, on {values.tried_on}"),
        chosen("simulated ponds of the search", float(start.search_members), "", values.tried_on),
        chosen("days of one pond marched", float(start.member_days), "", "counted by the search as it went"),
        chosen("simulated ponds drawn", float(start.drawn_members), "",
               "drawn from the priors until enough were found that agree with the readings"),
    ]  # fmt: skip
    rows: dict[str, list[Value]] = {
        "schedule": values.schedule(),
        "risk": [risk.members, risk.lost, apart(values)],
        "upper bounds (95 %)": [values.answered, values.worst_day, *values.accepted, ninety_five],
        "beside it": [risk.members, risk.still],
        f"no air, {start.horizon_d} days": [*found, values.horizon],
        "complete after": [*values.days_to_complete, values.horizon],
        "visits": [values.visits("this plan", start.expected_visits_number)],
        "refuge": limits,
        "searched": searched,
    }
    for name, cell in rows.items():
        book.at("part", PLAN, name, values=cell)


def day_tables(book: Book, values: StartValues, units: str) -> None:
    """Say what the tables with a row a day may show."""
    hours = sorted({item.after_h for day in values.start.days for item in day.stop_by_hour})
    after = [given(f"hour {hour} of the run", float(hour), "", "whole hours, for the meter is read once an hour")
             for hour in hours]  # fmt: skip
    one_in_twenty = plain_constant(
        "lowest of the ponds left out", 0.05, "fraction", "5 % and 95 % bound nine of ten"
    )
    most = plain_constant("highest of the ponds left out", 0.95, "fraction", "5 % and 95 % bound nine of ten")
    book.at("title", STOPS, values=[near_surface()])
    book.at("title", OXYGEN, values=[near_surface(), one_in_twenty, most])
    book.at("head", DAYS, values=[plain_constant("a bound is kept in", 0.95, "fraction", "one-sided")])
    book.at("head", STOPS, values=[*after, one_in_twenty])
    book.at(
        "title",
        DAYS,
        values=[chosen("firm days", float(FIRM_D), "", "oxygen forecasts beat persistence so long")],
    )
    for row, day in enumerate(values.start.days):
        number = given(
            f"day {day.number}", float(day.number), "", "counted from the first run of the start-up"
        )
        for title in (DAYS, STOPS, OXYGEN):
            book.at("part", title, str(row), "0", values=[number])
        _day(book, values, row, day)
        _stops(book, values, row, day, hours)
        _water(book, values, row, day, units)
    _after_the_days(book, values)


def _after_the_days(book: Book, values: StartValues) -> None:
    """Say what the rows under the days may show: later days, and the whole plan."""
    row, later = len(values.start.days), values.start.later
    if later is not None:
        days = [
            given(f"day {number}", float(number), "", "counted from the first run of the start-up")
            for number in dict.fromkeys((later.first_number, later.last_number))
        ]
        lost, bound = values.later
        for column, cell in {0: days, 7: [lost, values.members], 8: [bound]}.items():
            book.at("part", DAYS, str(row), str(column), values=cell)
        row += 1
    whole = {7: [values.lost, values.members], 8: [values.plan_risk.upper]}
    for column, cell in whole.items():
        book.at("part", DAYS, str(row), str(column), values=cell)


def _day(book: Book, values: StartValues, row: int, day: RunDay) -> None:
    words = "water lifted in this run by the plumes, over the pond's volume"
    turned = values.band(f"turnovers on day {day.number}", day.turnover_fraction, "", words)
    cells: dict[int, list[Value]] = {
        2: values.start_hour,
        3: [values.minutes(day)],
        6: turned[:1],
        7: [values.day_lost(day), values.members],
        8: [values.day_bound(day)],
    }
    for column, cell in cells.items():
        book.at("part", DAYS, str(row), str(column), values=cell)


def _least(values: StartValues, day: RunDay, unit: str = "mg_l") -> list[Value]:
    words = "least oxygen [mg/L] at the depth of the reading between this run's start and the next"
    return values.band(f"least oxygen, day {day.number}", day.least_do_mg_l, unit, words)


def _hour_of_the_low(values: StartValues, day: RunDay) -> Value:
    words = "the clock hour at which most ponds have their least oxygen"
    return values.of_ponds(f"hour of the low, day {day.number}", 60.0 * day.least_hour_h, "o'clock", words)


def _stops(book: Book, values: StartValues, row: int, day: RunDay, hours: list[int]) -> None:
    for item in day.stop_by_hour:
        if item.do_mg_l is None:
            continue
        words = (
            "the reading from which 95 of 100 ponds stay over the fish's limit when the air is shut off at it (a line "
            "of the night's low on the reading), raised until as many of those that read so much keep their refuge, "
            f"and {SLACK_MG_L:g} mg/L over the limit at least, never over what the water dissolves (Benson & Krause "
            "1984, the middle pond's temperature and salt at the start of the run, the air pressure of that hour); "
            "asked of the ponds at this hour and the hours beside it, and from hour to hour one way only, never lower "
            f"than they ask; good to about {STOP_ERROR_MG_L:g} mg/L, over {STOP_MEMBERS} {values.searched}"
        )
        found = chosen(
            f"stop reading, day {day.number}, hour {item.after_h}",
            item.do_mg_l,
            "",
            f"in mg/L: {words}",
            source=WATER,
        )
        book.at("part", STOPS, str(row), str(1 + hours.index(item.after_h)), values=[found])
    if hours:
        last = max(hours)
        book.at("part", STOPS, str(row), str(last + 1), values=_least(values, day, "")[:2])
        book.at("part", STOPS, str(row), str(last + 2), values=[_hour_of_the_low(values, day)])


def _water(book: Book, values: StartValues, row: int, day: RunDay, units: str) -> None:
    factor = FAHRENHEIT_BY_KELVIN if units == "us" else 1.0
    number = day.number
    dawn = "oxygen at the depth of the reading at the dawn that follows"
    room = "least part of the water within every limit of the fish between this run's start and the next"
    cells: dict[int, list[Value]] = {
        1: values.band(f"oxygen at the dawn after day {number}", day.dawn_do_mg_l, "mg_l", dawn),
        2: _least(values, day),
        3: [_hour_of_the_low(values, day)],
        4: values.band(f"oxygen at the bottom after day {number}", day.bottom_do_mg_l, "",
                       "oxygen [mg/L] at the deepest diffuser at the dawn that follows")[:1],
        5: values.band(f"top less bottom after day {number}", day.difference_k, "",
                       "temperature at the top less that at the deepest diffuser at the dawn that follows", factor)[:1],
        6: values.band(f"room for fish, day {number}", _percent(day.refuge_fraction), "", f"{room}, in per cent"),
    }  # fmt: skip
    for column, cell in cells.items():
        book.at("part", OXYGEN, str(row), str(column), values=cell)


def _percent(band: Band) -> Band:
    return Band(100.0 * band.median, 100.0 * band.p05, 100.0 * band.p95)


def beside(book: Book, values: StartValues) -> None:
    """Say what the comparison with other schedules may show."""
    start = values.start
    lines = [
        (
            "this plan",
            start.risk,
            start.days_to_complete,
            start.completed_fraction,
            start.expected_visits_number,
            "",
        )
    ]
    lines += [
        (item.name, item.risk, item.days_to_complete, item.completed_fraction, item.expected_visits_number,
         compared_ponds(item.risk.members))
        for item in start.comparisons
    ]  # fmt: skip
    waits = [
        (item.name, one, item.days_to_complete, None, None, f"{plain(one.members, 0)} {values.searched}")
        for item in start.waiting
        for one in (item.risk,)
    ]
    for row, (name, risk, days, done, visits, ponds) in enumerate([*lines, *waits]):
        line = values.plan_risk if name == "this plan" else values.risk(name, risk, ponds)
        cells: dict[int, list[Value]] = {
            0: _waited(name), 1: [line.lost, line.members], 2: [line.upper], 3: [line.still], 4: [line.added],
        }  # fmt: skip
        if days is not None:
            words = "median days from the first run to completion, of the ponds that kept their refuge"
            cells[5] = [values.of_ponds(f"days to completion, {name}", days, "", words, ponds)]
        if done is not None:
            cells[6] = [values.completed(name, done, line.members, ponds)]
        if visits is not None:
            cells[7] = [values.visits(name, visits, ponds)]
        for column, cell in cells.items():
            book.at("part", BESIDE, str(row), str(column), values=cell)
    book.at("head", BESIDE, values=[plain_constant("a bound is kept in", 0.95, "fraction", "one-sided")])


def _waited(name: str) -> list[Value]:
    """Return the numbers in a schedule's name: it is a custom of the trade, or a choice of this program."""
    words = f"part of the schedule's name: {name}; docs/startup.md says where each is from"
    return values_said(name, "number in the name of a schedule", Kind.CHOSEN, words)


def names(book: Book, values: StartValues) -> None:
    """Say what the names of schedules and running times may show where they head a row."""
    start = values.start
    for item in start.comparisons:
        book.at("part", FIGURES, item.name, values=_waited(item.name))
    for wait in start.waiting:
        found = [*_waited(wait.name), values.pond_count(wait.risk.members)]
        words = "lost while waiting, without air"
        found.append(values.of_ponds(f"ponds lost, {wait.name}, waiting", float(wait.waiting_failures), "", words,
                                     f"{plain(wait.risk.members, 0)} {values.searched}"))  # fmt: skip
        part = "ponds in whose weather a front came"
        asked = round(wait.risk.members / wait.started_fraction) if wait.started_fraction else 0
        found.append(values.of_ponds(f"fronts, {wait.name}", wait.started_fraction, "fraction", part,
                                     f"{plain(asked, 0)} {values.searched}"))  # fmt: skip
        found.append(values.pond_count(asked))
        book.at("part", "Waiting is counted from its own first run", values=found)


def causes(book: Book, values: StartValues) -> None:
    """Say what the list of limits that took the refuge may show."""
    for (limit, _), count in zip(values.start.bound_by, values.by_cause, strict=True):
        book.at("part", "What took the refuge", limit, values=[count])


def measures(book: Book, values: StartValues, reading: ReadingValues, deepest: list[Value]) -> None:
    """Say what the list of readings to take may show."""
    depth = [near_surface(), *deepest]
    if reading.found.strata.thermocline_depth_m is not None:
        depth.append(reading.strata.thermocline(reading.found.strata.thermocline_depth_m))
    for item in values.start.measures:
        depth += [chosen("depth to read at", z, "m", "near the surface, at the middle pond's thermocline when the "
                         "first run begins, and at the deepest diffuser") for z in item.depth_m]  # fmt: skip
    book.at("part", MEASURES, values=depth)


def savings(book: Book, values: StartValues) -> None:
    """Say what each reading not yet taken, and one more visit, would save."""
    start = values.start
    words = "the plan chosen in one half of the ponds that would read alike, judged in the other"
    for row, item in enumerate(start.readings_value):
        _saved(book, values, row, item, words)
    more = start.one_more_visit
    if more is not None:
        row = len(start.readings_value)
        _saved(book, values, row, more, "with it and without it")
        day = given(
            f"day {more.day_number}", float(more.day_number), "", "counted from the first run of the start-up"
        )
        book.at("part", SAVES, str(row), "0", values=[day])
    for row, told in enumerate(start.narrowing):
        book.at("part", NARROW, str(row), "2", values=[_narrowed(values, row)])
        book.at("part", NARROW, str(row), "3", values=[values.pond_count(told.members)])


def _saved(book: Book, values: StartValues, row: int, item: ReadingValue | VisitValue, words: str) -> None:
    """Say what a row of savings may show; a visit more is a visit less saved."""
    name = f"one more visit, day {item.day_number}" if isinstance(item, VisitValue) else item.name
    ponds = f"{plain(item.members, 0)} {values.searched}"
    saved = -1.0 if isinstance(item, VisitValue) else item.visits_saved_number
    heads = {
        "ponds lost now": item.lost_without_count, "ponds lost then": item.lost_with_count,
        "days saved": item.days_saved_d, "visits saved": saved,
    }  # fmt: skip
    found = [
        values.of_ponds(f"{head}: {name}", float(number), "", words, ponds) for head, number in heads.items()
    ]
    for column, value in enumerate(found, start=1):
        book.at("part", SAVES, str(row), str(column), values=[value])
    book.at("part", SAVES, str(row), "5", values=[values.pond_count(item.members)])


def _narrowed(values: StartValues, row: int) -> Value:
    item = values.start.narrowing[row]
    words = (
        "part of each pond's least oxygen after the first run that the input explains, in ranks, less chance"
    )
    return values.of_ponds(
        f"part of the spread by {item.input}",
        item.share_fraction,
        "fraction",
        words,
        f"{plain(item.members, 0)} {values.searched}",
    )


def afterwards(book: Book, values: StartValues) -> None:
    """Say what the lines on the time after completion may show."""
    start = values.start
    for item in start.kept_running:
        ponds, name = f"{plain(item.members, 0)} {values.searched}", f"run {item.name}"
        count = values.of_ponds(
            f"ponds that stay mixed, {name}",
            round(item.mixed_fraction * item.members),
            "",
            f"mixed with oxygen below at {KEPT_DAWNS_FRACTION:.0%} of the dawns of {WEEK_D} days",
            ponds,
        )
        members = values.pond_count(item.members)
        mixed = relation(f"part that stays mixed, {name}", item.mixed_fraction, "fraction", "m / n",
                         {"m": count, "n": members})  # fmt: skip
        lost = values.of_ponds(
            f"ponds lost, {name}", float(item.lost_members), "", f"in {WEEK_D} days", ponds
        )
        hours = chosen(f"hours of air, {name}", item.hours_h, "h", "tried by this program")
        book.at("part", AFTER, name, values=[mixed, members, lost, hours, *_waited(item.name)])
    off = start.days_off
    if off is None:
        return
    ponds = f"{plain(off.members, 0)} {values.searched}"
    tried = f"days off that were tried: {', '.join(str(days) for days in TRIED_DAYS_OFF)}"
    found = [chosen("days off", float(off.unsafe_d or off.safe_d), "", tried), values.pond_count(off.members),
             chosen("hours of air in a full restart", 24.0, "h", "a whole day at once")]  # fmt: skip
    if off.unsafe_d is not None:
        found.append(values.of_ponds("ponds lost at a full restart", float(dict(off.lost_by_days)[off.unsafe_d]), "",
                                     f"in the {RESTART_D} days after it", ponds))  # fmt: skip
    book.at("part", AFTER, "days off", values=found)
