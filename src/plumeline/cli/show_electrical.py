"""What the electrician must know, for people."""

from __future__ import annotations

import textwrap

from plumeline.cli.figures import EMPTY, percent
from plumeline.cli.tables import WIDTH, listing, table
from plumeline.pairs import said
from plumeline.stages.air.electrical import Conductor, DatumPlane, Electrical
from plumeline.stages.air.electrical_words import FOR_WHOM
from plumeline.units import show
from plumeline.units.showing import System


def electrical_blocks(found: Electrical | None, units: System) -> list[str]:
    """Return the texts for the electrician: figures, wires, points to check."""
    if found is None:
        return []
    points = "\n".join(
        textwrap.fill(said(text, units), WIDTH, initial_indent="  - ", subsequent_indent="    ")
        for text in (FOR_WHOM, *found.checklist)
    )
    return [
        listing(electrical_rows(found, units), title="Electrical, for the licensed electrician"),
        _wires(found, units),
        f"Points for the licensed electrician\n{points}",
    ]


def electrical_rows(found: Electrical, units: System) -> list[tuple[str, str]]:
    """Return the figures, name and text."""
    low, high = found.starting_low_a, found.starting_high_a
    starting = f"{high:.1f} A" if low == high else f"{low:.0f} to {high:.0f} A"
    return [
        ("voltage", f"{found.volts:g} V, single phase ({found.volts_words})"),
        ("running current", f"{found.running_current_a:.1f} A ({found.running_words})"),
        ("starting current", f"{starting} ({found.starting_words})"),
        ("counted as continuous", f"{found.continuous_current_a:.1f} A (125 %)"),
        ("circuit", _circuit(found)),
        ("wire from the panel", _feeder(found, units)),
        (
            f"energy, {found.hours_per_day:g} h a day",
            f"{found.energy_month_kwh:.0f} kWh in 30 days, {money_words(found)}",
        ),
        ("ground-fault protection", found.gfci.value),
        ("alarm when the air stops", found.trip_alarm.value),
        *_levels(found.datum, units),
    ]


def money_words(found: Electrical) -> str:
    """Return what a month's energy costs, or that no price is known."""
    if found.energy_month_money is None:
        return "no price known"
    price = f"{found.energy_price_per_kwh:g} {found.currency}/kWh"
    return f"{found.energy_month_money:.2f} {found.currency} at {price}"


def _circuit(found: Electrical) -> str:
    if found.circuit_current_a is None:
        return "not known: give power.volts_amps"
    return (
        f"{found.circuit_current_a:g} A: {'large enough' if found.circuit_enough else 'TOO SMALL for 125 %'}"
    )


def _feeder(found: Electrical, units: System) -> str:
    gauge = f", AWG {found.feeder_gauge} at hand" if found.feeder_gauge else ""
    if found.feeder_length_m is None:
        return f"length not known: give power.feeder_length{gauge}"
    least = f"AWG {found.least_gauge} or thicker" if found.least_gauge else "no size of the table is enough"
    return f"{show(found.feeder_length_m, 'm', units)} one way{gauge}: {least}"


def _levels(datum: DatumPlane, units: System) -> list[tuple[str, str]]:
    """Return the levels over today's water."""
    stands = EMPTY if datum.compressor_m is None else show(datum.compressor_m, "m", units)
    if datum.datum_m is None or datum.outlet_m is None:
        two = show(0.6096, "m", units)
        return [
            ("electrical datum plane", f"{two} over the highest water: give power.high_water"),
            ("compressor over the water", stands),
        ]
    rows = [
        ("electrical datum plane", f"{show(datum.datum_m, 'm', units)} over today's water"),
        ("outlets, at the lowest", f"{show(datum.outlet_m, 'm', units)} over today's water"),
        ("compressor over the water", stands),
    ]
    if datum.clearance_m is not None:
        side = "over" if datum.clearance_m >= 0.0 else "UNDER"
        rows.append(
            ("compressor", f"{show(abs(datum.clearance_m), 'm', units)} {side} the electrical datum plane")
        )
    return rows


def _wires(found: Electrical, units: System) -> str:
    rows: list[tuple[str, ...]] = [
        (
            wire.gauge,
            f"{wire.ampacity_a:.0f}",
            "yes" if wire.carries else "NO",
            EMPTY if wire.voltage_drop_v is None else f"{wire.voltage_drop_v:.1f}",
            EMPTY if wire.voltage_drop_fraction is None else percent(wire.voltage_drop_fraction, 1),
            EMPTY if wire.start_drop_fraction is None else percent(wire.start_drop_fraction, 0),
            show(wire.longest_run_m, "m", units),
            _state(wire),
        )
        for wire in found.conductors
    ]
    known = found.feeder_length_m is not None
    heads = (
        "AWG", "breaker\nA", "carries\n125 %", "drop\nV", "of the\nvoltage", "at the\nstart", "longest\nrun", "",
    )  # fmt: skip
    count = len(heads) if known else len(heads) - 1
    return table(
        heads[:count],
        rows,
        align="rrlrrrrl"[:count],
        title="Wire, one way, 3 % running and 15 % at the start",
    )


def _state(wire: Conductor) -> str:
    if wire.enough is None:
        return ""
    return "enough" if wire.enough else "too thin"
