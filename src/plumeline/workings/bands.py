"""Integrals over the basin, written out in bands of depth: water of each band times its mean value."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise

import numpy as np

from plumeline.stages.reading.slices import Array, Slices
from plumeline.units import show
from plumeline.units.showing import System
from plumeline.workings.quantities import base_of
from plumeline.workings.value import Value, relation, summed

SIMPSON = "Simpson's rule over slices of 2 cm, summed in bands between the readings"


class Bands:
    """A basin in slices, and the edges of the bands in which its integrals are written out.

    Attributes:
        slices: the basin.
        edges_m: depths from the surface to the bottom at which a band ends.
        units: the system of units of the bands' names.
    """

    def __init__(self, slices: Slices, edges_m: Sequence[float], units: System) -> None:
        deepest = float(slices.bottom_m[-1])
        inner = sorted({float(edge) for edge in edges_m if 1e-9 < edge < deepest - 1e-9})
        self.slices, self.units = slices, units
        self.edges_m = (0.0, *inner, deepest)

    def _inside(self) -> list[tuple[str, np.ndarray]]:
        middle = self.slices.middle_m
        names = [tuple(show(edge, "m", self.units) for edge in pair) for pair in pairwise(self.edges_m)]
        masks = [(middle > top) & (middle < bottom) for top, bottom in pairwise(self.edges_m)]
        return [(f"{top} to {bottom}", mask) for (top, bottom), mask in zip(names, masks, strict=True)]

    def terms(
        self, what: str, suffix: str, quantity: Callable[[Array], Array]
    ) -> tuple[str, dict[str, Value]]:
        """Return a formula for the integral, and its terms: water and mean of each band that has any.

        Args:
            what: the name of the quantity.
            suffix: its unit.
            quantity: from depths [m], shape (n,), to values in that unit, shape (n,).
        """
        parts: list[str] = []
        found: dict[str, Value] = {}
        for k, (name, inside) in enumerate(self._inside(), start=1):
            if not inside.any():
                continue
            volume, moment = self._integral(inside, np.ones_like), self._integral(inside, quantity)
            if volume <= 0.0 or (moment == 0.0 and base_of(0.0, suffix) == 0.0):
                continue
            found[f"V{k}"] = summed(
                f"water from {name}", volume, "m3", "the hypsograph's water between two depths"
            )
            found[f"c{k}"] = summed(
                f"{what} from {name}", moment / volume, suffix, "mean over the band, by volume"
            )
            parts.append(f"V{k} * c{k}")
        return " + ".join(parts) or "0", found

    def _integral(self, inside: np.ndarray, quantity: Callable[[Array], Array]) -> float:
        cut = self.slices
        part = Slices(
            cut.top_m[inside], cut.middle_m[inside], cut.bottom_m[inside],
            cut.top_m2[inside], cut.middle_m2[inside], cut.bottom_m2[inside],
        )  # fmt: skip
        return part.integral(quantity)

    def total(
        self,
        name: str,
        number: float,
        suffix: str,
        what: str,
        of: tuple[str, Callable[[Array], Array]],
        **more: object,
    ) -> Value:
        """Return an integral as a value.

        Args:
            name: what it is.
            number: the stage's own result, in the unit of the suffix.
            suffix: its unit.
            what: the name of what is summed.
            of: the unit of what is summed, and from depths [m] to it.
            **more: as for `relation`.
        """
        formula, terms = self.terms(what, *of)
        more = {"source": SIMPSON, "shown_formula": f"Σ water × {what} over bands of depth", **more}
        return relation(name, number, suffix, formula, terms, **more)

    def mean(
        self,
        name: str,
        number: float,
        what: str,
        of: tuple[str, Callable[[Array], Array]],
        volume: Value,
        **more: object,
    ) -> Value:
        """Return a mean by volume as a value; arguments as in `total`, in the unit of what is summed."""
        formula, terms = self.terms(what, *of)
        more = {"source": SIMPSON, "shown_formula": f"Σ water × {what} over bands of depth / V", **more}
        return relation(name, number, of[0], f"({formula}) / V", {**terms, "V": volume}, **more)
