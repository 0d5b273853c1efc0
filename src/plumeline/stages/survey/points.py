"""Soundings ready for fitting, and what was said of the banks among them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, eq=False)
class Points:
    """Soundings ready for fitting.

    Attributes:
        xy: places, (n, 2).
        depth_m: depths, (n).
        count: of how many readings each is the mean, (n).
        line_index: the line of a track that each is of, (n); None for soundings taken one by one.
        own_error_m: of what was said and not sounded, its own standard error, (n), 0 for soundings; None: all sounded.
    """

    xy: np.ndarray
    depth_m: np.ndarray
    count: np.ndarray
    line_index: np.ndarray | None = None
    own_error_m: np.ndarray | None = None

    @property
    def sounded(self) -> np.ndarray:
        """True for soundings, False for what was said of the banks, (n)."""
        own_m = np.zeros(len(self.depth_m)) if self.own_error_m is None else self.own_error_m
        return np.asarray(own_m == 0.0)

    def variance_m2(self, error_m: float | np.ndarray) -> np.ndarray:
        """Return the variance of each reading [m²] for a reading error, or for each of several, (..., n)."""
        own_m = 0.0 if self.own_error_m is None else self.own_error_m
        return np.asarray(np.asarray(error_m)[..., None] ** 2 / self.count + np.square(own_m))

    def part(self, index: np.ndarray) -> Points:
        """Return the points at indices, or where a mask is true."""
        line = None if self.line_index is None else self.line_index[index]
        own = None if self.own_error_m is None else self.own_error_m[index]
        return Points(self.xy[index], self.depth_m[index], self.count[index], line, own)
