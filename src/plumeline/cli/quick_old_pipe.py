"""Answers about a pipe that is in the ground already: how tight, how wide."""

from __future__ import annotations

import argparse

from plumeline.cli.common import answer
from plumeline.cli.quick_water import air_pressure_pa
from plumeline.notices import Notice, caution, danger, note
from plumeline.pairs import pair
from plumeline.stages.air.pipe_classes import OTHER
from plumeline.stages.air.proving import bore_classes, hold_test, trap_words
from plumeline.stages.air.words import psi
from plumeline.units import show
from plumeline.units.showing import System

SCFM_M3_S = 4.719474432e-4
MOST_SHOWN = 8
PRINT_LINE = (
    "Read the print line on the pipe's wall first: it beats every test. “3/4 inch” alone spans "
    f"{pair('0.68 to 0.89 in', '17 to 23 mm')}, a factor of 3.7 in the pressure lost."
)


def _elevation(args: argparse.Namespace) -> str:
    return args.elevation.understood if args.elevation else "sea level"


MUCH_PA = 50.0 * 6894.757
"""From here on a hold test of a pond's air line is far over 1.5 times any working pressure of its kind: judgement."""


def _test_pressure(start_pa: float) -> tuple[Notice, ...]:
    """Return the caution of a test with air; a danger where the pressure is far over what a pond's line works at."""
    words = (
        "Test an air line at no more than 1.5 times its working pressure and under the relief valve, people clear of "
        "the pipe; never 100 psi of air: compressed gas bursts, water only leaks."
    )
    if start_pa >= MUCH_PA:
        return (danger("test-pressure-high", f"{psi(start_pa)} is no test for a pond's line. {words}"),)
    return (caution("test-pressure", words),)


def hold_test_answer(args: argparse.Namespace) -> int:
    """Answer how much air a pipe loses that was pumped up and shut in."""
    ambient_pa = air_pressure_pa(args.elevation)
    end = args.end_temperature
    found = hold_test(
        args.length.value,
        args.bore.value,
        args.start.value,
        args.end.value,
        60.0 * args.minutes.value,
        args.temperature.value,
        end.value if end else None,
        ambient_pa,
    )
    lasts = (
        "the gauge did not fall"
        if found.time_constant_s is None
        else f"{found.time_constant_s / 60.0:.1f} min"
    )
    return answer(
        args,
        {
            "leak_scfm": found.leak_standard_m3_s / SCFM_M3_S,
            "leak_standard_m3_s": found.leak_standard_m3_s,
            "leak_se_standard_m3_s": found.leak_se_standard_m3_s,
            "leak_at_start_standard_m3_s": found.leak_at_start_standard_m3_s,
            "leak_at_end_standard_m3_s": found.leak_at_end_standard_m3_s,
            "time_constant_s": found.time_constant_s,
            "volume_m3": found.volume_m3,
        },
        understood={
            "length": args.length.understood,
            "bore": args.bore.understood,
            "start": args.start.understood,
            "end": args.end.understood,
            "minutes": args.minutes.understood,
            "temperature": args.temperature.understood,
            "temperature at the end": end.understood if end else "the same",
            "elevation": _elevation(args),
        },
        lines=[
            ("leak, mean of the test", _leak(found.leak_standard_m3_s, args.units)),
            ("standard error", f"{_leak(found.leak_se_standard_m3_s, args.units)}, gauge and unseen cooling"),
            (
                "at the start, at the end",
                _both(found.leak_at_start_standard_m3_s, found.leak_at_end_standard_m3_s, args),
            ),
            ("gauge falls to 37 % in", lasts),
            ("air in the pipe", show(found.volume_m3, "m3", "si")),
        ],
        notices=(
            *_test_pressure(args.start.value),
            *(
                ()
                if end
                else (note("hold-cooling", trap_words(args.start.value, args.temperature.value, ambient_pa)),)
            ),
        ),
    )


def _leak(flow_m3_s: float, units: System) -> str:
    return f"{flow_m3_s / SCFM_M3_S:.4f} scfm" if units == "us" else f"{3600.0 * flow_m3_s:.5f} m³/h standard"


def _both(start_m3_s: float, end_m3_s: float, args: argparse.Namespace) -> str:
    return f"{_leak(start_m3_s, args.units)}, {_leak(end_m3_s, args.units)}"


def bore_test_answer(args: argparse.Namespace) -> int:
    """Answer what an old pipe may be after a known flow was blown through it open-ended."""
    ambient_pa = air_pressure_pa(args.elevation)
    flow_m3_s = args.air.flow.standard_m3_s(ambient_pa, args.temperature.value)
    classes = bore_classes(
        flow_m3_s,
        args.length.value,
        args.pressure.value,
        args.temperature.value,
        ambient_pa,
        args.gauge_error.value if args.gauge_error else None,
        args.flow_error,
        nominal=args.nominal or "",
        material=args.material or "",
    )
    rows = [
        (item.name, f"{100.0 * item.probability:.1f} %, {_bore(item.bore_m, args.units)}: {item.words}")
        for item in classes[:MOST_SHOWN]
        if item.probability > 5e-4
    ]
    return answer(
        args,
        {
            "classes": [
                {"name": item.name, "bore_m": item.bore_m, "probability": item.probability}
                for item in classes
            ],
            "standard_flow_m3_s": flow_m3_s,
        },
        understood={
            "air": args.air.understood,
            "length": args.length.understood,
            "pressure": args.pressure.understood,
            "temperature": args.temperature.understood,
            "gauge error": args.gauge_error.understood
            if args.gauge_error
            else "half of 2 % of the least span that reads it",
            "flow error": f"{100.0 * args.flow_error:g} %",
            "elevation": _elevation(args),
        },
        lines=rows,
        notices=_bore_notices(classes[0].name == OTHER, _bore(classes[0].bore_m, args.units)),
    )


def _bore(bore_m: float, units: System) -> str:
    return f"{bore_m / 0.0254:.3f} in" if units == "us" else f"{1000.0 * bore_m:.1f} mm"


def _bore_notices(none_fits: bool, bore: str) -> tuple[Notice, ...]:
    notices = [caution("bore-print-line", PRINT_LINE)]
    if none_fits:
        words = (
            f"No size of the table fits; it acts like a clean bore of {bore}: crushed, wet, or longer "
            "than measured?"
        )
        notices.append(caution("bore-none-fits", words))
    return tuple(notices)
