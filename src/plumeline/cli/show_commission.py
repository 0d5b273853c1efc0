"""The commissioning sheet for people."""

from __future__ import annotations

from itertools import groupby
from pathlib import Path

from plumeline.cli.figures import bullets, column, gauge_unit, pressure_step
from plumeline.cli.tables import listing, table
from plumeline.files.toml_values import JOB_FILE
from plumeline.job.document import AsBuilt
from plumeline.stages.air.commissioning import CommissioningResult
from plumeline.stages.air.sheet_compare import Comparison, Verdict
from plumeline.units import show
from plumeline.units.showing import System

MOST_SUSPECTS, MOST_CHECKS = 4, 2


def commission_blocks(found: CommissioningResult, units: System) -> list[str]:
    """Return the texts of a sheet: before the first air, the order, the gauges, what was read."""
    blocks = [
        bullets(found.before_first_air, "Before the first air", units),
        _head(found, units),
        bullets(found.steps, "The order of the work", units),
        *([bullets(found.valves, "The valves, when they are set", units)] if len(found.valves) > 1 else []),
        _sheet(found, units),
    ]
    if found.comparison is not None:
        blocks += [_read(found, units), _said(found, units)]
    if found.missing:
        blocks.append(bullets(found.missing, "Not read yet", units))
    if found.suspects is not None:
        blocks += _suspects(found)
    return blocks


def _head(found: CommissioningResult, units: System) -> str:
    level = show(found.water_level_m, "m", units)
    how = "" if found.level_read else ", not read"
    return listing(
        [
            ("water on the staff gauge", f"{level}{how} (over the level of the depths)"),
            ("air at the intake", show(found.intake_degc, "degc", units)),
            ("relief valve", show(found.relief_pressure_pa, "pa", units)),
        ],
        title="The day",
    )


def _sheet(found: CommissioningResult, units: System) -> str:
    """Return every gauge with its band; the standing of the valves once for its block."""
    rows = []
    for state, items in groupby(found.expected, key=lambda item: item.state):
        for k, item in enumerate(items):
            band = f"{column(item.p05_pa, 'pa', units, 2)} to {column(item.p95_pa, 'pa', units, 2)}"
            first = k == 0
            rows.append(
                (
                    state if first else "",
                    (item.open_ports or "(empty)") if first else "",
                    item.place,
                    column(item.expected_pa, "pa", units, 2),
                    band,
                )
            )
    heads = (
        "valves",
        "open_ports\nin the file",
        "gauge",
        f"shows\n{gauge_unit(units)}",
        f"nine of ten\nsound, {gauge_unit(units)}",
    )
    return table(heads, rows, align="lllrr", title="What each gauge must show")


def _read(found: CommissioningResult, units: System) -> str:
    """Return what was read beside what is expected, off in pressure and in widths of the band."""
    assert found.comparison is not None
    rows = [
        (
            row.state,
            row.reading.place,
            column(row.reading.pressure_pa, "pa", units, 2),
            column(row.expected_pa, "pa", units, 2),
            _signed(column(row.off_pa, "pa", units, 2)),
            f"{row.off_widths_number:+.2f}",
            row.verdict.value,
        )
        for row in found.comparison.rows
    ]
    unit = gauge_unit(units)
    step = unit.removesuffix("g") if units == "us" else unit
    heads = (
        "valves",
        "gauge",
        f"read\n{unit}",
        f"must show\n{unit}",
        f"off\n{step}",
        "off, in widths\nof the band",
        "",
    )
    return table(heads, rows, align="llrrrrl", title="What was read")


def _signed(number: str) -> str:
    return number if number.startswith("-") else f"+{number}"


def _said(found: CommissioningResult, units: System) -> str:
    """Return what the readings come to, in words."""
    compared = found.comparison
    assert compared is not None
    texts = [
        f"A gauge disagrees when it is off by more than {compared.limit_number:.2f} widths of its band: the worst "
        "gauge of 19 in 20 sound lines stays within.",
        f"Of {compared.draw_count} drawn sound lines {compared.as_far_count} lie as far off, all gauges together.",
    ]
    worst = compared.disagreeing
    if worst:
        row = worst[0]
        off = pressure_step(abs(row.off_pa), units)
        way = "over" if row.off_pa > 0 else "under"
        texts.append(f"Farthest off: {row.reading.place} with {row.state}, {off} {way} what it must show.")
        alone = _only_now(compared)
        if alone:
            texts.append(
                f"{', '.join(alone)}: the same gauge agrees with the valves otherwise. A slip of the eye or the pen, "
                "or a valve that stood as the file does not say, comes before a fault of the line."
            )
    elif compared.agrees:
        texts.append("No gauge disagrees.")
    return bullets(texts, "What that says", units)


def _only_now(compared: Comparison) -> list[str]:
    """Return the places whose gauge disagrees once and agrees every other time, two times or more."""
    found = []
    for row in compared.disagreeing:
        others = [
            item.verdict
            for item in compared.rows
            if item.reading.place == row.reading.place and item is not row
        ]
        if len(others) >= 2 and all(verdict is Verdict.AGREES for verdict in others):
            found.append(row.reading.place)
    return found


def _suspects(found: CommissioningResult) -> list[str]:
    """Return what may be wrong, and what to read next."""
    assert found.suspects is not None
    causes = [
        (f"{row.cause} {row.place}".strip(), f"{100.0 * row.probability:.0f} %; {row.check}")
        for row in found.suspects.ranked[:MOST_SUSPECTS]
    ]
    checks = [
        (item.what, f"{item.information_number:.2f} bits of the cause")
        for item in found.suspects.checks[:MOST_CHECKS]
    ]
    return [
        listing(causes, title="What it may be, as faults weighs it"),
        listing(checks, title="What to read next, the most telling first"),
    ]


def accepted_block(built: AsBuilt, folder: Path) -> str:
    """Return what was kept, and where."""
    record = built.commissioned
    assert record is not None
    rows = [
        ("written into", str(folder / JOB_FILE)),
        ("accepted by", f"{record.accepted_by}, {record.accepted_on.isoformat()}"),
        ("gauges kept", str(len(record.gauges))),
        ("built on", built.made_on.isoformat()),
    ]
    if record.reason:
        rows.append(("although gauges disagreed", record.reason))
    return listing(rows, title="Accepted as built")
