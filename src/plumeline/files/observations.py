"""profiles.csv, bottle.csv and gauges.csv: what was read at the pond, as observations with steady ids."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from pydantic import BaseModel

from plumeline.errors import InputError
from plumeline.files.findings import Findings, some
from plumeline.files.headers import Column
from plumeline.files.limits import limits_of
from plumeline.files.tables import Table, read_table
from plumeline.files.times import Clock
from plumeline.job.document import (
    Bottle,
    GaugeReading,
    OxygenReading,
    Profile,
    ProfilePoint,
    SmellStrength,
)
from plumeline.units import both

PROFILES, BOTTLES, GAUGES = "profiles.csv", "bottle.csv", "gauges.csv"

_TIME = Column("time", required=True, kind="text", example="2026-08-11T10:30", other_names=("date_time",))
_ID = Column("id", kind="text")
_ENTRY = Column("entry", example="1")
_OXYGEN_REMEDY = "Give mg/L from 0 to 40; a meter may be showing per cent of saturation."


def _field(model: type[BaseModel], name: str, *, required: bool = False, **more: Any) -> Column:
    return Column(name, required=required, limits=limits_of(model, name), **more)


PROFILE_COLUMNS = (
    _TIME,
    _field(ProfilePoint, "depth_m", required=True),
    _field(
        ProfilePoint, "temperature_degc", required=True, other_names=("temp",), example="28.5",
        remedy="Give °C from -0.5 to 45, or °F from 31.1 to 113; the column is temperature_degc for a thermometer "
        "in °C, temperature_degf for one in °F.",
    ),
    _field(
        ProfilePoint, "do_mg_l", required=True, other_names=("oxygen_mg_l", "dissolved_oxygen_mg_l"),
        example="7.5", remedy=_OXYGEN_REMEDY,
    ),
    _field(ProfilePoint, "ph", example="7.4"),
    _field(ProfilePoint, "alkalinity_mg_l"),
    _field(ProfilePoint, "conductivity_us_cm"),
    _field(ProfilePoint, "ammonia_mg_l"),
    _field(ProfilePoint, "sulphide_mg_l", other_names=("sulfide_mg_l",)),
    Column("smell", kind="text"),
    _ID,
    _ENTRY,
)  # fmt: skip

BOTTLE_COLUMNS = (
    _TIME,
    _field(Bottle, "depth_m", required=True),
    Column("dilution", kind="text", required=True, example="1:1"),
    *(
        _field(Bottle, name, required=name in ("bottom_do_mg_l", "surface_do_mg_l"), remedy=_OXYGEN_REMEDY)
        for name in (
            "bottom_do_mg_l", "surface_do_mg_l", "after_15min_mg_l", "after_24h_mg_l",
            "surface_after_24h_mg_l",
        )
    ),
    _ID,
    _ENTRY,
)  # fmt: skip

GAUGE_COLUMNS = (
    _TIME,
    Column("place", kind="text", required=True, example="compressor"),
    Column("pressure_pa", required=True, example="8 psig", heading="pressure_pa"),
    # how water and valves stood: what commission and faults read of the same file
    Column("water_level_m"),
    Column("open_ports", kind="text"),
    Column("boil", kind="text"),
    _ID,
    _ENTRY,
)


@dataclass(frozen=True)
class Seen:
    """An observation, where it stood, and its position among all if the file gave one."""

    file: str
    row: int
    entry: float | None
    observation: Profile | OxygenReading | Bottle | GaugeReading


def read_times(table: Table, clock: Clock, findings: Findings) -> list[datetime | None]:
    """Return the time of each row of a table, None for a row whose time is at fault."""
    found: list[datetime | None] = []
    last: datetime | None = None
    for row, text in zip(table.rows, table.texts["time"], strict=True):
        try:
            last = clock.read(text, None)
            found.append(last)
        except InputError as error:
            where = f"row {row}, time"
            findings.fault(table.name, where, error.message, error.remedy, kind="time")
            found.append(None)
    return found


def stamp_id(kind: str, time: datetime) -> str:
    """Return the id of an observation from its kind and the clock at the site."""
    seconds = f"-{time.second:02d}" if time.second or time.microsecond else ""
    return f"{kind}-{time:%Y-%m-%dT%H-%M}{seconds}"


def read_profiles(path: Path, clock: Clock, findings: Findings) -> list[Seen]:
    """Return the profiles, one for each time (and id) in the file, each in order of depth."""
    table = read_table(path, PROFILE_COLUMNS, findings)
    if table is None:
        return []
    casts: dict[tuple[datetime, str], list[int]] = {}
    for index, time in enumerate(read_times(table, clock, findings)):
        if time is not None:
            casts.setdefault((time, table.text("id", index)), []).append(index)
    found = []
    for (time, name), indices in casts.items():
        points = points_of(table, indices, findings)
        if points:
            profile = Profile(id=name or stamp_id("profile", time), time=time, points=tuple(points))
            first = indices[0]
            found.append(Seen(PROFILES, table.rows[first], table.number("entry", first), profile))
    return found


def points_of(
    table: Table, indices: list[int], findings: Findings, *, one_depth_ok: bool = False
) -> list[ProfilePoint]:
    """Return the points of one cast from top to bottom; of one depth only where that is asked for."""
    depths = [table.numbers["depth_m"][index] or 0.0 for index in indices]
    order = sorted(range(len(indices)), key=lambda place: depths[place])
    if order != list(range(len(indices))):
        back = [
            table.rows[indices[place]]
            for place in range(1, len(indices))
            if depths[place] < depths[place - 1]
        ]
        findings.note(
            "profile-unordered",
            f"{table.name}, {some(back)}: the depths do not go downwards; they were put in order. "
            "Check for a slip of the decimal point.",
        )
    points: dict[float, tuple[int, ProfilePoint]] = {}
    before = len(findings.faults)
    for place in order:
        index, row = indices[place], table.rows[indices[place]]
        point = _point(table, index, row, findings)
        if point is None:
            continue
        if point.depth_m in points:
            _repeated(table.name, row, points[point.depth_m], point, findings)
        else:
            points[point.depth_m] = (row, point)
    if len(points) == 1 and len(findings.faults) == before and not one_depth_ok:
        row = table.rows[indices[0]]
        remedy = "Read at two depths at least, near the surface and near the bottom, under the same time."
        findings.fault(
            table.name, f"row {row}", "the profile has one depth only: it shows no layers.", remedy
        )
    return [point for _, point in points.values()]


def _repeated(
    file: str, row: int, first: tuple[int, ProfilePoint], point: ProfilePoint, findings: Findings
) -> None:
    depth = f"the depth {both(point.depth_m, 'm')}"
    if first[1] == point:
        findings.note("profile-repeated", f"{file}, row {row}: {depth} repeats row {first[0]}; left out.")
        return
    findings.fault(
        file,
        f"row {row}",
        f"{depth} was given in row {first[0]} with other values.",
        "Keep one reading a depth; give a second cast its own time.",
    )


def _point(table: Table, index: int, row: int, findings: Findings) -> ProfilePoint | None:
    smell = table.text("smell", index).lower()
    if smell and smell not in list(SmellStrength):
        problem = f"{smell!r} is not a strength of smell."
        findings.fault(table.name, f"row {row}, smell", problem, "Write none, faint or strong.", kind="smell")
        return None
    names = ("depth_m", "temperature_degc", "do_mg_l", "ph", "alkalinity_mg_l", "conductivity_us_cm",
             "ammonia_mg_l", "sulphide_mg_l")  # fmt: skip
    values: dict[str, Any] = {name: table.number(name, index) for name in names}
    return ProfilePoint(**values, smell=SmellStrength(smell) if smell else None)


def read_dilution(text: str) -> float | None:
    """Return the part of bottom water in ``1:3`` (bottom to surface) or in a bare part ``0.25``, or None."""
    bottom, colon, surface = text.partition(":")
    try:
        share = float(bottom) / (float(bottom) + float(surface)) if colon else float(text)
    except (ValueError, ZeroDivisionError):
        return None
    return share if 0.0 <= share <= 1.0 and (not colon or min(float(bottom), float(surface)) >= 0) else None


def read_bottles(path: Path, clock: Clock, findings: Findings) -> list[Seen]:
    """Return the bottle tests of the file."""
    table = read_table(path, BOTTLE_COLUMNS, findings)
    if table is None:
        return []

    def build(index: int, time: datetime) -> Bottle | None:
        share = read_dilution(table.text("dilution", index))
        if share is None:
            said = table.text("dilution", index)
            remedy = "Write bottom to surface water: 1:1, or 1:3 for one part in four."
            where = f"row {table.rows[index]}, dilution"
            findings.fault(BOTTLES, where, f"{said!r} is not a dilution.", remedy, kind="dilution")
            return None
        fields: dict[str, Any] = {
            name: table.number(name, index)
            for name in ("depth_m", "bottom_do_mg_l", "surface_do_mg_l", "after_15min_mg_l",
                         "after_24h_mg_l", "surface_after_24h_mg_l")
        }  # fmt: skip
        suffix = f"-{fields['depth_m']:g}m"
        name = table.text("id", index) or stamp_id("bottle", time) + suffix
        return Bottle(id=name, time=time, bottom_share=share, **fields)

    return _each_row(table, BOTTLES, clock, findings, build)


def read_gauges(path: Path, clock: Clock, findings: Findings) -> list[Seen]:
    """Return the readings of gauges in the file."""
    table = read_table(path, GAUGE_COLUMNS, findings)
    if table is None:
        return []

    def build(index: int, time: datetime) -> GaugeReading | None:
        pressure = table.numbers["pressure_pa"][index]
        place = table.text("place", index)
        ports = table.text("open_ports", index)
        name = table.text("id", index) or f"{stamp_id('gauge', time)}-{slug(f'{place} {ports}')}"
        return (
            None if pressure is None else GaugeReading(id=name, time=time, place=place, pressure_pa=pressure)
        )

    return _each_row(table, GAUGES, clock, findings, build)


def _each_row(
    table: Table,
    file: str,
    clock: Clock,
    findings: Findings,
    build: Callable[[int, datetime], Bottle | GaugeReading | None],
) -> list[Seen]:
    found = []
    for index, time in enumerate(read_times(table, clock, findings)):
        observation = build(index, time) if time is not None else None
        if observation is not None:
            found.append(Seen(file, table.rows[index], table.number("entry", index), observation))
    return found


def slug(text: str) -> str:
    """Return a text as lower-case letters, digits and single hyphens."""
    kept = "".join(letter if letter.isalnum() else " " for letter in text.lower())
    return "-".join(kept.split()) or "job"


def in_order(
    seen: list[Seen], findings: Findings
) -> tuple[Profile | OxygenReading | Bottle | GaugeReading, ...]:
    """Return all observations in their order: as numbered by ``entry``, else by time, kind and id."""
    names: dict[str, Seen] = {}
    for item in seen:
        first = names.setdefault(item.observation.id, item)
        if first is not item:
            findings.fault(
                item.file,
                f"row {item.row}",
                f"the observation {item.observation.id} is already in {first.file}, row {first.row}.",
                "Give it its own time, or its own id in a column id.",
                kind="repeated observation",
            )
    ordered = sorted(seen, key=lambda item: canonical_order(item.observation))
    if all(item.entry is not None for item in ordered):
        ordered.sort(key=lambda item: item.entry or 0.0)
    return tuple(item.observation for item in ordered)


def canonical_order(
    observation: Profile | OxygenReading | Bottle | GaugeReading,
) -> tuple[datetime, str, str]:
    """Return what observations are ordered by where nothing else is said."""
    return (observation.time, observation.kind, observation.id)
