"""How the heat of an air line comes about: the air's temperature along the trunk, and the first length of metal."""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property
from math import exp, pi

from plumeline.science.air import (
    conductivity_us_standard_atmosphere_1976,
    line_conductance_incropera_2007,
    nusselt_number_gnielinski_2013,
    shape_factor_incropera_2007,
)
from plumeline.sources import read_table
from plumeline.stages.air.heat import HOT_DAY_DEGC, HotDay, derated_line
from plumeline.stages.air.line import (
    DESIGN_COVER_M,
    OPEN_AIR_COEFFICIENT_W_M2_K,
    SAFE_MARGIN_DEGC,
    SOIL_CONDUCTIVITY_W_M_K,
    cooling_length_m,
)
from plumeline.stages.air.network import STANDARD_DENSITY_KG_M3
from plumeline.stages.air.results import TrunkPiece
from plumeline.units.showing import System
from plumeline.workings.air_cabinet import CabinetValues
from plumeline.workings.air_network import NetworkValues
from plumeline.workings.air_pipes import PIPES
from plumeline.workings.air_points import PRACTICE, PointValues
from plumeline.workings.value import Value, given, plain_constant, relation


def apart(name: str, difference_k: float, units: System, source: str) -> Value:
    """Return a difference of temperatures that is the same for every pond, in the unit of the system."""
    number, unit = (1.8 * difference_k, "°F apart") if units == "us" else (difference_k, "°C apart")
    return plain_constant(name, number, unit, source)


class CoolingValues:
    """How the air cools along the trunk, on one day.

    Attributes:
        values: the line at work.
        network: the line on this day.
        pieces: the trunk with its temperatures on this day.
        leaves: the air as it leaves the compressor.
        around: the open air.
        day: empty, or the words that tell this day from the job's.
    """

    def __init__(
        self,
        values: PointValues,
        network: NetworkValues,
        pieces: tuple[TrunkPiece, ...],
        leaves: Value,
        around: Value,
        day: str = "",
    ) -> None:
        self.values, self.network, self.pieces = values, network, pieces
        self.leaves, self.around, self.day = leaves, around, f", {day}" if day else ""
        self.starts: list[Value] = [leaves]
        self.lengths: list[Value] = []
        for index in range(len(pieces)):
            self.lengths.append(self._length(index))
            self.starts.append(self._end(index))

    @cached_property
    def soil(self) -> Value:
        """The soil at the pipe."""
        number, job = self.network.line.soil_degc, self.network.files.job
        if job.air.soil_temperature_degc is None:
            return given("soil at the pipe", number, "degc", "a usual soil: the job gives none")
        return self.network.files.field("soil at the pipe", number, "degc", "air.soil_temperature")

    def surroundings(self, index: int) -> Value:
        """Return what is round a piece."""
        return self.soil if self.pieces[index].cover_m > 0.0 else self.around

    def cover(self, index: int) -> Value:
        """Return the ground over a piece."""
        number, name = self.pieces[index].cover_m, f"cover of trunk piece {index + 1}"
        if self.values.air.trunk_chosen:
            return plain_constant(name, number, "m", f"of a trunk that is chosen here: {PRACTICE}")
        return self.network.files.field(name, number, "m", f"air.trunk[{index + 1}].cover")

    def _conductance(
        self, name: str, piece: TrunkPiece, start: Value, bore: Value, cover: Value | None
    ) -> Value:
        """Return the heat that a metre of pipe passes, by kelvin."""
        kelvin = start.number + 273.15
        reynolds = self.network.reynolds(name, self.values.flow, bore, start)
        nusselt = relation(f"Nusselt number {name}", nusselt_number_gnielinski_2013(reynolds.number), "",
                           "nusselt_number_gnielinski_2013(Re)", {"Re": reynolds})  # fmt: skip
        conductivity = relation(
            f"conductivity of the air {name}, W/(m K)", conductivity_us_standard_atmosphere_1976(kelvin), "",
            "conductivity_us_standard_atmosphere_1976(T)", {"T": start},
        )  # fmt: skip
        inside = relation(
            f"heat transfer inside {name}, W/(m² K)", nusselt.number * conductivity.number / bore.number, "",
            "N * k / D",
            {"N": nusselt, "k": conductivity, "D": bore},
        )  # fmt: skip
        outside = given(f"outside diameter {name}", piece.outside_diameter_m, "m", f"{PIPES}, {piece.pipe}")
        resistance = _resistance(name, outside, cover)
        wall = given(f"conductivity of the wall {name}, W/(m K)", piece.conductivity_w_m_k, "",
                     f"sources/pipe_materials.csv, {piece.material}")  # fmt: skip
        number = line_conductance_incropera_2007(
            inside.number, bore.number, outside.number, wall.number, resistance.number
        )
        return relation(
            f"heat that a metre passes {name}, W/(m K)", number, "", "line_conductance_incropera_2007(h, D, d, w, R)",
            {"h": inside, "D": bore, "d": outside, "w": wall, "R": resistance},
        )  # fmt: skip

    def cooling(self, name: str, piece: TrunkPiece, start: Value, bore: Value, cover: Value | None) -> Value:
        """Return the length over which the air loses 63 % of its excess over what is round the pipe.

        Args:
            name: of the pipe, for the names of the terms.
            piece: the pipe.
            start: temperature of the air at its head.
            bore: its bore.
            cover: the ground over it; None in the open air.
        """
        mass_kg_s = self.values.flow.number * STANDARD_DENSITY_KG_M3
        return relation(
            f"cooling length {name}", cooling_length_m(piece, mass_kg_s, start.number), "m",
            "cooling_length_incropera_2007(q * r, U)",
            {"q": self.values.flow, "r": self.network.standard,
             "U": self._conductance(name, piece, start, bore, cover)},
        )  # fmt: skip

    def _length(self, index: int) -> Value:
        piece, name = self.pieces[index], f"of trunk piece {index + 1}{self.day}"
        cover = self.cover(index) if piece.cover_m > 0.0 else None
        return self.cooling(name, piece, self.starts[index], self.network.piece(index)["D"], cover)

    def _end(self, index: int) -> Value:
        """Return the temperature of the air at a piece's end."""
        return relation(
            f"air at the end of trunk piece {index + 1}{self.day}", self.pieces[index].end_temperature_degc, "degc",
            "line_temperature_incropera_2007(T, G, L, C)",
            {"T": self.starts[index], "G": self.surroundings(index), "L": self.network.piece(index)["L"],
             "C": self.lengths[index]},
        )  # fmt: skip

    def limit(self, index: int) -> Value:
        """Return the temperature that a piece's pipe stands in service."""
        piece = self.pieces[index]
        where = (
            f"{PIPES}, {piece.pipe}"
            if piece.material != "unknown"
            else "taken as plastic: its bore alone is known"
        )
        source = SERVICE_LIMITS.get(piece.material, "judgement")
        return given(f"service limit of {piece.pipe}", piece.service_limit_degc, "degc", where, source=source)

    def rating(self, index: int) -> list[Value]:
        """Return the pressure that a piece's pipe is rated for with water; nothing where none is known."""
        piece = self.pieces[index]
        if piece.rating_pa is None:
            return []
        return [
            given(
                f"rating of {piece.pipe} for water",
                piece.rating_pa,
                "pa",
                f"{PIPES}, {piece.pipe}",
                gauge=True,
            )
        ]


def _resistance(name: str, outside: Value, cover: Value | None) -> Value:
    """Return what keeps the heat in outside the pipe, of a metre: the ground over it, or still air."""
    label = f"resistance outside {name}, m K/W"
    if cover is None:
        film = plain_constant("heat transfer to still air, W/(m² K)", OPEN_AIR_COEFFICIENT_W_M2_K, "",
                              "a round value, from memory")  # fmt: skip
        return relation(label, 1.0 / (film.number * pi * outside.number), "", f"1 / (h * {pi:.10g} * d)",
                        {"h": film, "d": outside})  # fmt: skip
    soil = plain_constant(
        "conductivity of moist soil, W/(m K)", SOIL_CONDUCTIVITY_W_M_K, "", "a round value, from memory"
    )
    shape = shape_factor_incropera_2007(cover.number + 0.5 * outside.number, outside.number)
    return relation(
        label, 1.0 / (shape * soil.number), "", "1 / (shape_factor_incropera_2007(c + d / 2, d) * k)",
        {"c": cover, "d": outside, "k": soil},
    )  # fmt: skip


class HeatValues:
    """The values of the line's heat: as it runs, and on a hot day behind a dirty filter.

    Attributes:
        values: the line at work.
        found: the stage's result for the hot day.
        units: the system of units.
        outside: the air outside on that day.
        cabinet: what the compressor stands in.
        hot: the line on that day.
        now: how the air cools as the line runs.
    """

    def __init__(self, values: PointValues, found: HotDay) -> None:
        self.values, self.found, self.units = values, found, values.network.units
        self.outside = hot_air(values)
        self.cabinet = CabinetValues(values, self.outside, found)
        network, line = values.network, derated_line(values.line, found)
        losses = tuple(network.losses[spec.name] for spec in line.branches)
        self.hot = NetworkValues(
            network.air, line, losses, network.files, network.units, network.layout, (network, self._intake())
        )
        self.now = CoolingValues(values, network, values.line.trunk, values.outlet, network.intake)

    def _intake(self) -> Value:
        """Return the air that the compressor draws on the hot day: that outside, and what its cabinet adds."""
        rise_k = self.found.cabinet.rise_k
        if not rise_k:
            return self.outside
        rise = self.cabinet.rise
        return relation("air at the intake on the hot day", self.outside.number + rise_k, "degc", "o + r",
                        {"o": self.outside, "r": rise})  # fmt: skip

    @cached_property
    def outlet(self) -> Value:
        """The air as it leaves the compressor on the hot day."""
        return relation(
            "air leaves on a hot day, dirty filter", self.found.outlet_degc, "degc",
            "discharge_temperature_mills_2004(T, (p + a) / (a - f), e)",
            {"T": self.hot.intake, "p": self.values.compressor, "a": self.hot.ambient, "f": self.hot.filter_loss,
             "e": self.values.compression_efficiency},
        )  # fmt: skip

    @cached_property
    def day(self) -> CoolingValues:
        """How the air cools on the hot day."""
        pieces = tuple(
            replace(
                piece,
                start_temperature_degc=one.start_temperature_degc,
                end_temperature_degc=one.end_temperature_degc,
            )
            for piece, one in zip(self.values.line.trunk, self.found.pieces, strict=True)
        )
        return CoolingValues(self.values, self.hot, pieces, self.outlet, self.outside, "hot day")

    def derated(self) -> list[Value]:
        """Return the air that is left on the hot day, and what part that is less; nothing where none passes."""
        air = self.values.air
        if air.derated is None:
            return []
        flow = self.hot.point(air.derated)[2]
        less = air.derated.flow_standard_m3_s / air.balanced.flow_standard_m3_s - 1.0
        return [
            flow,
            relation("air left on the hot day, against any day", less, "fraction", "h / q - 1",
                     {"h": flow, "q": self.values.flow}),
        ]  # fmt: skip

    @cached_property
    def margin(self) -> Value:
        """How far under its limit the air must be before a plastic may begin."""
        return apart(
            "margin under the service limit",
            SAFE_MARGIN_DEGC,
            self.units,
            "a rule of this program: judgement",
        )

    def goal(self, index: int) -> Value:
        """Return the temperature under which the air must be before a plastic piece may begin."""
        number_degc = self.day.pieces[index].service_limit_degc - SAFE_MARGIN_DEGC
        return relation(f"air where {self.day.pieces[index].pipe} may begin", number_degc, "degc", "l - m",
                        {"l": self.day.limit(index), "m": self.margin})  # fmt: skip

    def metal(self, *, buried: bool) -> list[Value]:
        """Return the first length that must be metal, in the open or in the ground; nothing where none is needed."""
        number_m = self.found.metal_buried_length_m if buried else self.found.metal_length_m
        day = self.day
        index = next((k for k, piece in enumerate(day.pieces) if not piece.metal), None)
        if not number_m or index is None:
            return []
        first, plastic = day.pieces[0], day.pieces[index]
        goal = self.goal(index)
        place = "in the ground" if buried else "in the open"
        cover = (
            plain_constant("cover of metal in the ground", DESIGN_COVER_M, "m", PRACTICE) if buried else None
        )
        around = day.soil if buried else day.around
        steel = _steel(first, plastic, DESIGN_COVER_M if buried else 0.0)
        bore = self.hot.piece(0 if first.metal else index)["D"]
        length = day.cooling(f"of metal {place}", steel, self.outlet, bore, cover)
        return [
            relation(
                f"metal first, {place}", number_m, "m", "C * ln((T - G) / (t - G))",
                {"C": length, "T": self.outlet, "G": around, "t": goal},
                words="until the air is cool enough for the first plastic", source="Incropera et al. 2007, ch. 8",
            )
        ]  # fmt: skip


def _steel(first: TrunkPiece, plastic: TrunkPiece, cover_m: float) -> TrunkPiece:
    """Return the metal that comes first: the trunk's own, else steel of the plastic's size."""
    if first.metal:
        return replace(first, cover_m=cover_m)
    walls = {wall["material"]: wall for wall in read_table("pipe_materials")}
    return replace(
        plastic, metal=True, cover_m=cover_m, conductivity_w_m_k=float(walls["steel"]["conductivity_w_m_k"]),
        material="steel",
    )  # fmt: skip


SERVICE_LIMITS = {
    "polyethylene": "usual highest service temperature of polyethylene pressure pipe, 60 °C (140 °F): from memory",
    "pvc": "usual highest service temperature of PVC pipe, 60 °C (140 °F): from memory",
    "weighted flexible tubing": "soft vinyl, 50 °C (122 °F): judgement, for no maker's sheet was at hand",
}
"""What the service limits of sources/pipes.csv rest on, by material."""


def sixty_three() -> Value:
    """Return the part of the excess that is gone after one cooling length."""
    return relation("part of the heat lost over a cooling length", 1.0 - exp(-1.0), "fraction", "1 - exp(-1)", {},
                    source="definition of the cooling length")  # fmt: skip


def hot_air(values: PointValues) -> Value:
    """Return the air outside on the hot day."""
    hot = plain_constant("a hot day", HOT_DAY_DEGC, "degc", PRACTICE)
    intake = values.network.intake
    return relation("air outside on the hot day", max(intake.number, HOT_DAY_DEGC), "degc", "max(T, h)",
                    {"T": intake, "h": hot})  # fmt: skip
