"""exp, log, powers and tanh without a call to the mathematics library, so that loops over members are vectors.

Each is arithmetic on one number and inlines into the loop that calls it. The argument is brought to a short
interval by the bits of its exponent, and a Taylor series does the rest; on all arguments that the water column
meets they agree with `math` to 1e-13 or better. The relations of science/ are compiled with them by
`plumeline.kernels.jit.in_lanes`, which puts these names where the relation's own module has those of `math`.
"""

from __future__ import annotations

from math import sqrt

import numpy as np

from plumeline.kernels.jit import lane_function

__all__ = ["cbrt", "exp", "log", "log10", "pow", "sqrt", "tanh"]

LOG2_E = 1.4426950408889634
# ln 2 in two parts: the first has so few digits that a whole number times it is exact
LN2_HIGH = 0.693147180369123816490
LN2_LOW = 1.90821492927058770002e-10
TO_BASE_TEN = 0.4342944819032518
# added to a number under 2⁵¹ it leaves its nearest whole number in the low bits of the sum
ROUNDER = 6755399441055744.0
ROUNDER_BITS = 4843621399236968448
EXPONENT_BIAS = 1023
MANTISSA_BITS = 52
ROOT_HALF_BITS = 4604544271217802189  # the bits of √½


@lane_function
def exp(x: float) -> float:
    """Return e^x; -708 to 709, and the value at those ends beyond them."""
    x = min(max(x, -708.0), 709.0)
    shifted = x * LOG2_E + ROUNDER
    n = shifted - ROUNDER
    r = (x - n * LN2_HIGH) - n * LN2_LOW
    p = 1.0 / 6227020800.0
    p = p * r + 1.0 / 479001600.0
    p = p * r + 1.0 / 39916800.0
    p = p * r + 1.0 / 3628800.0
    p = p * r + 1.0 / 362880.0
    p = p * r + 1.0 / 40320.0
    p = p * r + 1.0 / 5040.0
    p = p * r + 1.0 / 720.0
    p = p * r + 1.0 / 120.0
    p = p * r + 1.0 / 24.0
    p = p * r + 1.0 / 6.0
    p = p * r + 0.5
    p = p * r + 1.0
    p = p * r + 1.0
    bits = np.float64(shifted).view(np.int64)
    scale = np.int64((bits + EXPONENT_BIAS) << MANTISSA_BITS).view(np.float64)
    return float(p * scale)


@lane_function
def log(x: float) -> float:
    """Return the natural logarithm of a normal positive number; of others it is nonsense, without a warning."""
    bits = np.float64(x).view(np.int64)
    k = (bits - ROOT_HALF_BITS) >> MANTISSA_BITS
    m = np.int64(bits - (k << MANTISSA_BITS)).view(np.float64)  # from √½ to √2
    n = np.int64(k + ROUNDER_BITS).view(np.float64) - ROUNDER
    s = (m - 1.0) / (m + 1.0)
    z = s * s
    p = 1.0 / 21.0
    p = p * z + 1.0 / 19.0
    p = p * z + 1.0 / 17.0
    p = p * z + 1.0 / 15.0
    p = p * z + 1.0 / 13.0
    p = p * z + 1.0 / 11.0
    p = p * z + 1.0 / 9.0
    p = p * z + 1.0 / 7.0
    p = p * z + 1.0 / 5.0
    p = p * z + 1.0 / 3.0
    # m - 1 is exact, and so near 1 nothing is lost: ln m = (m - 1) - s ((m - 1) - 2 z p)
    f = m - 1.0
    return float(n * LN2_HIGH + (f - s * (f - 2.0 * z * p) + n * LN2_LOW))


@lane_function
def log10(x: float) -> float:
    """Return the logarithm to base ten of a positive number."""
    return TO_BASE_TEN * log(x)


@lane_function
def pow(x: float, power: float) -> float:
    """Return x^power for a positive x."""
    return exp(power * log(x))


@lane_function
def tanh(x: float) -> float:
    """Return the hyperbolic tangent, to 1e-15 of 1 (under 1e-3 the argument itself is better in digits)."""
    return 1.0 - 2.0 / (exp(2.0 * x) + 1.0)


@lane_function
def cbrt(x: float) -> float:
    """Return the cube root of a positive number."""
    return exp(log(x) / 3.0)
