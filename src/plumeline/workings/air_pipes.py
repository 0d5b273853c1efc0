"""How the parts of an air line come about: the air of the site, pipes, water over the membranes."""

from __future__ import annotations

from functools import cached_property

from plumeline.science.air import GAS_CONSTANT_J_KG_K, viscosity_sutherland_1893
from plumeline.science.pipe import (
    friction_factor_churchill_1977,
    resistance_number_crane_2009,
    reynolds_number_reynolds_1883,
)
from plumeline.stages.air import AirResult
from plumeline.stages.air.choosing import DEFAULT_WATER_DEGC, water_salt_g_kg
from plumeline.stages.air.network import GRAVITY_M_S2, STANDARD_DENSITY_KG_M3
from plumeline.stages.air.results import BranchSpec, TrunkPiece
from plumeline.stages.air.solving import Line
from plumeline.stages.layout import PlacedDiffuser
from plumeline.units import show
from plumeline.units.showing import System
from plumeline.workings.files import Files
from plumeline.workings.layout import LayoutValues
from plumeline.workings.value import Value, given, measured, plain_constant, relation, summed

PIPES = "sources/pipes.csv"


class PipeValues:
    """The values of a line's parts, each made once.

    Attributes:
        air: the air stage's result.
        line: what was solved.
        files: the job.
        units: the system of units.
        layout: where the diffusers lie.
        hot_intake: air at the intake where it is not the job's: on the hot day, in the cabinet.
    """

    def __init__(
        self,
        air: AirResult,
        line: Line,
        files: Files,
        units: System,
        layout: LayoutValues,
        hot_intake: Value | None = None,
    ) -> None:
        self.air, self.line, self.files, self.units = air, line, files, units
        self.layout, self.hot_intake = layout, hot_intake
        self.ambient = self._ambient()
        self.gas = plain_constant("gas constant of air", GAS_CONSTANT_J_KG_K, "", "dry air, J/(kg K)")
        self.standard = plain_constant(
            "density of standard air", STANDARD_DENSITY_KG_M3, "kg_m3", "ideal gas law, dry"
        )  # fmt: skip
        self.intake = self._intake()
        self._pieces: dict[int, dict[str, Value]] = {}
        self._branches: dict[str, dict[str, Value]] = {}
        self._needed: dict[str, Value] = {}

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

    def resistance(
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
        if index not in self._pieces:
            self._pieces[index] = self._piece(index)
        return self._pieces[index]

    def _piece(self, index: int) -> dict[str, Value]:
        part: TrunkPiece = self.line.trunk[index]
        where, name = f"air.trunk[{index + 1}]", f"of trunk piece {index + 1}"
        chosen_words = "chosen here, along the job's route"
        words = chosen_words if self.air.trunk_chosen else self.files.words(f"{where}.length")
        length = given(f"length {name}", part.length_m, "m", words)
        fittings = f"job.toml, {where}.minor_loss_number and its fittings"
        return {
            "L": length,
            "D": given(f"bore {name}", part.bore_m, "m", f"{PIPES}, {part.pipe or 'by its bore'}"),
            "e": given(
                f"roughness {name}", part.roughness_m, "m", f"{PIPES}, {part.pipe or 'air.roughness'}"
            ),
            "k": given(f"losses of fittings {name}", part.minor_loss_number, "", fittings),
            "T": self._mean(name, part, length),
        }

    def _mean(self, name: str, part: TrunkPiece, length: Value) -> Value:
        """Return the mean temperature of the air in a piece, as it was found by turns with the flow."""
        label, number = f"mean temperature {name}", part.mean_temperature_degc
        around_degc = self.line.soil_degc if part.cover_m > 0.0 else self.line.intake_degc
        fall_degc = part.start_temperature_degc - part.end_temperature_degc
        if abs(fall_degc) < 1e-9:
            return given(
                label, number, "degc", "as warm as what is round it: the table of the trunk works it out"
            )
        words = "heat and flow were found by turns, three times; the table of the trunk works it out"
        terms = {
            "G": given(
                f"round it, {name}", around_degc, "degc", "soil where it is covered, else the open air"
            ),
            "T0": summed(f"air at the start {name}, by turns", part.start_temperature_degc, "degc", words),
            "T1": summed(f"air at the end {name}, by turns", part.end_temperature_degc, "degc", words),
            "C": summed(
                f"cooling length {name}, by turns",
                (number - around_degc) * part.length_m / fall_degc,
                "m",
                words,
            ),
            "L": length,
        }
        return relation(label, number, "degc", "G + (T0 - T1) * C / L", terms,
                        source="mean of the temperature along the line")  # fmt: skip

    def spec(self, name: str) -> BranchSpec:
        """Return a branch's description."""
        return next(spec for spec in self.line.branches if spec.name == name)

    def placed(self, name: str) -> PlacedDiffuser | None:
        """Return where a diffuser lies; None where the layout has none of that name."""
        return next((item for item in self.layout.found.diffusers if item.name == name), None)

    def depth(self, name: str) -> Value:
        """Return the depth of a membrane."""
        spec, item = self.spec(name), self.placed(name)
        if item is not None and item.depth_m == spec.depth_m:
            return self.layout.depth(item)
        return self.files.field(f"membrane of {name}", spec.depth_m, "m", "air.diffusers, depth")

    def length(self, name: str) -> Value:
        """Return the length of a branch."""
        spec, item = self.spec(name), self.placed(name)
        found = self.layout.line(item)[2:] if item is not None else []
        own = next((one for one in found if one.number == spec.length_m), None)
        return own or self.files.field(
            f"length of branch {name}", spec.length_m, "m", "air.diffusers, branch_length"
        )

    def branch(self, name: str) -> dict[str, Value]:
        """Return length, bore, roughness, losses and temperature of a branch."""
        if name not in self._branches:
            spec, of = self.spec(name), f"of branch {name}"
            self._branches[name] = {
                "L": self.length(name),
                "D": given(f"bore {of}", spec.bore_m, "m", f"{PIPES}, or air.diffusers"),
                "e": given(f"roughness {of}", spec.roughness_m, "m", f"{PIPES}, or air.roughness"),
                "k": given(f"losses of fittings {of}", spec.loss_number, "", "job.toml, air.diffusers"),
                "T": self.water,
            }
        return self._branches[name]

    @cached_property
    def water(self) -> Value:
        """The water that the branches lie in."""
        name, profile = "water round the branches", self.files.job.latest_profile
        if profile is None:
            return plain_constant(name, DEFAULT_WATER_DEGC, "degc", "a summer pond: no profile is given")
        terms = {
            f"t{k}": measured(f"temperature at {show(point.depth_m, 'm', self.units)}", point.temperature_degc, "degc",
                              "the last profile")
            for k, point in enumerate(profile.points, start=1)
        }  # fmt: skip
        return relation(name, self.line.water_degc, "degc", f"({' + '.join(terms)}) / {len(terms)}", terms,
                        words="mean of the readings of the last profile")  # fmt: skip

    @cached_property
    def water_density(self) -> Value:
        """The density of the pond's water."""
        name, number = "density of the pond's water", self.line.water_density_kg_m3
        profile = self.files.job.latest_profile
        read = [
            (show(point.depth_m, "m", self.units), point.conductivity_us_cm)
            for point in ([] if profile is None else profile.points)
            if point.conductivity_us_cm
        ]
        if not read:
            return relation(name, number, "kg_m3", "density_kell_1975(T)", {"T": self.water})
        terms = {
            f"c{k}": measured(f"conductivity at {at}", value, "us_cm", "the last profile")
            for k, (at, value) in enumerate(read, start=1)
        }
        mean = f"({' + '.join(terms)}) / {len(terms)}"
        salt = relation("salt of the pond's water", water_salt_g_kg(self.files.job), "g_kg",
                        f"salinity_hill_1986({mean})", terms, words="of the mean conductivity read")  # fmt: skip
        return relation(
            name, number, "kg_m3", "density_chen_millero_1986(T, S)", {"T": self.water, "S": salt}
        )

    @cached_property
    def gravity(self) -> Value:
        """Gravity."""
        return plain_constant("gravity", GRAVITY_M_S2, "m/s²", "standard gravity")

    def needed(self, name: str) -> Value:
        """Return the gauge at which a branch begins to bubble: water, membrane, check valve."""
        if name not in self._needed:
            self._needed[name] = self._need(name)
        return self._needed[name]

    def _need(self, name: str) -> Value:
        spec = self.spec(name)
        membrane_pa = self.line.membrane_of(spec)[0].pressure_pa
        terms = {
            "w": self.water_density,
            "g": self.gravity,
            "d": self.depth(name),
            "s": given(
                f"water standing in branch {name}", spec.standing_water_m, "m", "job.toml, air.diffusers"
            ),
            "m": given(
                f"membrane of {name} at no flow",
                membrane_pa,
                "pa",
                "job.toml, air.membrane_loss, or its curve",
            ),
            "c": given(f"check valve of {name}", spec.check_valve_pa, "pa", "job.toml, air.diffusers"),
        }
        return relation(f"gauge that {name} needs", self.line.needed_pa(spec), "pa", "w * g * (d + s) + m + c", terms,
                        gauge=True, source="hydrostatics")  # fmt: skip
