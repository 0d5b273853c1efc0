"""What the page of visits shows of a revision: water as read, gauges beside what they must show, all to be opened."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any
from zoneinfo import ZoneInfo

from plumeline.cli.show_commission import commission_blocks
from plumeline.cli.show_faults import fault_blocks
from plumeline.errors import JobFolderError, PlumelineError
from plumeline.files import gauges
from plumeline.files.findings import Findings
from plumeline.job.document import Profile
from plumeline.stages.air.commissioning import CommissioningResult, commissioning
from plumeline.stages.air.fault_stage import FaultsResult, find_faults
from plumeline.stages.air.faults import GaugeReading
from plumeline.store import Revision
from plumeline.units import show
from plumeline.units.showing import System
from plumeline.web.opening import OpenedPage, Opener, address, book_or_empty
from plumeline.web.showing import opened_parts
from plumeline.web.site import Site
from plumeline.web.visit_fit import Unfit, ports_of, sorted_out
from plumeline.web.work import Design
from plumeline.workings import Book
from plumeline.workings.files import Files
from plumeline.workings.stages import Values
from plumeline.workings.visits import UNFIT, WATER, Visited, unfit_gauges, visits_book, water_read

GAUGES = "gauges.csv"


@dataclass(frozen=True)
class Seen:
    """What was read of the water on a day: at the surface and over the bottom, as texts whose numbers open."""

    day: date
    clock: str
    depth_count: Any
    top: Any
    bottom: Any


def sheet_of(design: Design, readings: tuple[GaugeReading, ...] = ()) -> CommissioningResult:
    """Return the sheet of gauges of a design, with what was read beside it."""
    return commissioning(design.job, design.air, readings=readings, seed=design.asked.seed)


def opened_visits(site: Site, pond: Revision, units: System, number: int | None = None) -> OpenedPage:
    """Return the page of a revision's visits with its numbers as links, and how each came about.

    Args:
        site: the server.
        pond: the revision.
        units: the system of units.
        number: the revision that was asked for by number, so that links stay in it; None for the latest.
    """
    key = (pond.pond_id, pond.number, "visits", units, number)
    return site.opened.of(key, lambda: _made(site, pond, units, number))


def _made(site: Site, pond: Revision, units: System, number: int | None) -> OpenedPage:
    found: tuple[Design, CommissioningResult, FaultsResult | None] | None = None
    trouble = ""
    ports: tuple[str, ...] = ("compressor",)
    unfit: tuple[Unfit, ...] = ()
    try:
        design = site.designs.of(pond)
        ports = ports_of(design)
        readings, unfit = sorted_out(design, gauges_of(site, pond), units)
        said = find_faults(design.job, readings, design.air.branches) if readings else None
        found = (design, sheet_of(design, readings), said)
    except PlumelineError as error:
        trouble = str(error)
    book = book_or_empty(lambda: _book(pond, found, units), units)
    unfit_gauges(book, [one.reading for one in unfit])
    opener = Opener(book, address(pond.pond_id, "visits"), f"?revision={number}" if number else "")
    line = opened_parts(commission_blocks(found[1], units), opener) if found else []
    faulty = opened_parts(fault_blocks(found[2], units), opener) if found and found[2] else []
    shown = {
        "line": line,
        "faulty": faulty,
        "water": _water(pond, units, opener),
        "ports": ports,
        "trouble": trouble,
        "unfit": [_unfit(one, opener) for one in unfit],
        "unfit_count": opener.text(f"{len(unfit)}", UNFIT),
    }
    return OpenedPage(shown, book.workings)


def _unfit(one: Unfit, opener: Opener) -> dict[str, Any]:
    """Return a gauge that was left out as the page takes it, what was read as a link."""
    place = (*UNFIT, f"{one.row}")
    return {**vars(one), "pressure": opener.text(one.pressure, place)}


def _book(
    pond: Revision, found: tuple[Design, CommissioningResult, FaultsResult | None] | None, units: System
) -> Book:
    """Return the workings of the page."""
    if found is None:
        return visits_book(pond.job, Files(pond.job, tuple(pond.echoes)), None, units)
    design, sheet, said = found
    files = Files(design.job, tuple(pond.echoes))
    visited = Visited(Values(design, files, units).air.points, sheet, said, design.asked.seed)
    return visits_book(design.job, files, visited, units)


def _water(pond: Revision, units: System, opener: Opener) -> list[Seen]:
    """Return the readings of the water, the latest first."""
    zone = ZoneInfo(pond.job.site.time_zone)
    found: list[Seen] = []
    for row, item in enumerate(water_read(pond.job)):
        when = item.time.astimezone(zone)
        if isinstance(item, Profile):
            top, bottom = item.points[0], item.points[-1]
            words = [
                f"{show(point.temperature_degc, 'degc', units)}, {_oxygen(point.do_mg_l, point.depth_m, units)}"
                for point in (top, bottom)
            ]
            count = len(item.points)
        else:
            words = [_oxygen(item.do_mg_l[n], item.depth_m[n], units) for n in (0, -1)]
            count = len(item.depth_m)
        shown = [
            opener.text(text, ("part", WATER, str(row), str(column)))
            for column, text in enumerate((f"{count}", *words))
        ]
        found.append(Seen(when.date(), when.strftime("%H:%M"), *shown))
    return found


def _oxygen(do_mg_l: float, depth_m: float, units: System) -> str:
    return f"{show(do_mg_l, 'mg_l', units)} at {show(depth_m, 'm', units)}"


def gauges_of(site: Site, pond: Revision) -> tuple[GaugeReading, ...]:
    data = site.store.ponds.folder(pond.pond_id, pond.number).files.get(GAUGES)
    return () if data is None else read_file(site, pond, data)


def read_file(site: Site, pond: Revision, data: bytes) -> tuple[GaugeReading, ...]:
    """Return the gauges of a file.

    Raises:
        JobFolderError: with every fault of the file.
    """
    findings = Findings()
    with TemporaryDirectory(prefix="plumeline-") as folder:
        path = Path(folder) / GAUGES
        path.write_bytes(data)
        found = gauges.read_gauges(
            path, ZoneInfo(pond.job.site.time_zone), site.store.ponds.today(), findings
        )
    if findings.faults:
        raise JobFolderError(findings.all_faults(), "the gauges")
    return found
