"""How the numbers of the gauges accepted at commissioning come about, beside the line as it is now."""

from __future__ import annotations

from plumeline.workings.air_points import PointValues
from plumeline.workings.book import Book
from plumeline.workings.value import Value, drawn, given, plain_constant, relation


def accepted_book(book: Book, points: PointValues) -> None:
    """Say what the table of the gauges accepted at commissioning may show."""
    found = points.air.accepted
    if found is None:
        return
    where = "job.toml, as_built.commissioned"
    now_words = "the air line of the job solved with the water and the valves as they stood then"
    pool: list[Value] = []
    for row, item in enumerate(found.rows):
        name = f"{item.place}, {item.state}"
        read = given(f"{name}, as accepted", item.read_pa, "pa", f"{where}: as read", gauge=True)
        then = given(f"{name}, to show then", item.then_pa, "pa", f"{where}: expected", gauge=True)
        cells: list[list[Value]] = [
            [given("water at the acceptance", item.water_level_m, "m", f"{where}: water_level")], [read], [then],
        ]  # fmt: skip
        if item.now_pa is not None:
            now = drawn(f"{name}, to show now", item.now_pa, "pa", now_words, gauge=True)
            cells.append([now])
            formula = "n - t" if item.now_pa >= item.then_pa else "t - n"
            pool.append(relation(f"{name}, more or less than then", abs(item.now_pa - item.then_pa), "pa", formula,
                                 {"n": now, "t": then}))  # fmt: skip
        for column, cell in enumerate(cells, start=2):
            book.at("part", "Accepted at commissioning…", str(row), str(column), values=cell)
    count = plain_constant("gauges accepted", float(len(found.rows)), "", f"the rows of {where}")
    for code in ("air-accepted", "air-not-as-accepted"):
        book.at("notice", code, values=[count, *pool])
