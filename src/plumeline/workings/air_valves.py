"""How the numbers of the valves come about: what each burns, how far it is open, what setting them costs."""

from __future__ import annotations

from itertools import pairwise

from plumeline.pairs import said
from plumeline.stages.air.results import ValveSetting
from plumeline.stages.air.valves import least_open_fraction, opening_curve
from plumeline.workings.air_points import PRACTICE, PointValues
from plumeline.workings.book import Book
from plumeline.workings.value import Value, given, plain_constant, relation

TABLE = "sources/valve_openings.csv"


def burned(values: PointValues, name: str) -> Value:
    """Return the pressure that a branch's valve takes, valves set."""
    point = values.air.balanced
    return relation(
        f"burned in the valve of {name}", point.branch(name).valve_drop_pa, "pa", "m - p",
        {"m": values.manifold, "p": values.port(point, name)},
    )  # fmt: skip


def opening(values: PointValues, valve: ValveSetting) -> Value:
    """Return how far a valve is open, or the least opening that the table knows."""
    kind, curve = valve.kind, opening_curve(valve.kind)
    if valve.open_fraction is None:
        last = given(f"greatest closing of a {kind} valve in the table", curve[-1][0], "", f"{TABLE}, {kind}")
        return relation(
            f"least opening of a {kind} valve that is known", least_open_fraction(kind), "fraction", "1 - c",
            {"c": last}, words=f"the valve of {valve.name} must lose more than the table's last row",
        )  # fmt: skip
    steps = [pair for pair in pairwise(curve) if valve.loss_number <= pair[1][1]]
    (low, low_loss), (high, high_loss) = steps[0]
    terms = {
        "K": values.network.valve_set(valve.name),
        "c1": given("closing before", low, "", f"{TABLE}, {kind}"),
        "c2": given("closing after", high, "", f"{TABLE}, {kind}"),
        "K1": given("velocity heads before", low_loss, "", f"{TABLE}, {kind}"),
        "K2": given("velocity heads after", high_loss, "", f"{TABLE}, {kind}"),
    }  # fmt: skip
    return relation(
        f"opening of the valve of {valve.name}", valve.open_fraction, "fraction",
        "1 - (c1 + (c2 - c1) * ln(K / K1) / ln(K2 / K1))", terms,
        source="ln K straight in the closing between two rows of the table",
    )  # fmt: skip


def valves_table(book: Book, values: PointValues) -> None:
    """Say what the table of the valves may show."""
    title, air = "Valves for…", values.air
    for row, valve in enumerate(air.valves):
        cells: list[list[Value]] = [
            [values.network.depth(valve.name)],
            values.branch_flow(air.valves_open, valve.name),
            values.branch_flow(air.balanced, valve.name),
            [values.port(air.balanced, valve.name)],
            [burned(values, valve.name)],
            [opening(values, valve)] if valve.open_fraction is None or valve.open_fraction < 1.0 else [],
        ]
        for column, cell in enumerate(cells, start=1):
            book.at("part", title, str(row), str(column), values=cell)


def procedure(book: Book, values: PointValues) -> None:
    """Say what the steps of setting the valves may show."""
    title, air = "Setting the valves", values.air
    steps = air.balancing.procedure
    for row, step in enumerate(steps):
        words = said(step, "us")
        cell: list[Value] = []
        if words.startswith("Open all"):
            cell = [values.network.point(air.valves_open)[0]]
        elif words.startswith("Closing one"):
            cell = [values.manifold, values.compressor]
        elif words.startswith("Set them again"):
            cell = [plain_constant("move of the water level to set them again", 0.3, "m", PRACTICE)]
        elif words.startswith(("Close ", "Leave ")):
            name = words.split(" ")[1]
            cell = [values.port(air.balanced, name), *values.branch_flow(air.balanced, name)]
        book.at("part", title, str(row), "0", values=cell)
    book.at("part", title, str(len(steps)), "0", values=cost(values))


def cost(values: PointValues) -> list[Value]:
    """Return what setting the valves costs: pressure at the compressor, and ideal work."""
    air, opened = values.air, values.network.point(values.air.valves_open)[0]
    terms = {"p": values.compressor, "o": opened}
    return [
        relation("cost of setting the valves", abs(air.balancing.cost_pa), "pa", "abs(p - o)", terms),
        relation("ideal work that setting the valves costs", air.balancing.cost_w, "w", "W - O",
                 {"W": values.ideal_power(air.balanced), "O": values.ideal_power(air.valves_open)}),
    ]  # fmt: skip
