"""What the licensed electrician must know of the compressor. Information only: electrician and local code decide."""

from __future__ import annotations

from dataclasses import dataclass, replace

from plumeline.job.document import Answer, Job, Power
from plumeline.notices import Notice, caution, danger, note
from plumeline.science.wire import (
    continuous_current_nec_2023,
    longest_run_nec_2023,
    motor_current,
    voltage_drop_nec_2023,
)
from plumeline.sources import read_table
from plumeline.stages.air.electrical_words import THIN_AIR, checklist, protection_notices, under_todays_plane
from plumeline.stages.air.machine import Machine
from plumeline.stages.air.restart import LINEAR, drive_of
from plumeline.stages.air.siphon import Heights
from plumeline.stages.air.words import degf, feet, feet_depth

DEFAULT_VOLTS = 120.0
POWER_FACTOR_NUMBER = 0.75
"""Of a small single-phase motor where its current is not known: from memory."""
STARTS_NUMBER = {
    "capacitor-start": (4.0, 6.0),
    "split-phase": (5.0, 8.0),
    "permanent-split": (3.0, 5.0),
    "shaded-pole": (1.5, 2.5),
    "linear diaphragm": (1.0, 1.5),
}
"""Starting over running current by kind of motor, low and high, where the plate is not known: from memory."""
USUAL_START = "capacitor-start"
"""Counted where nobody knows the motor; only a split-phase one draws more."""
BRANCH_CIRCUIT_A = 30.0
"""Up to here the current at hand is taken as the breaker of the circuit, which the wire must match; over it as that of
a panel, which gets a breaker for the wire."""
RUN_DROP_FRACTION = 0.03
"""NEC 210.19(A) informational note: 3 % on a branch circuit, a recommendation."""
START_DROP_FRACTION = 0.15
"""More than this while it starts, and a loaded motor may stall: common practice, no published source."""
VOLTS_OFF_FRACTION = 0.15
"""Plate and supply may differ so much: 115 and 120 V, 230 and 240 V are alike."""
MOTOR_ELEVATION_M = 1000.0
"""NEMA MG 1: up to here a motor's rating holds, 3,300 ft (from memory)."""
MONTH_DAYS = 30.0
DATUM_M = 0.6096
"""NEC 682: the electrical datum plane on land lies 2 ft over the highest water (read in secondary sources)."""
OUTLET_OVER_DATUM_M = 0.3048
"""NEC 682: outlets at least 12 in over the datum plane (read in secondary sources)."""
GFCI_CABLE_M = 76.2
"""One listed device allows 250 ft of cable behind it: longer ones trip by themselves (its instructions)."""


@dataclass(frozen=True)
class Conductor:
    """One size of copper wire for the run from panel to compressor."""

    gauge: str
    ampacity_a: float
    carries: bool
    """125 % of the running current, and what the breaker of the circuit at hand lets through."""
    voltage_drop_v: float | None
    """While it runs; None where the length is not known."""
    voltage_drop_fraction: float | None
    start_drop_fraction: float | None
    """In the moment of the start, at the high end of the starting current."""
    longest_run_m: float
    """One way, within 3 % running and 15 % starting."""
    enough: bool | None
    """Carries it and keeps both drops; None where the length is not known."""


@dataclass(frozen=True)
class DatumPlane:
    """The level under which nothing electrical that is not made for water may be."""

    high_water_m: float | None
    """Highest usual water over today's; None where it is not known."""
    datum_m: float | None
    """Over today's water."""
    outlet_m: float | None
    """Least height of an outlet over today's water."""
    compressor_m: float | None
    """The compressor over today's water."""
    clearance_m: float | None
    """Compressor over the datum plane: below zero it stands under it."""


@dataclass(frozen=True)
class Electrical:
    """Currents, wires, energy and levels of the compressor, for the licensed electrician."""

    volts_v: float
    volts_words: str
    machines_count: int
    power_w: float
    running_current_a: float
    running_words: str
    starting_low_a: float
    starting_high_a: float
    starting_words: str
    continuous_current_a: float
    """125 % of the running current."""
    circuit_current_a: float | None
    """Of the circuit at hand; None where it is not known."""
    circuit_enough: bool | None
    has_power: bool
    """Without it circuit and outlet are still to be made."""
    feeder_length_m: float | None
    feeder_gauge: str
    """Of the wire at hand; empty where there is none or it is not known."""
    conductors: tuple[Conductor, ...]
    least_gauge: str
    """Thinnest that is enough; empty where the length is not known, or where none is."""
    hours_per_day: float
    energy_month_kwh: float
    energy_price_per_kwh: float | None
    energy_month_money: float | None
    currency: str
    datum: DatumPlane
    gfci: Answer
    trip_alarm: Answer
    checklist: tuple[str, ...]
    notices: tuple[Notice, ...] = ()
    assumptions: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Load:
    """The motors as one load, and where each figure comes from."""

    volts_v: float
    volts_words: str
    running_a: float
    running_words: str
    starting_low_a: float
    starting_high_a: float
    starting_words: str


def electrical(job: Job, machine: Machine, power_w: float, levels: Heights | None) -> Electrical:
    """Return what the electrician must know.

    Args:
        job: the job; what it does not say of its power is counted as not known, never as absent.
        machine: the compressor.
        power_w: what all its machines take from the wall.
        levels: of the compressor over today's water; None where the compressor's is not known.
    """
    load = _load(job, machine, power_w)
    power = job.power
    wires = tuple(_conductor(row, load, power) for row in _rows())
    hours = job.costs.running_hours or 24.0
    month_kwh = power_w * hours * MONTH_DAYS / 1000.0
    price = job.prices.energy_per_kwh
    continuous_a = continuous_current_nec_2023(load.running_a)
    found = Electrical(
        volts_v=load.volts_v,
        volts_words=load.volts_words,
        machines_count=machine.count,
        power_w=power_w,
        running_current_a=load.running_a,
        running_words=load.running_words,
        starting_low_a=load.starting_low_a,
        starting_high_a=load.starting_high_a,
        starting_words=load.starting_words,
        continuous_current_a=continuous_a,
        circuit_current_a=power.amps,
        circuit_enough=None if power.amps is None else continuous_a <= power.amps,
        feeder_length_m=power.feeder_length_m,
        feeder_gauge=power.feeder_gauge,
        conductors=wires,
        least_gauge=next((wire.gauge for wire in wires if wire.enough), ""),
        hours_per_day=hours,
        energy_month_kwh=month_kwh,
        energy_price_per_kwh=price,
        energy_month_money=None if price is None else price * month_kwh,
        currency=job.prices.currency,
        datum=_datum(job, levels),
        has_power=power.available,
        gfci=power.gfci,
        trip_alarm=power.trip_alarm,
        checklist=(),
    )
    return replace(
        found,
        checklist=checklist(found.feeder_length_m is not None and found.feeder_length_m > GFCI_CABLE_M),
        notices=tuple(_notices(job, found)),
        assumptions=_assumptions(job, found),
    )


def _rows() -> list[dict[str, str]]:
    """Return the conductors, the thinnest first."""
    return sorted(read_table("conductors"), key=lambda row: float(row["circular_mils"]))


def _load(job: Job, machine: Machine, power_w: float) -> _Load:
    """Return the load: by plate where it is known, else by its power."""
    volts = machine.volts_v or job.power.volts or DEFAULT_VOLTS
    volts_words = (
        "compressor's plate"
        if machine.volts_v
        else "power at hand"
        if job.power.volts
        else "assumed: not known"
    )
    own_a = machine.running_current_a
    if own_a is not None:
        running_a, words = own_a * machine.count, "compressor's plate"
    else:
        running_a = motor_current(power_w, volts, POWER_FACTOR_NUMBER)
        words = f"from its power, power factor {POWER_FACTOR_NUMBER:g}: the plate is not known"
    start_a = machine.starting_current_a
    if start_a is not None:
        low_a = high_a = start_a * machine.count
        start_words = "compressor's sheet"
    else:
        kind = _motor(job, machine)
        low_number, high_number = STARTS_NUMBER[kind]
        low_a, high_a = low_number * running_a, high_number * running_a
        start_words = (
            f"{low_number:g} to {high_number:g} times running, as {kind} machines: its plate is not known"
        )
    return _Load(volts, volts_words, running_a, words, low_a, high_a, start_words)


def _motor(job: Job, machine: Machine) -> str:
    """Return the kind of motor that the currents are counted by."""
    given = job.air.compressor.motor if job.air.compressor is not None else ""
    if given in STARTS_NUMBER:
        return given
    return LINEAR if drive_of(machine) == LINEAR else USUAL_START


def _conductor(row: dict[str, str], load: _Load, power: Power) -> Conductor:
    """Return one size of wire under the load."""
    ohm_per_m, ampacity_a = float(row["resistance_ohm_per_m"]), float(row["ampacity_a"])
    length_m = power.feeder_length_m
    breaker_a = power.amps if power.amps is not None and power.amps <= BRANCH_CIRCUIT_A else 0.0
    carries = max(continuous_current_nec_2023(load.running_a), breaker_a) <= ampacity_a
    longest_m = min(
        longest_run_nec_2023(RUN_DROP_FRACTION * load.volts_v, load.running_a, ohm_per_m),
        longest_run_nec_2023(START_DROP_FRACTION * load.volts_v, load.starting_high_a, ohm_per_m),
    )
    drop_v = start_fraction = None
    if length_m is not None:
        drop_v = voltage_drop_nec_2023(load.running_a, length_m, ohm_per_m)
        start_fraction = voltage_drop_nec_2023(load.starting_high_a, length_m, ohm_per_m) / load.volts_v
    return Conductor(
        gauge=row["gauge"],
        ampacity_a=ampacity_a,
        carries=carries,
        voltage_drop_v=drop_v,
        voltage_drop_fraction=None if drop_v is None else drop_v / load.volts_v,
        start_drop_fraction=start_fraction,
        longest_run_m=longest_m,
        enough=None if length_m is None else carries and length_m <= longest_m,
    )


def _datum(job: Job, levels: Heights | None) -> DatumPlane:
    """Return the electrical datum plane against today's water, and where the compressor stands."""
    above_m, high_m = None if levels is None else levels.compressor_m, job.power.high_water_m
    datum_m = None if high_m is None else high_m + DATUM_M
    return DatumPlane(
        high_water_m=high_m,
        datum_m=datum_m,
        outlet_m=None if datum_m is None else datum_m + OUTLET_OVER_DATUM_M,
        compressor_m=above_m,
        clearance_m=None if datum_m is None or above_m is None else round(above_m - datum_m, 9),
    )


def _notices(job: Job, found: Electrical) -> list[Notice]:
    """Return what is said of power at the water, the gravest things first."""
    notices = [*_level_notices(found.datum), *_wire_notices(found), *_stop_notices(found)]
    supply = job.power.volts
    if supply is not None and abs(found.volts_v / supply - 1.0) > VOLTS_OFF_FRACTION:
        words = f"The compressor is for {found.volts_v:g} V, the power at hand has {supply:g} V: do not plug it in."
        notices.insert(0, danger("electrical-voltage", f"{words} For the licensed electrician."))
    if job.site.elevation_m > MOTOR_ELEVATION_M:
        notices.append(note("electrical-thin-air", THIN_AIR))
    if not job.power.available:
        words = "There is no power at the compressor yet: all this is for the service that is to be made."
        notices.append(note("air-no-power", words))
    return notices


def _level_notices(datum: DatumPlane) -> list[Notice]:
    """Return what is said of the levels: the datum plane, and what is not known of it."""
    if datum.clearance_m is not None and datum.datum_m is not None and datum.clearance_m < 0.0:
        words = (
            f"The compressor stands {feet_depth(-datum.clearance_m)} under the electrical datum plane, which lies "
            f"{feet_depth(datum.datum_m)} over today's water (NEC 682: 2 ft over the highest water). Nothing "
            "electrical that is not made for it may be there: set it higher."
        )
        return [danger("electrical-datum", words)]
    if datum.high_water_m is None and datum.compressor_m is not None and datum.compressor_m < DATUM_M:
        # the highest water is never under today's: what lies under today's plane lies under the true one
        return [danger("electrical-datum", under_todays_plane(datum.compressor_m, DATUM_M))]
    if datum.high_water_m is None:
        above = (
            ""
            if datum.compressor_m is None
            else f"; the compressor stands {feet_depth(datum.compressor_m)} over it"
        )
        words = (
            "How high the water rises is not known, so the electrical datum plane (NEC 682: "
            f"{feet_depth(DATUM_M)} over the highest water) can't be set against today's water{above}. Find the "
            "flood mark and give power.high_water."
        )
        return [caution("electrical-datum-unknown", words)]
    if datum.compressor_m is None:
        words = (
            "How far the compressor stands over the water is not known: hold it against the electrical datum plane, "
            f"{feet_depth(datum.datum_m or 0.0)} over today's water. Give air.rise or route.csv."
        )
        return [caution("electrical-datum-unknown", words)]
    return []


def _wire_notices(found: Electrical) -> list[Notice]:
    """Return what is said of circuit and wire."""
    notices = []
    if found.circuit_enough is False:
        words = (
            f"The circuit of {found.circuit_current_a:g} A is too small: a load that runs all day counts as 125 %, "
            f"{found.continuous_current_a:.1f} A."
        )
        notices.append(caution("electrical-circuit", f"{words} For the licensed electrician."))
    wire = next((item for item in found.conductors if item.gauge == found.feeder_gauge), None)
    length_m = found.feeder_length_m
    if wire is not None and wire.enough is False and length_m is not None:
        best = f"AWG {found.least_gauge} or thicker" if found.least_gauge else "no size of the table alone"
        words = (
            f"The wire at hand, {feet(length_m)} of AWG {wire.gauge}, loses "
            f"{100.0 * (wire.voltage_drop_fraction or 0.0):.1f} % running and "
            f"{100.0 * (wire.start_drop_fraction or 0.0):.0f} % at the start; 3 % and 15 % are the usual advice: "
            f"{best}, 240 V, or a longer air line instead of wire."
        )
        notices.append(caution("electrical-drop", words))
    elif length_m is not None and not found.least_gauge:
        words = (
            f"No wire of the table carries this over {feet(length_m)} within 3 % running and 15 % starting: 240 V, "
            "or a longer air line instead of wire."
        )
        notices.append(caution("electrical-drop", words))
    if length_m is None:
        words = (
            "The length of the wire from the panel is not known, so its loss is not: the longest run of each size "
            "stands in the table. Give power.feeder_length."
        )
        notices.append(note("electrical-length-unknown", words))
    return notices


def _stop_notices(found: Electrical) -> list[Notice]:
    """Return what is said of protection and of who hears that the air has stopped."""
    notices = protection_notices(found.gfci, found.has_power)
    if found.trip_alarm is not Answer.YES:
        told = "Nobody is told when the air stops."
        if found.trip_alarm is Answer.UNKNOWN:
            told = "Whether anybody is told when the air stops is not known."
        words = (
            f"{told} A tripped outlet kills fish: the pond layers and runs out of oxygen in warm "
            "nights. Put an alarm on pressure or power that calls somebody, or look at the gauge every day."
        )
        notices.append(caution("electrical-alarm", words))
    return notices


def _assumptions(job: Job, found: Electrical) -> tuple[str, ...]:
    """Return what the figures rest on."""
    words = [
        f"Wires: stranded copper at {degf(75.0)} (NEC chapter 9, table 8), single phase, one way; what a "
        f"size carries: the column of {degf(60.0)} of NEC table 310.16, as for small circuits whose terminals are not "
        "marked for more, and for the cables NM and UF always; at most 15 A on AWG 14, 20 A on 12, 30 A on 10. It "
        f"holds for air up to {degf(30.0)} and three loaded wires together: hotter or fuller carries less.",
    ]
    if "not known" in found.running_words:
        words.append(f"Running current {found.running_words}.")
    if "not known" in found.starting_words:
        words.append(f"Starting current {found.starting_words}; the high end counts.")
    if "not known" in found.volts_words:
        words.append(f"{found.volts_v:g} V: no voltage is known.")
    if job.costs.running_hours is None:
        words.append("Energy for air day and night: no hours are given.")
    if found.energy_price_per_kwh is None:
        words.append("What the energy costs is not said: no price is known. The customer's bill has it.")
    return tuple(words)
