"""Even places along lines that are many and of different lengths."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry


def even_places(lines: Sequence[BaseGeometry], count: int) -> np.ndarray:
    """Return points (count) along the lines, as far from each other as if they were one.

    Args:
        lines: LineStrings; one or more.
        count: how many points.
    """
    ends_m = np.append(0.0, np.cumsum(shapely.length(lines)))
    at_m = (np.arange(count) + 0.5) / count * ends_m[-1]
    which = np.searchsorted(ends_m, at_m, side="right") - 1
    return np.asarray(shapely.line_interpolate_point(np.asarray(lines)[which], at_m - ends_m[which]))
