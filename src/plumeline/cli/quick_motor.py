"""The answers about compressor, motor and wire."""

from __future__ import annotations

import argparse

from plumeline.cli.common import answer
from plumeline.cli.quick_water import air_pressure_pa
from plumeline.notices import Notice, caution, note
from plumeline.pairs import pair
from plumeline.science.air import (
    STANDARD_PRESSURE_PA,
    STANDARD_TEMPERATURE_K,
    adiabatic_power_perry_2008,
    discharge_temperature_mills_2004,
)
from plumeline.science.wire import voltage_drop_nec_2023
from plumeline.sources import read_table
from plumeline.units import show

ADVISED_DROP_FRACTION = 0.03  # NEC 210.19(A) informational note: branch circuits, from memory
CONTINUOUS_NUMBER = 1.25  # NEC 210.19(A)(1): a load of three hours or more, from memory
PVC_SERVICE_DEGC = 60.0  # 140 °F, makers' temperature tables (docs/air.md)


def _height(args: argparse.Namespace) -> str:
    return str(args.elevation.understood) if args.elevation else "sea level"


def power(args: argparse.Namespace) -> int:
    """Answer what a compressor takes from the wire."""
    ambient_pa = air_pressure_pa(args.elevation)
    intake_degc = args.intake.value
    standard_m3_s = args.air.flow.standard_m3_s(ambient_pa, intake_degc)
    warmer_number = (intake_degc + 273.15) / STANDARD_TEMPERATURE_K
    intake_m3_s = standard_m3_s * STANDARD_PRESSURE_PA / ambient_pa * warmer_number
    ratio_number = 1.0 + args.pressure.value / ambient_pa
    shaft_w = adiabatic_power_perry_2008(ambient_pa, intake_m3_s, ratio_number)
    wire_w = shaft_w / args.efficiency.value
    month_kwh = wire_w * 24.0 * 30.0 / 1000.0
    return answer(
        args,
        {"shaft_power_w": shaft_w, "wire_power_w": wire_w, "intake_flow_m3_s": intake_m3_s},
        understood={
            "air": args.air.understood,
            "pressure": args.pressure.understood,
            "efficiency": args.efficiency.understood,
            "intake": args.intake.understood,
            "elevation": _height(args),
        },
        lines=[
            ("ideal adiabatic power", show(shaft_w, "w", args.units)),
            ("drawn from the wire", show(wire_w, "w", args.units)),
            ("energy, day and night", f"{month_kwh:.0f} kWh in 30 days"),
        ],
        notices=(note("motor-curve", "The maker's curve of watts beats an assumed efficiency."),),
    )


def wire(args: argparse.Namespace) -> int:
    """Answer how much voltage a circuit loses."""
    row = next(item for item in read_table("conductors") if item["gauge"] == args.gauge)
    amps = args.amps.value
    drop_v = voltage_drop_nec_2023(amps, args.length.value, float(row["resistance_ohm_per_m"]))
    share = drop_v / args.volts.value
    notices: list[Notice] = [
        note("electrician", "Information for the licensed electrician; local code decides.")
    ]
    if share > ADVISED_DROP_FRACTION:
        words = f"Over {ADVISED_DROP_FRACTION:.0%}, the usual advice for a branch circuit"
        remedy = "a larger wire, 240 V, or air run in a longer line instead of the wire"
        notices.append(caution("voltage-drop", f"{words}: {remedy}."))
    continuous_a = CONTINUOUS_NUMBER * amps
    if continuous_a > float(row["ampacity_a"]):
        words = f"A continuous load counts as {CONTINUOUS_NUMBER:g} × {amps:g} A = {continuous_a:.1f} A"
        most = f"AWG {args.gauge} carries {float(row['ampacity_a']):g} A by NEC 310.16 at 60 °C"
        notices.append(caution("continuous-load", f"{words}; {most}: too small."))
    return answer(
        args,
        {"voltage_drop_v": drop_v, "voltage_drop_fraction": share, "continuous_current_a": continuous_a},
        understood={
            "volts": args.volts.understood,
            "amps": args.amps.understood,
            "length": f"{args.length.understood}, one way",
            "gauge": f"AWG {args.gauge}, stranded copper, {1000 * float(row['resistance_ohm_per_m']):.2f} ohm/km",
        },
        lines=[
            ("voltage drop", f"{drop_v:.2f} V"),
            ("of the supply", f"{share:.1%}"),
            ("counted as continuous", f"{continuous_a:.2f} A (125 %)"),
        ],
        notices=tuple(notices),
    )


def outlet_temperature(args: argparse.Namespace) -> int:
    """Answer how hot the air leaves the compressor."""
    ambient_pa = air_pressure_pa(args.elevation)
    ratio_number = 1.0 + args.pressure.value / ambient_pa
    outlet_k = discharge_temperature_mills_2004(
        args.intake.value + 273.15, ratio_number, args.efficiency.value
    )
    outlet_degc = outlet_k - 273.15
    notices = []
    if outlet_degc > PVC_SERVICE_DEGC - 10.0:
        limit = pair(show(PVC_SERVICE_DEGC, "degc", "us"), show(PVC_SERVICE_DEGC, "degc", "si"))
        words = f"The first length must be metal: PVC ends at {limit}, and is never for air above ground."
        notices.append(caution("hot-outlet", words))
    return answer(
        args,
        {"outlet_temperature_degc": outlet_degc},
        understood={
            "intake": args.intake.understood,
            "pressure": args.pressure.understood,
            "efficiency": args.efficiency.understood,
            "elevation": _height(args),
        },
        lines=[("air at the outlet", show(outlet_degc, "degc", args.units))],
        notices=tuple(notices),
    )
