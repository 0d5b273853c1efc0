"""What the electrician's tables and points, and the table of the noise, may show."""

from __future__ import annotations

from plumeline.stages.air.noise import AT_M, BEDROOM_DBA, Noise
from plumeline.workings.air_electrical import CODE, ElectricalValues
from plumeline.workings.air_points import PointValues
from plumeline.workings.book import Book
from plumeline.workings.value import Value, plain_constant, relation


def electrical_book(book: Book, values: ElectricalValues) -> None:
    """Say what the electrician's figures, wires, points and notices may show."""
    title = "Electrical, for the licensed electrician"
    rows: dict[str, list[Value]] = {
        "voltage": [values.volts],
        "power from the wall": [values.values.power],
        "running current": [values.running, values.factor],
        "starting current": values.starting,
        "counted as continuous": values.continuous,
        "circuit": [*values.circuit, *values.continuous[1:]],
        "wire from the panel": values.wire(),
        f"energy, {values.found.hours_per_day:g} h a day": [values.hours, *values.energy()],
        **values.levels(),
    }
    for name, cell in rows.items():
        book.at("part", title, name, values=cell)
    _wires(book, values)
    _points(book)
    _notices(book, values)


def _wires(book: Book, values: ElectricalValues) -> None:
    title = "Wire, one way, 3 % running and 15 % at the start"
    book.at("title", title, values=values.limits)
    for row, wire in enumerate(values.found.conductors):
        book.at("part", title, str(row), "0", values=values.gauge(wire.gauge))
        book.at("part", title, str(row), "1", values=[values.breaker(wire)])
        for column, value in enumerate(values.drops(wire), start=3):
            book.at("part", title, str(row), str(column), values=[value])
        book.at("part", title, str(row), "6", values=[values.longest(wire)])


def _points(book: Book) -> None:
    """Say what the points to check may show: figures of the code, the same for every pond."""
    title = "Points for the licensed electrician"

    def code(name: str, number: float, suffix: str, where: str) -> Value:
        return plain_constant(name, number, suffix, f"{CODE}: {where}")

    points: dict[int, list[Value]] = {
        1: [code("part counted of a load that runs for hours", 1.25, "fraction", "210.19, 210.20"),
            code("part counted of a motor's current", 1.25, "fraction", "430.22")],
        2: [code("datum plane over the highest water on land", 0.6096, "m", "article 682"),
            code("datum plane over the water on a float", 0.762, "m", "article 682")],
        3: [code("outlets over the datum plane", 0.3048, "m", "article 682"),
            code("outlets with GFCI", 15.0, "a", "article 682"), code("outlets with GFCI", 20.0, "a", "article 682"),
            code("circuits with GFCI, current", 60.0, "a", "article 682, from 2020 on"),
            code("circuits with GFCI, voltage to ground", 150.0, "v", "article 682, from 2020 on"),
            plain_constant("cable behind one device", 76.2, "m", "the instructions of listed devices")],
        4: [code("equipotential plane round the metal", 0.9144, "m", "article 682"),
            code("bonding wire, AWG", 8.0, "", "article 682")],
        5: [code("cover of direct-burial cable", 0.6096, "m", "table 300.5"),
            code("cover of PVC conduit", 0.4572, "m", "table 300.5"),
            code("cover of rigid metal", 0.1524, "m", "table 300.5"),
            code("voltage of the circuit with less cover", 120.0, "v", "table 300.5"),
            code("current of the circuit with less cover", 20.0, "a", "table 300.5"),
            code("cover of a circuit with GFCI", 0.3048, "m", "table 300.5")],
        7: [plain_constant("current that paralyses, low end", 0.010, "a", "texts on electric shock, from memory"),
            plain_constant("current that paralyses, high end", 0.015, "a", "texts on electric shock, from memory")],
    }  # fmt: skip
    for row, cell in points.items():
        book.at("part", title, str(row), "0", values=cell)


def _small_circuits() -> list[Value]:
    """Return what the code says of the wire of a small circuit: its column, the air around, the least three sizes."""
    column, around = f"{CODE}: 110.14(C)(1)(a), 334.80, 340.80", f"{CODE}: table 310.16"
    sizes = ((14.0, 15.0), (12.0, 20.0), (10.0, 30.0))
    return [
        plain_constant("column of a small circuit", 60.0, "degc", column),
        plain_constant("air around the wire", 30.0, "degc", around),
        *(plain_constant("size, AWG", gauge, "", f"{CODE}: 240.4(D)") for gauge, _ in sizes),
        *(
            plain_constant(f"most on AWG {gauge:.0f}", most, "a", f"{CODE}: 240.4(D)")
            for gauge, most in sizes
        ),
    ]


def _notices(book: Book, values: ElectricalValues) -> None:
    levels = values.levels()
    over = [value for cell in levels.values() for value in cell]
    two_feet = plain_constant("datum plane over the highest water", 0.6096, "m", f"{CODE}: article 682")
    stands = levels.get("compressor over today's water", [])
    under = [
        relation("compressor under the least datum plane", two_feet.number - stands[0].number, "m", "d - c",
                 {"d": two_feet, "c": stands[0]}),
        plain_constant("height against today's water", abs(stands[0].number), "m", "the row of the compressor"),
    ] if stands else []  # fmt: skip
    for code in ("electrical-datum", "electrical-datum-unknown"):
        book.at("notice", code, values=[*over, two_feet, *under])
    supply = values.files.job.power.volts
    known = [] if supply is None else [values.files.field("voltage at hand", supply, "v", "power.volts_amps")]
    book.at("notice", "electrical-voltage", values=[values.volts, *known])
    book.at("notice", "electrical-circuit", values=[*values.circuit, *reversed(values.continuous)])
    found = values.found
    own = next((wire for wire in found.conductors if wire.gauge == found.feeder_gauge), None)
    drops = values.drops(own)[1:] if own is not None else []
    better = plain_constant("higher voltage", 240.0, "v", "the other usual supply")
    book.at("notice", "electrical-drop", values=[*values.wire(), *drops, *values.limits, better])
    book.at("notice", "electrical-length-unknown", values=[])
    wires = plain_constant("temperature of the wires", 75.0, "degc", f"{CODE}: chapter 9, table 8")
    book.at("sentence", "Wires: stranded", values=[wires, *_small_circuits()])
    book.at("sentence", "Starting current", values=values.starting)
    book.at("sentence", "Running current", values=[values.factor])
    book.at("sentence", f"{found.volts_v:g} V", values=[values.volts])


def noise_book(book: Book, values: PointValues, found: Noise) -> None:
    """Say what the table of the noise and the notices on it may show."""
    title, files = "Noise, in the open", values.files
    near = _near()
    one = values.machine_field(
        "noise beside the machine", values.line.machine.noise_dba or 0.0, "dba", "noise", "noise_dba"
    )
    level = one
    if values.line.machine.count > 1:
        level = relation("noise of all machines", found.at_1_m_dba, "dba", "level_of_several_iso_3744_2010(L, n)",
                         {"L": one, "n": values.count})  # fmt: skip
    away = _away(found, level, near)
    neighbour: list[Value] = []
    if found.neighbour_distance_m is not None and found.at_neighbour_dba is not None:
        house = files.field(
            "the neighbour's distance", found.neighbour_distance_m, "m", "air.neighbour_distance"
        )
        there = relation("noise at the neighbour", found.at_neighbour_dba, "dba",
                         "level_at_distance_iso_9613_1996(L, n, r)", {"L": level, "n": near, "r": house})  # fmt: skip
        neighbour = [there, house]
    limit = _limit(values, found)
    margin: list[Value] = []
    if found.margin_dba is not None and neighbour:
        margin = [relation("under or over the limit, dB", abs(found.margin_dba), "", "abs(l - L)",
                           {"l": limit, "L": neighbour[0]})]  # fmt: skip
    kept = relation("distance from which the limit is kept", found.limit_distance_m, "m",
                    "max(distance_of_level_iso_9613_1996(L, n, l), 0)",
                    {"L": level, "n": near, "l": limit})  # fmt: skip
    rows: dict[str, list[Value]] = {
        "at 3 ft 3 in" if values.network.units == "us" else "at 1 m": [near, level],
        "farther off, dB(A)": away,
        "at the neighbour": neighbour,
        "night limit": [limit, *margin],
        f"{found.compared_with_dba:.0f} dB(A) is kept from": [limit, kept],
    }
    for name, cell in rows.items():
        book.at("part", title, name, values=cell)
    _noise_notices(book, [level, near, *neighbour, limit, kept, *margin])


def _near() -> Value:
    """Return the distance of a maker's figure."""
    return plain_constant("distance of a maker's figure", AT_M, "m", "what makers state")


def unknown_noise_book(book: Book) -> None:
    """Say what the notice may show where nobody knows how loud the compressor is."""
    book.at("notice", "air-noise-unknown", values=[_near()])


def _away(found: Noise, level: Value, near: Value) -> list[Value]:
    """Return the noise at each of the distances that are shown in any case, each with its distance."""
    away: list[Value] = []
    for item in found.levels:
        words = "distances shown in any case: 50, 100, 200 and 400 ft"
        place = plain_constant("distance", item.distance_m, "m", words)
        terms = {"L": level, "n": near, "r": place}
        name = f"noise at {item.distance_m / 0.3048:.0f} ft or {item.distance_m:.0f} m, dB(A)"
        away += [relation(name, item.level_dba, "", "level_at_distance_iso_9613_1996(L, n, r)", terms), place]
    return away


def _limit(values: PointValues, found: Noise) -> Value:
    """Return the level that the noise is compared with."""
    if found.night_limit_dba is None:
        source = "WHO Guidelines for Community Noise 1999: outside bedrooms by night; no law"
        return plain_constant("guideline for the night", BEDROOM_DBA, "dba", source)
    return values.files.field("night limit", found.night_limit_dba, "dba", "air.night_limit")


def _noise_notices(book: Book, told: list[Value]) -> None:
    wall = "a wall that throws the sound back: from memory"
    low, high = (
        plain_constant("what a wall takes", 3.0, "", wall),
        plain_constant("what a wall takes", 6.0, "", wall),
    )
    bare = [Value(one.name, one.number, "", one.kind, one.words, one.formula, one.terms, source=one.source)
            for one in told if one.suffix == "dba"]  # fmt: skip
    for code in ("air-neighbour-unknown", "air-noise-limit-unknown", "air-too-loud", "air-noise-close"):
        book.at("notice", code, values=[*told, *bare, low, high])
