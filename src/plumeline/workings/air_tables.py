"""What the tables of the trunk, of its heat and of its joints may show."""

from __future__ import annotations

from itertools import pairwise

from plumeline.sources import read_table
from plumeline.stages.air.heat import TUBING_LIMIT_DEGC, PlasticJoint
from plumeline.workings.air_heat import SERVICE_LIMITS, CoolingValues, HeatValues, sixty_three
from plumeline.workings.air_points import PointValues
from plumeline.workings.book import Book
from plumeline.workings.value import Value, given, relation

DERATING = "sources/pressure_derating.csv"


def trunk_table(book: Book, values: PointValues, now: CoolingValues) -> None:
    """Say what the table of the trunk may show."""
    title = "Trunk, chosen here" if values.air.trunk_chosen else "Trunk"
    for row, piece in enumerate(now.pieces):
        parts = values.network.piece(row)
        cells: list[list[Value]] = [
            [parts["L"]],
            [parts["D"]],
            [now.cover(row)] if piece.cover_m else [],
            [now.starts[row]],
            [now.starts[row + 1]],
            [now.limit(row)],
            now.rating(row),
        ]
        for column, cell in enumerate(cells, start=1):
            book.at("part", title, str(row), str(column), values=cell)


def heat_tables(book: Book, heat: HeatValues) -> None:
    """Say what the figures of the hot day, the heat along the trunk and the joints may show."""
    day, title = heat.day, "Hot day, dirty filter"
    rows: dict[str, list[Value]] = {
        "air outside": [heat.outside],
        "air leaves at": [heat.outlet],
        "metal first, in the open": heat.metal(buried=False),
        "metal first, in the ground": heat.metal(buried=True),
        "air at the manifold": [day.starts[-1]],
    }
    for name, cell in rows.items():
        book.at("part", title, name, values=cell)
    title = "Heat along the trunk, hot day"
    book.at("head", title, values=[sixty_three()])
    for row, piece in enumerate(day.pieces):
        cells: list[list[Value]] = [
            [day.network.piece(row)["L"]],
            [day.cover(row)] if piece.cover_m else [],
            [day.lengths[row]],
            [day.starts[row]],
            [day.starts[row + 1]],
        ]
        for column, cell in enumerate(cells, start=1):
            book.at("part", title, str(row), str(column), values=cell)
    title = "Plastic joints, hot day (ratings are for water; none is for air)"
    for row, joint in enumerate(heat.found.joints):
        for column, cell in _joint(heat, joint).items():
            book.at("part", title, str(row), str(column), values=cell)


def _joint(heat: HeatValues, joint: PlasticJoint) -> dict[int, list[Value]]:
    """Return the values of one joint by column."""
    day = heat.day
    index = _piece(heat, joint)
    if index is None:
        return {}
    if joint.where == "end of the metal to come":
        at, air = heat.metal(buried=False), [heat.goal(index)]
    else:
        heads_m = [sum(piece.length_m for piece in day.pieces[:k]) for k in range(len(day.starts))]
        ends = min(range(len(heads_m)), key=lambda k: abs(heads_m[k] - joint.distance_m))
        at, air = [_distance(heat, ends)], [day.starts[ends]]
    if joint.pipe == "tubing":
        words = "sources/pipes.csv, weighted flexible tubing"
        limit = given("service limit of weighted tubing", TUBING_LIMIT_DEGC, "degc", words,
                      source=SERVICE_LIMITS["weighted flexible tubing"])  # fmt: skip
        return {1: at, 3: air, 4: [limit]}
    rating = day.rating(index)
    cells = {1: at, 3: air, 4: [day.limit(index)], 5: rating}
    if joint.derated_pa is not None and joint.rating_fraction is not None and rating:
        share = _share(day.pieces[index].material, air[0], joint.rating_fraction)
        warm = relation(
            f"rating of {joint.pipe} at this heat", joint.derated_pa, "pa", "R * s", {"R": rating[0], "s": share},
            gauge=True,
        )  # fmt: skip
        cells[6] = [warm]
    return cells


def _piece(heat: HeatValues, joint: PlasticJoint) -> int | None:
    """Return the piece of the trunk that a joint belongs to; the last for what hangs from the manifold."""
    pieces = heat.day.pieces
    passed_m = 0.0
    for index, piece in enumerate(pieces):
        inside = passed_m <= joint.distance_m < passed_m + piece.length_m
        if inside and joint.pipe == piece.pipe:
            return index
        if joint.distance_m == passed_m + piece.length_m and joint.pipe == piece.pipe:
            after = pieces[index + 1] if index + 1 < len(pieces) else None
            if after is None or after.pipe != joint.pipe:
                return index
        passed_m += piece.length_m
    hangs = joint.where.startswith("port of") and joint.distance_m == passed_m
    return len(pieces) - 1 if hangs else None


def _distance(heat: HeatValues, count: int) -> Value:
    """Return the way from the compressor to the end of so many pieces."""
    terms = {f"L{k + 1}": heat.day.network.piece(k)["L"] for k in range(count)}
    total_m = sum(term.number for term in terms.values())
    return relation(
        f"way from the compressor past {count} pieces", total_m, "m", " + ".join(terms) or "0", terms
    )


def _share(material: str, air: Value, share_fraction: float) -> Value:
    """Return the part of its rating that a plastic keeps at a temperature."""
    name = f"part of the rating that {material} keeps"
    rows = [row for row in read_table("pressure_derating") if row["material"] == material]
    points = [(float(row["temperature_degc"]), float(row["rating_fraction"])) for row in rows]
    if not points or air.number <= points[0][0]:
        words = f"{DERATING}: all of it up to its first row" if points else f"{DERATING} has no row for it"
        return given(name, share_fraction, "", words)
    (t1, s1), (t2, s2) = next(pair for pair in pairwise(points) if air.number <= pair[1][0] + 1e-6)
    terms = {
        "T": air,
        "t1": given("row before", t1, "degc", f"{DERATING}, {material}"),
        "t2": given("row after", t2, "degc", f"{DERATING}, {material}"),
        "s1": given("part kept before", s1, "", f"{DERATING}, {material}"),
        "s2": given("part kept after", s2, "", f"{DERATING}, {material}"),
    }
    return relation(
        name, share_fraction, "", "s1 + (s2 - s1) * (T - t1) / (t2 - t1)", terms,
        source="straight between two rows of the table",
    )  # fmt: skip
