"""How the numbers of a profile come about: what was read, and what follows from it at each depth."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np

from plumeline.job.document import SmellStrength
from plumeline.sources.priors import prior
from plumeline.stages.column import believed
from plumeline.stages.reading import Reading
from plumeline.stages.reading.conditions import hours_near
from plumeline.stages.reading.debt import OXYGEN_PER_SULPHIDE_FRACTION, sulphide_anchors, sulphide_prior_mg_l
from plumeline.stages.reading.layers import H2S_PER_SULPHIDE_FRACTION
from plumeline.stages.reading.profile import (
    REDUCED_FULL_MG_L,
    REDUCED_NONE_MG_L,
    SMELL_WEIGHT,
    TRANSITION_M,
    Lines,
    anchors_of,
    lines_of,
)  # fmt: skip
from plumeline.stages.reading.stage import latest_profile
from plumeline.units import show
from plumeline.units.showing import System
from plumeline.workings.files import Files
from plumeline.workings.value import Value, given, measured, plain_constant, relation, summed

STRAIGHT = "straight line between two readings"


class ProfileValues:
    """The values of a profile, each made once.

    Attributes:
        found: the reading.
        lines: the profile as lines.
        files: the job.
        units: the system of units of names.
    """

    def __init__(self, found: Reading, files: Files, units: System) -> None:
        self.found, self.files, self.units = found, files, units
        self.lines: Lines = lines_of(latest_profile(believed(files.job)))
        points = self.lines.points
        self.depth = [self._read(i, "depth", point.depth_m, "m") for i, point in enumerate(points)]
        self.temperature = [
            self._read(i, "temperature", point.temperature_degc, "degc") for i, point in enumerate(points)
        ]
        self.oxygen = [self._read(i, "oxygen", point.do_mg_l, "mg_l") for i, point in enumerate(points)]

    def _at(self, index: int) -> str:
        return show(self.lines.depth_m[index], "m", self.units)

    def _read(self, index: int, what: str, number: float, suffix: str) -> Value:
        short = any(echo.startswith("reading.") for echo in self.files.echoes)
        file = "job.toml, reading" if short else "profiles.csv or readings.csv"
        words = f"{file}: {self.found.profile_id}, row of {self._at(index)}"
        return measured(f"{what} at {self._at(index)}", number, suffix, words)

    @cached_property
    def elevation(self) -> Value:
        """How high the pond lies."""
        number = self.files.job.site.elevation_m
        return self.files.field("elevation", number, "m", "site.latitude_longitude_elevation")

    @cached_property
    def pressure(self) -> Value:
        """The air's pressure: the mean of the hours about the profile, or the standard atmosphere's."""
        hours = [hour for hour in hours_near(self.files.job, self.found.time) if hour.pressure_pa is not None]
        if not hours:
            return relation("air pressure", self.found.pressure_pa, "pa", "pressure_icao_1993(h)",
                            {"h": self.elevation}, gauge=False)  # fmt: skip
        terms = {
            f"p{k}": measured(
                f"air pressure at {hour.time:%H:%M}", hour.pressure_pa or 0.0, "pa",
                f"weather.csv, {hour.time:%Y-%m-%d %H:%M}", gauge=False,
            )
            for k, hour in enumerate(hours, start=1)
        }  # fmt: skip
        return relation(
            "air pressure", self.found.pressure_pa, "pa", f"({' + '.join(terms)}) / {len(terms)}", terms,
            words="mean of the hours within three hours of the profile", gauge=False,
        )  # fmt: skip

    @cached_property
    def salinity(self) -> list[Value]:
        """Salinity at each reading: from the conductivity, straight between readings of it."""
        read = [
            (i, p.conductivity_us_cm)
            for i, p in enumerate(self.lines.points)
            if p.conductivity_us_cm is not None
        ]
        values = self.lines.salinity_g_kg
        if not read:
            words = "no conductivity was read: taken as fresh"
            return [given(f"salinity at {self._at(i)}", 0.0, "g_kg", words) for i in range(len(values))]
        anchors = [(self.depth[i], self._read(i, "conductivity", number, "us_cm")) for i, number in read]
        found = []
        for i, value in enumerate(values):
            conductivity = self.between(f"conductivity at {self._at(i)}", self.depth[i], anchors)
            found.append(
                relation(
                    f"salinity at {self._at(i)}", value, "g_kg", "salinity_hill_1986(k)", {"k": conductivity}
                )
            )
        return found

    def between(self, name: str, depth: Value, anchors: Sequence[tuple[Value, Value]]) -> Value:
        """Return a value at a depth, straight between two anchors (depth, value), held constant beyond them."""
        at = [anchor[0].number for anchor in anchors]
        for place, value in anchors:
            if place.number == depth.number:
                return value
        if depth.number <= at[0] or depth.number >= at[-1]:
            return anchors[0][1] if depth.number <= at[0] else anchors[-1][1]
        index = int(np.searchsorted(at, depth.number, side="right")) - 1
        (z1, a1), (z2, a2) = anchors[index], anchors[index + 1]
        number = float(np.interp(depth.number, [z1.number, z2.number], [a1.number, a2.number]))
        terms = {"a1": a1, "a2": a2, "z": depth, "z1": z1, "z2": z2}
        return relation(
            name, number, a1.suffix, "a1 + (a2 - a1) * (z - z1) / (z2 - z1)", terms, source=STRAIGHT
        )

    @cached_property
    def density(self) -> list[Value]:
        """Density of the water at each reading."""
        return [
            relation(
                f"density at {self._at(i)}", number, "kg_m3", "density_chen_millero_1986(T, S)",
                {"T": self.temperature[i], "S": self.salinity[i]},
            )
            for i, number in enumerate(self.lines.density_kg_m3)
        ]  # fmt: skip

    @cached_property
    def saturation(self) -> list[Value]:
        """Oxygen in equilibrium with the air at each reading."""
        return [
            relation(
                f"oxygen at saturation at {self._at(i)}", layer.do_saturation_mg_l, "mg_l",
                "do_saturation_benson_krause_1984(T, S, p)",
                {"T": self.temperature[i], "S": self.salinity[i], "p": self.pressure},
            )
            for i, layer in enumerate(self.found.layers)
        ]  # fmt: skip

    @cached_property
    def saturation_share(self) -> list[Value]:
        """Oxygen over that at saturation, at each reading."""
        return [
            relation(
                f"saturation at {self._at(i)}", layer.saturation_fraction, "fraction", "C / C_s",
                {"C": self.oxygen[i], "C_s": self.saturation[i]}, source="definition",
            )
            for i, layer in enumerate(self.found.layers)
        ]  # fmt: skip

    @cached_property
    def owing(self) -> list[Value]:
        """How far the water of each reading owes oxygen."""
        found = []
        for i, layer in enumerate(self.found.layers):
            smell = self.lines.points[i].smell
            terms = {
                "C": self.oxygen[i],
                "n": plain_constant("oxygen from which water owes none", REDUCED_NONE_MG_L, "mg_l", "judgement"),
                "f": plain_constant("oxygen up to which it wholly owes", REDUCED_FULL_MG_L, "mg_l", "judgement"),
                "s": given("weight of the smell", SMELL_WEIGHT[smell or SmellStrength.NONE], "",
                           f"profiles.csv, smell: {smell.value if smell else 'not noted'}"),
            }  # fmt: skip
            found.append(
                relation(
                    f"part that owes oxygen at {self._at(i)}", layer.owing_fraction, "",
                    "max(min(max((n - C) / (n - f), 0), 1), s)", terms,
                )
            )  # fmt: skip
        return found

    @cached_property
    def thermocline(self) -> Value:
        """The seasonal thermocline; see `reading_strata`."""
        return summed(
            "seasonal thermocline", self.found.strata.seasonal_thermocline_depth_m or 0.0, "m",
            "the deepest step of density that counts",
        )  # fmt: skip

    def _anchored(self, what: str, suffix: str, field: str, numbers: Sequence[float]) -> list[Value]:
        """Return a quantity at every reading: as read, between readings, or with a prior's middle in a layer."""
        read = [getattr(point, field) for point in self.lines.points]
        priors = {"ph": ("surface_ph", "bottom_ph"), "ammonia_mg_l": ("surface_ammonia", "bottom_ammonia")}[
            field
        ]
        anchors: list[tuple[Value, Value]] = []
        for z, value, assumed in anchors_of(self.lines, read, *priors):
            anchors.append((self._anchor_depth(z), self._anchor(what, suffix, field, value, assumed)))
        return [self.between(f"{what} at {self._at(i)}", self.depth[i], anchors) for i in range(len(numbers))]

    def _anchor_depth(self, depth_m: float) -> Value:
        if depth_m in self.lines.depth_m:
            return self.depth[self.lines.depth_m.index(depth_m)]
        middle = self.thermocline.number
        sign = "-" if depth_m < middle else "+"
        reach = plain_constant("half the height of the change", TRANSITION_M, "m", "judgement")
        name = f"depth where the {'upper' if sign == '-' else 'lower'} layer ends"
        return relation(name, depth_m, "m", f"z {sign} h", {"z": self.thermocline, "h": reach})

    def _anchor(self, what: str, suffix: str, field: str, number: float, assumed: bool) -> Value:
        if assumed:
            name = "surface" if number == prior(_prior(field, "surface")).mode else "bottom"
            row = prior(_prior(field, name))
            return given(
                f"{what}, prior of the {name}",
                number,
                suffix,
                f"sources/priors.csv, {row.name}: {row.source}",
            )
        index = next(i for i, point in enumerate(self.lines.points) if getattr(point, field) == number)
        return self._read(index, what, number, suffix)

    @cached_property
    def ph(self) -> list[Value]:
        """Value of pH at each reading."""
        return self._anchored("pH", "", "ph", [layer.ph for layer in self.found.layers])

    @cached_property
    def ammonia(self) -> list[Value]:
        """Total ammonia at each reading, as N."""
        numbers = [layer.ammonia_mg_l for layer in self.found.layers]
        return self._anchored("total ammonia", "mg_l", "ammonia_mg_l", numbers)

    @cached_property
    def unionized(self) -> list[Value]:
        """Un-ionised ammonia at each reading, as N."""
        return [
            relation(
                f"un-ionised ammonia at {self._at(i)}", layer.unionized_ammonia_mg_l, "mg_l",
                "N * ammonia_unionized_fraction_bell_2008(T, salt, pH)",
                {"N": self.ammonia[i], "T": self.temperature[i], "salt": self.salinity[i], "pH": self.ph[i]},
            )
            for i, layer in enumerate(self.found.layers)
        ]  # fmt: skip

    @cached_property
    def sulphide(self) -> list[Value]:
        """Total sulphide at each reading, as S; without one, a prior in the water that owes oxygen."""
        anchors = [
            (self.depth[self.lines.depth_m.index(z)], self._sulphide_anchor(z, number, assumed))
            for z, number, assumed in sulphide_anchors(self.lines)
        ]
        found = []
        for i, layer in enumerate(self.found.layers):
            name = f"sulphide at {self._at(i)}"
            if not anchors:
                base = self._sulphide_prior("sulphide, prior", 1.0)
            else:
                base = self.between(name, self.depth[i], anchors)
                if self.lines.depth_m[i] >= anchors[0][0].number:
                    found.append(base)
                    continue
            found.append(
                relation(
                    name, layer.sulphide_mg_l, "mg_l", "s * w", {"s": base, "w": self.owing[i]},
                    words="above the highest test only in water that owes oxygen",
                )
            )  # fmt: skip
        return found

    def _sulphide_anchor(self, depth_m: float, number: float, assumed: bool) -> Value:
        index = self.lines.depth_m.index(depth_m)
        if not assumed:
            return self._read(index, "sulphide", number, "mg_l")
        owing = float(self.found.layers[index].owing_fraction)
        return self._sulphide_prior("sulphide, prior under the deepest test", owing)

    def _sulphide_prior(self, name: str, owing_fraction: float) -> Value:
        middle = sulphide_prior_mg_l(self.lines)[1] / OXYGEN_PER_SULPHIDE_FRACTION
        row = prior("debt_b")
        words = f"sources/priors.csv, {row.name}, moved by the smell, over {OXYGEN_PER_SULPHIDE_FRACTION:.4g}"
        if owing_fraction < 1.0:
            words += f", times the part that owes oxygen, {owing_fraction:.3g}"
        return given(name, middle * owing_fraction, "mg_l", f"{words}: {row.source}")

    @cached_property
    def hydrogen_sulphide(self) -> list[Value]:
        """Undissociated sulphide at each reading, as H₂S."""
        ratio = plain_constant(
            "H₂S by sulphide-S", H2S_PER_SULPHIDE_FRACTION, "", "atomic weights, 34.081 / 32.06"
        )
        return [
            relation(
                f"hydrogen sulphide at {self._at(i)}", layer.hydrogen_sulphide_mg_l, "mg_l",
                "S * sulphide_undissociated_fraction_millero_1988(T, salt, pH) * r",
                {
                    "S": self.sulphide[i], "T": self.temperature[i], "salt": self.salinity[i], "pH": self.ph[i],
                    "r": ratio,
                },
            )
            for i, layer in enumerate(self.found.layers)
        ]  # fmt: skip


def _prior(field: str, where: str) -> str:
    return f"{where}_{'ph' if field == 'ph' else 'ammonia'}"
