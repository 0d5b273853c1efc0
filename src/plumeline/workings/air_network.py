"""How the air line's pressures and flows come about: compressor's curve, trunk, manifold, valves, branches."""

from __future__ import annotations

from functools import cached_property

from plumeline.science.air import GAS_CONSTANT_J_KG_K, density_clapeyron_1834, viscosity_sutherland_1893
from plumeline.science.pipe import (
    downstream_pressure_isothermal_crane_2009,
    friction_factor_churchill_1977,
    resistance_number_crane_2009,
    reynolds_number_reynolds_1883,
)
from plumeline.stages.air import AirResult
from plumeline.stages.air.machine import SEA_LEVEL_PRESSURE_PA
from plumeline.stages.air.network import GRAVITY_M_S2, STANDARD_DENSITY_KG_M3
from plumeline.stages.air.results import BranchSpec, OperatingPoint, TrunkPiece
from plumeline.stages.air.solving import Line
from plumeline.units.showing import System
from plumeline.workings.files import Files
from plumeline.workings.value import Value, balance, given, plain_constant, relation

PIPES = "sources/pipes.csv"
DROP = "downstream_pressure_isothermal_crane_2009"


class NetworkValues:
    """The values of an air line, each made once.

    Attributes:
        air: the air stage's result.
        line: what was solved.
        losses: loss coefficient of each branch's valve as set.
        files: the job.
        units: the system of units.
        hot_intake: air at the intake where it is not the job's: on the hot day, in the cabinet.
    """

    def __init__(
        self,
        air: AirResult,
        line: Line,
        losses: tuple[float, ...],
        files: Files,
        units: System,
        hot_intake: Value | None = None,
    ) -> None:
        self.air, self.line, self.files, self.units = air, line, files, units
        self.losses = dict(zip((spec.name for spec in line.branches), losses, strict=True))
        self.hot_intake = hot_intake
        self.ambient = self._ambient()
        self.gas = plain_constant("gas constant of air", GAS_CONSTANT_J_KG_K, "", "dry air, J/(kg K)")
        self.standard = plain_constant(
            "density of standard air", STANDARD_DENSITY_KG_M3, "kg_m3", "ideal gas law at 68 °F, dry, 14.696 psia"
        )  # fmt: skip
        self.intake = self._intake()
        self._flows: dict[tuple[str, str], Value] = {}
        self._points: dict[str, tuple[Value, Value, Value]] = {}

    def _ambient(self) -> Value:
        machine = self.files.job.air.compressor
        stands_m = machine.elevation_m if machine else None
        if stands_m is None:
            height = self.files.field(
                "elevation of the site", self.files.job.site.elevation_m, "m", "site.latitude_longitude_elevation"
            )  # fmt: skip
        else:
            height = self.files.field(
                "elevation of the compressor", stands_m, "m", "air.compressor.elevation"
            )
        return relation(
            "air pressure of the site", self.air.barometric_pressure_pa, "pa", "pressure_icao_1993(h)",
            {"h": height}, gauge=False, words="of the standard atmosphere where the compressor stands",
        )  # fmt: skip

    @cached_property
    def filter_loss(self) -> Value:
        """The pressure that the inlet filter takes."""
        if self.hot_intake is not None and self.line.filter_loss_pa > self.files.job.air.filter_loss_pa:
            words = "a dirty inlet filter: common practice, no published source"
            return given("loss of the dirty filter", self.line.filter_loss_pa, "pa", words)
        return self.files.field("loss of the filter", self.line.filter_loss_pa, "pa", "air.filter_loss")

    def _intake(self) -> Value:
        if self.hot_intake is not None:
            return self.hot_intake
        if self.files.job.air.intake_temperature_degc is None:
            return given("air at the intake", self.line.intake_degc, "degc", "a hot day: the job gives none")
        return self.files.field("air at the intake", self.line.intake_degc, "degc", "air.intake_temperature")

    def _viscosity(self, name: str, temperature: Value) -> Value:
        number = viscosity_sutherland_1893(temperature.number + 273.15)
        return relation(
            f"viscosity of the air {name}", number, "Pa·s", "viscosity_sutherland_1893(T)", {"T": temperature}
        )

    def reynolds(self, name: str, flow: Value, bore: Value, temperature: Value) -> Value:
        """Return the Reynolds number of the air in a pipe."""
        viscosity = self._viscosity(name, temperature)
        mass_kg_s = flow.number * STANDARD_DENSITY_KG_M3
        return relation(
            f"Reynolds number {name}", reynolds_number_reynolds_1883(mass_kg_s, bore.number, viscosity.number), "",
            "reynolds_number_reynolds_1883(q * r, D, v)",
            {"q": flow, "r": self.standard, "D": bore, "v": viscosity},
        )  # fmt: skip

    def _resistance(
        self,
        name: str,
        flow: Value,
        length: Value,
        bore: Value,
        roughness: Value,
        extra: Value,
        temperature: Value,
    ) -> Value:
        """Return the velocity heads that a pipe costs at a flow."""
        reynolds = self.reynolds(name, flow, bore, temperature)
        factor = relation(
            f"friction factor {name}",
            friction_factor_churchill_1977(reynolds.number, roughness.number / bore.number),
            "",
            "friction_factor_churchill_1977(Re, e / D)",
            {"Re": reynolds, "e": roughness, "D": bore},
        )
        number = resistance_number_crane_2009(factor.number, length.number, bore.number, extra.number)
        return relation(
            f"velocity heads lost {name}", number, "", "resistance_number_crane_2009(f, L, D, k)",
            {"f": factor, "L": length, "D": bore, "k": extra},
        )  # fmt: skip

    def piece(self, index: int) -> dict[str, Value]:
        """Return length, bore, roughness, losses and temperature of a piece of the trunk."""
        part: TrunkPiece = self.line.trunk[index]
        where = f"air.trunk[{index + 1}]"
        name = f"of trunk piece {index + 1}"
        chosen_words = (
            "chosen here, along the job's route"
            if self.air.trunk_chosen
            else self.files.words(f"{where}.length")
        )
        return {
            "L": given(f"length {name}", part.length_m, "m", chosen_words),
            "D": given(f"bore {name}", part.bore_m, "m", f"{PIPES}, {part.pipe or 'by its bore'}"),
            "e": given(
                f"roughness {name}", part.roughness_m, "m", f"{PIPES}, {part.pipe or 'air.roughness'}"
            ),
            "k": given(
                f"losses of fittings {name}",
                part.minor_loss_number,
                "",
                f"job.toml, {where}.minor_loss_number and its fittings",
            ),
            "T": given(
                f"mean temperature {name}",
                part.mean_temperature_degc,
                "degc",
                "the air cools along the line: see the trunk's table",
            ),
        }

    def _after_trunk(self, case: str, compressor: Value, flow: Value) -> Value:
        """Return the manifold's gauge: the pressure handed down piece by piece."""
        pressure = compressor
        for index, part in enumerate(self.line.trunk):
            terms = self.piece(index)
            name = f"of trunk piece {index + 1}, {case}"
            heads = self._resistance(name, flow, terms["L"], terms["D"], terms["e"], terms["k"], terms["T"])
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

    def point(self, point: OperatingPoint) -> tuple[Value, Value, Value]:
        """Return compressor's gauge, manifold's gauge and standard flow of a case."""
        if point.case not in self._points:
            self._points[point.case] = self._point(point)
        return self._points[point.case]

    def _point(self, point: OperatingPoint) -> tuple[Value, Value, Value]:
        case = point.case
        number = point.flow_standard_m3_s
        plain = given(f"air of all diffusers, {case}", number, "air", "sum of the branches")
        at = given(
            f"gauge at the compressor, {case}",
            point.compressor_pressure_pa,
            "pa",
            "solved with the lines",
            gauge=True,
        )
        index = min(
            max(sum(1 for gauge, _ in self.curve if gauge.number <= point.compressor_pressure_pa) - 1, 0),
            len(self.curve) - 2,
        )
        (p1, q1), (p2, q2) = self.curve[index], self.curve[index + 1]
        compressor = balance(
            f"gauge at the compressor, {case}", point.compressor_pressure_pa, "pa",
            "q1 + (q2 - q1) * (p - p1) / (p2 - p1)", {"p": at, "p1": p1, "p2": p2, "q1": q1, "q2": q2}, plain,
            words="the compressor's curve at the site gives at this gauge the air that the lines take",
            gauge=True,
        )  # fmt: skip
        manifold = self._after_trunk(case, compressor, plain)
        running = [branch for branch in point.branches if branch.flow_standard_m3_s > 0.0]
        terms: dict[str, Value] = {}
        for k, branch in enumerate(running, start=1):
            flow = self._branch_flow(point, branch.name, manifold)
            self._flows[case, branch.name] = flow
            terms[f"q{k}"] = flow
        total = relation(f"air of all diffusers, {case}", number, "air", " + ".join(terms) or "0", terms)
        return compressor, manifold, total

    def flow(self, point: OperatingPoint, name: str) -> Value:
        """Return the standard flow of a branch in a case."""
        self.point(point)
        return self._flows[point.case, name]

    def spec(self, name: str) -> BranchSpec:
        """Return a branch's description."""
        return next(spec for spec in self.line.branches if spec.name == name)

    def branch(self, name: str) -> dict[str, Value]:
        """Return length, bore, roughness, losses and temperature of a branch."""
        spec = self.spec(name)
        of = f"of branch {name}"
        return {
            "L": given(f"length {of}", spec.length_m, "m", "the layout: its way along the bottom with slack"),
            "D": given(f"bore {of}", spec.bore_m, "m", f"{PIPES}, or air.diffusers"),
            "e": given(f"roughness {of}", spec.roughness_m, "m", "plastic tubing"),
            "k": given(f"losses of fittings {of}", spec.loss_number, "", "job.toml, air.diffusers"),
            "T": given(f"water round {of}", self.line.water_degc, "degc", "the water that it lies in"),
        }  # fmt: skip

    @cached_property
    def water_density(self) -> Value:
        """The density of the pond's water."""
        words = "at the temperature of the water round the lines"
        return given("density of the pond's water", self.line.water_density_kg_m3, "kg_m3", words)

    @cached_property
    def gravity(self) -> Value:
        """Gravity."""
        return plain_constant("gravity", GRAVITY_M_S2, "m/s²", "standard gravity")

    def needed(self, name: str) -> Value:
        """Return the gauge at which a branch begins to bubble: water, membrane, check valve."""
        spec = self.spec(name)
        terms = {
            "w": self.water_density,
            "g": self.gravity,
            "d": given(
                f"depth of the membrane of {name}",
                spec.depth_m,
                "m",
                "the layout: bottom less the base, or as the job gives it",
            ),
            "s": given(f"water standing in branch {name}", spec.standing_water_m, "m", "job.toml"),
            "m": given(
                f"membrane of {name} at no flow",
                self.line.membrane_of(spec)[0].pressure_pa,
                "pa",
                "job.toml, air.membrane_loss, or its curve",
            ),
            "c": given(f"check valve of {name}", spec.check_valve_pa, "pa", "job.toml"),
        }
        return relation(
            f"gauge that {name} needs",
            self.line.needed_pa(spec),
            "pa",
            "w * g * (d + s) + m + c",
            terms,
            gauge=True,
            source="hydrostatics",
        )

    def valve_heads(self, point: OperatingPoint, name: str) -> float:
        """Return the loss coefficient of a branch's valve in a case: as set, or open."""
        open_cases = {self.air.valves_open.case, *(one.case for one in self.air.alone)}
        return 0.0 if point.case in open_cases else self.losses[name]

    def port(
        self, point: OperatingPoint, name: str, manifold: Value | None = None, flow: Value | None = None
    ) -> Value:
        """Return the gauge at a branch's port, after its valve."""
        manifold = manifold or self.point(point)[1]
        flow = flow or self.flow(point, name)
        terms = self.branch(name)
        heads = given(
            f"velocity heads of the valve of {name}, {point.case}", self.valve_heads(point, name), "",
            "set so that every diffuser gets its share; the neediest valve stands open",
        )  # fmt: skip
        return relation(
            f"gauge at the port of {name}, {point.case}", point.branch(name).port_pressure_pa, "pa",
            f"{DROP}(q * r, p + a, K, D, R, T) - a",
            {"q": flow, "r": self.standard, "p": manifold, "a": self.ambient, "K": heads, "D": terms["D"],
             "R": self.gas, "T": terms["T"]},
            gauge=True,
        )  # fmt: skip

    def _branch_flow(self, point: OperatingPoint, name: str, manifold: Value) -> Value:
        """Return a branch's flow by its balance: what its line leaves of the port's gauge is what it needs."""
        terms, case = self.branch(name), point.case
        number = point.branch(name).flow_standard_m3_s
        flow = given(f"air of {name}, {case}", number, "air", "solved with the line")
        heads = self._resistance(
            f"of branch {name}, {case}", flow, terms["L"], terms["D"], terms["e"], terms["k"], terms["T"]
        )
        port = self.port(point, name, manifold, flow)
        return balance(
            f"air of {name}, {case}", number, "air", f"{DROP}(q * r, p + a, K, D, R, T) - a",
            {"q": flow, "r": self.standard, "p": port, "a": self.ambient, "K": heads, "D": terms["D"], "R": self.gas,
             "T": terms["T"]},
            self.needed(name), words="what the line leaves of the port's gauge is what the diffuser needs",
        )  # fmt: skip
