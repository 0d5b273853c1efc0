"""What the drawings show, as tables: made of the values that the shapes are made of."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from shapely.geometry.base import BaseGeometry

from plumeline.drawing.section import Section
from plumeline.stages.air.route import GALLON_KG, RouteResult
from plumeline.stages.plan import Designed
from plumeline.stages.plume import DiffuserPlume
from plumeline.twins import Column, Twin, twin_of
from plumeline.units import SUFFIXES, convert, show
from plumeline.units.showing import System

Bands = tuple[tuple[float, BaseGeometry], ...]
"""Levels of depth [m], each with the part of the water deeper than it, in metres of the local plane."""


def _unit(suffix: str) -> str:
    return SUFFIXES[suffix].spellings[0]


def _length(system: System) -> str:
    return "ft" if system == "us" else "m"


def plan_twins(plan: Designed, bands: Bands, system: System) -> tuple[Twin, ...]:
    """Return the tables of the plan view: what lies where, and how much water is how deep.

    Args:
        plan: the plan.
        bands: levels and the water deeper than each, as drawn.
        system: units.
    """
    length, area = _length(system), "acre" if system == "us" else "m2"
    manifold = plan.layout.manifold_xy
    rows: list[dict[str, Any]] = [
        {"what": "manifold", "east": manifold[0], "north": manifold[1], "depth": None, "line": None},
        *(
            {
                "what": f"diffuser {item.name}", "east": item.x_m, "north": item.y_m, "depth": item.depth_m,
                "line": item.branch_run_m,
            }
            for item in plan.layout.diffusers
        ),
        *(
            {"what": mark.name, "east": x_m, "north": y_m, "depth": None, "line": None}
            for mark in plan.job.pond.marks
            for x_m, y_m in [plan.survey.plane.to_xy(mark.place)]
        ),
    ]  # fmt: skip
    for row in rows:
        for key in ("east", "north", "depth", "line"):
            row[key] = None if row[key] is None else convert(row[key], "m", length)
    places = [
        Column("what", "what"),
        *(Column(key, f"{head}, {_unit(length)}", 1) for key, head in (
            ("east", "east of the middle"), ("north", "north of the middle"), ("depth", "depth"),
            ("line", "line from the manifold"),
        )),
    ]  # fmt: skip
    trunk_m = sum(piece.length_m for piece in plan.air.trunk)
    note = f"The air line from the compressor to the manifold is {show(trunk_m, 'm', system)} long."
    water = [
        {"level": convert(level_m, "m", length), "area": convert(shape.area, "m2", area)}
        for level_m, shape in bands
    ]
    deeper = [
        Column("level", f"deeper than, {_unit(length)}"),
        Column("area", f"area of the water, {_unit(area)}"),
    ]
    return twin_of("What lies where", places, rows, note=note), twin_of("Water by depth", deeper, water)


def cut_twins(plan: Designed, section: Section, system: System) -> tuple[Twin, ...]:
    """Return the tables of the cut: bottom, plumes, and the water as read.

    Args:
        plan: the plan.
        section: the line of the cut, as drawn.
        system: units.
    """
    length = _length(system)
    unit = _unit(length)
    bottom = [
        {"distance": convert(float(at), "m", length), "bottom": convert(float(z), "m", length)}
        for at, z in zip(section.distance_m, section.bottom_m, strict=True)
    ]
    along = [
        Column("distance", f"from the first shore, {unit}", 0 if system == "us" else 1),
        Column("bottom", f"depth of the bottom, {unit}"),
    ]
    return (
        twin_of("Bottom along the cut", along, bottom, most=20),
        _stood(plan, section, system),
        _plumes(plan.plume.diffusers, system),
        _read(plan, system),
    )


def _stood(plan: Designed, section: Section, system: System) -> Twin:
    """Return where each diffuser stands in the cut and how much water it lifts."""
    length = _length(system)
    at = dict(zip((item.name for item in plan.layout.diffusers), section.diffuser_at_m, strict=True))
    rows = [
        {
            "name": one.name,
            "at": convert(at[one.name], "m", length),
            "depth": convert(one.depth_m, "m", length),
            "lifted": show(one.lift.water_flow_m3_s, "m3_s", system),
            "peels": ", ".join(show(peel.depth_m, "m", system) for peel in one.lift.peels) or "nowhere",
        }
        for one in plan.plume.diffusers
    ]
    columns = [
        Column("name", "diffuser"),
        Column("at", f"from the first shore, {_unit(length)}", 0 if system == "us" else 1),
        Column("depth", f"depth, {_unit(length)}"),
        Column("lifted", "water lifted"),
        Column("peels", "turns back at"),
    ]
    return twin_of("Diffusers in the cut", columns, rows)


def _plumes(plumes: tuple[DiffuserPlume, ...], system: System) -> Twin:
    length = _length(system)
    rows = [
        {"name": one.name, "depth": convert(z, "m", length), "width": convert(2.0 * radius, "m", length)}
        for one in plumes
        for z, radius in zip(one.lift.path_depth_m, one.lift.path_radius_m, strict=True)
    ]
    columns = [
        Column("name", "diffuser"),
        Column("depth", f"depth, {_unit(length)}"),
        Column("width", f"width of the plume, {_unit(length)}"),
    ]
    return twin_of("Plumes on their way up", columns, rows, by="name", most=30)


def _read(plan: Designed, system: System) -> Twin:
    degree = "degf" if system == "us" else "degc"
    depth_m = plan.reading.strata.thermocline_depth_m
    rows = [
        {
            "depth": convert(layer.depth_m, "m", _length(system)),
            "temperature": convert(layer.temperature_degc, "degc", degree),
            "oxygen": layer.do_mg_l,
        }
        for layer in plan.reading.layers
    ]
    columns = [
        Column("depth", f"depth, {_unit(_length(system))}"),
        Column("temperature", f"temperature, {_unit(degree)}", 1),
        Column("oxygen", "oxygen, mg/L", 1),
    ]
    note = (
        "The water is mixed: there is no thermocline."
        if depth_m is None
        else f"The thermocline is drawn at {show(depth_m, 'm', system)}."
    )
    return twin_of("The water as read", columns, rows, note=note)


def route_twins(found: RouteResult, system: System) -> tuple[Twin, ...]:
    """Return the tables of the route: ground and pipe along it, and what is on the way.

    Args:
        found: the route, as drawn.
        system: units.
    """
    length = _length(system)
    unit = _unit(length)
    run = [
        {
            "station": convert(point.station_m, "m", length),
            "ground": convert(point.ground_elevation_m, "m", length),
            "pipe": convert(point.pipe_elevation_m, "m", length),
        }
        for point in found.run
    ]
    heights = [
        Column("station", f"from the compressor, {unit}", 1),
        Column("ground", f"height of the ground, {unit}", 2),
        Column("pipe", f"height of the pipe, {unit}", 2),
    ]
    met = [
        {"what": what, "from": convert(from_m, "m", length), "to": convert(to_m, "m", length)}
        for what, from_m, to_m in sorted(_met(found, system), key=lambda item: item[1])
    ]
    columns = [
        Column("what", "on the way"),
        Column("from", f"from, {unit}", 1),
        Column("to", f"to, {unit}", 1),
    ]
    parts = [
        twin_of(
            "Ground and pipe along the route", heights, run, most=40, note=_water_and_frost(found, system)
        )
    ]
    if met:
        parts.append(twin_of("What the air line meets", columns, met, most=40))
    return tuple(parts)


def _met(found: RouteResult, system: System) -> Iterator[tuple[str, float, float]]:
    """Yield what is drawn on the way, with the stations between which it lies [m]."""
    for start_m, end_m in found.trench.dam_m:
        yield "DAM: no trench, pipe or anchor", start_m, end_m
    for crossing in found.trench.crossings:
        if crossing.kind != "dam":
            yield f"crosses {crossing.what}", crossing.from_m, crossing.to_m
    for item in found.low_points:
        litres = item.condensate_kg_d
        water = f"{litres / GALLON_KG:.2f} gal" if system == "us" else f"{litres:.2f} L"
        yield f"low point, {water} of water a day", item.station_m, item.station_m


def _water_and_frost(found: RouteResult, system: System) -> str:
    """Return what else is drawn, in a sentence each."""
    said = []
    if found.water_elevation_m is not None:
        height = convert(found.water_elevation_m, "m", _length(system))
        said.append(f"The pond's water stands at {height:.2f} {_unit(_length(system))}.")
    if found.frost_depth_m is not None:
        said.append(f"Frost goes {show(found.frost_depth_m, 'm', system)} down.")
    return " ".join(said)


def placed_twins(
    title: str, what: str, last: str, rows: Iterable[tuple[str, float, float, float]], system: System, *,
    decimal_count: int = 1,
) -> tuple[Twin, ...]:  # fmt: skip
    """Return things at their places as a table; none where there are none.

    Args:
        title: of the table.
        what: head of the things' names.
        last: head of the length that each has.
        rows: name, metres east and north of the middle, that length in metres.
        system: the system of units.
        decimal_count: decimals of that length.
    """
    unit = _length(system)
    keys = ("east", "north", last)
    found = [
        {what: name} | {key: convert(one, "m", unit) for key, one in zip(keys, lengths, strict=True)}
        for name, *lengths in rows
    ]
    columns = [
        Column(what, what),
        Column("east", f"east of the middle, {unit}", 1),
        Column("north", f"north of the middle, {unit}", 1),
        Column(last, f"{last}, {unit}", decimal_count),
    ]
    return (twin_of(title, columns, found, most=80),) if found else ()
