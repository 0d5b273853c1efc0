"""What the gauges of an air line say, for people."""

from __future__ import annotations

from plumeline.cli.figures import bullets, shown
from plumeline.cli.tables import listing, table
from plumeline.pairs import said
from plumeline.stages.air.fault_growth import Growth
from plumeline.stages.air.fault_stage import FaultsResult
from plumeline.units import show
from plumeline.units.showing import System

MOST_ROWS, MOST_CHECKS = 8, 4
LEAST_BITS = 0.005  # shown as 0.00 it tells nothing


def _share(value: float) -> str:
    return "under 1 %" if value < 0.01 else f"{100.0 * value:.0f} %"


def fault_blocks(result: FaultsResult, units: System) -> list[str]:
    """Return the texts of a visit's gauges."""
    found = result.found
    blocks = [_read(result, units), _ranked(result, units)]
    checks = [
        (item.what, f"{item.information_number:.2f} bits of the cause")
        for item in found.checks[:MOST_CHECKS]
        if item.information_number >= LEAST_BITS
    ] or [("nothing on the list", "no one reading would change these odds: look at the line itself")]
    blocks.append(listing(checks, title="What to read next, the most telling first"))
    proofs: dict[str, str] = {}
    for row in found.ranked[:MOST_ROWS]:
        proofs.setdefault(row.cause, row.check)
    blocks.append(listing(list(proofs.items()), title="What proves each on the spot"))
    blocks.append(bullets(result.safe_order, "The safe order of work", units))
    if result.growth is not None:
        blocks.append(_growth(result.growth, units))
    return blocks


def _read(result: FaultsResult, units: System) -> str:
    """Return what was read beside a sound line and the likeliest faults."""
    faulty = [row for row in result.found.ranked if row.cause not in ("nothing wrong", "none of these")][:2]
    first = any(value is not None for value in result.accepted_pa)
    headers = [
        "gauge",
        "open",
        "read",
        *(["accepted,\nthis water"] if first else []),
        "sound\nline",
        *(f"{row.cause}\n{row.place}".strip() for row in faulty),
    ]
    rows = []
    for k, item in enumerate(result.readings):
        ports = "as set" if item.open_ports is None else " ".join(item.open_ports)
        ports = f"full {ports if item.open_ports else ''}".strip() if item.full_open else ports
        cells = [item.pressure_pa, *([result.accepted_pa[k]] if first else []), result.found.sound_pa[k]]
        cells += [row.picture_pa[k] for row in faulty]
        rows.append([item.place, ports, *(shown(value, "pa", units) for value in cells)])
    return table(headers, rows, title="Gauges of the last visit, and what each fault would show")


def _ranked(result: FaultsResult, units: System) -> str:
    """Return causes and places by probability."""
    rows = [
        [row.cause, row.place or "–", _share(row.probability), said(row.severity, units) or "–"]
        for row in result.found.ranked[:MOST_ROWS]
    ]
    return table(["cause", "where", "odds", "likeliest"], rows, align="llrl", title="What it may be")


def _growth(found: Growth, units: System) -> str:
    """Return the rise of the gauge and when the membranes need care."""

    def rise(value: float) -> str:
        return show(value, "pa", units, gauge=None)

    band = f"{rise(found.rise_pa)} ({rise(found.rise_p05_pa)} to {rise(found.rise_p95_pa)})"
    when = "not in ten years at this rate" if found.care_date is None else found.care_date.date().isoformat()
    if found.care_date is not None:
        early = found.care_from.date().isoformat() if found.care_from else "?"
        late = found.care_until.date().isoformat() if found.care_until else "never, for all that is known"
        when += f" (from {early} to {late})"
    return listing(
        [
            ("visits", str(found.visits)),
            ("rise in 30 days", band),
            ("care at a rise of", show(found.care_pa, "pa", units, gauge=None)),
            ("care of the membranes", when),
        ],
        title="How the compressor's gauge grows, the water's level taken off",
    )
