"""A job to a job folder that reads back as the same job."""

from __future__ import annotations

import csv
import io
import os
import tempfile
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from plumeline.errors import InputError
from plumeline.files import equipment_in, geojson, observations, readings, route_in, soundings, weather_in
from plumeline.files.observations import canonical_order, slug, stamp_id
from plumeline.files.toml_out import toml_section, toml_text
from plumeline.files.toml_part import SECTIONS
from plumeline.files.toml_values import JOB_FILE
from plumeline.job.document import (
    Bottle,
    GaugeReading,
    Job,
    LocalPoint,
    OxygenReading,
    Place,
    Point,
    Profile,
    ProfilePoint,
    RoutePoint,
)

JOB_FILES = (
    JOB_FILE, geojson.FILE, soundings.FILE, observations.PROFILES, observations.BOTTLES,
    observations.GAUGES, weather_in.FILE, readings.READINGS, readings.RUNS,
    route_in.FILE, equipment_in.FILE,
)  # fmt: skip
"""Every file that a job folder may hold."""


def write_job(job: Job, folder: Path, *, overwrite: bool = False) -> None:
    """Write ``job`` into ``folder``; ``load_job`` of the folder then returns an equal job.

    Holds for every job that ``load_job`` accepts: times with an offset, profiles of two depths or more from
    the top down, weather hour by hour.

    Args:
        job: the job.
        folder: made when it is not there.
        overwrite: replace the job files that the folder holds already.

    Raises:
        InputError: when the folder holds job files and ``overwrite`` is not given.
    """
    folder = Path(folder)
    there = [name for name in JOB_FILES if (folder / name).exists()]
    if there and not overwrite:
        remedy = "Choose another folder."
        raise InputError(f"{', '.join(there)} would be overwritten.", remedy=remedy, place=str(folder))
    put_files(folder, job_files(job))
    for name in set(there) - set(job_files(job)):
        (folder / name).unlink()


def put_files(folder: Path, texts: dict[str, str]) -> None:
    """Write texts into a folder; none appears before all are written."""
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=folder, prefix=".writing-") as part:
        for name, text in texts.items():
            (Path(part) / name).write_text(text, encoding="utf-8", newline="\n")
        for name in texts:
            os.replace(Path(part) / name, folder / name)


def job_files(job: Job) -> dict[str, str]:
    """Return the text of each file of the job's folder, by name; a file with nothing to say is left out."""
    texts = {JOB_FILE: _toml(job)}
    if _fits_geojson(job.pond.outline):
        rings = [[place for place in ring if isinstance(place, Point)] for ring in job.pond.outline]
        texts[geojson.FILE] = geojson.collection_text([geojson.feature(geojson.polygon(rings), {})])
    if job.pond.soundings:
        texts[soundings.FILE] = _soundings(job)
    texts |= _observations(job)
    if job.runs:
        runs = [[run.start.isoformat(), run.minutes, "+".join(run.diffusers)] for run in job.runs]
        texts[readings.RUNS] = _table(("start", "minutes", "diffusers"), runs)
    if job.route:
        names = tuple(RoutePoint.model_fields)
        stations = [[getattr(point, name) for name in names] for point in job.route]
        texts[route_in.FILE] = _table(names, stations)
    if job.equipment:
        texts[equipment_in.FILE] = _table(*equipment_in.equipment_rows(job.equipment))
    if job.weather:
        rows = [
            [hour.time.isoformat(), *(getattr(hour, name) for name in weather_in.FIELDS)]
            for hour in job.weather
        ]
        texts[weather_in.FILE] = _table(("time", *weather_in.FIELDS), rows)
    return texts


def _fits_geojson(outline: Sequence[Sequence[Place]]) -> bool:
    """Return whether rings keep their points in GeoJSON: longitude and latitude, the first not repeated."""
    return bool(outline) and all(
        len(ring) >= 3 and ring[0] != ring[-1] and all(isinstance(place, Point) for place in ring)
        for ring in outline
    )


def _toml(job: Job) -> str:
    head = f"format = {job.format_version}\nid = {toml_text(job.id)}\nname = {toml_text(job.name)}\n"
    texts = [f"{head}date = {job.date.isoformat()}\nseed = {job.seed}\n"]
    for name in SECTIONS:
        part = getattr(job, name)
        if part is None:
            continue
        leave = {"soundings"} | ({"outline"} if _fits_geojson(job.pond.outline) else set())
        texts.append(toml_section(name, part, frozenset(leave) if name == "pond" else frozenset()))
    return "\n".join(texts)


def _table(heading: Sequence[str], rows: Iterable[Sequence[Any]]) -> str:
    """Return CSV text; what is not known is an empty cell."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(heading)
    writer.writerows([["" if cell is None else cell for cell in row] for row in rows])
    return stream.getvalue()


def _soundings(job: Job) -> str:
    found = job.pond.soundings
    points = any(isinstance(item.place, Point) for item in found)
    local = any(isinstance(item.place, LocalPoint) for item in found)
    rows_differ = any(item.row != row for row, item in enumerate(found, start=2))
    heading = (("lon", "lat") if points else ()) + (("x_m", "y_m") if local else ()) + ("depth_m",)
    more = tuple(
        name for name in ("muck_m", "level_m", "day") if any(getattr(s, name) is not None for s in found)
    )
    rows: list[list[Any]] = []
    for item in found:
        place = item.place
        cells: list[Any] = []
        if points:
            cells += [place.longitude_deg, place.latitude_deg] if isinstance(place, Point) else ["", ""]
        if local:
            cells += [place.x_m, place.y_m] if isinstance(place, LocalPoint) else ["", ""]
        extra = [getattr(item, name) for name in more]
        rows.append([*cells, item.depth_m, *extra, *([item.row] if rows_differ else [])])
    names = tuple({"day": "time"}.get(name, name) for name in more)
    return _table(heading + names + (("row",) if rows_differ else ()), rows)


_POINT = tuple(name for name in ProfilePoint.model_fields if name != "smell")
_BOTTLE = (
    "bottom_do_mg_l",
    "surface_do_mg_l",
    "after_15min_mg_l",
    "after_24h_mg_l",
    "surface_after_24h_mg_l",
)


def _of_visit(item: Profile | OxygenReading) -> bool:
    """Return whether a reading is written into readings.csv: profiles.csv has no place for it."""
    return isinstance(item, OxygenReading) or bool(item.when or item.meter) or len(item.points) == 1


def _own_id(item: Profile | OxygenReading | Bottle | GaugeReading) -> str:
    """Return the id that the observation gets when the file names none."""
    if isinstance(item, Profile | OxygenReading):
        if _of_visit(item):
            return readings.reading_id(item.time, item.meter)
        return stamp_id("profile", item.time)
    if isinstance(item, Bottle):
        return f"{stamp_id('bottle', item.time)}-{item.depth_m:g}m"
    return f"{stamp_id('gauge', item.time)}-{slug(item.place)}"


def _points(item: Profile | OxygenReading) -> list[list[Any]]:
    """Return the cells of each depth: every field of a point, then the smell."""
    if isinstance(item, Profile):
        return [
            [*(getattr(point, name) for name in _POINT), point.smell.value if point.smell else ""]
            for point in item.points
        ]
    places = {"depth_m": item.depth_m, "do_mg_l": item.do_mg_l}
    return [
        [places[name][row] if name in places else None for name in (*_POINT, "smell")]
        for row in range(len(item.depth_m))
    ]


def _observations(job: Job) -> dict[str, str]:
    every = job.observations
    ordered = list(every) == sorted(every, key=canonical_order)
    named = any(item.id != _own_id(item) for item in every)
    extra = (("id",) if named else ()) + (() if ordered else ("entry",))
    profiles: list[list[Any]] = []
    bottles: list[list[Any]] = []
    gauges: list[list[Any]] = []
    visits: list[list[Any]] = []
    for entry, item in enumerate(every, start=1):
        tail = ([item.id] if named else []) + ([] if ordered else [entry])
        time = item.time.isoformat()
        if isinstance(item, Profile | OxygenReading):
            if _of_visit(item):
                tail = [item.when.value if item.when else "", item.meter or "", *tail]
            (visits if _of_visit(item) else profiles).extend([time, *cells, *tail] for cells in _points(item))
        elif isinstance(item, Bottle):
            dilution = {0.5: "1:1", 0.25: "1:3"}.get(item.bottom_share, item.bottom_share)
            bottles.append([time, item.depth_m, dilution, *(getattr(item, name) for name in _BOTTLE), *tail])
        else:
            gauges.append([time, item.place, item.pressure_pa, *tail])
    found = {
        observations.PROFILES: (("time", *_POINT, "smell", *extra), profiles),
        readings.READINGS: (("time", *_POINT, "smell", "when", "meter", *extra), visits),
        observations.BOTTLES: (("time", "depth_m", "dilution", *_BOTTLE, *extra), bottles),
        observations.GAUGES: (("time", "place", "pressure_pa", *extra), gauges),
    }
    return {name: _table(heading, rows) for name, (heading, rows) in found.items() if rows}
