"""How the numbers of a profile's layers come about: thermocline, stability, and what the wind does to them."""

from __future__ import annotations

import numpy as np

from plumeline.science.water import GRAVITY_M_S2
from plumeline.stages.reading.conditions import hours_near
from plumeline.stages.reading.strata import (
    PEAK_FRACTION,
    SLOPE_KG_M4,
    gradients_kg_m4,
    layer_density_kg_m3,
    volume_centre_m,
)
from plumeline.units import convert
from plumeline.workings.bands import Bands
from plumeline.workings.reading_profile import ProfileValues
from plumeline.workings.value import Value, chosen, measured, plain_constant, relation, summed

READ_2011 = "Read and others 2011, Environ. Model. Softw. 26:1325"


class StrataValues:
    """The values of the layers.

    Attributes:
        profile: the profile.
        bands: the basin.
        area: of the water surface, as the integrals take it.
        volume: all water.
    """

    def __init__(self, profile: ProfileValues, bands: Bands, area: Value, volume: Value) -> None:
        self.profile, self.bands, self.volume = profile, bands, volume
        self.area = summed(
            "area of the surface, in slices", float(bands.slices.top_m2[0]), "m2",
            f"the pond's area, {area.number:.1f} m², scaled so that the water of the hypsograph's top step is met",
        )  # fmt: skip
        lines = profile.lines
        self.slope = gradients_kg_m4(lines.depth_m, lines.density_kg_m3)
        self.gravity = plain_constant("gravity", GRAVITY_M_S2, "m/s²", "standard gravity")
        self.bound = self._bound()

    def _bound(self) -> Value:
        """Return the gradient that bounds the metalimnion."""
        number, depth_m = (
            self.profile.found.strata.bound_kg_m4,
            self.profile.found.strata.seasonal_thermocline_depth_m,
        )
        least = plain_constant("least bounding gradient", SLOPE_KG_M4, "kg/m⁴", READ_2011)
        if number is None or depth_m is None:
            return least
        part = plain_constant(
            "part of the steepest", PEAK_FRACTION, "", f"{READ_2011}, for a peak that counts; judgement"
        )
        return relation(
            "bounding gradient", number, "kg/m⁴", "max(f * g, m)",
            {"f": part, "g": self.gradient(self._step(depth_m)), "m": least},
        )  # fmt: skip

    def _step(self, depth_m: float) -> int:
        """Return the step between readings in which a thermocline lies."""
        at = self.profile.lines.depth_m
        inside = [i for i in range(len(self.slope)) if at[i] <= depth_m <= at[i + 1]]
        return max(inside, key=lambda i: self.slope[i])

    def gradient(self, index: int) -> Value:
        """Return the gradient of density between two readings."""
        profile = self.profile
        return relation(
            f"gradient of density {profile.depth[index].name.removeprefix('depth ')}", self.slope[index], "kg/m⁴",
            "(r2 - r1) / (z2 - z1)",
            {"r1": profile.density[index], "r2": profile.density[index + 1],
             "z1": profile.depth[index], "z2": profile.depth[index + 1]},
        )  # fmt: skip

    def thermocline(self, depth_m: float, name: str = "thermocline") -> Value:
        """Return a thermocline's depth: within the steepest step, drawn towards its steeper neighbour."""
        slope, depth, at = self.slope, self.profile.depth, self._step(depth_m)
        words = (
            "in the steepest step of density" if name == "thermocline" else "in the deepest step that counts"
        )
        ends = {"z1": depth[at], "z2": depth[at + 1]}
        inner = 0 < at < len(slope) - 1 and slope[at] > slope[at + 1] and slope[at] > slope[at - 1]
        if not inner:
            return relation(name, depth_m, "m", "(z1 + z2) / 2", ends, words=words, source=READ_2011)
        terms = {
            **ends,
            "z0": depth[at - 1],
            "g0": self.gradient(at - 1),
            "g1": self.gradient(at),
            "g2": self.gradient(at + 1),
        }
        below, above = "(z2 - z1) / (g1 - g2)", "(z1 - z0) / (g1 - g0)"
        formula = f"(z2 * ({below}) + z1 * ({above})) / ({below} + {above})"
        return relation(name, depth_m, "m", formula, terms, words=words, source=READ_2011)

    def metalimnion(self, depth_m: float, name: str) -> Value:
        """Return an end of the metalimnion: where the gradient falls to the bounding one."""
        lines, bound = self.profile.lines, self.bound.number
        middle = [(a + b) / 2.0 for a, b in zip(lines.depth_m, lines.depth_m[1:], strict=False)]
        for i in range(len(middle) - 1):
            a, b = self.slope[i] - bound, self.slope[i + 1] - bound
            if a * b < 0 and abs(middle[i] + (middle[i + 1] - middle[i]) * a / (a - b) - depth_m) < 1e-9:
                terms = {
                    "m1": self._middle(i), "m2": self._middle(i + 1), "g1": self.gradient(i),
                    "g2": self.gradient(i + 1), "g": self.bound,
                }  # fmt: skip
                return relation(
                    name, depth_m, "m", "m1 + (m2 - m1) * (g - g1) / (g2 - g1)", terms, source=READ_2011,
                    words="where the gradient of density falls to the bounding one",
                )  # fmt: skip
        skin = [i for i in range(len(middle)) if middle[i] == depth_m and depth_m not in lines.depth_m]
        if skin:
            words = "the weakest step between the day's warm skin and the thermocline, its middle"
            return self._middle(skin[0], name, words)
        words = (
            f"a reading: the gradient of density is over the bounding {bound:.3g} kg/m⁴ in the step on the side of the "
            "thermocline, and under it in the next, or the profile ends"
        )
        return chosen(name, depth_m, "m", words, source=READ_2011)

    def _middle(self, index: int, name: str = "", words: str = "") -> Value:
        number = (self.profile.lines.depth_m[index] + self.profile.lines.depth_m[index + 1]) / 2.0
        terms = {"z1": self.profile.depth[index], "z2": self.profile.depth[index + 1]}
        return relation(
            name or f"middle of step {index + 1}", number, "m", "(z1 + z2) / 2", terms, words=words
        )

    @property
    def centre(self) -> Value:
        """The depth of the centre of the pond's volume."""
        return self.bands.mean(
            "centre of the volume",
            volume_centre_m(self.bands.slices),
            "depth",
            ("m", lambda z: z),
            self.volume,
        )

    def stability(self, number_j_m2: float) -> Value:
        """Return the Schmidt stability, its moments summed by band."""
        lines, cut = self.profile.lines, self.bands.slices
        density = lines.line(lines.density_kg_m3)
        centre = volume_centre_m(cut)
        mean = cut.integral(density) / float(cut.volume_m3.sum())
        _, terms = self.bands.terms("moment", "", lambda z: (z - centre) * (density(z) - mean))
        moments = {}
        for name, term in terms.items():
            if name[0] == "V":
                moment = term.number * terms[f"c{name[1:]}"].number
                moments[f"M{name[1:]}"] = summed(
                    term.name.replace("water", "moment of the density's excess"), moment, "kg·m",
                    "sum over slices of water × (z − z_v)(ρ − ρ̄)",
                )  # fmt: skip
        return relation(
            "Schmidt stability", number_j_m2, "J/m²", f"g / A * ({' + '.join(moments) or '0'})",
            {"g": self.gravity, "A": self.area, **moments}, shown_formula="(g / A) Σ (z − z_v)(ρ − ρ̄) A_z Δz",
            source="Idso 1973, Limnol. Oceanogr. 18:681",
        )  # fmt: skip

    @property
    def strongest(self) -> Value:
        """The strongest buoyancy frequency of the profile."""
        layers, profile = self.profile.found.layers, self.profile
        numbers = [layer.buoyancy_frequency_squared_per_s2 or 0.0 for layer in layers]
        at = max((i for i in range(len(layers) - 1)), key=lambda i: numbers[i])
        middle = relation(
            "density between the two readings",
            (layers[at].density_kg_m3 + layers[at + 1].density_kg_m3) / 2.0,
            "kg_m3",
            "(r1 + r2) / 2",
            {"r1": profile.density[at], "r2": profile.density[at + 1]},
        )
        return relation(
            "strongest N²", numbers[at], "1/s²", "buoyancy_frequency_squared_read_2011(r, g)",
            {"r": middle, "g": self.gradient(at)}, words="the greatest of all steps of the profile",
        )  # fmt: skip

    @property
    def wind(self) -> Value:
        """The mean wind of the hours about the reading."""
        found, us = self.profile.found, self.profile.units == "us"
        suffix = "mph" if us else "m_s"

        def own(speed_m_s: float) -> float:
            return convert(speed_m_s, "m_s", suffix)

        hours = hours_near(self.profile.files.job, found.time)
        terms = {
            f"w{k}": measured(f"wind at {hour.time:%H:%M}", own(hour.wind_speed_m_s), suffix,
                              f"weather.csv, {hour.time:%Y-%m-%d %H:%M}")
            for k, hour in enumerate(hours, start=1)
        }  # fmt: skip
        speed_m_s = found.wind.wind_speed_m_s if found.wind else 0.0
        return relation(
            "wind", own(speed_m_s), suffix, f"({' + '.join(terms)}) / {len(terms)}", terms,
            words="mean of the hours within three hours of the profile, as recorded at the station",
        )  # fmt: skip

    @property
    def friction(self) -> Value:
        """The friction velocity in the water."""
        found = self.profile.found.wind
        number = found.friction_velocity_m_s if found else 0.0
        terms = {"w": self.wind, "r": self.profile.density[0]}
        return relation("friction velocity", number, "m_s", "friction_velocity_read_2011(w, r)", terms)

    def _layer(self, name: str, top_m: float, bottom_m: float) -> Value:
        lines = self.profile.lines
        number = layer_density_kg_m3(lines.depth_m, lines.density_kg_m3, top_m, bottom_m)
        words = "mean by depth of the straight lines between readings"
        return summed(f"density {name}", number, "kg_m3", words)

    @property
    def lake_number(self) -> Value:
        """The Lake Number."""
        found, lines = self.profile.found, self.profile.lines
        strata = found.strata
        top, bottom = strata.metalimnion_top_m or 0.0, strata.metalimnion_bottom_m or 0.0
        terms = {
            "S": self.stability(found.stability_j_m2), "zt": self.metalimnion(top, "top of the metalimnion"),
            "zb": self.metalimnion(bottom, "bottom of the metalimnion"),
            "r": self._layer("below the metalimnion", bottom, lines.depth_m[-1]), "u": self.friction, "A": self.area,
            "zv": self.centre,
        }  # fmt: skip
        number = found.wind.lake_number if found.wind else 0.0
        return relation(
            "Lake Number",
            number or 0.0,
            "",
            "lake_number_imberger_patterson_1990(S, zt, zb, r, u, A, zv)",
            terms,
        )

    @property
    def wedderburn(self) -> Value:
        """The Wedderburn number, of the mixed layer and the water below the metalimnion."""
        found, lines = self.profile.found, self.profile.lines
        top, bottom = found.strata.metalimnion_top_m or 0.0, found.strata.metalimnion_bottom_m or 0.0
        upper = self._layer("above the metalimnion", lines.depth_m[0], top)
        lower = self._layer("below the metalimnion", bottom, lines.depth_m[-1])
        length = relation(
            "length of a round pond",
            2.0 * float(np.sqrt(self.area.number / np.pi)),
            "m",
            f"2 * sqrt(A / {np.pi:.12g})",
            {"A": self.area},
        )
        number = found.wind.wedderburn_number if found.wind else 0.0
        terms = {
            "r2": lower,
            "r1": upper,
            "z": self.metalimnion(top, "top of the metalimnion"),
            "u": self.friction,
            "L": length,
        }
        return relation(
            "Wedderburn number",
            number or 0.0,
            "",
            "wedderburn_number_imberger_patterson_1990(r2 - r1, r2, z, u, L)",
            terms,
        )
