"""Costs of other years in the money of today."""

from __future__ import annotations

import math


def single_present_value_fuller_1996(discount_rate_fraction: float, years: float) -> float:
    """Present value of one unit of money spent some years from now.

    Equation: SPV = 1/(1 + d)ⁿ

    Args:
        discount_rate_fraction: real discount rate a year [-].
        years: years from now, need not be whole [y].

    Returns:
        Factor [-].

    Valid range: rates of 0 to 0.5, 0 to 50 years.

    Source: Fuller & Petersen 1996, Life-Cycle Costing Manual, NIST Handbook 135 (equation from memory).

    >>> round(single_present_value_fuller_1996(0.03, 20.0), 3)
    0.554
    """
    return float((1.0 + discount_rate_fraction) ** -years)


def uniform_present_value_fuller_1996(discount_rate_fraction: float, years: float) -> float:
    """Present value of one unit of money spent at the end of each of some years.

    Equation: UPV = ((1 + d)ⁿ − 1)/(d (1 + d)ⁿ); n where d is 0

    Args:
        discount_rate_fraction: real discount rate a year [-].
        years: number of years [y].

    Returns:
        Factor [-].

    Valid range: rates of 0 to 0.5, 0 to 50 years.

    Source: Fuller & Petersen 1996, Life-Cycle Costing Manual, NIST Handbook 135 (equation from memory).

    >>> round(uniform_present_value_fuller_1996(0.03, 20.0), 2)
    14.88
    """
    if discount_rate_fraction == 0.0:
        return years
    # 1 − (1 + d)⁻ⁿ, whose figures a small rate would lose
    return -math.expm1(-years * math.log1p(discount_rate_fraction)) / discount_rate_fraction


RANGE: dict[str, dict[str, tuple[float, float]]] = {
    "single_present_value_fuller_1996": {"discount_rate_fraction": (0.0, 0.5), "years": (0.0, 50.0)},
    "uniform_present_value_fuller_1996": {"discount_rate_fraction": (0.0, 0.5), "years": (0.0, 50.0)},
}
