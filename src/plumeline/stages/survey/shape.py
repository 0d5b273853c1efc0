"""The basin from its area, greatest depth and a class of shape, where nobody took soundings."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

from plumeline.errors import RangeError
from plumeline.job.document import Shape
from plumeline.sources import read_table

AREA_SE_FRACTION = 0.05
DEPTH_SE_FRACTION = 0.05


@dataclass(frozen=True)
class ShapeVolume:
    """A volume without soundings, and its standard error."""

    volume_m3: float
    volume_se_m3: float


def shape_ratio(shape: Shape) -> tuple[float, float]:
    """Return V/(A z_max) of a class of shape and its standard error, from sources/shapes.csv."""
    found = next(row for row in read_table("shapes") if row["shape"] == shape.value)
    return float(found["ratio_fraction"]), float(found["ratio_se_fraction"])


def volume_from_shape(area_m2: float, max_depth_m: float, shape: Shape | str = Shape.UNKNOWN) -> ShapeVolume:
    """Return the volume of a pond from its area, greatest depth and class of shape.

    Equation: V = k A z; se²/V² = (se_k/k)² + 0.05² + 0.05², the last two for area and depth as people know
    them.

    Args:
        area_m2: area of the water surface [m²].
        max_depth_m: greatest depth [m].
        shape: class of shape; see sources/shapes.csv.

    Returns:
        Volume and standard error [m³].

    Raises:
        RangeError: area or depth is not above zero, or the shape is none of the classes.

    Source: sources/shapes.csv, which cites each ratio.

    >>> round(volume_from_shape(6475.0, 4.267, "bowl").volume_m3)
    11052
    """
    if not area_m2 > 0 or not max_depth_m > 0:
        raise RangeError(
            f"area {area_m2:g} m² and greatest depth {max_depth_m:g} m must both be above zero.",
            remedy="Give the area of the water and the depth at the deepest place.",
        )
    try:
        shape = Shape(shape)
    except ValueError:
        names = ", ".join(item.value for item in Shape)
        raise RangeError(f"'{shape}' is no class of shape.", remedy=f"Use one of {names}.") from None
    ratio, ratio_se = shape_ratio(shape)
    volume_m3 = ratio * area_m2 * max_depth_m
    relative = sqrt((ratio_se / ratio) ** 2 + AREA_SE_FRACTION**2 + DEPTH_SE_FRACTION**2)
    return ShapeVolume(volume_m3, volume_m3 * relative)


def shape_exponent(ratio_fraction: float) -> float:
    """Return q of A(z) = A₀ (1 − z/z_max)^q, the hypsograph of a volume k A₀ z_max."""
    return 1.0 / ratio_fraction - 1.0
