"""equipment.csv: the contractor's own compressors, a row for each point of a curve."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from typing import Any, NamedTuple

from pydantic import ValidationError

from plumeline.errors import PlumelineError
from plumeline.files.findings import Findings
from plumeline.files.headers import Column
from plumeline.files.limits import limits_of
from plumeline.files.tables import Table, read_table, without_round_off
from plumeline.job.document import CurvePoint, OwnCompressor
from plumeline.science.air import adiabatic_power_perry_2008
from plumeline.units import parse_air

FILE = "equipment.csv"
SEA_LEVEL_PA = 101325.0
LEAST_END_PA, MOST_END_PA, MOST_FLOW_M3_S = 1000.0, 2e6, 0.5
"""A curve that ends outside these, or starts with more, is in other units than its header says."""

FLOW_UNITS = {
    "intake_flow_m3_s": "m3/s", "intake_flow_cfm": "cfm", "intake_flow_scfm": "scfm",
    "intake_flow_m3_h": "m3/h", "intake_flow_l_min": "L/min",
}  # fmt: skip
"""Headers of the flow, and the unit of a bare number under them; under ``intake_flow`` each cell names its own."""
ONCE = (
    "volts", "running_current_a", "compression_efficiency", "max_pressure_pa", "relief_pressure_pa",
    "outlet_limit_degc", "duty_fraction", "noise_dba", "install_each", "service_interval_h", "service_each",
    "rebuild_interval_h", "rebuild_each",
)  # fmt: skip
"""What a machine has once: it may stand in any row of its name."""
EXAMPLES = {
    "volts": "115", "running_current_a": "4.6", "compression_efficiency": "0.5", "max_pressure_pa": "25 psig",
    "relief_pressure_pa": "30 psig", "outlet_limit_degc": "275 degF", "duty_fraction": "1", "noise_dba": "57",
    "service_interval_h": "4380", "rebuild_interval_h": "17520",
}  # fmt: skip

COLUMNS = (
    Column("name", required=True, kind="text", example="shop 1/2 hp"),
    Column("pressure_pa", required=True, limits=limits_of(CurvePoint, "pressure_pa"), example="10 psig"),
    Column("intake_flow", kind="text", example="4.1 cfm"),
    *(Column(name, kind="text", example="4.1") for name in FLOW_UNITS),
    Column("power_w", blank_ok=True, limits=limits_of(OwnCompressor, "purchase_each"), example="410"),
    Column("purchase_each", blank_ok=True, limits=limits_of(OwnCompressor, "purchase_each"), example="780"),
    *(
        Column(name, blank_ok=True, limits=limits_of(OwnCompressor, name), example=EXAMPLES.get(name, "120"))
        for name in ONCE
    ),
)


class _Point(NamedTuple):
    """One row of a curve."""

    row: int
    pressure_pa: float
    flow_m3_s: float
    power_w: float | None


def read_equipment(path: Path, findings: Findings) -> tuple[OwnCompressor, ...]:
    """Return the compressors of the file, none where there is no file; faults are added with their lines."""
    table = read_table(path, COLUMNS, findings)
    if table is None:
        return ()
    flows_m3_s = _flows(table, findings)
    if flows_m3_s is None:
        return ()
    groups: dict[str, list[int]] = {}
    for index in range(len(table.rows)):
        groups.setdefault(table.text("name", index), []).append(index)
    found = [_machine(table, name, indices, flows_m3_s, findings) for name, indices in groups.items()]
    return tuple(machine for machine in found if machine is not None)


def _flows(table: Table, findings: Findings) -> list[float | None] | None:
    """Return the flow of each row in m³/s of free air, or None after a fault on the columns."""
    used = [name for name in ("intake_flow", *FLOW_UNITS) if name in table.texts]
    if len(used) != 1:
        problem = "has no column of flow." if not used else f"has the columns {' and '.join(used)}."
        remedy = "Give one: intake_flow_cfm (or intake_flow_m3_s, intake_flow_l_min), the free air drawn in."
        findings.fault(table.name, "", problem, remedy)
        return None
    name = used[0]
    found: list[float | None] = []
    for index, row in enumerate(table.rows):
        cell = table.text(name, index).strip()
        try:
            text = cell
            if name == "intake_flow_m3_s" and _is_number(cell):
                found.append(parse_air(float(cell.replace(",", ".")), "intake").flow_m3_s)
                continue
            if name != "intake_flow":
                text = (
                    f"{float(cell.replace(',', '.')):.12g} {FLOW_UNITS[name]}" if _is_number(cell) else cell
                )
            elif _is_number(cell):
                raise ValueError
            flow = parse_air(text, "intake")
            # a maker's scfm is free air at his test, at sea level and 68 °F; the machine draws that volume anywhere
            found.append(without_round_off(flow.flow_m3_s))
        except (PlumelineError, ValueError) as error:
            said = error.message if isinstance(error, PlumelineError) else f"{cell!r} has no unit."
            findings.fault(
                table.name,
                f"row {row}, {name}",
                said,
                "Write the free air drawn in, as 4.1 cfm.",
                kind="flow",
            )
            found.append(None)
    return found


def _is_number(cell: str) -> bool:
    try:
        float(cell.replace(",", "."))
    except ValueError:
        return False
    return True


def _machine(
    table: Table, name: str, indices: list[int], flows_m3_s: list[float | None], findings: Findings
) -> OwnCompressor | None:
    """Return the machine whose points stand in the rows of one name, or None after a fault."""
    before = len(findings.faults)
    points = [
        _Point(table.rows[index], pressure, flow, table.number("power_w", index))
        for index in indices
        if (pressure := table.number("pressure_pa", index)) is not None
        and (flow := flows_m3_s[index]) is not None
    ]
    if len(points) < len(indices):
        return None
    _check_points(table.name, name, points, findings)
    powers = _powers(table, name, points, findings)
    once = {column: _once(table, name, column, indices, findings) for column in (*ONCE, "purchase_each")}
    if once["purchase_each"] is None:
        _fault(
            table,
            indices[0],
            "purchase_each",
            f"{name} has no price.",
            "Give what it costs to buy, once.",
            findings,
        )
    if len(findings.faults) > before:
        return None
    curve = [CurvePoint(pressure_pa=pressure, intake_flow_m3_s=flow) for _, pressure, flow, _ in points]
    try:
        return OwnCompressor(name=name, curve=tuple(curve), power_w=tuple(powers), **_known(once))
    except ValidationError as error:
        for entry in error.errors():
            key = ".".join(str(step) for step in entry["loc"])
            _fault(
                table, indices[0], key, f"{name}: {entry['msg'].lower()}.", "Check it and its unit.", findings
            )
        return None


def _known(once: dict[str, float | None]) -> dict[str, Any]:
    return {key: value for key, value in once.items() if value is not None}


def _fault(table: Table, index: int, key: str, problem: str, remedy: str, findings: Findings) -> None:
    findings.fault(table.name, f"row {table.rows[index]}, {key}", problem, remedy)


def _check_points(file: str, name: str, points: list[_Point], findings: Findings) -> None:
    """Add faults on a curve: one point, not monotone, or in the wrong units."""
    first_row, last_row = points[0][0], points[-1][0]
    if len(points) < 2:
        remedy = "Give a row for each point, two at least, from open outlet to the highest pressure."
        findings.fault(file, f"row {first_row}", f"{name} has one point only.", remedy)
        return
    for (_, low, much, _), (row, high, less, _) in pairwise(points):
        if high <= low:
            problem = f"{name} stands at {high:g} Pa here, no higher than the {low:g} Pa of the point before."
            findings.fault(
                file, f"row {row}, pressure", problem, "Order its rows by pressure, each pressure once."
            )
        elif less > much:
            problem = (
                f"{name} gives more air here ({less:.4g} m³/s at {high:.0f} Pa) than at the lower pressure "
                f"before ({much:.4g} m³/s)."
            )
            remedy = "A compressor gives less air at more pressure; look for exchanged numbers."
            findings.fault(file, f"row {row}, intake_flow", problem, remedy)
    if not LEAST_END_PA <= points[-1][1] <= MOST_END_PA:
        problem = f"{name} ends at {points[-1][1]:.4g} Pa, which no machine for a pond does."
        remedy = "Call the column pressure_psig if these are psi, or pressure_kpa, pressure_bar."
        findings.fault(file, f"row {last_row}, pressure", problem, remedy)
    if not 0.0 < points[0][2] <= MOST_FLOW_M3_S:
        problem = (
            f"{name} draws {points[0][2]:.4g} m³/s at the open outlet, which no machine for a pond does."
        )
        remedy = "Call the column intake_flow_cfm if these are cfm, or intake_flow_l_min."
        findings.fault(file, f"row {first_row}, intake_flow", problem, remedy)


def _powers(table: Table, name: str, points: list[_Point], findings: Findings) -> list[float]:
    """Return the power at each point, or the one for all; a fault where the air alone would take more."""
    given = [(row, power) for row, _, _, power in points if power is not None]
    if not given:
        remedy = "Give the power from the wall in W, once or at each point."
        findings.fault(table.name, f"row {points[0][0]}, power_w", f"{name} has no power.", remedy)
        return []
    if len(given) not in (1, len(points)):
        remedy = "Give it once, or at each point of the curve."
        problem = f"{name} has its power at {len(given)} of {len(points)} points."
        findings.fault(table.name, f"row {given[0][0]}, power_w", problem, remedy)
        return []
    for row, pressure, flow, power in points:
        have = given[0][1] if power is None else power
        ideal_w = (
            adiabatic_power_perry_2008(SEA_LEVEL_PA, flow, 1.0 + pressure / SEA_LEVEL_PA) if pressure else 0.0
        )
        if have <= ideal_w:
            problem = f"{name} takes {have:g} W where compressing its air takes {ideal_w:.0f} W even without any loss."
            remedy = (
                "Check the units: power in W (or power_kw, power_hp), flow as free air, pressure as gauge."
            )
            findings.fault(table.name, f"row {row}, power_w", problem, remedy)
            break
    return [power for _, power in given]


def _once(table: Table, name: str, column: str, indices: list[int], findings: Findings) -> float | None:
    """Return what a machine has once; a fault where two of its rows say two things."""
    found = {value for index in indices if (value := table.number(column, index)) is not None}
    if len(found) > 1:
        words = " and ".join(f"{value:g}" for value in sorted(found))
        _fault(table, indices[-1], column, f"{name} has {words} in its rows.", "Say it once.", findings)
    return min(found, default=None)


def equipment_rows(machines: tuple[OwnCompressor, ...]) -> tuple[tuple[str, ...], list[list[Any]]]:
    """Return heading and rows of the file that holds these machines."""
    heading = ("name", "pressure_pa", "intake_flow_m3_s", "power_w", "purchase_each", *ONCE)
    rows: list[list[Any]] = []
    for machine in machines:
        for index, point in enumerate(machine.curve):
            power = machine.power_w[index] if index < len(machine.power_w) else None
            once = [getattr(machine, key) if index == 0 else None for key in ("purchase_each", *ONCE)]
            rows.append([machine.name, point.pressure_pa, point.intake_flow_m3_s, power, *once])
    return heading, rows
