"""The compressors to choose from: generic ones, the contractor's own, and the one the job names."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from plumeline.job.document import Job, OwnCompressor
from plumeline.notices import Notice, caution, note
from plumeline.science.air import adiabatic_power_perry_2008
from plumeline.sources import read_table
from plumeline.stages.air.machine import (
    SEA_LEVEL_PRESSURE_PA,
    WIRE_EFFICIENCY,
    Machine,
    generic_machines,
    given_machine,
)
from plumeline.stages.choice.terms import Terms

MOST_SIDE_BY_SIDE_COUNT = 2


@dataclass(frozen=True)
class Entry:
    """One compressor (or two side by side) with what it costs to buy and to keep; figures are of one machine."""

    machine: Machine
    origin: Literal["generic", "own", "job"]
    power_pressure_pa: tuple[float, ...]
    power_w: tuple[float, ...]
    """Power from the wall at those gauge pressures."""
    purchase_money: float
    install_money: float
    duty_fraction: float
    noise_dba: float
    outlet_limit_degc: float
    service_interval_h: float
    service_money: float
    rebuild_interval_h: float
    rebuild_money: float

    @property
    def count(self) -> int:
        """Machines side by side."""
        return self.machine.count

    @property
    def words(self) -> str:
        """Its name for people."""
        return f"{self.count} × {self.machine.words}" if self.count > 1 else self.machine.words

    def power_at_w(self, gauge_pressure_pa: float) -> float:
        """Return the power from the wall of all machines at a gauge pressure [Pa]."""
        return float(np.interp(gauge_pressure_pa, self.power_pressure_pa, self.power_w)) * self.count


def _generic() -> tuple[Entry, ...]:
    """Return the generic machines with what they cost to keep."""
    care = {row["name"]: row for row in read_table("compressor_care")}
    found = []
    for machine in generic_machines():
        row = care[machine.name]
        full_w = machine.power_w or 0.0
        found.append(
            Entry(
                machine=machine,
                origin="generic",
                power_pressure_pa=(0.0, machine.max_pressure_pa or machine.curve[-1].pressure_pa),
                power_w=(full_w * float(row["open_power_fraction"]), full_w),
                purchase_money=float(row["purchase_each"]),
                install_money=float(row["install_each"]),
                duty_fraction=float(row["duty_fraction"]),
                noise_dba=float(row["noise_dba"]),
                outlet_limit_degc=float(row["outlet_limit_degc"]),
                service_interval_h=float(row["service_interval_h"]),
                service_money=float(row["service_each"]),
                rebuild_interval_h=float(row["rebuild_interval_h"]),
                rebuild_money=float(row["rebuild_each"]),
            )
        )
    return tuple(found)


def _like(generic: tuple[Entry, ...], power_w: float) -> Entry:
    """Return the generic machine of nearest power."""
    return min(generic, key=lambda entry: abs((entry.machine.power_w or 0.0) - power_w))


def _own(own: OwnCompressor, generic: tuple[Entry, ...]) -> tuple[Entry, tuple[str, ...]]:
    """Return a machine of the contractor's list, and which of its figures are taken from a generic one."""
    top_w = max(own.power_w)
    like = _like(generic, top_w)
    taken: list[str] = []

    def known(value: float | None, least: float, what: str) -> float:
        if value is None:
            taken.append(what)
            return least
        return value

    machine = Machine(
        name=own.name,
        words=own.name,
        curve=own.curve,
        compression_efficiency=known(
            own.compression_efficiency, like.machine.compression_efficiency, "efficiency"
        ),
        max_pressure_pa=own.max_pressure_pa or own.curve[-1].pressure_pa,
        relief_pressure_pa=own.relief_pressure_pa,
        relief_given=own.relief_pressure_pa is not None,
        power_w=top_w,
        volts_v=own.volts,
        running_current_a=own.running_current_a,
    )
    pressure_pa = tuple(point.pressure_pa for point in own.curve)
    entry = Entry(
        machine=machine,
        origin="own",
        power_pressure_pa=pressure_pa if len(own.power_w) > 1 else pressure_pa[:1],
        power_w=own.power_w,
        purchase_money=own.purchase_each,
        install_money=known(own.install_each, like.install_money, "installation"),
        duty_fraction=known(own.duty_fraction, like.duty_fraction, "duty"),
        noise_dba=known(own.noise_dba, like.noise_dba, "noise"),
        outlet_limit_degc=known(own.outlet_limit_degc, like.outlet_limit_degc, "heat limit"),
        service_interval_h=known(own.service_interval_h, like.service_interval_h, "service interval"),
        service_money=known(own.service_each, like.service_money, "service"),
        rebuild_interval_h=known(own.rebuild_interval_h, like.rebuild_interval_h, "rebuild interval"),
        rebuild_money=known(own.rebuild_each, like.rebuild_money, "rebuild"),
    )
    return entry, tuple(taken)


def _of_job(job: Job, generic: tuple[Entry, ...], terms: Terms) -> Entry | None:
    """Return the machine that job.toml names, None where it names none or one of the table."""
    machine = given_machine(job)
    if machine is None:
        return None
    full_w = machine.power_w
    if full_w is None:
        full_w = max(
            adiabatic_power_perry_2008(
                SEA_LEVEL_PRESSURE_PA, point.intake_flow_m3_s, 1.0 + point.pressure_pa / SEA_LEVEL_PRESSURE_PA
            )
            / WIRE_EFFICIENCY
            for point in machine.curve
            if point.pressure_pa > 0.0
        )
    like = _like(generic, full_w)
    purchase = like.purchase_money if terms.compressor_each is None else terms.compressor_each
    # what its plate in job.toml does not say of volts, current and noise is the like machine's
    one = replace(
        machine,
        count=1,
        volts_v=machine.volts_v or like.machine.volts_v,
        running_current_a=machine.running_current_a or like.machine.running_current_a,
    )
    return replace(
        like,
        machine=one,
        origin="job",
        power_pressure_pa=(0.0,),
        power_w=(full_w,),
        purchase_money=purchase,
        noise_dba=like.noise_dba if machine.noise_dba is None else machine.noise_dba,
    )


def catalogue_of(job: Job, terms: Terms) -> tuple[tuple[Entry, ...], tuple[Notice, ...]]:
    """Return every compressor to try, each alone and two side by side, and what is to be said of them."""
    generic = _generic()
    singles, notices = list(generic), []
    named = _of_job(job, generic, terms)
    if named is not None:
        singles = [entry for entry in singles if entry.machine.name != named.machine.name]
        singles.append(named)
        if named.machine.name not in {entry.machine.name for entry in generic}:
            notices.append(
                note(
                    "choice-job-machine",
                    f"The job's own compressor ({named.machine.words}) takes part; what the job does not say of it "
                    "(volts, current, noise, duty, heat limit, service) is taken from the generic machine of nearest "
                    "power.",
                )
            )
    for own in job.equipment:
        entry, taken = _own(own, generic)
        singles = [other for other in singles if other.machine.name != own.name] + [entry]
        if taken:
            figures = ", ".join(taken)
            words = f"{own.name} in equipment.csv has no {figures}: taken from the generic machine of nearest power."
            notices.append(note("choice-figures-taken", words))
    if any(entry.origin == "generic" for entry in singles):
        words = (
            "Curves, prices and care of the generic compressors are invented: put yours into equipment.csv before "
            "buying."
        )
        notices.append(caution("choice-generic", words))
    counts = range(1, MOST_SIDE_BY_SIDE_COUNT + 1)
    found = tuple(
        replace(entry, machine=replace(entry.machine, count=count)) for count in counts for entry in singles
    )
    return found, tuple(notices)
