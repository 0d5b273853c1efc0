"""The visits of a pond: what is due, what was read, and the gauges beside what they must show."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from urllib.parse import quote
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from plumeline.errors import InputError, JobFolderError, PlumelineError
from plumeline.files import gauges
from plumeline.files.csv_rows import opened, row_lines, with_lines
from plumeline.stages.air.faults import GaugeReading
from plumeline.store import Revision
from plumeline.store.errors import ConflictError
from plumeline.units import parse
from plumeline.web.due import DUE, read_due
from plumeline.web.field_faults import FieldFault, FieldsError, fields_of, told
from plumeline.web.forms import Sent
from plumeline.web.pages import Form, Here
from plumeline.web.site import Site, units_of
from plumeline.web.typed_places import has_no_unit
from plumeline.web.visit_page import GAUGES, gauges_of, opened_visits, read_file
from plumeline.web.visitors import keep_author

router = APIRouter()
EXAMPLES = {"pa": "5.8 psig, or 40 kPa", "m": "4 in, or 0.1 m"}
FIELDS = ("time", "place", "pressure", "water_level", "open_ports", "boil")


@router.get("/ponds/{pond_id}/visits")
def visits(request: Request, site: Here, pond_id: str) -> Response:
    """Show what is due and what was read."""
    return _shown(request, site, site.store.ponds.revision(pond_id), dict.fromkeys(FIELDS, ""))


def _shown(
    request: Request,
    site: Site,
    pond: Revision,
    given: dict[str, str],
    *,
    wrong: Sequence[FieldFault] = (),
    rest: Sequence[str] = (),
    status_number: int = 200,
) -> Response:
    zone = ZoneInfo(pond.job.site.time_zone)
    data = site.store.runs.of_many([pond.pond_id], DUE).get(pond.pond_id)
    due = [(item, item.begins_at.astimezone(zone)) for item in (read_due(data) if data else ())]
    ahead = [row for row in due if row[0].begins_at >= site.store.clock()]
    now = site.store.clock().astimezone(zone).strftime("%Y-%m-%d %H:%M")
    return site.page(
        request, "visits.html", status_number=status_number, pond=pond, ahead=ahead[:12], ahead_count=len(ahead),
        past_count=len(due) - len(ahead), given=given, rest=rest,
        wrong=[(one.id, one.label, one.words) for one in wrong], now=now, zone=pond.job.site.time_zone,
        **opened_visits(site, pond, units_of(request)).shown,
    )  # fmt: skip


@router.post("/ponds/{pond_id}/visits")
def add_gauge(request: Request, site: Here, pond_id: str, form: Form) -> Response:
    """Keep a gauge that was read as a row of gauges.csv; what is wrong is said and stays in the form."""
    given = {name: form.text(name) for name in FIELDS}
    number = form.number("number")
    pond = site.store.ponds.revision(pond_id, number)
    try:
        _kept(site, pond, given, form)
    except (InputError, JobFolderError, ConflictError) as error:
        status_number = 409 if isinstance(error, ConflictError) else 422
        latest = site.store.ponds.revision(pond_id)
        wrong = fields_of(error)
        rest = () if wrong else (str(error),)
        return _shown(request, site, latest, given, wrong=wrong, rest=rest, status_number=status_number)
    site.saved.set()
    response = RedirectResponse(f"/ponds/{quote(pond_id)}/visits", 303)
    keep_author(request, response, form.text("author"))
    return response


def _kept(site: Site, pond: Revision, given: dict[str, str], form: Sent) -> Revision:
    folder = site.store.ponds.folder(pond.pond_id, pond.number)
    row = _row(given)
    row["time"] = _free_time(str(row["time"]), given["place"], gauges_of(site, pond), pond)
    table = opened(GAUGES, folder.files.get(GAUGES), gauges.COLUMNS, list(row))
    data = with_lines(table, row_lines(table, [row])).data
    read_file(site, pond, data)  # a fault of the file refuses the row before it is kept
    files = {**folder.files, GAUGES: data}
    return site.store.ponds.save_files(
        pond.pond_id, files, expected_number=pond.number, author=form.text("author"),
        reason=f"gauge at {given['place']}",
    )  # fmt: skip


def _free_time(text: str, place: str, known: tuple[GaugeReading, ...], pond: Revision) -> str:
    """Return the time, seconds later where that gauge was read in that minute before: both readings stay."""
    zone = ZoneInfo(pond.job.site.time_zone)
    moment = datetime.fromisoformat(text)
    taken = {item.time.astimezone(zone).replace(tzinfo=None) for item in known if item.place == place}
    while moment.replace(tzinfo=None) in taken:
        moment += timedelta(seconds=1)
    return moment.isoformat(timespec="seconds" if moment.second else "minutes")


def _row(given: dict[str, str]) -> dict[str, str | float]:
    """Return a row of gauges.csv.

    Raises:
        FieldsError: with every value that can't be read, at its field.
    """
    faults: list[FieldFault] = []
    row: dict[str, str | float] = {"place": given["place"]}
    if not given["place"]:
        faults.append(FieldFault("place", "which gauge", "choose the compressor or a diffuser's port."))
    readers: tuple[tuple[str, str, str, Callable[[str], str | float]], ...] = (
        ("time", "time", "time", _time),
        ("pressure", "pressure_pa", "pressure", lambda text: _read("pressure", text, "pa")),
        ("water_level", "water_level_m", "water level", lambda text: _read("water level", text, "m")),
    )
    for name, key, label, read in readers:
        if name == "water_level" and not given[name]:
            continue
        try:
            row[key] = read(given[name])
        except InputError as error:
            faults.append(told(error, name, label))
    if faults:
        raise FieldsError(faults)
    return {
        "time": row.pop("time"),
        **row,
        **{name: given[name] for name in ("open_ports", "boil") if given[name]},
    }


def _time(text: str) -> str:
    try:
        return datetime.fromisoformat(text).isoformat(timespec="minutes")
    except ValueError:
        raise InputError(
            f"time: '{text[:40]}' is no time.", remedy="Write it like 2026-08-11 10:30."
        ) from None


def _read(label: str, text: str, suffix: str) -> float:
    if has_no_unit(text):
        raise InputError(f"{label}: '{text.strip()[:40]}' has no unit.", remedy=f"Write {EXAMPLES[suffix]}.")
    try:
        return parse(text, suffix)
    except PlumelineError as error:
        raise InputError(f"{label}: {error.message}", remedy=error.remedy or "") from error
