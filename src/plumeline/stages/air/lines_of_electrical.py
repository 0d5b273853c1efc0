"""The electrician's figures, as names and values: the same lines in the shell and on paper."""

from __future__ import annotations

from plumeline.stages.air.electrical import DATUM_M, Conductor, DatumPlane, Electrical
from plumeline.units import both


def electrical_rows(found: Electrical) -> list[tuple[str, str]]:
    """Return the figures, values as pairs of units."""
    low_a, high_a = found.starting_low_a, found.starting_high_a
    starting = f"{high_a:.1f} A" if low_a == high_a else f"{low_a:.0f} to {high_a:.0f} A"
    return [
        ("voltage", f"{found.volts_v:g} V, single phase ({found.volts_words})"),
        ("power from the wall", both(found.power_w, "w")),
        ("running current", f"{found.running_current_a:.1f} A ({found.running_words})"),
        ("starting current", f"{starting} ({found.starting_words})"),
        ("counted as continuous", f"{found.continuous_current_a:.1f} A (125 %)"),
        ("circuit", _circuit(found)),
        ("wire from the panel", _feeder(found)),
        (f"energy, {found.hours_per_day:g} h a day", _energy(found)),
        ("ground-fault protection", found.gfci.value if found.has_power else "to be made with the outlet"),
        ("alarm when the air stops", found.trip_alarm.value),
        *_level_rows(found.datum),
    ]


def _energy(found: Electrical) -> str:
    """Return a month's energy and what it costs, or that no price is known."""
    energy = f"{found.energy_month_kwh:.0f} kWh in 30 days"
    if found.energy_month_money is None:
        return f"{energy}; no price is known"
    price = f"{found.energy_price_per_kwh:g} {found.currency} a kWh"
    return f"{energy}: {found.energy_month_money:.2f} {found.currency} at {price}"


def _circuit(found: Electrical) -> str:
    if not found.has_power:
        return "none yet: there is no power at the site"
    if found.circuit_current_a is None:
        return "not known: give power.volts_amps"
    return (
        f"{found.circuit_current_a:g} A: {'large enough' if found.circuit_enough else 'TOO SMALL for 125 %'}"
    )


def _feeder(found: Electrical) -> str:
    gauge = f", AWG {found.feeder_gauge} at hand" if found.feeder_gauge else ""
    if found.feeder_length_m is None:
        return f"length not known: give power.feeder_length{gauge}"
    least = f"AWG {found.least_gauge} or thicker" if found.least_gauge else "no size of the table is enough"
    return f"{both(found.feeder_length_m, 'm')} one way{gauge}: {least}"


def _level_rows(datum: DatumPlane) -> list[tuple[str, str]]:
    """Return the levels over today's water."""
    rows = [("electrical datum plane", f"{both(DATUM_M, 'm')} over the highest water: give power.high_water")]
    if datum.datum_m is not None and datum.outlet_m is not None:
        rows = [
            ("electrical datum plane", f"{both(datum.datum_m, 'm')} over today's water"),
            ("outlets, at the lowest", f"{both(datum.outlet_m, 'm')} over today's water"),
        ]
    if datum.compressor_m is None:
        return [*rows, ("compressor over the water", "not known: give air.rise")]
    rows.append(("compressor over today's water", both(datum.compressor_m, "m")))
    if datum.clearance_m is not None:
        side = "over" if datum.clearance_m >= 0.0 else "UNDER"
        rows.append(("compressor", f"{both(abs(datum.clearance_m), 'm')} {side} the electrical datum plane"))
    return rows


def wire_cells(wire: Conductor) -> list[str]:
    """Return the cells of one size of wire, values as pairs of units."""
    known = wire.voltage_drop_v is not None and wire.voltage_drop_fraction is not None
    return [
        wire.gauge,
        f"{wire.ampacity_a:.0f}",
        "yes" if wire.carries else "NO",
        f"{wire.voltage_drop_v:.1f}" if known else "–",
        f"{100.0 * (wire.voltage_drop_fraction or 0.0):.1f} %" if known else "–",
        "–" if wire.start_drop_fraction is None else f"{100.0 * wire.start_drop_fraction:.0f} %",
        both(wire.longest_run_m, "m"),
        "" if wire.enough is None else "enough" if wire.enough else "too thin",
    ]


WIRE_HEADS = (
    "AWG", "breaker\nA", "carries\nit", "drop\nV", "of the\nvoltage", "at the\nstart", "longest\nrun", "",
)  # fmt: skip
