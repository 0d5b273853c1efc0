"""How the numbers of the page of visits come about: the water as read, the gauges as they must stand and as read."""

from __future__ import annotations

from dataclasses import dataclass

from plumeline.job.document import Job, OxygenReading, Profile
from plumeline.pairs import said
from plumeline.stages.air.commissioning import CommissioningResult, Expected
from plumeline.stages.air.fault_growth import MONTH_D, Growth
from plumeline.stages.air.fault_stage import FaultsResult
from plumeline.stages.air.faults import GaugeReading
from plumeline.stages.air.results import OperatingPoint
from plumeline.stages.air.sheet_bands import DRAW_COUNT
from plumeline.stages.air.sheet_compare import Compared, Comparison
from plumeline.units.showing import System
from plumeline.workings.air_points import PointValues
from plumeline.workings.air_valves import burned
from plumeline.workings.book import Book
from plumeline.workings.files import Files
from plumeline.workings.quantities import read_quantities
from plumeline.workings.value import Value, counted, drawn, measured, plain_constant, relation

GAUGES = "gauges.csv"
HUNDRED_PSI_PA = 689475.7293168361
WATER, SHEET, READ, SAID = "Readings", "What each gauge must show", "What was read", "What that says"
UNFIT = ("unfit",)
"""Place of the gauges that the line does not have."""
BY_DRAWS = (
    "bores, membranes, valves, the compressor's air, the water's level and the eye at the gauge drawn with the widths "
    "of docs/commissioning.md"
)


@dataclass(frozen=True)
class Visited:
    """What a page of visits rests on.

    Attributes:
        points: the line at work.
        sheet: the sheet of gauges, with what was read beside it.
        faults: what the readings say; None without readings.
        seed: of the draws.
    """

    points: PointValues
    sheet: CommissioningResult
    faults: FaultsResult | None
    seed: int


def visits_book(job: Job, files: Files, found: Visited | None, units: System) -> Book:
    """Return the workings of a page of visits.

    Args:
        job: the job.
        files: where its values stand.
        found: the line and its gauges; None where the line can't be worked out.
        units: the system of units.
    """
    book = Book(units)
    for row, item in enumerate(water_read(job)):
        _water(book, row, item, files)
    if found is not None:
        _day(book, found)
        for row, expected in enumerate(found.sheet.expected):
            cell = _expected(found, expected)
            book.at("part", SHEET, str(row), "3", values=[cell])
            book.at("part", SHEET, str(row), "4", values=_band(found, expected))
        if found.sheet.comparison is not None:
            _compared(book, found, found.sheet.comparison)
        if found.faults is not None:
            _faults(book, found, found.faults)
    return book


def unfit_gauges(book: Book, readings: list[GaugeReading]) -> None:
    """Say what the list of the gauges that the line does not have may show: what was read, and how many."""
    rows = f"{GAUGES}, rows {', '.join(str(item.row) for item in readings)}"
    count = counted(
        "rows left out", float(len(readings)), "", " + ".join(["1"] * len(readings)) or "0", {}, words=rows
    )
    book.at(*UNFIT, values=[count])
    for item in readings:
        book.at(*UNFIT, f"{item.row}", values=[_as_read(item)])


def water_read(job: Job) -> list[Profile | OxygenReading]:
    """Return the readings of the water, the latest first."""
    read: list[Profile | OxygenReading] = [*job.profiles, *job.oxygen_readings]
    return sorted(read, key=lambda one: one.time, reverse=True)


def _water(book: Book, row: int, item: Profile | OxygenReading, files: Files) -> None:
    short = any(echo.startswith("reading.") for echo in files.echoes)
    file = "job.toml, reading" if short else "profiles.csv or readings.csv"
    words = f"{file}: {item.id}, {item.time:%Y-%m-%d %H:%M} UTC"
    rows: list[tuple[float, float | None, float]]
    if isinstance(item, Profile):
        rows = [(point.depth_m, point.temperature_degc, point.do_mg_l) for point in item.points]
    else:
        rows = [(depth_m, None, do_mg_l) for depth_m, do_mg_l in zip(item.depth_m, item.do_mg_l, strict=True)]
    count = counted("depths read", float(len(rows)), "", " + ".join(["1"] * len(rows)), {}, words=words)
    book.at("part", WATER, str(row), "0", values=[count])
    for column, (depth_m, degc, do_mg_l) in (("1", rows[0]), ("2", rows[-1])):
        values = [measured("depth of a reading", depth_m, "m", words)]
        if degc is not None:
            values.append(measured("temperature", degc, "degc", words))
        values.append(measured("oxygen", do_mg_l, "mg_l", words))
        book.at("part", WATER, str(row), column, values=values)


def _day(book: Book, found: Visited) -> None:
    sheet, points = found.sheet, found.points
    never = plain_constant("never of air", HUNDRED_PSI_PA, "pa",
                           "the pressure at which water lines are tested; never air", gauge=True)  # fmt: skip
    rounded = plain_constant("never of air, in round kPa", 690e3, "pa", "100 psi, to two figures", gauge=True)
    for title in ("Before the first air", "The safe order of work"):
        book.at("part", title, values=[never, rounded])
    if sheet.level_read or sheet.water_level_m:
        level = measured(
            "water on the staff gauge", sheet.water_level_m, "m", f"{GAUGES}, column water_level"
        )
    else:
        level = plain_constant(
            "water over the level of the depths", 0.0, "m", "nobody read it: as the depths say"
        )
    book.at("part", "The day", "water on the staff gauge", values=[level])
    book.at("part", "The day", "air at the intake", values=[points.network.intake])
    book.at("part", "The day", "relief valve", values=[points.relief])
    running = [item.name for item in points.air.valves if item.loss_number > 0.0]
    book.at("part", "The valves, when they are set", values=[burned(points, name) for name in running])


def _expected(found: Visited, item: Expected | Compared) -> Value:
    """Return what a gauge must show: by the lines of the page air where the water stands as there, else as solved."""
    place = item.place if isinstance(item, Expected) else item.reading.place
    point = _point(found.points, item.state)
    at_level = item.reading.water_level_m if isinstance(item, Compared) else None
    if point is not None and not found.sheet.water_level_m and not at_level:
        value = _gauge(found.points, point, place)
        if value is not None and abs(value.number - item.expected_pa) < 1.0:
            return value
    words = (
        f"gauge of the {place} with {item.state}: the air line of the page air solved anew with the water and "
        "the valves as they stood"
    )
    return drawn(f"to be shown at {place}, {item.state}", item.expected_pa, "pa", words, gauge=True)


def _point(points: PointValues, state: str) -> OperatingPoint | None:
    """Return the setting of the valves that the page air has solved already."""
    air = points.air
    if state == "valves set":
        return air.balanced
    if state == "all full open":
        return air.valves_open
    shut, alone = state.removesuffix(" shut"), state.removesuffix(" alone, full open")
    of = {point.case: point for point in (*air.alone, *air.one_shut)}
    return of.get(f"{shut} shut") if state.endswith(" shut") else of.get(f"{alone} alone")


def _gauge(points: PointValues, point: OperatingPoint, place: str) -> Value | None:
    compressor, manifold, _flow = points.network.point(point)
    if place == "compressor":
        return compressor
    if place == "manifold":
        return manifold
    return points.port(point, place) if any(one.name == place for one in point.branches) else None


def _band(found: Visited, item: Expected | Compared) -> list[Value]:
    """Return both ends of a gauge's band."""
    place = item.place if isinstance(item, Expected) else item.reading.place
    rule = f"of {DRAW_COUNT} sound lines, seed {found.seed}: {BY_DRAWS}; the end of the last 5 in 100"
    name = f"sound lines at {place}, {item.state}"
    return [
        drawn(f"least of nine in ten {name}", item.p05_pa, "pa", f"{rule} that read less", gauge=True),
        drawn(f"most of nine in ten {name}", item.p95_pa, "pa", f"{rule} that read more", gauge=True),
    ]


def _as_read(item: GaugeReading) -> Value:
    words = f"{GAUGES}, row {item.row}: {item.place}, {item.time:%Y-%m-%d %H:%M} UTC"
    return measured(f"gauge of {item.place} as read", item.pressure_pa, "pa", words, gauge=True)


def _compared(book: Book, found: Visited, compared: Comparison) -> None:
    offs: dict[int, Value] = {}
    for index, row in enumerate(compared.rows):
        read, expected = _as_read(row.reading), _expected(found, row)
        low, high = _band(found, row)
        off = relation(f"{row.reading.place} off, {row.state}", row.off_pa, "pa", "r - m",
                       {"r": read, "m": expected})  # fmt: skip
        widths = relation(
            f"{row.reading.place} off in widths of its band, {row.state}", row.off_widths_number, "",
            "(r - m) / (h - l)", {"r": read, "m": expected, "h": high, "l": low},
        )  # fmt: skip
        offs[id(row)] = off
        for column, value in zip("23456", (read, expected, off, widths, widths), strict=True):
            book.at("part", READ, str(index), column, values=[value])
    rule = f"of {compared.draw_count} sound lines, seed {found.seed}: {BY_DRAWS}"
    told = [
        drawn(
            "widths that the worst gauge of 19 in 20 sound lines keeps within",
            compared.limit_number,
            "",
            rule,
        ),
        plain_constant(
            "sound lines that keep within the limit", 19.0, "", "19 in 20: a choice of this program"
        ),
        plain_constant(
            "sound lines that the limit is said of", 20.0, "", "19 in 20: a choice of this program"
        ),
        plain_constant("sound lines drawn", float(compared.draw_count), "", "a choice of this program"),
        drawn(
            "sound lines as far off", float(compared.as_far_count), "", f"{rule}; all gauges taken together"
        ),
    ]
    for row in compared.disagreeing[:1]:
        off = offs[id(row)]
        told.append(relation("farthest off", abs(row.off_pa), "pa", "max(o, 0 - o)", {"o": off}))
    book.at("part", SAID, values=told)


def _faults(book: Book, found: Visited, result: FaultsResult) -> None:
    """Say what the search for faults may show: probabilities and pictures come from drawn faulty lines."""
    rule = f"the search for faults (docs/faults.md) over drawn lines with each fault in each place, seed {found.seed}"
    table = "Gauges of the last visit, and what each fault would show"
    faulty = [row for row in result.found.ranked if row.cause not in ("nothing wrong", "none of these")][:2]
    for index, item in enumerate(result.readings):
        cells: list[Value] = [_as_read(item)]
        accepted = result.accepted_pa[index]
        if accepted is not None:
            cells.append(drawn(f"accepted at {item.place}, this water", accepted, "pa",
                               "the accepted gauge, moved to the water of this reading", gauge=True))  # fmt: skip
        cells.append(drawn(f"sound line at {item.place}", result.found.sound_pa[index], "pa",
                           "the air line solved with the water as it stood at the reading", gauge=True))  # fmt: skip
        cells += [
            drawn(f"{row.cause} {row.place}, at {item.place}", row.picture_pa[index], "pa", rule, gauge=True)
            for row in faulty
        ]
        book.at("part", table, str(index), values=cells)
        for column in range(len(cells)):
            book.at("part", table, str(index), str(column + 2), values=[cells[column]])
    odds = [
        drawn(f"odds of {row.cause} {row.place}".strip(), 100.0 * row.probability, "", rule)
        for row in result.found.ranked
    ]
    least = plain_constant("least odds that are said as a number", 1.0, "", "a choice of this program")
    bits = [
        drawn(f"what {check.what} would tell", check.information_number, "", rule)
        for check in result.found.checks
    ]
    likeliest = [
        drawn(f"likeliest {row.cause} {row.place}".strip(), one.number, one.unit.label, rule)
        for row in result.found.ranked
        for one in read_quantities(said(row.severity, book.units))
    ]
    book.at("part", "What it may be", values=[*odds, least, *likeliest])
    for title in ("What it may be, as faults weighs it", "What to read next, the most telling first"):
        book.at("part", title, values=[*odds, *bits])
    if result.growth is not None:
        _growth(book, result.growth)


def _growth(book: Book, grown: Growth) -> None:
    """Say what the growth of the compressor's gauge may show."""
    title = "How the compressor's gauge grows, the water's level taken off"
    line = "a straight line through the compressor's gauges of all visits, each taken to one level (docs/faults.md)"
    rise = [
        drawn(f"rise in 30 days, {which}", number, "pa", f"{line}; {which}")
        for which, number in (
            ("the likeliest", grown.rise_pa),
            ("5 in 100 less", grown.rise_p05_pa),
            ("5 in 100 more", grown.rise_p95_pa),
        )
    ]  # fmt: skip
    visits = counted(
        "visits", float(grown.visits), "", " + ".join(["1"] * grown.visits), {}, words="days in gauges.csv"
    )
    care = plain_constant("rise at which membranes need care", grown.care_pa, "pa", "docs/faults.md")
    month = plain_constant("days over which the rise is told", MONTH_D, "", "a choice of this program")
    for name, values in (
        ("visits", [visits]),
        ("rise in 30 days", [*rise, month]),
        ("care at a rise of", [care]),
    ):
        book.at("part", title, name, values=values)
