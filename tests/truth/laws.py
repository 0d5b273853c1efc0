"""Laws of water, heat and gases of the foreign pond, each another than the one the planner's column uses.

Every source is given from memory unless marked: these are laws to be different with, not values to check by.
"""

from __future__ import annotations

import math

from tests.truth.jit import loop

GRAVITY = 9.80665
HEAT_CAPACITY = 4.18e6  # J/m³/K
STEFAN = 5.670374e-8


@loop
def density(t):
    """Density of fresh water [kg/m³] at t [°C]: the rational form of hydrology handbooks (McCutcheon 1993)."""
    return 1000.0 * (1.0 - (t + 288.9414) * (t - 3.9863) ** 2 / (508929.2 * (t + 68.12963)))


@loop
def saturation(t, pressure_ratio):
    """Oxygen at saturation [mg/L]: Elmore & Hayes 1960, in proportion to pressure."""
    return (14.652 - 0.41022 * t + 0.007991 * t * t - 7.7774e-5 * t**3) * pressure_ratio


@loop
def schmidt(t):
    """Schmidt number of oxygen in fresh water: Raymond et al. 2012."""
    return 1568.0 - 86.04 * t + 2.142 * t * t - 0.0216 * t**3


@loop
def viscosity(t):
    """Kinematic viscosity [m²/s]: Poiseuille's formula."""
    return 1.79e-6 / (1.0 + 0.03368 * t + 2.21e-4 * t * t)


@loop
def vapour(t):
    """Saturation vapour pressure [hPa]: Tetens 1930."""
    return 6.1078 * math.exp(17.27 * t / (t + 237.3))


@loop
def sky(t_air, e_hpa, cloud):
    """Longwave from the sky [W/m²]: Prata 1996 when clear, Unsworth & Monteith 1975 for cloud."""
    kelvin = t_air + 273.15
    water = 46.5 * e_hpa / kelvin
    clear = 1.0 - (1.0 + water) * math.exp(-math.sqrt(1.2 + 3.0 * water))
    return ((1.0 - 0.84 * cloud) * clear + 0.84 * cloud) * STEFAN * kelvin**4


@loop
def evaporation(t_water, t_air, e_hpa, wind):
    """Latent and sensible loss [W/m²]: Ryan, Harleman & Stolzenbach 1974, free convection in the same formula.

    The Bowen ratio is 0.61 hPa/K; dew is not formed.
    """
    e_water = vapour(t_water)
    virtual = (t_water + 273.15) / (1.0 - 0.378 * e_water / 1013.0) - (t_air + 273.15) / (
        1.0 - 0.378 * e_hpa / 1013.0
    )
    speed = 2.7 * max(virtual, 0.0) ** (1.0 / 3.0) + 3.2 * wind
    return speed * max(e_water - e_hpa, 0.0), speed * 0.61 * (t_water - t_air)


@loop
def renewal(t, friction, loss):
    """Transfer velocity of oxygen [m/s] by surface renewal.

    k = 0.42 (ε ν)^(1/4) Sc^(-1/2) (Lamont & Scott 1970; the 0.42 of Zappa et al. 2007), with the dissipation of
    wind shear at 0.15 m and of cooling, ε = 0.6 u*³/(κ z) + 0.77 B (Tedford et al. 2014).

    t: surface [°C]; friction: u* in the water [m/s]; loss: heat lost at the surface [W/m²], counted when positive.
    """
    expansion = max(1.6e-5 * (t - 4.0), 0.0)
    buoyancy = GRAVITY * expansion * max(loss, 0.0) / HEAT_CAPACITY
    dissipation = 0.6 * friction**3 / (0.41 * 0.15) + 0.77 * buoyancy
    return max(0.42 * (dissipation * viscosity(t)) ** 0.25 / math.sqrt(max(schmidt(t), 80.0)), 4e-7)


@loop
def renewal_in_boil(t, air, depth, area):
    """Transfer velocity of oxygen over a boil [m/s]: the same law, the bubbles' power for the wind's.

    A third of the power g·air·depth is taken to be lost in the water under the boil (judgement).

    air: free gas [m³/s]; depth of its release [m]; area of the boil [m²].
    """
    dissipation = 0.33 * GRAVITY * air * depth / (area * depth)
    return 0.42 * (dissipation * viscosity(t)) ** 0.25 / math.sqrt(max(schmidt(t), 80.0))


@loop
def acidity(t, alkalinity, carbon):
    """Return pH of carbonate water from alkalinity and inorganic carbon [mol/m³], hydroxide neglected.

    r h² + (r − 1) K₁ h + (r − 2) K₁K₂ = 0 with r = alkalinity/carbon; K₁, K₂ of Plummer & Busenberg 1982 as
    straight lines over 0-35 °C. Held to 5.5-10.2, outside which this form is no use.
    """
    k1 = 10.0 ** -(6.38 - 0.0048 * (t - 20.0))
    k2 = 10.0 ** -(10.38 - 0.0085 * (t - 20.0))
    r = alkalinity / max(carbon, 1e-6)
    if r >= 1.98:
        return 10.2
    b = (r - 1.0) * k1
    h = (-b + math.sqrt(b * b + 4.0 * r * (2.0 - r) * k1 * k2)) / (2.0 * max(r, 1e-6))
    return min(max(-math.log10(max(h, 1e-14)), 5.5), 10.2)


@loop
def toxic_sulphide(t, ph):
    """Part of dissolved sulphide that is H₂S: pK 6.98 at 25 °C, 0.0118 a degree (line through Millero 1988)."""
    return 1.0 / (1.0 + 10.0 ** (ph - (6.98 - 0.0118 * (t - 25.0))))


@loop
def toxic_ammonia(t, ph):
    """Part of ammonia that is NH₃: pK 9.25 at 25 °C, 0.031 a degree (line through Emerson et al. 1975)."""
    return 1.0 / (1.0 + 10.0 ** (9.25 - 0.031 * (t - 25.0) - ph))
