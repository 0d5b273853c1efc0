"""How the air line's pressures and flows come about: compressor's curve, trunk, manifold, valves, branches."""

from __future__ import annotations

from functools import cached_property
from math import pi

from plumeline.science.air import GAS_CONSTANT_J_KG_K, density_clapeyron_1834
from plumeline.science.pipe import downstream_pressure_isothermal_crane_2009
from plumeline.stages.air import AirResult
from plumeline.stages.air.machine import SEA_LEVEL_PRESSURE_PA
from plumeline.stages.air.network import STANDARD_DENSITY_KG_M3
from plumeline.stages.air.results import OperatingPoint
from plumeline.stages.air.solving import Line
from plumeline.units.showing import System
from plumeline.workings.air_pipes import PipeValues
from plumeline.workings.files import Files
from plumeline.workings.layout import LayoutValues
from plumeline.workings.value import Value, balance, counted, given, plain_constant, relation

DROP = "downstream_pressure_isothermal_crane_2009"
RISE = "upstream_pressure_isothermal_crane_2009"
Point = tuple[Value, Value, Value]
"""Compressor's gauge, manifold's gauge and standard flow of a case."""


class NetworkValues(PipeValues):
    """The values of an air line, each made once.

    Attributes:
        losses: loss coefficient of each branch's valve as set.
        set_by: the line for which the valves are set; itself, or the one of another day.
    """

    def __init__(
        self,
        air: AirResult,
        line: Line,
        losses: tuple[float, ...],
        files: Files,
        units: System,
        layout: LayoutValues,
        other_day: tuple[NetworkValues, Value] | None = None,
    ) -> None:
        """Make them.

        Args:
            air: the air stage's result.
            line: what was solved.
            losses: loss coefficient of each branch's valve as set.
            files: the job.
            units: the system of units.
            layout: where the diffusers lie.
            other_day: for another day than the job's: the line for which the valves are set, and the air at the intake.
        """
        super().__init__(air, line, files, units, layout, other_day[1] if other_day else None)
        self.losses = dict(zip((spec.name for spec in line.branches), losses, strict=True))
        self.set_by = other_day[0] if other_day else self
        self._flows: dict[tuple[str, str], Value] = {}
        self._points: dict[str, Point] = {}
        self._ports: dict[tuple[str, str], Value] = {}
        self._valves: dict[str, Value] = {}

    def _after_trunk(self, case: str, compressor: Value, flow: Value) -> Value:
        """Return the manifold's gauge: the pressure handed down piece by piece."""
        pressure = compressor
        for index, part in enumerate(self.line.trunk):
            terms = self.piece(index)
            name = f"of trunk piece {index + 1}, {case}"
            heads = self.resistance(name, flow, terms["L"], terms["D"], terms["e"], terms["k"], terms["T"])
            out_pa = downstream_pressure_isothermal_crane_2009(
                flow.number * STANDARD_DENSITY_KG_M3, pressure.number + self.ambient.number, heads.number,
                part.bore_m, GAS_CONSTANT_J_KG_K, part.mean_temperature_degc + 273.15,
            )  # fmt: skip
            taken_pa = part.check_valve_pa + self.line.water_pa(part.plug_height_m)
            taken = given(
                f"check valve and water {name}", taken_pa, "pa", f"job.toml, air.trunk[{index + 1}]"
            )
            last = index == len(self.line.trunk) - 1
            pressure = relation(
                f"gauge at the manifold, {case}" if last else f"gauge after trunk piece {index + 1}, {case}",
                out_pa - self.ambient.number - taken_pa, "pa", f"{DROP}(q * r, p + a, K, D, R, T) - a - c",
                {"q": flow, "r": self.standard, "p": pressure, "a": self.ambient, "K": heads, "D": terms["D"],
                 "R": self.gas, "T": terms["T"], "c": taken},
                gauge=True,
            )  # fmt: skip
        return pressure

    @cached_property
    def curve(self) -> list[tuple[Value, Value]]:
        """The compressor's curve at the site: gauge and standard flow of each point."""
        machine = self.line.machine
        site = self.line.site_curve()
        count = given("compressors side by side", float(machine.count), "", "job.toml, air.compressor.count")
        sea = plain_constant(
            "air pressure of the published curve", SEA_LEVEL_PRESSURE_PA, "pa", "1 atm", gauge=False
        )
        intake_density = relation(
            "density of the air at the intake",
            density_clapeyron_1834(self.ambient.number - self.line.filter_loss_pa, self.line.intake_degc + 273.15),
            "kg_m3", "density_clapeyron_1834(a - f, T)", {"a": self.ambient, "f": self.filter_loss, "T": self.intake},
        )  # fmt: skip
        found = []
        for k, point in enumerate(machine.curve):
            words = (
                "sources/compressor_curves.csv"
                if self.air.compressor_chosen
                else self.files.words(f"air.compressor.curve[{k + 1}].pressure")
            )
            flow_words = (
                "sources/compressor_curves.csv"
                if self.air.compressor_chosen
                else self.files.words(f"air.compressor.curve[{k + 1}].intake_flow")
            )
            sheet = given(f"pressure of curve point {k + 1}", point.pressure_pa, "pa", words, gauge=True)
            volume = given(f"free air of curve point {k + 1}", point.intake_flow_m3_s, "intake", flow_words)
            gauge = relation(
                f"gauge of curve point {k + 1} at the site", site.pressure_pa[k], "pa", "(1 + p / s) * (a - f) - a",
                {"p": sheet, "s": sea, "a": self.ambient, "f": self.filter_loss}, gauge=True,
                words="a piston loses volume with the ratio of the pressures",
            )  # fmt: skip
            flow = relation(
                f"air of curve point {k + 1} at the site", site.flow_kg_s[k] / STANDARD_DENSITY_KG_M3, "air",
                "V * n * d / r", {"V": volume, "n": count, "d": intake_density, "r": self.standard},
            )  # fmt: skip
            found.append((gauge, flow))
        return found

    def point(self, point: OperatingPoint) -> Point:
        """Return compressor's gauge, manifold's gauge and standard flow of a case."""
        if point.case not in self._points:
            self._points[point.case] = self._point(point)
        return self._points[point.case]

    def _point(self, point: OperatingPoint) -> Point:
        case, number = point.case, point.flow_standard_m3_s
        plain = given(f"air of all diffusers, {case}", number, "air", "")
        compressor = self._compressor(point, plain)
        manifold = self._after_trunk(case, compressor, plain)
        running = [branch.name for branch in point.branches if branch.flow_standard_m3_s > 0.0]
        if point is self.air.balanced and running:
            return compressor, manifold, self._balanced(running, manifold, plain)
        terms: dict[str, Value] = {}
        for k, name in enumerate(running, start=1):
            terms[f"q{k}"] = self._flows[case, name] = self._branch_flow(point, name, manifold)
        total = relation(f"air of all diffusers, {case}", number, "air", " + ".join(terms) or "0", terms)
        return compressor, manifold, total

    def _compressor(self, point: OperatingPoint, flow: Value) -> Value:
        """Return the compressor's gauge by its balance: at it the curve gives what the lines take."""
        name, number_pa = f"gauge at the compressor, {point.case}", point.compressor_pressure_pa
        at = given(name, number_pa, "pa", "", gauge=True)
        under = sum(1 for gauge, _ in self.curve if gauge.number <= number_pa)
        index = min(max(under - 1, 0), len(self.curve) - 2)
        (p1, q1), (p2, q2) = self.curve[index], self.curve[index + 1]
        return balance(
            name, number_pa, "pa", "q1 + (q2 - q1) * (p - p1) / (p2 - p1)",
            {"p": at, "p1": p1, "p2": p2, "q1": q1, "q2": q2}, flow, gauge=True,
            words="the compressor's curve at the site gives at this gauge the air that the lines take",
        )  # fmt: skip

    def _balanced(self, running: list[str], manifold: Value, flow: Value) -> Value:
        """Return all air, valves set: each branch has its share, and the neediest takes all of the manifold's gauge."""
        case, mode = self.air.balanced.case, self.files.job.air.balance
        terms: dict[str, Value] = {"Q": flow}
        for k, name in enumerate(running, start=1):
            words = "alike for all" if mode == "equal" else f"its {mode} over the mean of all: air.balance"
            terms[f"s{k}"] = given(f"share of {name}", self.spec(name).share_number, "", words)
        total = " + ".join(f"s{k}" for k in range(1, len(running) + 1))
        for k, name in enumerate(running, start=1):
            number = self.air.balanced.branch(name).flow_standard_m3_s
            if mode == "equal":
                alike = counted("diffusers that run", float(len(running)), "", " + ".join(["1"] * len(running)), {},
                                words=", ".join(running))  # fmt: skip
                own = relation(f"air of {name}, {case}", number, "air", "Q / n", {"Q": flow, "n": alike},
                               words="the valves are set so that all get alike")  # fmt: skip
            else:
                own = relation(f"air of {name}, {case}", number, "air", f"Q * s{k} / ({total})", terms,
                               words="the valves are set so that each gets its share")  # fmt: skip
            self._flows[case, name] = own
        needy = min(running, key=lambda name: self.losses[name])
        if not manifold.formula:
            return flow
        return balance(
            f"air of all diffusers, {case}", flow.number, "air", manifold.formula, manifold.terms,
            self._port(self.air.balanced, needy, manifold, self._flows[case, needy]),
            words=f"at this flow the trunk leaves at the manifold what the line of {needy} needs, whose valve is open",
        )  # fmt: skip

    def flow(self, point: OperatingPoint, name: str) -> Value:
        """Return the standard flow of a branch in a case."""
        self.point(point)
        return self._flows[point.case, name]

    def _line_heads(self, point: OperatingPoint, name: str, flow: Value) -> Value:
        """Return the velocity heads that a branch costs."""
        terms = self.branch(name)
        of = f"of branch {name}, {point.case}"
        return self.resistance(of, flow, terms["L"], terms["D"], terms["e"], terms["k"], terms["T"])

    def valve(self, point: OperatingPoint, name: str) -> Value:
        """Return the velocity heads of a branch's valve in a case: as set, or open."""
        open_cases = {self.air.valves_open.case, *(one.case for one in self.air.alone)}
        if point.case in open_cases:
            return plain_constant(
                f"velocity heads of the open valve of {name}", 0.0, "", "beside those of the line: none"
            )
        return self.set_by.valve_set(name)

    def valve_set(self, name: str) -> Value:
        """Return the velocity heads that a valve must lose so that its diffuser gets its share."""
        if name not in self._valves:
            self._valves[name] = self._valve_set(name)
        return self._valves[name]

    def _valve_set(self, name: str) -> Value:
        label, number, point = (
            f"velocity heads of the valve of {name}, as set",
            self.losses[name],
            self.air.balanced,
        )
        if number <= 0.0 or point.branch(name).flow_standard_m3_s <= 0.0:
            return given(label, number, "", "open: the neediest, or one that no air reaches")
        branch, flow = self.branch(name), self.flow(point, name)
        flux = f"(4 * q * r / ({pi:.10g} * D^2))^2 * R * (T + 273.15)"
        terms = {"m": self.point(point)[1], "p": self.port(point, name), "a": self.ambient, "q": flow,
                 "r": self.standard, "D": branch["D"], "R": self.gas, "T": branch["T"]}  # fmt: skip
        formula = f"((m + a)^2 - (p + a)^2) / ({flux}) - 2 * ln((m + a) / (p + a))"
        return relation(label, number, "", formula, terms, source="isothermal flow through a loss: Crane TP-410 (2009)",
                        words="what burns the manifold's gauge down to that of the port")  # fmt: skip

    def port(self, point: OperatingPoint, name: str) -> Value:
        """Return the gauge at the port of a branch in which air flows, after its valve."""
        key = (point.case, name)
        if key not in self._ports:
            self._ports[key] = self._port(point, name, self.point(point)[1], self.flow(point, name))
        return self._ports[key]

    def _port(self, point: OperatingPoint, name: str, manifold: Value, flow: Value) -> Value:
        """Return a port's gauge: where the valves are set what its line needs, else what its valve leaves."""
        terms, label = self.branch(name), f"gauge at the port of {name}, {point.case}"
        number = point.branch(name).port_pressure_pa
        if point is self.air.balanced:
            heads = self._line_heads(point, name, flow)
            return relation(
                label, number, "pa", f"{RISE}(q * r, n + a, K, D, R, T) - a",
                {"q": flow, "r": self.standard, "n": self.needed(name), "a": self.ambient, "K": heads, "D": terms["D"],
                 "R": self.gas, "T": terms["T"]},
                gauge=True, words="what the diffuser needs, and what its line takes at this flow",
            )  # fmt: skip
        return relation(
            label, number, "pa", f"{DROP}(q * r, p + a, K, D, R, T) - a",
            {"q": flow, "r": self.standard, "p": manifold, "a": self.ambient, "K": self.valve(point, name),
             "D": terms["D"], "R": self.gas, "T": terms["T"]},
            gauge=True,
        )  # fmt: skip

    def _branch_flow(self, point: OperatingPoint, name: str, manifold: Value) -> Value:
        """Return a branch's flow by its balance: what its line leaves of the port's gauge is what it needs."""
        terms, case = self.branch(name), point.case
        number = point.branch(name).flow_standard_m3_s
        flow = given(f"air of {name}, {case}", number, "air", "")
        heads = self._line_heads(point, name, flow)
        port = self._port(point, name, manifold, flow)
        return balance(
            f"air of {name}, {case}", number, "air", f"{DROP}(q * r, p + a, K, D, R, T) - a",
            {"q": flow, "r": self.standard, "p": port, "a": self.ambient, "K": heads, "D": terms["D"], "R": self.gas,
             "T": terms["T"]},
            self.needed(name), words="what the line leaves of the port's gauge is what the diffuser needs",
        )  # fmt: skip
