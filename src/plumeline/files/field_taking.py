"""From an item of a phone to rows of the job folder: what was typed is read by the trade's units, or refused."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta

from plumeline.errors import Fault, JobFolderError, PlumelineError
from plumeline.files import soundings
from plumeline.files.csv_rows import Row
from plumeline.files.field_items import (
    FieldItem,
    GaugeBody,
    NoteBody,
    PhotoBody,
    ProfileBody,
    ShoreBody,
    SoundingBody,
)
from plumeline.files.field_shore import shore_words
from plumeline.files.gauge_ports import not_a_port, port_named
from plumeline.files.headers import Column
from plumeline.files.observations import GAUGE_COLUMNS, GAUGES, PROFILE_COLUMNS, PROFILES
from plumeline.files.readings import LATEST_D, READING_COLUMNS, READINGS
from plumeline.files.tables import without_round_off
from plumeline.files.toml_values import JOB_FILE
from plumeline.units import SUFFIXES, both, convert, parse, parse_air

ID = "id"
SUFFIX_OF = {
    "ft": "ft", "m": "m", "degF": "degf", "degC": "degc", "mg/L": "mg_l", "psig": "psi", "kPa": "kpa", "bar": "bar",
}  # fmt: skip


@dataclass(frozen=True)
class FieldRows:
    """What an item says in the words of the job folder.

    Attributes:
        file: the file its rows belong to; empty where it has none (a note, a photo).
        columns: those that the file may have.
        wanted: those that the rows fill.
        rows: the rows.
        secchi: the Secchi depth as a value for job.toml; empty without.
        secchi_m: the same in metres.
        understood: how each typed value was read.
    """

    file: str = ""
    columns: tuple[Column, ...] = ()
    wanted: tuple[str, ...] = ()
    rows: tuple[Row, ...] = ()
    secchi: str = ""
    secchi_m: float | None = None
    understood: tuple[str, ...] = ()


@dataclass
class _Typed:
    """Reads typed values; what can't be read is a fault with its place in the item."""

    faults: list[Fault] = field(default_factory=list)
    understood: list[str] = field(default_factory=list)

    def value(self, where: str, text: str, unit: str, goal: str) -> float | None:
        """Return a typed value in a unit; None for an empty one, and after a fault."""
        if not text.strip():
            return None
        given = SUFFIX_OF[unit]
        try:
            found = without_round_off(convert(parse(text, given), given, goal))
        except PlumelineError as error:
            self.faults.append(Fault("item", where, error.message, error.remedy))
            return None
        spelled = SUFFIXES[goal].spellings[0]
        shown = both(found, goal) if goal != "mg_l" else f"{found:g} {spelled}"
        self.understood.append(
            f"{where}: {text.strip()} {'' if says_unit(text) else unit}".rstrip() + f" = {shown}"
        )
        return found

    def missing(self, where: str, words: str) -> None:
        self.faults.append(Fault("item", where, words, "Fill it on the phone, or set the item aside."))

    def done(self) -> None:
        """Refuse where anything was at fault."""
        if self.faults:
            raise JobFolderError(tuple(self.faults), "the item")


def says_unit(text: str) -> bool:
    """Return whether a typed value says its own unit.

    Args:
        text: the value.
    """
    return any(mark.isalpha() or mark in "'\"°′″" for mark in text)


def row_id(root_id: str) -> str:
    """Return the id of an item's rows in the job folder, the same for every later edit of it.

    Args:
        root_id: id of the item that the first of its edits began from.
    """
    return f"field-{root_id}"


def field_rows(item: FieldItem, time: datetime, root_id: str, ports: tuple[str, ...] = ()) -> FieldRows:
    """Return what an item says in the words of the job folder.

    Args:
        item: the item.
        time: when it was read, by the clock of the place.
        root_id: id of the item that the first of its edits began from.
        ports: the gauges that the pond's line has; empty where they are not known.

    Raises:
        JobFolderError: with every value that can't be read, and a gauge that is not there.
    """
    body, typed = item.parsed, _Typed()
    stamp = time.isoformat(timespec="seconds")
    match body:
        case ProfileBody():
            found = _profile(body, stamp, row_id(root_id), typed)
        case GaugeBody():
            found = _gauge(body, stamp, row_id(root_id), typed, ports)
        case SoundingBody():
            found = _sounding(body, stamp, typed)
        case ShoreBody():
            found = FieldRows(understood=shore_words(body))
        case NoteBody() | PhotoBody():
            found = FieldRows()
    typed.done()
    return found


def _profile(body: ProfileBody, stamp: str, name: str, typed: _Typed) -> FieldRows:
    rows: list[Row] = []
    for number, one in enumerate(body.rows, start=1):
        if not (one.depth.strip() or one.temperature.strip() or one.oxygen.strip()):
            continue
        depth = typed.value(f"row {number}, depth", one.depth, body.units.depth, "m")
        warm = typed.value(f"row {number}, temperature", one.temperature, body.units.temperature, "degc")
        oxygen = typed.value(f"row {number}, oxygen", one.oxygen, body.units.oxygen, "mg_l")
        if not one.depth.strip():
            typed.missing(f"row {number}, depth", "has no depth.")
        if not one.oxygen.strip():
            typed.missing(
                f"row {number}, oxygen", "has no oxygen; a reading of the job needs it at each depth."
            )
        row: dict[str, str | float] = {"time": stamp, ID: name}
        values = {"depth_m": depth, "temperature_degc": warm, "do_mg_l": oxygen}
        row |= {column: value for column, value in values.items() if value is not None}
        rows.append(row)
    secchi_m = typed.value("Secchi depth", body.secchi, body.units.depth, "m")
    if not rows and secchi_m is None:
        typed.missing("rows", "has no reading in it.")
    rows.sort(key=lambda row: float(row.get("depth_m", 0.0)))
    wanted = ("time", "depth_m", "temperature_degc", "do_mg_l", ID)
    secchi = body.secchi.strip()
    if secchi and not says_unit(secchi):
        secchi = f"{secchi} {body.units.depth}"
    return FieldRows(
        READINGS if rows else "",
        READING_COLUMNS,
        wanted,
        tuple(rows),
        secchi,
        secchi_m,
        tuple(typed.understood),
    )


def secchi_m(item: FieldItem) -> float | None:
    """Return the Secchi depth that an item says; None where it says none, or none that can be read.

    Args:
        item: the item.
    """
    body = item.parsed
    if not isinstance(body, ProfileBody):
        return None
    return _Typed().value("Secchi depth", body.secchi, body.units.depth, "m")


def _gauge(body: GaugeBody, stamp: str, name: str, typed: _Typed, ports: tuple[str, ...]) -> FieldRows:
    pressure = typed.value("pressure", body.pressure, body.unit, "pa")
    if not body.pressure.strip():
        typed.missing("pressure", "has no value.")
    if not body.what.strip():
        typed.missing("which gauge", "is not said.")
    flow = (body.flow or "").strip()
    if flow:
        try:
            air = parse_air(flow if says_unit(flow) else f"{flow} {body.flow_unit or ''}".strip())
            typed.understood.append(f"flow: {flow} = {air.flow_m3_s * 1000:.3g} L/s ({air.basis})")
        except PlumelineError as error:
            typed.faults.append(Fault("item", "flow", error.message, error.remedy))
    place = port_named(body.what, ports) if ports else body.what
    if place is None and body.what.strip():
        refusal = not_a_port(body.what, ports)
        typed.faults.append(Fault("item", "which gauge", refusal.message, refusal.remedy or ""))
    row: dict[str, str | float] = {"time": stamp, "place": place or body.what, ID: name}
    if pressure is not None:
        row["pressure_pa"] = pressure
    wanted = ("time", "place", "pressure_pa", ID)
    return FieldRows(GAUGES, GAUGE_COLUMNS, wanted, (row,), understood=tuple(typed.understood))


def _sounding(body: SoundingBody, stamp: str, typed: _Typed) -> FieldRows:
    depth = typed.value("depth", body.depth, body.unit, "m")
    if not body.depth.strip():
        typed.missing("depth", "has no value.")
    muck = typed.value("muck", body.muck or "", body.unit, "m")
    level = typed.value("staff gauge", body.level or "", body.unit, "m")
    if body.position is None:
        typed.missing("position", "is not known: a sounding belongs to a place.")
        return FieldRows()
    row: dict[str, str | float] = {"lon": body.position.longitude_deg, "lat": body.position.latitude_deg}
    if depth is not None:
        row["depth_m"] = depth
    more = {name: value for name, value in (("muck_m", muck), ("level_m", level)) if value is not None}
    row |= more
    row["time"] = stamp
    wanted = ("lon", "lat", "depth_m", *more, "time")
    return FieldRows(soundings.FILE, soundings.COLUMNS, wanted, (row,), understood=tuple(typed.understood))


def in_its_file(
    rows: FieldRows, time: datetime, files: Mapping[str, bytes], day: date | None, *, stands_in: str
) -> FieldRows:
    """Return rows with the file that they go into.

    A reading goes into readings.csv. One from long after the job's date can't, for that file is of one start-up: a
    profile of two depths or more then goes into profiles.csv, unless the two-line reading of job.toml would be
    silenced by that.

    Args:
        rows: of an item.
        time: when it was read.
        files: the folder.
        day: date of the job.
        stands_in: the file that an earlier version of it stands in; empty without.
    """
    whole = len(rows.rows) > 1 and all("temperature_degc" in row for row in rows.rows)
    if rows.file != READINGS or not whole:
        return rows
    late = day is not None and time.date() > day + timedelta(days=LATEST_D)
    free = PROFILES in files or not _parsed_reading(files)
    if stands_in == PROFILES or (not stands_in and late and free):
        return replace(rows, file=PROFILES, columns=PROFILE_COLUMNS)
    return rows


def _parsed_reading(files: Mapping[str, bytes]) -> bool:
    try:
        return bool(tomllib.loads(files[JOB_FILE].decode("utf-8-sig")).get("reading"))
    except (KeyError, ValueError):
        return True
