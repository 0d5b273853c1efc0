"""How the shares of the water and its oxygen come about: poor in oxygen, fit for fish, missing to saturation."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from plumeline.sources import read_table
from plumeline.stages.limits import DEFAULT_SPECIES
from plumeline.stages.reading.shares import ANOXIC_MG_L
from plumeline.stages.reading.slices import Array, Slices, crossings_m, slices_of
from plumeline.units import show
from plumeline.workings.bands import Bands
from plumeline.workings.reading_profile import STRAIGHT, ProfileValues
from plumeline.workings.survey import SurveyValues
from plumeline.workings.value import Value, chosen, given, plain_constant, relation

METER = "what a field meter can't tell from none (judgement)"


class OxygenValues:
    """The values of the shares and of the oxygen.

    Attributes:
        profile: the profile.
        basin: the survey's values.
        bands: the basin, in bands between the readings.
    """

    def __init__(self, profile: ProfileValues, basin: SurveyValues, bands: Bands) -> None:
        self.profile, self.basin, self.bands = profile, basin, bands
        found = profile.found
        rows = {row["species"]: row for row in read_table("refuge")}
        named = [rows[name]["words"] for name in profile.files.job.fish.species if name in rows]
        words = f"the strictest of {', '.join(named) or 'largemouth bass, for no fish is named'} in sources/refuge.csv"
        limits = found.limits
        self.oxygen_limit = chosen(
            "oxygen that the fish need",
            limits.oxygen_mg_l,
            "mg_l",
            words,
            source=_row(rows, limits.oxygen_species),
        )
        self.heat_limit = chosen(
            "warmest water for the fish",
            limits.max_temperature_degc,
            "degc",
            words,
            source=_row(rows, limits.temperature_species),
        )
        self.ammonia_limit = chosen(
            "most un-ionised ammonia",
            limits.unionized_ammonia_mg_l,
            "mg_l",
            words,
            source=_own(rows, profile.files.job.fish.species, "ammonia_source"),
        )
        self.sulphide_limit = chosen(
            "most hydrogen sulphide",
            limits.hydrogen_sulphide_mg_l,
            "mg_l",
            words,
            source=_own(rows, profile.files.job.fish.species, "h2s_source"),
        )
        self.poor = plain_constant(
            "oxygen under which water counts as poor", found.shares.hypoxic_below_mg_l, "mg_l",
            "the usual bound of hypoxia in pond and lake work",
        )  # fmt: skip
        self.none = plain_constant("oxygen that counts as none", ANOXIC_MG_L, "mg_l", METER)

    def edge(self, depth_m: float) -> Value:
        """Return a depth at which a quantity crosses its limit; the surface, the bottom or a reading else."""
        profile, layers = self.profile, self.profile.found.layers
        fields: tuple[tuple[str, list[Value], Value], ...] = (
            ("oxygen", profile.oxygen, self.poor), ("oxygen", profile.oxygen, self.none),
            ("oxygen", profile.oxygen, self.oxygen_limit), ("temperature", profile.temperature, self.heat_limit),
            ("un-ionised ammonia", profile.unionized, self.ammonia_limit),
            ("hydrogen sulphide", profile.hydrogen_sulphide, self.sulphide_limit),
        )  # fmt: skip
        for what, values, limit in fields:
            found = self._crossing(depth_m, what, values, limit)
            if found is not None:
                return found
        if depth_m <= 1e-9:
            return given("surface", 0.0, "m", "the water surface")
        if depth_m >= self.basin.found.max_depth_m - 1e-9:
            return self.basin.max_depth
        index = int(np.argmin([abs(layer.depth_m - depth_m) for layer in layers]))
        return profile.depth[index]

    def _crossing(self, depth_m: float, what: str, values: Sequence[Value], limit: Value) -> Value | None:
        depth = self.profile.lines.depth_m
        numbers = [value.number for value in values]
        for i in range(len(depth) - 1):
            crossed = crossings_m(depth[i : i + 2], numbers[i : i + 2], limit.number)
            if crossed and abs(crossed[0] - depth_m) < 1e-9:
                return relation(
                    f"depth at which {what} is {show(limit.number, limit.suffix, self.profile.units)}",
                    depth_m,
                    "m",
                    "z1 + (z2 - z1) * (a1 - L) / (a1 - a2)",
                    {
                        "z1": self.profile.depth[i],
                        "z2": self.profile.depth[i + 1],
                        "a1": values[i],
                        "a2": values[i + 1],
                        "L": limit,
                    },
                    source=STRAIGHT,
                )
        return None

    def share(
        self, name: str, number_fraction: float, inside: Callable[[Array], np.ndarray], *limits: Value
    ) -> Value:
        """Return a part of the water: what lies between the depths at which lines cross their limits."""
        return self.share_between(name, number_fraction, self._runs(inside, limits))

    def share_between(
        self, name: str, number_fraction: float, stretches_m: Sequence[tuple[float, float]]
    ) -> Value:
        """Return the part of the water between pairs of depths."""
        terms: dict[str, Value] = {"V": self.basin.volume}
        parts = []
        for k, (top, bottom) in enumerate(stretches_m, start=1):
            terms[f"a{k}"] = self.basin.water_below(self.edge(top))
            parts.append(f"a{k}")
            if bottom < self.basin.found.max_depth_m - 1e-9:
                terms[f"b{k}"] = self.basin.water_below(self.edge(bottom))
                parts[-1] += f" - b{k}"
        return relation(
            name, number_fraction, "fraction", f"({' + '.join(parts) or '0'}) / V", terms,
            words="water below one depth less the water below another, over all water",
            source="the hypsograph of the survey; " + STRAIGHT,
        )  # fmt: skip

    def _runs(
        self, inside: Callable[[Array], np.ndarray], limits: Sequence[Value]
    ) -> list[tuple[float, float]]:
        lines = self.profile.lines
        crossed = [
            depth for limit in limits for depth in crossings_m(lines.depth_m, lines.do_mg_l, limit.number)
        ]
        cut = slices_of(self.basin.found.hypsograph, (*lines.depth_m, *crossed))
        return runs_of(cut, inside(cut.middle_m))

    def poor_share(self, name: str, number_fraction: float, limit: Value) -> Value:
        """Return the part of the water under a limit of oxygen."""
        lines = self.profile.lines
        oxygen = lines.line(lines.do_mg_l)
        return self.share(name, number_fraction, lambda z: oxygen(z) < limit.number, limit)

    def _sum(
        self, name: str, number_kg: float, what: str, quantity: Callable[[Array], Array], bands: Bands
    ) -> Value:
        return bands.total(name, number_kg, "kg", what, ("mg_l", quantity))

    def oxygen(self) -> tuple[Value, Value, Value]:
        """Return the oxygen in the pond, that at saturation, and what is missing to it."""
        found, lines = self.profile.found, self.profile.lines
        full = [layer.do_saturation_mg_l for layer in found.layers]
        short = [top - layer.do_mg_l for top, layer in zip(full, found.layers, strict=True)]
        corners = (*lines.depth_m, *crossings_m(lines.depth_m, short, 0.0))
        cut = Bands(slices_of(self.basin.found.hypsograph, corners), corners, self.profile.units)
        now = lines.line(lines.do_mg_l)
        missing = lines.line(short)
        return (
            self._sum("oxygen in the pond", found.oxygen_kg, "oxygen", now, self.bands),
            self._sum(
                "oxygen at saturation",
                found.oxygen_at_saturation_kg,
                "oxygen at saturation",
                lines.line(full),
                self.bands,
            ),
            self._sum(
                "oxygen missing to saturation",
                found.deficit_kg,
                "oxygen missing",
                lambda z: np.maximum(missing(z), 0.0),
                cut,
            ),
        )


def runs_of(cut: Slices, inside: np.ndarray) -> list[tuple[float, float]]:
    """Return the unbroken stretches [m] of slices that lie inside, shape (n,)."""
    found: list[tuple[float, float]] = []
    for top, bottom, one in zip(cut.top_m, cut.bottom_m, inside, strict=True):
        if not one:
            continue
        if found and abs(found[-1][1] - top) < 1e-12:
            found[-1] = (found[-1][0], float(bottom))
        else:
            found.append((float(top), float(bottom)))
    return found


def _row(rows: dict[str, dict[str, str]], words: str) -> str:
    return next((row["source"] for row in rows.values() if row["words"] == words), "sources/refuge.csv")


def _own(rows: dict[str, dict[str, str]], species: Sequence[str], column: str) -> str:
    """Return what the limit of a poison rests on: the row of the first species that the table knows."""
    return next((rows[name][column] for name in species if name in rows), rows[DEFAULT_SPECIES][column])
