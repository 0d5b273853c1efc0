"""How the weight of branch tubing comes about, and what the sentences on the line's two ends may show."""

from __future__ import annotations

from plumeline.stages.air.line import pipe_row
from plumeline.stages.air.restart import LINEAR
from plumeline.stages.air.tubing import (
    BRICK_DENSITY_KG_M3,
    COIL_M,
    HOLD_NUMBER,
    SPACING_M,
    BarbLoss,
    TubingState,
)
from plumeline.workings.air_ends import EndValues
from plumeline.workings.air_parts import parts_tables
from plumeline.workings.air_points import PRACTICE, QUARTER_PI
from plumeline.workings.book import Book
from plumeline.workings.value import Value, given, plain_constant, relation

RISER = "Riser, check valves, restart, tubing"
SPACED = "Nebraska Game and Parks, Nebraska Pond Management, p. 87"


class TubingValues:
    """The values of one kind of branch tubing, full of air on the bottom.

    Attributes:
        ends: the values of the line's two ends.
        state: the stage's result.
    """

    def __init__(self, ends: EndValues, state: TubingState) -> None:
        self.ends, self.state = ends, state
        self.water = ends.values.network.water_density
        words = f"sources/pipes.csv, {state.pipe}, or 1.4 × its bore"
        self.outside = given(f"outside diameter of {state.pipe}", state.outside_diameter_m, "m", words)
        self.sinks = relation(
            f"mass from which {state.pipe} sinks", state.sinking_mass_kg_m, "kg/m",
            "-submerged_mass_archimedes(0, d, w)", {"d": self.outside, "w": self.water},
            words="the water that it pushes aside",
        )  # fmt: skip
        self.coil = plain_constant("length of a coil", COIL_M, "m", PRACTICE)

    @property
    def coil_sinks(self) -> Value:
        """The mass of a coil that just sinks."""
        number = self.state.sinking_mass_kg_m * COIL_M
        return relation("coil that just sinks", number, "kg", "m * L", {"m": self.sinks, "L": self.coil})

    @property
    def mass(self) -> list[Value]:
        """Its own mass by length; nothing where none is known."""
        state, job = self.state, self.ends.values.files.job
        if state.mass_kg_m is None:
            return []
        name, field = f"mass of {state.pipe}", self.ends.values.files.field
        if state.mass_source == "coil":
            length = self.coil
            if job.air.coil_length_m is not None:
                length = field("length of the coil", job.air.coil_length_m, "m", "air.coil_length")
            terms = {
                "m": field("mass of the coil", job.air.coil_mass_kg or 0.0, "kg", "air.coil_mass"),
                "L": length,
            }
            return [relation(name, state.mass_kg_m, "kg/m", "m / L", terms)]
        bore_m = self.ends.values.network.spec(state.branches[0]).bore_m
        wall_m2 = self.outside.number**2 - bore_m**2
        density = state.mass_kg_m / (float(QUARTER_PI) * wall_m2)
        material = pipe_row(state.pipe, "air.branch_pipe")["material"]
        terms = {
            "r": given(
                "density of the wall", round(density, 3), "kg_m3", f"sources/wall_densities.csv, {material}"
            ),
            "d": self.outside,
            "D": given("bore", bore_m, "m", f"sources/pipes.csv, {state.pipe}"),
        }
        return [relation(name, state.mass_kg_m, "kg/m", f"r * {QUARTER_PI} * (d^2 - D^2)", terms)]

    @property
    def held(self) -> list[Value]:
        """What presses it on the bottom, or the weight that holds it: by length and for each place."""
        state, mass = self.state, self.mass
        if state.submerged_kg_m is None or not mass:
            return []
        if state.submerged_kg_m >= 0.0:
            return [relation(f"{state.pipe} on the bottom", state.submerged_kg_m, "kg/m",
                             "submerged_mass_archimedes(m, d, w)",
                             {"m": mass[0], "d": self.outside, "w": self.water})]  # fmt: skip
        terms = {
            "h": plain_constant("weight over bare buoyancy", HOLD_NUMBER, "", "judgement: waves, and what grows on it"),
            "s": self.sinks, "m": mass[0], "w": self.water,
            "b": plain_constant("density of brick or concrete", BRICK_DENSITY_KG_M3, "kg_m3",
                                "a round value, from memory"),
        }  # fmt: skip
        needed = relation("weight by length that holds it", state.weight_needed_kg_m or 0.0, "kg/m",
                          "max(h * s - m, 0) / (1 - w / b)", terms)  # fmt: skip
        space = plain_constant("spacing of the weights", SPACING_M, "m", SPACED)
        each = relation(
            "weight at each place", state.weight_each_kg or 0.0, "kg", "n * l", {"n": needed, "l": space}
        )
        return [needed, each, space]


def ends_book(book: Book, ends: EndValues) -> None:
    """Say what the parts, the figures of the two ends, and the notices on them may show."""
    parts_tables(book, ends.parts)
    for place in dict.fromkeys(row.place for row in ends.found.parts):
        for index, row in enumerate(item for item in ends.found.parts if item.place == place):
            if row.part.startswith("riser loop"):
                book.at("part", f"Parts: {place}", str(index), "2", values=ends.loop)
    for name, cell in {**_heights(ends), **_stop(ends)}.items():
        book.at("part", RISER, name, values=cell)
    tubings = [TubingValues(ends, state) for state in ends.found.tubing]
    for tube in tubings:
        cell = [*tube.mass, tube.sinks, *tube.held]
        for name in {tube.state.pipe, tube.state.pipe.replace("\u2060", "")}:
            book.at("part", RISER, f"{name} full of air", values=cell)
        for code in ("tubing-weight", "tubing-floats"):
            book.at("notice", code, values=[*tube.mass, tube.sinks, tube.coil, tube.coil_sinks, *tube.held])
    _barbs(book, ends)
    _notices(book, ends)


def _heights(ends: EndValues) -> dict[str, list[Value]]:
    return {
        "floor of the valve box": [ends.box],
        "riser into the box": [ends.riser],
        "water at its foot": ends.condensate,
        "compressor": [*ends.compressor, *ends.low()],
        "highest place of the line": [*ends.crest, *ends.crest_under],
        "riser loop's top": ends.loop,
        "flood at today's level": ends.flood[:1],
        "flood at the highest water": ends.flood[1:2],
        "the line is full in": ends.flood[2:],
    }


def _stop(ends: EndValues) -> dict[str, list[Value]]:
    stop = ends.restart
    if stop is None:
        return {}
    rows = {
        "gauge when it stops": [ends.values.compressor],
        "gauge that stays trapped": [stop.trapped],
        "comes down in": stop.decay,
    }
    if stop.found.drive == LINEAR:
        return rows
    return rows | {
        "motor surely starts against": stop.starts,
        "start against what stays": [stop.against, *stop.span],
        "unloader": stop.off,
    }


def _barbs(book: Book, ends: EndValues) -> None:
    sizes: dict[tuple[str, float, bool], list[BarbLoss]] = {}
    for item in ends.found.barbs:
        sizes.setdefault((item.nominal, item.barb_bore_m, item.in_network), []).append(item)
    for (nominal, _bore, _counted), items in sizes.items():
        cell = [ends.bore(items[0])]
        for item in items:
            cell += [ends.parts.barbs(item), ends.barb(item)]
        book.at("part", RISER, f"barbs of {nominal}", values=cell)
        book.at("notice", "air-barbs", values=cell)


def _notices(book: Book, ends: EndValues) -> None:
    stop = ends.restart
    if stop is not None and stop.found.drive != LINEAR:
        told = [ends.values.compressor, stop.trapped, *stop.decay, *stop.starts]
        for code in ("air-unloader", "air-off-time", "air-restart"):
            book.at("notice", code, values=[*told, *stop.off])
        book.at("sentence", "Starting against pressure:", values=stop.span)
    book.at("notice", "air-riser-drain", values=[*ends.condensate, *ends.leg()])
    for code in ("air-siphon", "air-siphon-crest"):
        book.at("notice", code, values=[
            *ends.low(), *ends.loop, *ends.compressor, *ends.crest, *ends.flood, *ends.loop_margin,
        ])  # fmt: skip
    book.at("sentence", "The highest water is taken", values=[ends.high_water])
