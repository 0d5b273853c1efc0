"""The compressor: the job's own, or a generic one from the table, with its curve at the site."""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from plumeline.errors import InputError
from plumeline.job.document import Compressor, CurvePoint, Job
from plumeline.science.air import density_clapeyron_1834
from plumeline.sources import read_table

SEA_LEVEL_PRESSURE_PA = 101325.0
WIRE_EFFICIENCY = 0.3
"""Adiabatic power over power from the wall of a small machine: 20 to 40 %, from memory."""


@dataclass(frozen=True)
class Machine:
    """A compressor with its published curve: free air at the intake against gauge pressure at sea level."""

    name: str
    words: str
    curve: tuple[CurvePoint, ...]
    compression_efficiency: float
    count: int = 1
    max_pressure_pa: float | None = None
    relief_pressure_pa: float | None = None
    relief_given: bool = False
    power_w: float | None = None
    volts_v: float | None = None
    running_current_a: float | None = None
    starting_current_a: float | None = None
    noise_dba: float | None = None
    """Of one at 1 m."""
    open_power_fraction: float | None = None
    """Part of its power that one takes at an open outlet, rising straight to all at `max_pressure_pa`; None where its
    power is one figure."""
    outlet_limit_degc: float | None = None
    """Hottest air that it may give for long; None where nobody has said."""

    def power_at_w(self, gauge_pressure_pa: float) -> float | None:
        """Return the power from the wall of all machines at a gauge [Pa]; None where none is known."""
        if self.power_w is None:
            return None
        share_fraction = 1.0
        if self.open_power_fraction is not None and self.max_pressure_pa:
            part = min(max(gauge_pressure_pa / self.max_pressure_pa, 0.0), 1.0)
            share_fraction = self.open_power_fraction + (1.0 - self.open_power_fraction) * part
        return self.power_w * share_fraction * self.count

    def as_compressor(self) -> Compressor:
        """Return the machine as a part of a job."""
        return Compressor(
            name=self.name,
            curve=self.curve,
            relief_pressure_pa=self.relief_pressure_pa,
            efficiency=self.compression_efficiency,
            power_w=self.power_w,
            count=self.count,
            volts_v=self.volts_v,
            running_current_a=self.running_current_a,
            starting_current_a=self.starting_current_a,
            noise_dba=self.noise_dba,
        )


def _number(text: str) -> float | None:
    """Return a table's number, None where it states none."""
    return float(text) if text else None


def generic_machines() -> tuple[Machine, ...]:
    """Return the generic machines of the table, the least power first."""
    curves: dict[str, list[CurvePoint]] = {}
    for row in read_table("compressor_curves"):
        point = CurvePoint(
            pressure_pa=float(row["pressure_pa"]), intake_flow_m3_s=float(row["intake_flow_m3_s"])
        )
        curves.setdefault(row["name"], []).append(point)
    care = {row["name"]: row for row in read_table("compressor_care")}
    noise_dba = {name: float(row["noise_dba"]) for name, row in care.items()}
    machines = [
        Machine(
            name=row["name"],
            words=row["words"],
            curve=tuple(curves[row["name"]]),
            compression_efficiency=float(row["compression_efficiency"]),
            max_pressure_pa=_number(row["max_pressure_pa"]),
            relief_pressure_pa=_number(row["relief_pressure_pa"]),
            power_w=_number(row["power_w"]),
            volts_v=_number(row["volts_v"]),
            running_current_a=_number(row["running_current_a"]),
            starting_current_a=_number(row["starting_current_a"]),
            noise_dba=noise_dba.get(row["name"]),
            open_power_fraction=float(care[row["name"]]["open_power_fraction"])
            if row["name"] in care
            else None,
            outlet_limit_degc=float(care[row["name"]]["outlet_limit_degc"]) if row["name"] in care else None,
        )
        for row in read_table("compressors")
    ]
    return tuple(sorted(machines, key=lambda machine: machine.power_w or 0.0))


def hottest_known_degc() -> float:
    """Return the hottest air that any generic machine may give for long."""
    return max(float(row["outlet_limit_degc"]) for row in read_table("compressor_care"))


def check_curve(curve: tuple[CurvePoint, ...]) -> None:
    """Refuse a curve that no compressor has.

    Raises:
        InputError: fewer than two points, pressures that do not rise, a flow that rises with the pressure,
            or numbers that can only be in another unit.
    """
    place = "air.compressor.curve"
    if len(curve) < 2:
        raise InputError(
            f"the compressor's curve has {len(curve)} point.", remedy="Give two or more.", place=place
        )
    for before, after in pairwise(curve):
        if after.pressure_pa <= before.pressure_pa:
            raise InputError(
                f"the curve's pressures do not rise: {before.pressure_pa:.0f} Pa, then "
                f"{after.pressure_pa:.0f} Pa.",
                remedy="List the points by rising pressure.",
                place=place,
            )
        if after.intake_flow_m3_s > before.intake_flow_m3_s:
            raise InputError(
                f"the flow rises with the pressure, from {before.intake_flow_m3_s:.3g} to "
                f"{after.intake_flow_m3_s:.3g} m³/s.",
                remedy="A compressor gives less as its pressure rises; check the points.",
                place=place,
            )
    if curve[0].intake_flow_m3_s <= 0.0:
        raise InputError("the curve starts with no flow.", remedy="Check the points.", place=place)
    if curve[0].intake_flow_m3_s > 0.5 or not 1000.0 <= curve[-1].pressure_pa <= 2e6:
        raise InputError(
            f"the curve runs from {curve[0].intake_flow_m3_s:.3g} m³/s to {curve[-1].pressure_pa:.3g} Pa, "
            "which is no compressor of this kind.",
            remedy="Write the units out, such as '4.7 cfm' and '5 psig'.",
            place=place,
        )


def given_machine(job: Job) -> Machine | None:
    """Return the machine that the job names, or None when it names none.

    Raises:
        InputError: a name that is not in the table, or a curve that no compressor has.
    """
    asked = job.air.compressor
    if asked is None or (not asked.name and not asked.curve):
        return None
    known = {machine.name: machine for machine in generic_machines()}
    table = known.get(asked.name)
    if not asked.curve and table is None:
        near = difflib.get_close_matches(asked.name, known, n=2) or list(known)
        raise InputError(
            f"there is no generic compressor named {asked.name!r}, and no curve is given.",
            remedy=f"Give a curve, or one of: {'; '.join(near)}.",
            place="air.compressor",
        )
    curve = asked.curve or (table.curve if table else ())
    check_curve(curve)
    relief_pa = asked.relief_pressure_pa
    own = "efficiency" in asked.model_fields_set or table is None
    return Machine(
        name=asked.name or "own compressor",
        words=table.words if table else (asked.name or "compressor with its own curve"),
        curve=curve,
        compression_efficiency=asked.efficiency if own or table is None else table.compression_efficiency,
        count=asked.count,
        max_pressure_pa=table.max_pressure_pa if table and not asked.curve else curve[-1].pressure_pa,
        relief_pressure_pa=relief_pa or (table.relief_pressure_pa if table else None),
        relief_given=relief_pa is not None,
        power_w=asked.power_w or (table.power_w if table else None),
        volts_v=asked.volts_v or (table.volts_v if table else None),
        running_current_a=asked.running_current_a or (table.running_current_a if table else None),
        starting_current_a=asked.starting_current_a or (table.starting_current_a if table else None),
        noise_dba=asked.noise_dba if asked.noise_dba is not None else (table.noise_dba if table else None),
        outlet_limit_degc=table.outlet_limit_degc if table and not asked.curve else None,
        open_power_fraction=table.open_power_fraction
        if table and not asked.curve and asked.power_w is None
        else None,
    )


def curve_at_site(
    machine: Machine, ambient_pressure_pa: float, intake_temperature_k: float, filter_loss_pa: float = 0.0
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the curve at the site: gauge pressures [Pa] and mass flows [kg/s].

    A piston or vane loses volume with the pressure *ratio*, so each point of the curve keeps its ratio over the air
    behind the filter; the free air drawn in stays the same volume, of thinner air when high up, hot or behind a
    dirty filter.
    """
    intake_pa = ambient_pressure_pa - filter_loss_pa
    density_kg_m3 = density_clapeyron_1834(intake_pa, intake_temperature_k)
    ratio = np.array([1.0 + point.pressure_pa / SEA_LEVEL_PRESSURE_PA for point in machine.curve])
    flow_kg_s = np.array([point.intake_flow_m3_s * machine.count * density_kg_m3 for point in machine.curve])
    return ratio * intake_pa - ambient_pressure_pa, flow_kg_s
