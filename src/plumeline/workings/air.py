"""The workings of the air line's page: what each figure, table, notice and sentence of it may show."""

from __future__ import annotations

from plumeline.units.showing import System
from plumeline.workings.air_accepted import accepted_book
from plumeline.workings.air_cabinet import cabinet_book
from plumeline.workings.air_electrical import ElectricalValues
from plumeline.workings.air_ends import EndValues
from plumeline.workings.air_heat import HeatValues
from plumeline.workings.air_land import LandValues, land_book
from plumeline.workings.air_notices import notices, sentences
from plumeline.workings.air_old_pipe import OldPipeValues, old_pipe_book
from plumeline.workings.air_outside import electrical_book, noise_book, unknown_noise_book
from plumeline.workings.air_points import PointValues
from plumeline.workings.air_tables import heat_tables, trunk_table
from plumeline.workings.air_tubing import ends_book
from plumeline.workings.air_valves import procedure, valves_table
from plumeline.workings.book import Book
from plumeline.workings.value import Value


class AirValues:
    """The values of an air line.

    Attributes:
        points: the line at work.
        heat: its heat; None where the stage was not asked for it.
        land: its way on land; None where the job has no route.
        ends: its two ends; None where the stage was not asked for them.
    """

    def __init__(self, points: PointValues) -> None:
        self.points = points
        found = points.air.heat
        self.heat = HeatValues(points, found) if found is not None else None
        ends = points.air.ends
        route = points.air.route
        self.land = LandValues(points, route) if route is not None else None
        self.ends = (
            EndValues(points, self.heat.now if self.heat else None, ends, self.land)
            if ends is not None
            else None
        )


def air_book(values: AirValues, units: System) -> Book:
    """Return the workings of an air line's page.

    Args:
        values: of the air line.
        units: the system of units.
    """
    book = Book(units)
    points = values.points
    _figures(book, points)
    if values.heat is not None:
        _hot_figures(book, values.heat)
        trunk_table(book, points, values.heat.now)
        heat_tables(book, values.heat)
        cabinet_book(book, values.heat.cabinet)
    _diffusers(book, points)
    valves_table(book, points)
    procedure(book, points)
    _gauges(book, points)
    if values.ends is not None:
        ends_book(book, values.ends)
    electrical, loud = points.air.electrical, points.air.noise
    if electrical is not None:
        electrical_book(book, ElectricalValues(points, values.ends, electrical))
    if loud is not None:
        noise_book(book, points, loud)
    else:
        unknown_noise_book(book)
    if values.land is not None:
        land_book(book, values.land, units)
    if points.air.old_pipe is not None:
        old_pipe_book(book, OldPipeValues(points, points.air.old_pipe))
    accepted_book(book, points)
    notices(book, points, values.heat)
    sentences(book, points)
    return book


def _figures(book: Book, values: PointValues) -> None:
    title = "Air line, valves set"
    rows: dict[str, list[Value]] = {
        "compressor": [values.count] if values.count.number > 1 else [],
        "gauge at the compressor": [values.compressor],
        "gauge at the manifold": [values.manifold],
        "lost in the trunk": [values.trunk_drop],
        "air, all diffusers": [values.flow],
        "counted at": list(values.standard),
        "the same at 0 °C, 1 atm": [*values.normal, values.normal_flow],
        "wanted for each": [values.wanted],
        "free air at the intake": [values.intake_flow(values.air.balanced)],
        "air pressure of the site": [values.network.ambient],
        "air leaves at": [values.outlet],
        "relief valve": [values.relief],
        "power from the wall": [values.power],
        "energy stored in the trunk": [values.energy],
    }
    for name, cell in rows.items():
        book.at("part", title, name, values=cell)


def _hot_figures(book: Book, heat: HeatValues) -> None:
    title = "Air line, valves set"
    rows: dict[str, list[Value]] = {
        "on a hot day, dirty filter": [heat.outlet],
        "air then, valves as set": heat.derated(),
        "metal for the first": heat.metal(buried=False),
    }
    for name, cell in rows.items():
        book.at("part", title, name, values=cell)


def _diffusers(book: Book, values: PointValues) -> None:
    air, title = values.air, "Diffusers"
    for row, spec in enumerate(air.branches):
        cells: list[list[Value]] = [
            [values.network.depth(spec.name)],
            [values.network.length(spec.name)],
            [values.network.needed(spec.name)],
            [values.port(air.balanced, spec.name)],
            values.branch_flow(air.balanced, spec.name),
            [],
            values.branch_flow(air.valves_open, spec.name),
        ]
        for column, cell in enumerate(cells, start=1):
            book.at("part", title, str(row), str(column), values=cell)


def _gauges(book: Book, values: PointValues) -> None:
    for row, point in enumerate(values.all_points):
        for column, value in enumerate(values.network.point(point), start=1):
            book.at("part", "Gauges to expect", str(row), str(column), values=[value])
