"""The water that a plume rises through, as lines over depth, and cut into the segments of the kernel."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from plumeline.errors import InputError, RangeError
from plumeline.kernels.plume import fill_segments
from plumeline.kernels.rise import AMBIENT_COLUMNS
from plumeline.kernels.solubility import PROGRAM_LAW
from plumeline.notices import Notice, caution
from plumeline.units import both

Array = npt.NDArray[np.float64]

HELD_ABOVE_M = 0.5
"""A profile that begins deeper than this below the surface gets a caution."""

MOST_SALT_G_KG = 40.0
"""Sea water and a little more: so far density and the gases' solubility hold."""

SEGMENT_M = 0.05
"""Longest segment: density is taken as straight within it, which at 10 °C/m errs by 0.002 kg/m³."""


@dataclass(frozen=True)
class Water:
    """Temperature, oxygen and salinity over depth: straight between the rows, constant beyond their ends.

    Attributes:
        depth_m: depths, rising, at least one.
        temperature_degc: same length.
        do_mg_l: same length.
        salinity_g_kg: same length.
        from_profile: whether somebody read a profile; else one temperature was typed in.
    """

    depth_m: tuple[float, ...]
    temperature_degc: tuple[float, ...]
    do_mg_l: tuple[float, ...]
    salinity_g_kg: tuple[float, ...]
    from_profile: bool = True

    def notices(self, diffuser_depth_m: float) -> tuple[Notice, ...]:
        """Return a caution where a plume from this depth leaves the rows of a profile."""
        if not self.from_profile:
            return ()
        top, bottom = self.depth_m[0], self.depth_m[-1]
        if len(self.depth_m) == 1:
            return (
                caution(
                    "profile-one-depth",
                    f"The profile has one depth only ({both(top, 'm')}): the water is taken as uniform.",
                ),
            )
        held = []
        if top > HELD_ABOVE_M:
            held.append(f"begins at {both(top, 'm')}: its first row is held constant above")
        if bottom < diffuser_depth_m - 1e-6:
            held.append(
                f"ends at {both(bottom, 'm')}, over the diffuser at {both(diffuser_depth_m, 'm')}: "
                "its last row is held constant below"
            )
        return tuple(caution("profile-held-constant", f"The profile {words}.") for words in held)

    def means(self, diffuser_depth_m: float) -> tuple[float, float, float]:
        """Return mean temperature [°C], oxygen [mg/L] and salt [g/kg] from the surface down to a depth, by depth."""
        over = np.linspace(0.0, diffuser_depth_m, 101)
        columns = (self.temperature_degc, self.do_mg_l, self.salinity_g_kg)
        temperature, oxygen, salt = (float(np.mean(np.interp(over, self.depth_m, each))) for each in columns)
        return temperature, oxygen, salt

    def segments(
        self, diffuser_depth_m: float, surface_pressure_pa: float, law: float = PROGRAM_LAW
    ) -> tuple[Array, Array]:
        """Return the interfaces from the surface to the diffuser and the water between them.

        Args:
            diffuser_depth_m: depth of the membrane [m].
            surface_pressure_pa: air pressure [Pa].
            law: solubility law of the kernel.
        Returns:
            Interface depths, shape (K + 1,), and the kernel's array of the water, shape (K, AMBIENT_COLUMNS).
        """
        rows = np.asarray(self.depth_m)
        corners = np.unique([0.0, *rows[(rows > 1e-9) & (rows < diffuser_depth_m - 1e-9)], diffuser_depth_m])
        pieces = [
            np.linspace(high, low, math.ceil((low - high) / SEGMENT_M) + 1)[:-1]
            for high, low in pairwise(corners)
        ]
        interface_m = np.concatenate([*pieces, corners[-1:]])
        ambient = np.zeros((len(interface_m) - 1, AMBIENT_COLUMNS))
        fill_segments(
            interface_m,
            np.interp(interface_m, rows, self.temperature_degc),
            np.interp(interface_m, rows, self.salinity_g_kg),
            np.interp(interface_m, rows, self.do_mg_l),
            surface_pressure_pa,
            law,
            ambient,
        )
        return interface_m, ambient


def water_of_one_temperature(temperature_degc: float, do_mg_l: float = 0.0) -> Water:
    """Return water of one temperature [°C] and oxygen [mg/L] at all depths.

    Raises:
        RangeError: a value that no pond has.
    """
    return replace(water_of_rows([0.0], [temperature_degc], do_mg_l), from_profile=False)


def water_of_rows(
    depth_m: Sequence[float],
    temperature_degc: Sequence[float],
    do_mg_l: Sequence[float] | float = 0.0,
    salinity_g_kg: Sequence[float] | float = 0.0,
) -> Water:
    """Return the water of a profile's rows, in any order; one number stands for all depths.

    Args:
        depth_m: depths, no two alike [m].
        temperature_degc: temperature at each [°C].
        do_mg_l: oxygen at each, or one number [mg/L].
        salinity_g_kg: salinity at each, or one number [g/kg].
    Returns:
        The water.
    Raises:
        InputError: no row, or two rows at one depth.
        RangeError: a value that no pond has.
    """
    count = len(depth_m)
    if count == 0:
        raise InputError("the profile has no rows.", remedy="Give at least one depth with its temperature.")
    oxygen = [do_mg_l] * count if isinstance(do_mg_l, float | int) else list(do_mg_l)
    salt = [salinity_g_kg] * count if isinstance(salinity_g_kg, float | int) else list(salinity_g_kg)
    order = sorted(range(count), key=lambda i: depth_m[i])
    depth = tuple(float(depth_m[i]) for i in order)
    for above, below in pairwise(depth):
        if above == below:
            raise InputError(
                f"the profile has two rows at {above:g} m.", remedy="Keep one reading for each depth."
            )
    for name, values, low, high in (
        ("depth_m", depth, 0.0, 200.0),
        ("temperature_degc", temperature_degc, -0.5, 45.0),
        ("do_mg_l", oxygen, 0.0, 40.0),
        ("salinity_g_kg", salt, 0.0, MOST_SALT_G_KG),
    ):
        for value in values:
            if not low <= value <= high:
                raise RangeError(
                    f"{name} = {value:g} is outside {low:g} to {high:g}.",
                    remedy="Check the conductivity and its unit: it is over that of sea water."
                    if name == "salinity_g_kg"
                    else "Check the value and its unit.",
                    place=name,
                )
    return Water(
        depth,
        tuple(float(temperature_degc[i]) for i in order),
        tuple(float(oxygen[i]) for i in order),
        tuple(float(salt[i]) for i in order),
    )
