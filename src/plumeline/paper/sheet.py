"""The commissioning sheet on paper: what each gauge must show, and boxes for what it shows."""

from __future__ import annotations

from datetime import date
from itertools import groupby
from typing import Any

import plumeline
from plumeline.job.document import Job
from plumeline.paper.figures import long_date, pressure, pressure_unit
from plumeline.paper.site import site_part
from plumeline.paper.typeset import page_of
from plumeline.paper.words import workings_at
from plumeline.safety import safety_card
from plumeline.stages.air.commissioning import CommissioningResult
from plumeline.stages.air.sheet_compare import Compared, Verdict
from plumeline.units import convert, show
from plumeline.units.showing import System

FIELDS = (
    "day and hour",
    "read by",
    "water on the staff gauge",
    "air at the intake",
    "gauge no.",
    "compressor no.",
)
ENDS = ("accepted by", "day", "if a gauge disagrees: why")
ON_SHEET = ("Compressed gas", "Electricity", "Boat", "Above all this")
"""Lines of the safety card that this work touches."""


def render_sheet(found: CommissioningResult, job: Job, day: date, system: System = "us") -> bytes:
    """Return the sheet as PDF; the same sheet, day and units give the same bytes.

    Args:
        found: the sheet; what was read stands in its boxes.
        job: its job.
        day: the day of the work, in the text and in the PDF's metadata.
        system: units.
    """
    data = document_of(found, job, day, system)
    return page_of("sheet.typ", data, day, system)


def document_of(found: CommissioningResult, job: Job, day: date, system: System) -> dict[str, Any]:
    """Return everything that the template prints."""
    unit = pressure_unit(system)
    blocks = _blocks(found, system)
    safety = [list(item) for item in safety_card(system) if item[0] in ON_SHEET]
    return {
        "name": job.name,
        "id": job.id,
        "date": long_date(day),
        "iso_date": day.isoformat(),
        "version": plumeline.__version__,
        "fields": list(FIELDS),
        "ends": list(ENDS),
        "site": site_part(job),
        "before": [
            *found.before_first_air,
            f"Relief valve set to {show(found.relief_pressure_pa, 'pa', system)}.",
        ],
        "steps": list(found.steps),
        "reading": _reading(found, system),
        "heads": [unit, "shows", "nine of ten", "read", "off"],
        "open": [block for block in blocks if block["full_open"]],
        "set_title": "Then: the valves set" if len(blocks) > 1 else "What each gauge must show",
        "valves": list(found.valves) if len(blocks) > 1 else [],
        "set": [block for block in blocks if not block["full_open"]],
        "verdict": _verdict(found),
        "safety": safety,
        "workings": workings_at(job.id, "air", "visits"),
        "notes": " ".join(
            [
                *(notice.text for notice in found.notices if notice.code != "air-under-pressure"),
                *found.assumptions,
            ]
        ),
    }


def _reading(found: CommissioningResult, system: System) -> str:
    """Return at which water the numbers hold, and how the sheet goes into a file."""
    step = convert(
        _WATER_PA_M * (0.0254 if system == "us" else 0.01), "pa", "psi" if system == "us" else "kpa"
    )
    each = f"{step:.3f} psi for every inch" if system == "us" else f"{step:.2f} kPa for every centimetre"
    if found.level_read:
        level = f"{show(abs(found.water_level_m), 'm', system)} {'over' if found.water_level_m >= 0.0 else 'under'}"
        level = "at" if found.water_level_m == 0.0 else level
    else:
        level = "at"
    return (
        f"The numbers hold with air of {show(found.intake_degc, 'degc', system)} at the intake and the water {level} "
        "the level at which the diffusers' depths hold; water over that adds "
        f"{each} to every gauge, less water takes it off. A gauge is off when it lies outside “nine of ten”: write by "
        "how much. What is written down with the gauges under “ports that were open” stands over each block."
    )


_WATER_PA_M = 9789.0


def _blocks(found: CommissioningResult, system: System) -> list[dict[str, Any]]:
    """Return a block for each standing of the valves, with what was read where it was."""
    read: dict[tuple[str, str], Compared] = {}
    for row in found.comparison.rows if found.comparison else ():
        read[(row.state, row.reading.place)] = row
    blocks = []
    for number, (state, items) in enumerate(groupby(found.expected, key=lambda item: item.state), start=1):
        rows, written = [], ""
        for item in items:
            written = item.open_ports
            band = f"{pressure(item.p05_pa, system)}–{pressure(item.p95_pa, system)}"
            name = item.place if item.place in ("compressor", "manifold") else f"port {item.place}"
            cells = _cells(read.get((state, item.place)), system)
            rows.append([name, pressure(item.expected_pa, system), band, *cells])
        title = f"{number}. {state[:1].upper()}{state[1:]}"
        words = f"ports that were open: {written or 'left empty'}"
        full = written.split(" ")[0] == "full"
        blocks.append({"title": title, "written": words, "rows": rows, "full_open": full})
    return blocks


def _cells(row: Compared | None, system: System) -> list[str]:
    """Return what was read and how far it is off; empty boxes where nothing was."""
    if row is None:
        return ["", ""]
    off = pressure(abs(row.off_pa), system)
    sign = "" if float(off) == 0.0 else "+" if row.off_pa > 0.0 else "-"
    mark = " !" if row.verdict is Verdict.DISAGREES else ""
    return [pressure(row.reading.pressure_pa, system), f"{sign}{off}{mark}"]


def _verdict(found: CommissioningResult) -> list[str]:
    """Return what the readings come to; nothing where none was taken."""
    compared = found.comparison
    if compared is None:
        return []
    rows = compared.disagreeing
    if rows:
        named = ", ".join(f"{row.reading.place} ({row.state})" for row in rows)
        return [f"{len(rows)} of {len(compared.rows)} gauges disagree, marked !: {named}. Read them again."]
    if compared.apart_together:
        return ["Each gauge agrees alone; together they fit no sound line. Read them again."]
    return [f"All {len(compared.rows)} gauges that were read may be those of a sound line."]
