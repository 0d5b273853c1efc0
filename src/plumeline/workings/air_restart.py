"""How the numbers of a stop come about: what stays in the line, how fast it falls, what the motor starts against."""

from __future__ import annotations

from functools import cached_property
from math import pi

import numpy as np

from plumeline.sources import read_table
from plumeline.stages.air import restart as stop
from plumeline.stages.air.network import STANDARD_DENSITY_KG_M3
from plumeline.stages.air.restart import VANE, Restart
from plumeline.workings.air_points import QUARTER_PI, PointValues
from plumeline.workings.value import Value, balance, given, plain_constant, relation, summed

GROUPS = 8
"""Groups of steps in which the time of coming down is written out."""
MOTORS = "sources/motor_starts.csv"


class RestartValues:
    """The values of a stop.

    Attributes:
        values: the line at work.
        found: the stage's result.
    """

    def __init__(self, values: PointValues, found: Restart) -> None:
        self.values, self.found = values, found

    @cached_property
    def trapped(self) -> Value:
        """The gauge that stays."""
        name, line = self.found.last_branch, self.values.line
        needed, passed_pa = self.values.network.needed(name), line.passed_pa(self.values.network.spec(name))
        taken = given(
            "check valves and water before it", passed_pa, "pa", "job.toml, air.trunk and air.lines"
        )
        return relation(
            "gauge that stays trapped", self.found.trapped_pressure_pa, "pa", "n + c", {"n": needed, "c": taken},
            gauge=True,
            words=f"{name} lets air out the longest: it needs the least",
        )  # fmt: skip

    @cached_property
    def held(self) -> Value:
        """The air that one pascal is in the line."""
        line = self.values.line
        pieces = [(piece.length_m, piece.bore_m, piece.mean_temperature_degc, f"trunk piece {k}")
                  for k, piece in enumerate(line.trunk, start=1)]  # fmt: skip
        pieces += [
            (item.piece.length_m, item.piece.bore_m, item.piece.mean_temperature_degc, item.name)
            for item in line.lines
        ]
        pieces += [
            (spec.length_m, spec.bore_m, line.water_degc, f"branch {spec.name}") for spec in line.branches
        ]
        terms: dict[str, Value] = {"a": self.values.network.ambient}
        parts = []
        for k, (length_m, bore_m, degc, name) in enumerate(pieces, start=1):
            terms[f"L{k}"] = given(f"length of {name}", length_m, "m", "the line")
            terms[f"D{k}"] = given(f"bore of {name}", bore_m, "m", "sources/pipes.csv, or its bore")
            terms[f"T{k}"] = given(f"air in {name}", degc, "degc", "soil, open air or water round it")
            parts.append(f"D{k}^2 * L{k} * density_clapeyron_1834(a, T{k})")
        number = stop.held_kg_pa(line)[1]
        return relation(
            "air that a pascal is in the line, kg/Pa", number, "", f"{QUARTER_PI} * ({' + '.join(parts)}) / a", terms,
            shown_formula="Σ V / (R T) over trunk, lines and branches", source="ideal gas law",
        )  # fmt: skip

    def time(self, name: str, number_s: float, end_pa: float, lost_pa: float) -> list[Value]:
        """Return the time until the line has come down to a pressure, and that time as it is told.

        Args:
            name: what it is.
            number_s: the stage's result [s].
            end_pa: gauge in the line at which it has come down [Pa].
            lost_pa: what trunk and lines take before the diffusers [Pa].
        """
        balanced, line = self.values.air.balanced, self.values.line
        losses = tuple(self.values.network.losses[spec.name] for spec in line.branches)
        shut = frozenset(branch.name for branch in balanced.branches if branch.shut)
        network = stop.held_network(line, losses, shut)
        gauges, flows = stop.outflow(network, balanced.flow_standard_m3_s * STANDARD_DENSITY_KG_M3)
        start_pa = self.found.running_pressure_pa - lost_pa
        levels, leaving = stop.levels_between(gauges, flows, start_pa, end_pa)
        terms: dict[str, Value] = {"k": self.held}
        parts = []
        steps = np.array_split(np.arange(len(leaving)), min(GROUPS, len(leaving)))
        for k, group in enumerate(steps, start=1):
            fall_pa = float(levels[group[-1] + 1] - levels[group[0]])
            mean = fall_pa / float(np.sum(np.diff(levels)[group] / leaving[group]))
            words = "what leaves through the diffusers while the gauge falls so far, by the network"
            terms[f"p{k}"] = summed(f"fall {k}", fall_pa, "pa", words)
            terms[f"m{k}"] = summed(f"air that leaves meanwhile, {k}", mean, "kg_s", words)
            parts.append(f"p{k} / m{k}")
        whole = relation(
            f"{name}, exactly", number_s, "s", f"k * ({' + '.join(parts)})", terms,
            shown_formula="∫ V / (R T) dp / ṁ(p), here in groups of steps",
            source="mass balance of the line, isothermal",
        )  # fmt: skip
        if number_s < 120.0:
            return [relation(name, float(max(np.ceil(number_s), 1.0)), "s", "max(ceil(t), 1)", {"t": whole},
                             words="told to the next whole second")]  # fmt: skip
        minute = plain_constant("a minute", 60.0, "s", "definition")
        return [relation(name, float(np.ceil(number_s / 60.0)), "min", "ceil(t / m) * m", {"t": whole, "m": minute},
                         words="told to the next whole minute")]  # fmt: skip

    @cached_property
    def decay(self) -> list[Value]:
        """The time until the line has come down."""
        spec = self.values.network.spec(self.found.last_branch)
        lost_pa = self.values.line.passed_pa(spec)
        end_pa = self.found.trapped_pressure_pa - lost_pa + stop.SETTLED_PA
        return self.time("time until the line has come down", self.found.decay_s, end_pa, lost_pa)

    @cached_property
    def off(self) -> list[Value]:
        """The least time off before a start."""
        found = self.found
        if not found.off_s or found.start_pressure_pa is None or found.off_s == found.decay_s:
            return self.decay if found.off_s else []
        lost_pa = self.values.line.passed_pa(self.values.network.spec(found.last_branch))
        return self.time(
            "least time off before a start", found.off_s, found.start_pressure_pa - lost_pa, lost_pa
        )

    @cached_property
    def span(self) -> list[Value]:
        """What such motors start with, low and high, of their full-load torque."""
        rows = {row["words"]: row for row in read_table("motor_starts")}
        words = f"{MOTORS}, {self.found.motor}: {rows[self.found.motor]['source']}"
        return [
            given(
                "starting torque of such motors, low end", self.found.motor_low_fraction, "fraction", words
            ),
            given(
                "starting torque of such motors, high end", self.found.motor_high_fraction, "fraction", words
            ),
        ]

    def _torque(self, gauge: Value) -> tuple[str, dict[str, Value]]:
        """Return formula and terms of the torque that starts the machine against a gauge, of its full-load torque."""
        line, ambient = self.values.line, self.values.network.ambient
        machine = line.machine
        full_pa = machine.max_pressure_pa or stop.FULL_LOAD_PA
        words = "the machine's highest working gauge: the end of its curve, or sources/compressors.csv"
        terms = {
            "p": gauge,
            "a": ambient,
            "F": given("gauge at full load", full_pa, "pa", words, gauge=True),
            "e": plain_constant(
                "work on the air over work at the shaft", stop.MECHANICAL_EFFICIENCY, "", "judgement"
            ),
        }
        work = "adiabatic_power_perry_2008(a, 1, (F + a) / a)"
        if self.found.drive == VANE:
            against = f"p / {2.0 * pi:.10g}"
        else:
            angle, torque = stop.crank_torque_pa(gauge.number, ambient.number)
            worst = int(np.argmax(torque))
            left, turn = stop.crank_geometry(angle[worst : worst + 1])
            place = f"at the worst place of the crank, {np.degrees(angle[worst]):.0f}° from the bottom"
            terms["l"] = summed(f"part of the stroke that is left, {gauge.name}", float(left[0]), "", place)
            terms["g"] = summed(f"stroke by radian, {gauge.name}", float(turn[0]), "", place)
            against = "min(a * (l^(-1.4) - 1), p) * g"
        full = f"{work} / {2.0 * pi:.10g}"
        return f"({against} + {full} * (1 / e - 1)) / ({full} / e)", terms

    @cached_property
    def starts(self) -> list[Value]:
        """The gauge against which the motor surely starts."""
        number = self.found.start_pressure_pa
        if number is None:
            return []
        if self.found.start_pressure_given:
            return [self.values.files.field("gauge against which the motor starts", number, "pa",
                                            "air.compressor.start_pressure", gauge=True)]  # fmt: skip
        at = given("gauge against which the motor surely starts", number, "pa", "", gauge=True)
        formula, terms = self._torque(at)
        return [
            balance(
                at.name, number, "pa", formula, terms, self.span[0], gauge=True,
                assumptions=("dead space is left out",),
                words="the torque against this gauge, of the full-load torque, is what such a motor surely has",
                source="a piston pushed through its worst place without heat, and the friction of the bearings",
            )
        ]  # fmt: skip

    @cached_property
    def against(self) -> Value:
        """The torque against what stays trapped, of the full-load torque."""
        formula, terms = self._torque(self.trapped)
        return relation(
            "torque to start against what stays", self.found.torque_trapped_fraction, "fraction", formula, terms,
            source="a piston pushed through its worst place without heat, and the friction of the bearings",
        )  # fmt: skip
