"""How the numbers of the layout come about: places, lines, plumes, turnover."""

from __future__ import annotations

from itertools import pairwise
from math import hypot

import numpy as np

from plumeline.stages.layout import Layout
from plumeline.stages.layout.branches import CUT_STEP_M
from plumeline.stages.layout.paths import water_of
from plumeline.stages.layout.placing import SPACING_DEPTHS
from plumeline.stages.layout.result import PlacedDiffuser
from plumeline.stages.layout.stage import AIR_RULE_M_S, SHALLOW_M
from plumeline.units.showing import System
from plumeline.workings.book import Book
from plumeline.workings.files import Files
from plumeline.workings.layout_agreement import agreement_values, mixing_values
from plumeline.workings.layout_stakes import TITLE as STAKES
from plumeline.workings.layout_stakes import stake_cells
from plumeline.workings.layout_together import together_values
from plumeline.workings.plumes import PLUME, PlumeValues, plume_table, plume_words_book
from plumeline.workings.survey import SurveyValues
from plumeline.workings.survey_muck import put_bases
from plumeline.workings.value import Value, chosen, counted, given, plain_constant, relation, summed

DAY_S = 86400.0


class LayoutValues:
    """The values of a layout and of its plumes, each made once.

    Attributes:
        found: the layout.
        basin: the survey's values.
        files: the job.
    """

    def __init__(self, found: Layout, basin: SurveyValues, files: Files) -> None:
        self.found, self.basin, self.files = found, basin, files
        self.day = plain_constant("a day", 1.0, "d", "definition")
        self.count = counted(
            "diffusers", float(len(found.diffusers)), "", " + ".join(["1"] * len(found.diffusers)), {},
            words=", ".join(item.name for item in found.diffusers),
        )  # fmt: skip
        self.lifts = {item.name: self._lift(item) for item in found.diffusers}
        terms = {f"q{k}": value for k, value in enumerate(self.lifts.values(), start=1)}
        self.flow = relation("water lifted", found.water_flow_m3_s, "m3_s", " + ".join(terms), terms)
        self.turnover = relation(
            "turnovers a day", found.turnover_per_day, "", "Q * t / V",
            {"Q": self.flow, "t": self.day, "V": basin.volume}, source="definition",
        )  # fmt: skip
        self.wanted = files.field(
            "turnovers a day wanted", found.wanted_turnover_per_day, "", "wishes.turnover_per_day"
        )
        self.mean_way = self._mean_way()

    def _lift(self, item: PlacedDiffuser) -> Value:
        """Return what a plume lifts with the air that the layout counts with."""
        return summed(
            f"water lifted by {item.name}, for the layout",
            item.water_flow_m3_s,
            "m3_s",
            "the plume's equations carried up from the membrane, with the mean air of a diffuser as layout and air "
            f"line came to agree on it; {PLUME}",
        )

    def _mean_way(self) -> Value:
        """Return the mean way of the water to its diffuser."""
        total = self.basin.found.volume_m3
        words = (
            "the shortest way through the water of each of some 350 parts to its nearest diffuser, by volume"
        )
        moment = summed("sum of way × water", self.found.mean_distance_m * total, "m⁴", words)
        return relation(
            "mean way to a diffuser",
            self.found.mean_distance_m,
            "m",
            "M / V",
            {"M": moment, "V": self.basin.volume},
            source="shortest ways: Lozano-Pérez & Wesley 1979, Commun. ACM 22:560",
        )

    def place(self, name: str, x_m: float, y_m: float, words: str) -> list[Value]:
        """Return latitude and longitude of a place."""
        point = self.basin.found.plane.to_point(x_m, y_m)
        return [
            given(f"latitude of {name}", point.latitude_deg, "", words),
            given(f"longitude of {name}", point.longitude_deg, "", words),
        ]

    def bottom(self, name: str, x_m: float, y_m: float, depth_m: float) -> Value:
        """Return the depth of the pond at a place: straight between the four cells round it."""
        grid = self.basin.found.grid
        column = float(np.clip((x_m - grid.x_m[0]) / grid.cell_m, 0, len(grid.x_m) - 1.000001))
        row = float(np.clip((y_m - grid.y_m[0]) / grid.cell_m, 0, len(grid.y_m) - 1.000001))
        i, j = int(column), int(row)
        z, words = grid.extended_m, "the surveyed surface"
        terms = {
            "z1": summed("depth of the cell south-west", float(z[j, i]), "m", words),
            "z2": summed("depth of the cell south-east", float(z[j, i + 1]), "m", words),
            "z3": summed("depth of the cell north-west", float(z[j + 1, i]), "m", words),
            "z4": summed("depth of the cell north-east", float(z[j + 1, i + 1]), "m", words),
            "u": summed("part of the way east", column - i, "", "the place between the cells"),
            "v": summed("part of the way north", row - j, "", "the place between the cells"),
        }  # fmt: skip
        formula = "max((z1 * (1 - u) + z2 * u) * (1 - v) + (z3 * (1 - u) + z4 * u) * v, 0)"
        return relation(
            f"bottom at {name}", depth_m, "m", formula, terms, source="bilinear between four cells"
        )

    def bottom_at(self, item: PlacedDiffuser) -> Value:
        """Return the depth of the pond at a diffuser."""
        return self.bottom(item.name, item.x_m, item.y_m, item.bottom_depth_m)

    def depth(self, item: PlacedDiffuser) -> Value:
        """Return the depth of a membrane."""
        name = f"membrane of {item.name}"
        asked = next((one for one in self.files.job.listed_diffusers if one.name == item.name), None)
        if asked is not None and asked.depth_m is not None:
            return self.files.field(name, item.depth_m, "m", "air.diffusers, depth")
        base = self.base()
        return relation(name, item.depth_m, "m", "max(z - b, z / 2)", {"z": self.bottom_at(item), "b": base},
                        words="the base stands on the bottom; half way down at least")  # fmt: skip

    def base(self) -> Value:
        """Return the height of a membrane over the bottom."""
        return self.files.field(
            "height of the base", self.files.job.air.base_height_m, "m", "air.base_height"
        )

    def slack(self) -> Value:
        """Return the slack of the branches."""
        return self.files.field("slack", self.files.job.air.slack_fraction, "fraction", "air.slack")

    def step(self) -> Value:
        """Return the step to which lines are cut."""
        return plain_constant(
            "step of a cut", CUT_STEP_M, "m", "what lines are cut to: a rule of this program"
        )

    def line(self, item: PlacedDiffuser) -> list[Value]:
        """Return bore, run along the bottom, length with slack and length to cut of a branch."""
        bore = given(
            f"bore of branch {item.name}",
            item.branch_bore_m,
            "m",
            f"sources/pipes.csv, {item.branch_pipe or 'by its bore'}",
        )
        run = self._run(item)
        asked = next((one for one in self.files.job.listed_diffusers if one.name == item.name), None)
        if asked is not None and asked.branch_length_m is not None:
            length = self.files.field(
                f"length of branch {item.name}", item.branch_length_m, "m", "air.diffusers, branch_length"
            )
        else:
            length = relation(
                f"length of branch {item.name}",
                item.branch_length_m,
                "m",
                "r * (1 + s)",
                {"r": run, "s": self.slack()},
            )
        cut = relation(
            f"cut of branch {item.name}",
            item.branch_cut_m,
            "m",
            "ceil(L / c) * c",
            {"L": length, "c": self.step()},
        )
        return [bore, run, length, cut]

    def _run(self, item: PlacedDiffuser) -> Value:
        """Return the run along the bottom: level length and fall of each tenth of the way, and the rise at the end."""
        path = np.array(item.branch_path_xy)
        level = sum(float(np.hypot(*(end - start))) for start, end in pairwise(path))
        rise_m = max(item.bottom_depth_m - item.depth_m, 0.0)
        lying_m = item.branch_run_m - rise_m
        terms = {
            "g": summed(f"length of branch {item.name} on the plan", level, "m", f"{len(path) - 1} straight pieces"),
            "f": summed(f"what the slopes add, branch {item.name}", lying_m - level, "m",
                        "√(Δs² + Δd²) − Δs, summed over steps of half a metre along the surveyed bottom"),
            "h": relation(f"rise to the membrane of {item.name}", rise_m, "m", "max(z - d, 0)",
                          {"z": self.bottom_at(item), "d": self.depth(item)}),
        }  # fmt: skip
        return relation(f"branch {item.name} along the bottom", item.branch_run_m, "m", "g + f + h", terms)

    @property
    def served(self) -> Value:
        """The part of the pond that its nearest diffuser turns over at the wanted rate."""
        terms: dict[str, Value] = {"V": self.basin.volume, "t": self.day, "w": self.wanted}
        parts = []
        for k, item in enumerate(self.found.diffusers, start=1):
            terms[f"q{k}"] = self.lifts[item.name]
            terms[f"v{k}"] = summed(
                f"water nearest to {item.name}", item.served_volume_m3, "m3", "by the way through the water"
            )
            parts.append(f"min(q{k} * t / w, v{k})")
        return relation(
            "served at the wanted rate",
            self.found.served_fraction,
            "fraction",
            f"min(({' + '.join(parts)}) / V, 1)",
            terms,
        )

    @property
    def dead(self) -> Value:
        """The water below the lowest membrane."""
        lowest = max(self.found.diffusers, key=lambda item: item.depth_m)
        return self.basin.water_below(self.depth(lowest))

    @property
    def spacing(self) -> Value:
        """The least distance between two diffusers."""
        pairs = [(a, b) for n, a in enumerate(self.found.diffusers) for b in self.found.diffusers[:n]]
        one, two = min(pairs, key=lambda pair: hypot(pair[0].x_m - pair[1].x_m, pair[0].y_m - pair[1].y_m))
        words = "its place in the local plane"
        terms = {
            f"{axis}{k}": given(
                f"{'east' if axis == 'x' else 'north'} of {item.name}", getattr(item, f"{axis}_m"), "m", words
            )
            for k, item in ((1, one), (2, two))
            for axis in "xy"
        }
        return relation(
            "least spacing",
            self.found.spacing_m or 0.0,
            "m",
            "sqrt((x2 - x1)^2 + (y2 - y1)^2)",
            terms,
            source="Pythagoras",
        )

    @property
    def boils(self) -> Value:
        """The part of the surface that the boils cover."""
        terms: dict[str, Value] = {"A": self.basin.area}
        parts = []
        for k, item in enumerate(self.found.diffusers, start=1):
            terms[f"d{k}"] = self.depth(item)
            parts.append(f"{np.pi:.10g} * (d{k} / 2)^2")
        return relation(
            "part of the surface under boils",
            self.found.boil_cover_fraction,
            "fraction",
            f"({' + '.join(parts)}) / A",
            terms,
            words="a boil reaches out half the depth",
            source="common practice, no published source",
        )

    @property
    def rule_air(self) -> Value:
        """The air by the published rule of area."""
        rule = plain_constant(
            "air by area", AIR_RULE_M_S, "m_s", "Lorenzen & Fast 1977: 9.2 m³/min for each km² (from memory)"
        )
        return relation(
            "air by the rule of area",
            self.found.rule_air_m3_s,
            "air",
            "r * A",
            {"r": rule, "A": self.basin.area},
        )

    @property
    def planned_air(self) -> Value:
        """The air wanted for all diffusers."""
        each = self.files.field(
            "air for each diffuser",
            self.files.job.air.air_per_diffuser_m3_s or 0.0,
            "air",
            "air.air_per_diffuser",
        )
        return relation(
            "air wanted", self.found.planned_air_m3_s or 0.0, "air", "n * q", {"n": self.count, "q": each}
        )


def drawing_sentences(book: Book, values: LayoutValues, lacking: list[Value]) -> None:
    """Say what the sentences under plan and cut may show."""
    book.at("sentence", "From above:", values=[values.count, values.turnover, values.wanted, values.mean_way])
    book.at("sentence", "Cut through the water:", values=lacking)


def layout_book(values: LayoutValues, plumes: PlumeValues, units: System) -> Book:
    """Return the workings of a layout's page.

    Args:
        values: of the layout.
        plumes: of the plumes.
        units: the system of units.
    """
    book = Book(units)
    _figures(book, values)
    found = values.found
    for row, item in enumerate(found.diffusers):
        job = item.placed_by == "job"
        words = (
            values.files.words("air.diffusers, place")
            if job
            else "searched: the deepest water, the shortest ways for all water, then the least line that serves no less"
        )
        latitude, longitude = values.place(item.name, item.x_m, item.y_m, words)
        cells = (latitude, longitude, values.depth(item), values.bottom_at(item))
        for column, value in enumerate(cells, start=1):
            book.at("part", "Diffusers", str(row), str(column), values=[value])
        for column, value in enumerate(values.line(item), start=2):
            book.at("part", "Lines from the manifold", str(row), str(column), values=[value])
    stake_cells(book, values)
    put_bases(book, values, STAKES)
    plume_table(book, plumes)
    membranes = {item.name: values.depth(item) for item in found.diffusers}
    lowest = max(membranes.values(), key=lambda one: one.number)
    plume_words_book(book, plumes, values.files.job.latest_profile, membranes)
    _notices(book, values)
    _too_little(book, values, lowest)
    return book


def _figures(book: Book, values: LayoutValues) -> None:
    found, title = values.found, "Layout"
    given_place = found.manifold_reason == "where the job puts it"
    words = values.files.words("air.manifold") if given_place else found.manifold_reason
    rows: dict[str, list[Value]] = {
        "manifold, lat, lon": values.place("the manifold", *found.manifold_xy, words),
        "water lifted": [values.flow],
        "turnovers a day": [values.turnover, values.wanted],
        "served at the wanted rate": [values.served],
        "mean way to a diffuser": [values.mean_way],
        "water below the lowest membrane": [values.dead],
        "boils cover": [values.boils],
        "air by the rule of area": [values.rule_air],
    }
    if found.spacing_m is not None:
        rows["least spacing"] = [values.spacing]
    if found.planned_air_m3_s is not None:
        rows["air wanted"] = [values.planned_air]
    if found.together is not None:
        rows["manifold and places together"] = together_values(
            found, found.together, values.files, values.basin.volume
        )
    if found.agreement is not None:
        rows["agrees with the air line"] = agreement_values(found.agreement)
        rows["mixes the simulated water"] = mixing_values(found.agreement)
    for name, cell in rows.items():
        book.at("part", title, name, values=cell)


def _notices(book: Book, values: LayoutValues) -> None:
    found = values.found
    reach = [
        chosen(
            f"reach of {item.name}", item.reach_m, "m",
            "the way to the farthest water, in the order of the ways, that its plume turns over at the wanted rate",
        )
        for item in found.diffusers
    ]  # fmt: skip
    practice = "common practice, no published source"
    book.at("notice", "reach-long", values=[*reach, plain_constant("reach of currents", 30.48, "m", practice),
                                            plain_constant("reach of currents", 30.0, "m", practice)])  # fmt: skip
    shallow = plain_constant("depth from which a plume moves much", SHALLOW_M, "m", practice)
    book.at("notice", "diffuser-shallow", values=[shallow])
    book.at("notice", "diffusers-close", values=[values.spacing] if found.spacing_m is not None else [])
    cut_m = water_of(values.basin.found.polygon).tolerance_m
    book.at("sentence", "ways may cut", values=[chosen(
        "what a way may cut across the shore", cut_m, "m",
        "how far the shore is made simpler: doubled from 2 cm until few enough corners are left for the search of ways",
    )])  # fmt: skip
    book.at("sentence", "membranes stand", values=[values.base()])
    book.at(
        "sentence",
        "branches lie",
        values=[
            values.slack(),
            values.step(),
            plain_constant("step of a cut", 5 * 0.3048, "m", "a rule of this program"),
        ],
    )


def _too_little(book: Book, values: LayoutValues, lowest: Value) -> None:
    """Say what is told of a layout that lifts too little, or leaves water under its membranes."""
    found, whole = values.found, values.basin.volume
    each_m3_s = found.water_flow_m3_s / len(found.diffusers)
    if each_m3_s > 0.0:
        number = float(np.ceil(found.wanted_turnover_per_day * whole.number / DAY_S / each_m3_s))
        terms = {"w": values.wanted, "V": whole, "d": values.day, "Q": values.flow, "n": values.count}
        need = relation(
            "diffusers like these that it would take", number, "", "ceil(w * V / d / (Q / n))", terms
        )
        book.at("notice", "turnover-short", values=[values.count, values.turnover, values.wanted, need])
    part = relation("part of the water under the lowest membrane", found.dead_volume_m3 / whole.number, "fraction",
                    "u / V", {"u": values.dead, "V": whole})  # fmt: skip
    book.at("notice", "dead-water", values=[values.dead, part, lowest])
    apart = plain_constant("least spacing by the greatest depth", SPACING_DEPTHS, "", "judgement")
    book.at("sentence", "two diffusers stand", values=[apart])
