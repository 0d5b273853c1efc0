"""The figures of a choice as cells of a table, the same for shell and paper."""

from __future__ import annotations

from plumeline.stages.choice.life_cost import PARTS
from plumeline.stages.choice.result import ChoiceResult, Combination, CostAtDistance
from plumeline.stages.choice.verdicts import money
from plumeline.units import plain, show, show_air
from plumeline.units.showing import System


def winner_rows(found: ChoiceResult, units: System) -> list[tuple[str, str]]:
    """Return the figures of the winner."""
    one = found.winner
    if one is None or one.cost is None:
        return []
    cost, currency = one.cost, found.currency
    rows = [
        ("take", one.words),
        (f"life-cycle cost, {found.years} years", money(cost.total_money, currency)),
        *((f"  {part}", money(cost.part_money(part), currency)) for part in PARTS),
        (
            "energy",
            f"{plain(cost.yearly_energy_kwh, 0)} kWh a year, {show(one.power_w or 0.0, 'w', units)} running",
        ),
        ("air of each diffuser", show_air(one.air_per_diffuser_m3_s or 0.0, units)),
    ]
    if one.turnover_per_day is not None:
        rows.append(
            ("turnovers a day", f"{one.turnover_per_day:.2f}, {found.wanted_turnover_per_day:g} wanted")
        )
    if one.served_fraction is not None:
        rows.append(("served by its nearest diffuser", f"{100.0 * one.served_fraction:.0f} % of the water"))
    return [*rows, *margin_rows(one, units)]


def margin_rows(one: Combination, units: System) -> list[tuple[str, str]]:
    """Return how far a combination stays from its limits."""
    rows = [
        ("gauge at the compressor", show(one.compressor_pressure_pa or 0.0, "pa", units)),
        ("under its limit for all day by", show(one.pressure_margin_pa or 0.0, "pa", units, gauge=None)),
    ]
    if one.relief_margin_pa is not None:
        rows.append(("under its relief valve by", show(one.relief_margin_pa, "pa", units, gauge=None)))
    if one.hot_outlet_degc is not None and one.outlet_margin_degc is not None:
        hot = show(one.hot_outlet_degc, "degc", units)
        step = one.outlet_margin_degc * (1.8 if units == "us" else 1.0)
        rows.append(
            (
                "discharge on the hot day",
                f"{hot}, {step:.0f} {'°F' if units == 'us' else '°C'} under its limit",
            )
        )
    if one.metal_length_m is not None:
        rows.append(("metal for the first", show(one.metal_length_m, "m", units)))
    rows.append(
        (f"noise at {'3 ft 3 in' if units == 'us' else '1 m'}", f"{one.noise_dba:.0f} dB(A), one machine")
    )
    return rows


def distance_rows(found: ChoiceResult) -> list[tuple[str, str]]:
    """Return what each way costs at the job's own distance."""
    if found.service is None:
        return []
    here = found.service.here
    return [(name, _cost(value, found.currency)) for name, value in _ways(here)]


def _ways(here: CostAtDistance) -> list[tuple[str, float | None]]:
    pipe = f" ({here.line_pipe})" if here.line_pipe else ""
    wire = f" ({here.wire_gauge} AWG)" if here.wire_gauge else ""
    return [
        (f"long air line{pipe}", here.line_money),
        (f"wire to the pond{wire}", here.wire_money),
        ("new service at the pond", here.service_money),
    ]


def _cost(value_money: float | None, currency: str) -> str:
    return "none does it" if value_money is None else money(value_money, currency)
