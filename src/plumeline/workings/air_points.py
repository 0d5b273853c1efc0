"""How the figures of an air line's working point come about: temperatures, flows, power, relief valve, energy."""

from __future__ import annotations

from functools import cached_property
from math import pi

from plumeline.job.document import Compressor
from plumeline.science.air import STANDARD_PRESSURE_PA
from plumeline.stages.air.cautions import RELIEF_MARGIN_PA, trunk_volume_m3
from plumeline.stages.air.choosing import DEFAULT_FLOW_STANDARD_M3_S
from plumeline.stages.air.machine import WIRE_EFFICIENCY, generic_machines
from plumeline.stages.air.power import adiabatic_power_w
from plumeline.stages.air.results import OperatingPoint
from plumeline.workings.air_network import NetworkValues
from plumeline.workings.value import Value, given, plain_constant, relation

QUARTER_PI = f"{pi / 4:.10g}"
PRACTICE = "common practice, no published source"


class PointValues:
    """The values of an air line at work, each made once.

    Attributes:
        network: the line, valves set.
        air: the air stage's result.
    """

    def __init__(self, network: NetworkValues) -> None:
        self.network = network
        self.air, self.files, self.line = network.air, network.files, network.line
        self.compressor, self.manifold, self.flow = network.point(self.air.balanced)

    @property
    def all_points(self) -> tuple[OperatingPoint, ...]:
        """Every setting of the valves that is looked at, the balanced one first."""
        return (self.air.balanced, self.air.valves_open, *self.air.alone, *self.air.one_shut)

    @cached_property
    def standard(self) -> tuple[Value, Value]:
        """Temperature and pressure at which a standard flow is counted."""
        words = "the scfm of this program; there are others"
        return (
            plain_constant("temperature of standard air", 20.0, "degc", words),
            plain_constant("pressure of standard air", STANDARD_PRESSURE_PA, "pa", words, gauge=False),
        )

    @cached_property
    def normal(self) -> tuple[Value, Value]:
        """Temperature and pressure at which a normal flow is counted."""
        words = "definition of the normal cubic metre"
        return (
            plain_constant("temperature of normal air", 0.0, "degc", words),
            plain_constant("pressure of normal air", 1.0, "atm", words),
        )

    @cached_property
    def normal_flow(self) -> Value:
        """The balanced flow in normal cubic metres."""
        return relation(
            "air, all diffusers, at 0 °C and 1 atm", self.air.balanced.flow_normal_m3_h, "Nm³/h",
            "q * s / n * 273.15 / 293.15", {"q": self.flow, "s": self.standard[1], "n": self.normal[1]},
            words="the same mass counted at another pressure and temperature (in kelvin)", source="ideal gas law",
        )  # fmt: skip

    @cached_property
    def wanted(self) -> Value:
        """The air wanted for each diffuser."""
        number, name = self.air.wanted_flow_standard_m3_s, "air wanted for each diffuser"
        if self.files.job.air.air_per_diffuser_m3_s is None:
            return plain_constant(name, DEFAULT_FLOW_STANDARD_M3_S, "air", PRACTICE)
        return self.files.field(name, number, "air", "air.air_per_diffuser")

    def intake_flow(self, point: OperatingPoint) -> Value:
        """Return the free air that a case draws in."""
        flow = self.network.point(point)[2]
        return relation(
            f"free air at the intake, {point.case}", point.flow_intake_m3_s, "intake",
            "intake_flow_iso_1217_2009(q, a, 0, T)", {"q": flow, "a": self.network.ambient, "T": self.network.intake},
            words="counted dry",
        )  # fmt: skip

    @cached_property
    def trunk_drop(self) -> Value:
        """The pressure that the trunk takes."""
        return relation("lost in the trunk", self.air.balanced.trunk_drop_pa, "pa", "p - m",
                        {"p": self.compressor, "m": self.manifold})  # fmt: skip

    @cached_property
    def compression_efficiency(self) -> Value:
        """The compressor's isentropic efficiency."""
        number = self.line.machine.compression_efficiency
        return self.machine_field("efficiency of the compression", number, "", "efficiency", "efficiency")

    def machine_field(self, name: str, number: float, suffix: str, key: str, attribute: str) -> Value:
        """Return a figure of the compressor: the job's own, else that of the table.

        Args:
            name: what it is.
            number: the figure, in the unit of the suffix.
            suffix: its unit.
            key: its key under air.compressor in job.toml.
            attribute: its name in the job's document.
        """
        own: Compressor | None = self.files.job.air.compressor
        table = {machine.name for machine in generic_machines()}
        if own is not None and attribute in own.model_fields_set:
            return self.files.field(name, number, suffix, f"air.compressor.{key}")
        if self.line.machine.name in table:
            return given(name, number, suffix, f"sources/compressors.csv, {self.line.machine.name}")
        return given(
            name, number, suffix, "what this program takes where the job states nothing", source="judgement"
        )

    @cached_property
    def outlet(self) -> Value:
        """The air as it leaves the compressor."""
        return relation(
            "air leaves the compressor", self.air.outlet_temperature_degc, "degc",
            "discharge_temperature_mills_2004(T, (p + a) / a, e)",
            {"T": self.network.intake, "p": self.compressor, "a": self.network.ambient,
             "e": self.compression_efficiency},
        )  # fmt: skip

    @cached_property
    def relief(self) -> Value:
        """The relief valve's setting."""
        number, machine = self.air.relief_pressure_pa, self.line.machine
        if self.air.relief_given:
            return self.files.field(
                "setting of the relief valve", number, "pa", "air.compressor.relief_pressure", gauge=True
            )
        words = f"a rule of this program; {PRACTICE}"
        terms = {
            "p": self.compressor,
            "h": self.highest,
            "m": plain_constant("margin over the highest gauge", RELIEF_MARGIN_PA, "pa", words),
        }
        formula = "max(1.25 * p, h + m)"
        limit_pa = machine.relief_pressure_pa or machine.max_pressure_pa
        if limit_pa is not None and limit_pa > self.compressor.number:
            limit_words = f"sources/compressors.csv, {machine.name}, or the end of the job's curve"
            terms["l"] = given("what the machine itself goes to", limit_pa, "pa", limit_words, gauge=True)
            formula = f"min({formula}, l)"
        return relation("setting of the relief valve", number, "pa", formula, terms, source=words, gauge=True)

    @cached_property
    def highest(self) -> Value:
        """The highest gauge at the compressor of all settings of the valves."""
        point = max(self.all_points, key=lambda one: one.compressor_pressure_pa)
        return self.network.point(point)[0]

    @cached_property
    def count(self) -> Value:
        """How many compressors there are."""
        return self.machine_field(
            "compressors side by side", float(self.line.machine.count), "", "count", "count"
        )

    @cached_property
    def power(self) -> Value:
        """The power from the wall."""
        number, machine, name = self.air.wire_power_w, self.line.machine, "power from the wall"
        if machine.power_w is None:
            usual = plain_constant("ideal work over power from the wall", WIRE_EFFICIENCY, "",
                                   "of small machines 0.2 to 0.4: from memory")  # fmt: skip
            return relation(
                name, number, "w", "W / e", {"W": self.ideal_power(self.air.balanced), "e": usual}
            )
        one = self.machine_field("power of one compressor", machine.power_w, "w", "power", "power_w")
        if machine.open_power_fraction is not None and machine.max_pressure_pa:
            return self._power_at_gauge(one, machine.max_pressure_pa)
        return (
            one if machine.count == 1 else relation(name, number, "w", "n * P", {"n": self.count, "P": one})
        )

    def _power_at_gauge(self, rated: Value, highest_pa: float) -> Value:
        """Return the power of a generic machine at its gauge."""
        name = self.line.machine.name
        terms = {
            "n": self.count, "P": rated, "o": self.open_power(), "p": self.compressor,
            "m": given(
                "highest pressure of the machine", highest_pa, "pa", f"sources/compressors.csv, {name}", gauge=True
            ),
        }  # fmt: skip
        return relation(
            "power from the wall", self.air.wire_power_w, "w", "n * P * (o + (1 - o) * min(p / m, 1))", terms,
            words="straight between the power at an open outlet and that at the highest pressure: invented",
        )  # fmt: skip

    def open_power(self) -> Value:
        """Return the part of its power that a generic machine takes at an open outlet."""
        number = self.line.machine.open_power_fraction or 0.0
        words = f"sources/compressor_care.csv, {self.line.machine.name}: invented"
        return given("part of the power at an open outlet", number, "fraction", words)

    def ideal_power(self, point: OperatingPoint) -> Value:
        """Return the power of an ideal compression in a case."""
        return relation(
            f"ideal work, {point.case}", adiabatic_power_w(self.line, point), "w",
            "adiabatic_power_perry_2008(a, V, (p + a) / a)",
            {"a": self.network.ambient, "V": self.intake_flow(point), "p": self.network.point(point)[0]},
        )  # fmt: skip

    @cached_property
    def trunk_volume(self) -> Value:
        """The volume inside the trunk."""
        terms: dict[str, Value] = {}
        for k in range(len(self.line.trunk)):
            piece = self.network.piece(k)
            terms[f"D{k + 1}"], terms[f"L{k + 1}"] = piece["D"], piece["L"]
        formula = " + ".join(f"{QUARTER_PI} * D{k + 1}^2 * L{k + 1}" for k in range(len(self.line.trunk)))
        return relation("volume inside the trunk", trunk_volume_m3(self.line), "m3", formula, terms,
                        shown_formula="Σ π/4 D² L over the pieces")  # fmt: skip

    def stored(self, name: str, number_j: float, gauge: Value) -> Value:
        """Return the energy that air at a gauge stores in the trunk."""
        return relation(
            name, number_j, "J", "stored_energy_crowl_1992(V, p + a, a)",
            {"V": self.trunk_volume, "p": gauge, "a": self.network.ambient},
        )  # fmt: skip

    @cached_property
    def energy(self) -> Value:
        """The energy stored in the trunk at work."""
        return self.stored("energy stored in the trunk", self.air.stored_energy_j, self.compressor)

    def port(self, point: OperatingPoint, name: str) -> Value:
        """Return the gauge at a branch's port: what it needs where nothing flows, the manifold's where it is dead."""
        state = point.branch(name)
        if state.flow_standard_m3_s > 0.0:
            return self.network.port(point, name)
        return self.network.needed(name) if state.shut else self.network.point(point)[1]

    def branch_flow(self, point: OperatingPoint, name: str) -> list[Value]:
        """Return a branch's flow in a case; nothing where none passes."""
        return [self.network.flow(point, name)] if point.branch(name).flow_standard_m3_s > 0.0 else []
