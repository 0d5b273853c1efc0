"""What two field tests say of a pipe that is already in the ground: how tight it is, and how wide.

The hold test shuts the pipe in and watches the gauge fall. The open-end test blows a known flow through it and
reads the gauge at the inlet. Neither beats the print line on the pipe's own wall.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from plumeline.errors import InputError
from plumeline.pairs import pair
from plumeline.science import air as air_science
from plumeline.science import pipe as pipe_science
from plumeline.science.air import STANDARD_PRESSURE_PA
from plumeline.science.tightness import leak_flow_clapeyron_1834
from plumeline.stages.air.pipe_classes import LEAST_BORE_M, MOST_BORE_M, OTHER, BoreClass, believed_classes
from plumeline.stages.air.words import psi

PSI_PA = 6894.757293168
GAUGE_SPANS_PA = tuple(PSI_PA * span for span in (1.0, 3.0, 5.0, 15.0, 30.0, 60.0, 100.0))
"""Usual spans of gauges; the least that holds the reading is taken where none is named."""
GAUGE_TOLERANCE_FRACTION = 0.02
"""Tolerance of a plain gauge, of its span in the middle (grade B of ASME B40.100, from memory)."""
FLOW_ERROR_FRACTION = 0.05
"""Standard error of a "known" flow of air, by a float meter or a compressor's curve: judgement."""
BORE_ERROR_FRACTION = 0.01
"""Spread of bores within one class: published averages of one size differ by 0.5 to 3 %."""
FRICTION_ERROR_FRACTION, TRANSITION_ERROR_FRACTION = 0.03, 0.15
"""Standard error of the friction law, outside and inside Re 2,000 to 4,000 (where it is uncertain by 30 %)."""
TEMPERATURE_ERROR_K = 0.5
"""Standard error of the change of temperature between two readings of a buried pipe: judgement."""


def gauge_error_pa(reading_pa: float) -> float:
    """Return the standard error [Pa] of a plain gauge: half its tolerance, by the least span that holds the reading."""
    span_pa = next((span for span in GAUGE_SPANS_PA if span >= reading_pa), reading_pa)
    return 0.5 * GAUGE_TOLERANCE_FRACTION * span_pa


def pipe_volume_m3(length_m: float, bore_m: float) -> float:
    """Return the volume inside a pipe [m³]."""
    return 0.25 * math.pi * bore_m**2 * length_m


@dataclass(frozen=True)
class Leak:
    """What a hold test says. Flows are standard air (68 °F, dry, 14.696 psia)."""

    leak_standard_m3_s: float
    """Mean over the test; 0 where the gauge did not fall."""
    leak_se_standard_m3_s: float
    """Standard error, from the gauge and from half a kelvin of unseen change: what this test can see."""
    leak_at_start_standard_m3_s: float
    """At the starting pressure, the leak taken in proportion to the gauge."""
    leak_at_end_standard_m3_s: float
    time_constant_s: float | None
    """Time over which the gauge falls to 37 %; None where it did not fall."""
    volume_m3: float
    mean_pressure_pa: float
    """Logarithmic mean of the gauge over the test, at which the mean leak holds."""

    def at(self, pressure_pa: float) -> float:
        """Return the leak [m³/s, standard] at a gauge pressure [Pa], in proportion to it."""
        return self.leak_standard_m3_s * pressure_pa / self.mean_pressure_pa


def hold_test(
    length_m: float,
    bore_m: float,
    start_pressure_pa: float,
    end_pressure_pa: float,
    hold_time_s: float,
    temperature_degc: float,
    end_temperature_degc: float | None = None,
    ambient_pressure_pa: float = STANDARD_PRESSURE_PA,
) -> Leak:
    """Return what a hold test says of a pipe that was pumped up, shut in and left.

    Args:
        length_m: length of the pipe [m].
        bore_m: inside diameter [m].
        start_pressure_pa: gauge pressure as the clock starts [Pa].
        end_pressure_pa: gauge pressure at the end [Pa].
        hold_time_s: time between the two [s].
        temperature_degc: temperature of the pipe and its air at the start [°C].
        end_temperature_degc: the same at the end [°C]; as at the start where None.
        ambient_pressure_pa: absolute pressure of the open air [Pa].

    Raises:
        InputError: a length, bore, time or pressure that no test has, or a pressure that rises by more than the
            temperatures given explain.
    """
    end_degc = temperature_degc if end_temperature_degc is None else end_temperature_degc
    _check_hold(
        length_m, bore_m, start_pressure_pa, end_pressure_pa, hold_time_s, (temperature_degc, end_degc)
    )
    volume_m3 = pipe_volume_m3(length_m, bore_m)
    start_k, end_k = temperature_degc + 273.15, end_degc + 273.15
    start_pa, end_pa = start_pressure_pa + ambient_pressure_pa, end_pressure_pa + ambient_pressure_pa
    leak = leak_flow_clapeyron_1834(volume_m3, start_pa, end_pa, start_k, end_k, hold_time_s)
    # what the gauge must have fallen by without the change of temperature
    fall_pa = start_pa - end_pa * start_k / end_k
    error_pa = math.hypot(
        math.sqrt(2.0) * gauge_error_pa(start_pressure_pa), start_pa / start_k * TEMPERATURE_ERROR_K
    )
    if fall_pa < -1e-9 * start_pa and (end_temperature_degc is None or fall_pa < -2.0 * error_pa):
        raise _rises(
            start_pressure_pa, end_pressure_pa, temperature_degc, end_temperature_degc, -fall_pa, start_pa
        )
    leak = max(leak, 0.0)
    last_pa = max(start_pressure_pa - max(fall_pa, 0.0), 1e-3 * start_pressure_pa)
    ratio_number = start_pressure_pa / last_pa
    mean_pa = start_pressure_pa
    if ratio_number > 1.0 + 1e-9:
        mean_pa = (start_pressure_pa - last_pa) / math.log(ratio_number)
    per_pa = leak_flow_clapeyron_1834(volume_m3, 1.0, 0.0, start_k, start_k, hold_time_s)
    return Leak(
        leak_standard_m3_s=leak,
        leak_se_standard_m3_s=per_pa * error_pa,
        leak_at_start_standard_m3_s=leak * start_pressure_pa / mean_pa,
        leak_at_end_standard_m3_s=leak * last_pa / mean_pa,
        time_constant_s=hold_time_s / math.log(ratio_number) if ratio_number > 1.0 + 1e-9 else None,
        volume_m3=volume_m3,
        mean_pressure_pa=mean_pa,
    )


def _rises(
    start_pa: float,
    end_pa: float,
    start_degc: float,
    end_degc: float | None,
    rise_pa: float,
    absolute_pa: float,
) -> InputError:
    """Return the error of a hold test in which the pressure rises."""
    warming_k = rise_pa / absolute_pa * (start_degc + 273.15)
    warmer = pair(f"{1.8 * warming_k:.0f} °F", f"{warming_k:.0f} °C")
    more = "" if end_degc is None else " more than the temperatures given explain"
    return InputError(
        f"the pressure rises in the hold test, from {psi(start_pa)} to {psi(end_pa)},{more} which no shut pipe does.",
        remedy=f"The air in it grew about {warmer} warmer, the two readings are exchanged, or the valve to the "
        "compressor lets by. Shut it in, wait until the air has the soil's temperature, then start the clock; or give "
        "the temperature at the end too.",
        place="--end",
    )


def _check_hold(
    length_m: float,
    bore_m: float,
    start_pa: float,
    end_pa: float,
    hold_s: float,
    air_degc: tuple[float, float],
) -> None:
    """Refuse what no hold test can be."""
    bad = [
        (not length_m > 0.0, "--length", f"a length of {length_m:g} m", "Give a length over zero."),
        (
            not 0.0005 <= bore_m <= 1.0,
            "--bore",
            f"a bore of {bore_m * 1000:g} mm",
            "Give the inside diameter.",
        ),
        (not start_pa > 0.0, "--start", f"a start at {psi(start_pa)}", "Pump it up first; give the gauge."),
        (
            not end_pa >= 0.0,
            "--end",
            f"an end at {psi(end_pa)}",
            "A gauge on a shut pipe does not go below zero.",
        ),
        (
            not hold_s > 0.0,
            "--minutes",
            f"a test of {hold_s / 60.0:g} min",
            "Give the minutes between readings.",
        ),
    ]
    bad += [
        (
            not -40.0 <= value <= 60.0,
            "--temperature",
            f"air at {value:g} °C in a shut pipe",
            "Give −40 to 60 °C.",
        )
        for value in air_degc
    ]
    for wrong, place, what, remedy in bad:
        if wrong:
            raise InputError(f"{what} can't be.", remedy=remedy, place=place)


def trap_words(pressure_pa: float, temperature_degc: float, ambient_pressure_pa: float) -> str:
    """Return the caution of every hold test: air that cools looks like a leak."""
    per_degc_pa = (pressure_pa + ambient_pressure_pa) / (temperature_degc + 273.15)
    falls = pair(
        f"{per_degc_pa / 1.8 / PSI_PA:.2f} psi for each °F", f"{per_degc_pa / 1000.0:.2f} kPa for each °C"
    )
    return (
        f"Air that cools in a tight pipe loses {falls}: shut it in, "
        "wait until it has the soil's temperature, then start the clock."
    )


Array = NDArray[np.float64]
STANDARD_DENSITY_KG_M3 = air_science.density_clapeyron_1834(
    STANDARD_PRESSURE_PA, air_science.STANDARD_TEMPERATURE_K
)


def open_end_pressure_pa(
    flow_standard_m3_s: float,
    length_m: float,
    bore_m: float,
    temperature_degc: float,
    ambient_pressure_pa: float = STANDARD_PRESSURE_PA,
    roughness_m: float = 1.5e-6,
) -> float:
    """Return the gauge pressure at the inlet of a pipe blown open-ended [Pa]; infinity where it would choke."""
    flow_kg_s, temperature_k = flow_standard_m3_s * STANDARD_DENSITY_KG_M3, temperature_degc + 273.15
    viscosity_pa_s = air_science.viscosity_sutherland_1893(temperature_k)
    reynolds_number = pipe_science.reynolds_number_reynolds_1883(flow_kg_s, bore_m, viscosity_pa_s)
    friction = pipe_science.friction_factor_churchill_1977(reynolds_number, roughness_m / bore_m)
    inlet_pa = pipe_science.upstream_pressure_isothermal_crane_2009(
        flow_kg_s,
        ambient_pressure_pa,
        pipe_science.resistance_number_crane_2009(friction, length_m, bore_m, 0.0),
        bore_m,
        air_science.GAS_CONSTANT_J_KG_K,
        temperature_k,
    )
    return inlet_pa - ambient_pressure_pa


@dataclass(frozen=True)
class BoreTest:
    """An open-end test: a known flow blown through the old pipe, its far end open to the air."""

    flow_standard_m3_s: float
    length_m: float
    inlet_pressure_pa: float
    temperature_degc: float
    ambient_pressure_pa: float = STANDARD_PRESSURE_PA
    gauge_error_pa: float | None = None
    """Standard error of the gauge; that of a plain gauge of the least span where None."""
    flow_error_fraction: float = FLOW_ERROR_FRACTION

    @property
    def reading_error_pa(self) -> float:
        """Standard error of the gauge [Pa]."""
        return gauge_error_pa(self.inlet_pressure_pa) if self.gauge_error_pa is None else self.gauge_error_pa

    def pressure_pa(self, bore_m: float, roughness_m: float, times_flow_number: float = 1.0) -> float:
        """Return the gauge that a bore would show [Pa]."""
        return open_end_pressure_pa(
            self.flow_standard_m3_s * times_flow_number,
            self.length_m,
            bore_m,
            self.temperature_degc,
            self.ambient_pressure_pa,
            roughness_m,
        )


def bore_classes(
    flow_standard_m3_s: float,
    length_m: float,
    inlet_pressure_pa: float,
    temperature_degc: float,
    ambient_pressure_pa: float = STANDARD_PRESSURE_PA,
    gauge_error_pa: float | None = None,
    flow_error_fraction: float = FLOW_ERROR_FRACTION,
    nominal: str = "",
    material: str = "",
    before: tuple[BoreClass, ...] = (),
) -> tuple[BoreClass, ...]:
    """Return what an old pipe may be after a known flow was blown through it open-ended, the likeliest first.

    By Bayes over the pipes of the table: the gauge that each would show, with the errors of gauge, flow, bore
    within its class and friction law drawn together, against the gauge that was read.

    Args:
        flow_standard_m3_s: flow of standard air [m³/s].
        length_m: length [m].
        inlet_pressure_pa: gauge at the inlet [Pa].
        temperature_degc: temperature of the air in the pipe [°C].
        ambient_pressure_pa: absolute pressure of the open air [Pa].
        gauge_error_pa: standard error of the gauge [Pa]; a plain gauge of the least span where None.
        flow_error_fraction: standard error of the flow, as a part of it.
        nominal: its trade size where that is known, "3/4 in".
        material: its material where that is known.
        before: the kinds it may be with their probability before the test, instead of those of size and material.

    Raises:
        InputError: a flow, length, gauge or temperature that no such test has.
    """
    _check_bore_test(flow_standard_m3_s, length_m, inlet_pressure_pa, temperature_degc)
    test = BoreTest(
        flow_standard_m3_s, length_m, inlet_pressure_pa, temperature_degc, ambient_pressure_pa, gauge_error_pa,
        flow_error_fraction,
    )  # fmt: skip
    after = [_weighed(test, item) for item in before or believed_classes(nominal, material)]
    total = sum(item.probability for item in after)
    found = [replace(item, probability=item.probability / total) for item in after]
    return tuple(sorted(found, key=lambda item: -item.probability))


def _check_bore_test(flow_m3_s: float, length_m: float, inlet_pa: float, temperature_degc: float) -> None:
    bad = [
        (not flow_m3_s > 0.0, "--air", f"a flow of {flow_m3_s:g} m³/s", "Give a flow over zero."),
        (not length_m > 0.0, "--length", f"a length of {length_m:g} m", "Give a length over zero."),
        (not inlet_pa > 0.0, "--pressure", f"a gauge of {psi(inlet_pa)} with air flowing",
         "It reads over zero while air flows: check the sign, or take a finer gauge."),
        (not -40.0 <= temperature_degc <= 120.0, "--temperature", f"air at {temperature_degc:g} °C",
         "Give −40 to 120 °C."),
    ]  # fmt: skip
    for wrong, place, what, remedy in bad:
        if wrong:
            raise InputError(f"{what} can't be.", remedy=remedy, place=place)


def _weighed(test: BoreTest, item: BoreClass) -> BoreClass:
    """Return a class with its probability times the likelihood of the gauge; an open class with its bore found."""
    if item.name == OTHER:
        # any gauge from a hundredth of a psi to 15 psi alike in the logarithm
        weight = 1.0 / (test.inlet_pressure_pa * math.log(1500.0))
        bore_m = apparent_bore_m(test)
        found = replace(item, bore_m=bore_m, low_bore_m=bore_m, high_bore_m=bore_m)
        return replace(found, probability=item.probability * weight)
    if item.low_bore_m == item.high_bore_m:
        return replace(item, probability=item.probability * _likelihood(test, item.bore_m, item.roughness_m))
    bores = np.linspace(item.low_bore_m, item.high_bore_m, 21)
    weights = np.array([_likelihood(test, float(bore), item.roughness_m) for bore in bores])
    if not weights.sum() > 0.0:
        return replace(item, probability=0.0)
    middle = float((bores * weights).sum() / weights.sum())
    # an even span with the mean and the spread of what is left
    half = math.sqrt(3.0 * float((weights * (bores - middle) ** 2).sum() / weights.sum()))
    found = replace(item, bore_m=middle, low_bore_m=middle - half, high_bore_m=middle + half)
    return replace(found, probability=item.probability * float(weights.mean()))


def apparent_bore_m(test: BoreTest) -> float:
    """Return the clean, straight bore [m] that would show the gauge that was read, within the limits looked at."""

    def over(bore_m: float) -> float:
        found_pa = test.pressure_pa(bore_m, 1.5e-6)
        return min(found_pa, 1e9) - test.inlet_pressure_pa

    if over(LEAST_BORE_M) <= 0.0:
        return LEAST_BORE_M
    return MOST_BORE_M if over(MOST_BORE_M) >= 0.0 else float(brentq(over, LEAST_BORE_M, MOST_BORE_M))


def _likelihood(test: BoreTest, bore_m: float, roughness_m: float) -> float:
    """Return the probability density of the gauge that was read, per Pa, for one bore.

    Flow, bore and friction spread the logarithm of the gauge; the gauge's own error comes on top.
    """
    expected_pa = test.pressure_pa(bore_m, roughness_m)
    if not math.isfinite(expected_pa):
        return 0.0
    spread, error_pa = _spread(test, bore_m, roughness_m), test.reading_error_pa
    score: Array = np.linspace(-5.0, 5.0, 1001)
    shown_pa = expected_pa * np.exp(spread * score)
    density = np.exp(-0.5 * ((test.inlet_pressure_pa - shown_pa) / error_pa) ** 2 - 0.5 * score**2)
    return float(density.sum() * 0.01 / (2.0 * math.pi * error_pa))


def _spread(test: BoreTest, bore_m: float, roughness_m: float) -> float:
    """Return the standard error of the logarithm of the gauge that one bore would show."""
    expected_pa = test.pressure_pa(bore_m, roughness_m)
    by_flow = math.log(test.pressure_pa(bore_m, roughness_m, 1.01) / expected_pa) / math.log(1.01)
    by_bore = math.log(test.pressure_pa(1.01 * bore_m, roughness_m) / expected_pa) / math.log(1.01)
    viscosity_pa_s = air_science.viscosity_sutherland_1893(test.temperature_degc + 273.15)
    reynolds_number = pipe_science.reynolds_number_reynolds_1883(
        test.flow_standard_m3_s * STANDARD_DENSITY_KG_M3, bore_m, viscosity_pa_s
    )
    friction = TRANSITION_ERROR_FRACTION if 2000.0 < reynolds_number < 4000.0 else FRICTION_ERROR_FRACTION
    return math.hypot(by_flow * test.flow_error_fraction, by_bore * BORE_ERROR_FRACTION, friction)


def surprise_number(test: BoreTest, item: BoreClass) -> float:
    """Return by how many standard errors the gauge that was read lies from the one that a pipe would show."""
    expected_pa = test.pressure_pa(item.bore_m, item.roughness_m)
    if not math.isfinite(expected_pa):
        return math.inf
    error_pa = math.hypot(test.reading_error_pa, expected_pa * _spread(test, item.bore_m, item.roughness_m))
    return (test.inlet_pressure_pa - expected_pa) / error_pa
