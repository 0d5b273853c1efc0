"""How the numbers of the pond mixed now come about: temperature, oxygen before and after its debt, pH, ammonia."""

from __future__ import annotations

from functools import cached_property

import numpy as np

from plumeline.science.carbonate import carbon_from_alkalinity_and_ph
from plumeline.science.mixing import carbonate_alkalinity_stumm_morgan_1996
from plumeline.stages.reading import MixedChemistry
from plumeline.stages.reading.mixing import ALKALINITY_MG_PER_MOL_M3, DEFAULT_ALKALINITY_MG_L
from plumeline.stages.reading.slices import Array
from plumeline.workings.bands import Bands
from plumeline.workings.reading_profile import ProfileValues
from plumeline.workings.value import Value, balance, plain_constant, relation, summed

CARBON = "carbon_from_alkalinity_and_ph(carbonate_alkalinity_stumm_morgan_1996(a, p, T), p, T)"


class MixedValues:
    """The values of the mixed pond.

    Attributes:
        profile: the profile.
        bands: the basin in bands between the readings.
        volume: the pond's water.
        mass: the oxygen in it.
        debt: the first day's debt: middle, low, high; set once it is known.
    """

    debt: tuple[Value, Value, Value]

    def __init__(self, profile: ProfileValues, bands: Bands, volume: Value, mass: Value) -> None:
        self.profile, self.bands, self.volume, self.mass = profile, bands, volume, mass
        self.found = profile.found.mixed_now

    @cached_property
    def temperature(self) -> Value:
        """The temperature of the mixture."""
        lines = self.profile.lines
        return self.bands.mean(
            "temperature, mixed", self.found.temperature_degc, "temperature",
            ("degc", lines.line(lines.temperature_degc)), self.volume,
        )  # fmt: skip

    @cached_property
    def oxygen(self) -> Value:
        """The oxygen before any debt."""
        terms = {"m": self.mass, "V": self.volume}
        return relation("oxygen, mixed, before any debt", self.found.do_mg_l, "mg_l", "m / V", terms)

    @cached_property
    def after(self) -> tuple[Value, Value, Value]:
        """The oxygen after the first day's debt: middle, low end, high end."""
        mixed = self.found
        rows = (
            ("oxygen after the first day's debt", mixed.do_after_debt_mg_l, self.debt[0]),
            ("oxygen after the debt, low end", mixed.do_after_debt_low_mg_l, self.debt[2]),
            ("oxygen after the debt, high end", mixed.do_after_debt_high_mg_l, self.debt[1]),
        )
        low, middle, high = (
            relation(name, number, "mg_l", "max(m - d, 0) / V", {"m": self.mass, "d": debt, "V": self.volume})
            for name, number, debt in rows
        )
        return low, middle, high

    def _alkalinity_line(self) -> tuple[float, ...]:
        lines = self.profile.lines
        read = [(p.depth_m, p.alkalinity_mg_l) for p in lines.points if p.alkalinity_mg_l is not None]
        if not read:
            return (DEFAULT_ALKALINITY_MG_L,) * len(lines.points)
        at, values = zip(*read, strict=True)
        return tuple(float(v) for v in np.interp(lines.depth_m, at, values))

    def alkalinity(self, chemistry: MixedChemistry) -> Value:
        """Return the alkalinity of the mixture, as CaCO₃."""
        line = self.profile.lines.line(self._alkalinity_line())
        words = (
            "as CaCO₃; not read: a usual value stands in (judgement)"
            if chemistry.alkalinity_assumed
            else "as CaCO₃"
        )
        return self.bands.mean(
            "alkalinity, mixed",
            chemistry.alkalinity_mg_l,
            "alkalinity",
            ("mg_l", line),
            self.volume,
            words=words,
        )

    def ph(self, chemistry: MixedChemistry) -> Value:
        """Return the pH of the mixture: the one at which its alkalinity goes with its carbon."""
        lines, profile = self.profile.lines, self.profile
        alkalinity = relation(
            "alkalinity, mixed, in equivalents",
            chemistry.alkalinity_mg_l / ALKALINITY_MG_PER_MOL_M3,
            "mol/m³",
            "A / e",
            {
                "A": self.alkalinity(chemistry),
                "e": plain_constant(
                    "alkalinity by mol/m³",
                    ALKALINITY_MG_PER_MOL_M3 / 1000.0,
                    "",
                    "CaCO₃, 100.09 g/mol, two equivalents: kg by mol",
                ),
            },
        )
        values = [layer.ph for layer in profile.found.layers]

        def carbon(depth_m: Array) -> Array:
            columns = (
                lines.line(v)(depth_m) for v in (self._alkalinity_line(), values, lines.temperature_degc)
            )
            rows = zip(*columns, strict=True)
            return np.array(
                [
                    carbon_from_alkalinity_and_ph(
                        carbonate_alkalinity_stumm_morgan_1996(a / ALKALINITY_MG_PER_MOL_M3, p, t), p, t
                    )
                    for a, p, t in rows
                ]
            )

        mixed = self.bands.mean(
            "inorganic carbon, mixed", chemistry.carbon_mol_m3, "carbon", ("mol/m³", carbon), self.volume,
            words="from alkalinity, pH and temperature at each depth",
        )  # fmt: skip
        terms = {
            "p": summed("pH, mixed", chemistry.ph, "", "found by Brent's method"),
            "a": alkalinity,
            "T": self.temperature,
        }
        return balance(
            "pH, mixed",
            chemistry.ph,
            "",
            CARBON,
            terms,
            mixed,
            words="the pH at which the mixture's alkalinity goes with its carbon: these mix, pH does not",
        )

    def ammonia(self, chemistry: MixedChemistry) -> Value:
        """Return the total ammonia of the mixture, as N."""
        lines = self.profile.lines
        line = lines.line([layer.ammonia_mg_l for layer in self.profile.found.layers])
        return self.bands.mean(
            "total ammonia, mixed",
            chemistry.ammonia_mg_l,
            "ammonia",
            ("mg_l", line),
            self.volume,
            words="as N",
        )

    def chemistry(self, chemistry: MixedChemistry) -> dict[str, list[Value]]:
        """Return the values of the rows about pH and ammonia, by the rows' names."""
        ph, total = self.ph(chemistry), self.ammonia(chemistry)
        water = {"T": self.temperature, "pH": ph}
        lines, salts = self.profile.lines, "salinity, mixed"
        salt = self.bands.mean(
            salts, chemistry.salinity_g_kg, "salinity", ("g_kg", lines.line(lines.salinity_g_kg)), self.volume
        )
        share = relation(
            "un-ionised part of the ammonia, mixed", chemistry.unionized_fraction, "fraction",
            "ammonia_unionized_fraction_bell_2008(T, S, pH)", {**water, "S": salt},
        )  # fmt: skip
        toxic = relation(
            "un-ionised ammonia, mixed", chemistry.unionized_mg_l, "mg_l", "f * N", {"f": share, "N": total}
        )
        criteria = [
            relation(
                f"criterion, {name}", number, "mg_l", f"{function}(T, pH)", water, words="total ammonia as N"
            )
            for name, number, function in (
                ("an hour", chemistry.criterion_acute_mg_l, "ammonia_acute_epa_2013"),
                ("an hour, with trout", chemistry.criterion_acute_trout_mg_l, "ammonia_acute_trout_epa_2013"),
                ("30 days", chemistry.criterion_chronic_mg_l, "ammonia_chronic_epa_2013"),
            )
        ]
        month = plain_constant("days of the criterion", 30.0, "", "EPA 2013, mean of 30 days")
        return {
            "pH": [ph], "un-ionised ammonia": [toxic, share, total],
            "EPA 2013 criteria, total as N": [*criteria, month],
        }  # fmt: skip
