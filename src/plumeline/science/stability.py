"""How firmly a column is layered, and how hard the wind pulls at it."""

import math

from plumeline.science.water import GRAVITY_M_S2

RANGE: dict[str, dict[str, tuple[float, float]]] = {
    "buoyancy_frequency_squared_read_2011": {
        "density_kg_m3": (980.0, 1010.0),
        "density_gradient_kg_m4": (-10.0, 100.0),
    },
    "drag_hicks_1972": {"wind_speed_m_s": (0.0, 30.0)},
    "friction_velocity_read_2011": {"wind_speed_m_s": (0.0, 30.0), "density_kg_m3": (980.0, 1010.0)},
    "wedderburn_number_imberger_patterson_1990": {
        "density_difference_kg_m3": (0.0, 15.0),
        "lower_density_kg_m3": (980.0, 1010.0),
        "mixed_depth_m": (0.0, 60.0),
        "friction_velocity_m_s": (1e-5, 0.1),
        "length_m": (1.0, 100000.0),
    },
    "lake_number_imberger_patterson_1990": {
        "stability_j_m2": (0.0, 10000.0),
        "metalimnion_top_m": (0.0, 60.0),
        "metalimnion_bottom_m": (0.0, 60.0),
        "lower_density_kg_m3": (980.0, 1010.0),
        "friction_velocity_m_s": (1e-5, 0.1),
        "area_m2": (10.0, 1e9),
        "volume_centre_depth_m": (0.01, 60.0),
    },
    "schmidt_stability_two_layer_idso_1973": {
        "density_difference_kg_m3": (0.0, 15.0),
        "interface_depth_m": (0.0, 60.0),
        "depth_m": (0.0, 60.0),
    },
}


def buoyancy_frequency_squared_read_2011(density_kg_m3: float, density_gradient_kg_m4: float) -> float:
    """Return the square of the buoyancy frequency; below zero where heavy water lies on light.

    Equation:
        N² = (g/ρ) dρ/dz; g = 9.80665 m/s²; z downward

    Args:
        density_kg_m3: density of the water [kg/m³]
        density_gradient_kg_m4: growth of density with depth [kg/m⁴]

    Returns:
        squared buoyancy frequency [1/s²]

    Valid range:
        Any column of fresh water.

    Source:
        Read, J. S., and others. 2011. Derivation of lake mixing and stratification indices from
        high-resolution lake buoy data. Environ. Model. Softw. 26: 1325–1336.

    >>> round(buoyancy_frequency_squared_read_2011(997.05, 0.257), 5)
    0.00253
    """
    return GRAVITY_M_S2 / density_kg_m3 * density_gradient_kg_m4


def drag_hicks_1972(wind_speed_m_s: float) -> float:
    """Return the drag coefficient of wind over a lake.

    Equation:
        C_D = 0.001 for U < 5 m/s, else 0.0015

    Args:
        wind_speed_m_s: wind speed at 10 m over the water [m/s]

    Returns:
        drag coefficient [–]

    Valid range:
        0 to 30 m/s.

    Source:
        Hicks, B. B. 1972. Some evaluations of drag and bulk transfer coefficients over water bodies of
        different sizes. Boundary-Layer Meteorol. 3: 201–213; as used by Read and others 2011.

    >>> drag_hicks_1972(3.0)
    0.001
    """
    if wind_speed_m_s < 5.0:
        return 0.001
    return 0.0015


def friction_velocity_read_2011(wind_speed_m_s: float, density_kg_m3: float) -> float:
    """Return the friction velocity in the water under a wind.

    Equation:
        u* = √(C_D ρ_air U²/ρ); ρ_air = 1.2 kg/m³; C_D = 0.001 for U under 5 m/s, 0.0015 from 5 m/s on
        (Hicks 1972); U in m/s

    Args:
        wind_speed_m_s: wind speed at 10 m over the water [m/s]
        density_kg_m3: density of the surface water [kg/m³]

    Returns:
        friction velocity in the water [m/s]

    Valid range:
        0 to 30 m/s.

    Source:
        Read, J. S., and others. 2011. Environ. Model. Softw. 26: 1325–1336.

    >>> round(friction_velocity_read_2011(3.0, 996.23), 6)
    0.003293
    """
    return math.sqrt(drag_hicks_1972(wind_speed_m_s) * 1.2 * wind_speed_m_s**2 / density_kg_m3)


def wedderburn_number_imberger_patterson_1990(
    density_difference_kg_m3: float,
    lower_density_kg_m3: float,
    mixed_depth_m: float,
    friction_velocity_m_s: float,
    length_m: float,
) -> float:
    """Return the Wedderburn number: under 1 the wind brings deep water up at the windward end.

    Equation:
        W = g′ z_e²/(u*² L); g′ = g Δρ/ρ_h; g = 9.80665 m/s²

    Args:
        density_difference_kg_m3: density below less density above [kg/m³]
        lower_density_kg_m3: mean density of the hypolimnion [kg/m³]
        mixed_depth_m: depth of the base of the mixed layer [m]
        friction_velocity_m_s: friction velocity in the water [m/s]
        length_m: length of the lake along the wind [m]

    Returns:
        Wedderburn number [–]

    Valid range:
        A two-layer column.

    Source:
        Imberger, J., and J. C. Patterson. 1990. Physical limnology. Adv. Appl. Mech. 27: 303–475; as in
        Read and others 2011.

    >>> round(wedderburn_number_imberger_patterson_1990(2.363, 998.59, 2.0, 0.0032925, 71.78))
    119
    """
    g_reduced = GRAVITY_M_S2 * density_difference_kg_m3 / lower_density_kg_m3
    return g_reduced * mixed_depth_m**2 / (friction_velocity_m_s**2 * length_m)


def lake_number_imberger_patterson_1990(
    stability_j_m2: float,
    metalimnion_top_m: float,
    metalimnion_bottom_m: float,
    lower_density_kg_m3: float,
    friction_velocity_m_s: float,
    area_m2: float,
    volume_centre_depth_m: float,
) -> float:
    """Return the Lake Number: large means that the wind can't tilt the layers to the surface.

    Equation:
        L_N = S_T (z_e + z_h)/(2 ρ_h u*² A₀^½ z_v)

    Args:
        stability_j_m2: Schmidt stability by surface area [J/m²]
        metalimnion_top_m: depth of the top of the metalimnion [m]
        metalimnion_bottom_m: depth of the bottom of the metalimnion [m]
        lower_density_kg_m3: mean density of the hypolimnion [kg/m³]
        friction_velocity_m_s: friction velocity in the water [m/s]
        area_m2: surface area [m²]
        volume_centre_depth_m: depth of the centre of volume [m]

    Returns:
        Lake Number [–]

    Valid range:
        A layered column under a wind above zero.

    Source:
        Imberger, J., and J. C. Patterson. 1990. Physical limnology. Adv. Appl. Mech. 27: 303–475; as in
        Read and others 2011.

    >>> round(lake_number_imberger_patterson_1990(46.344, 1.8, 2.2, 998.59, 0.0032925, 4046.856, 2.0), 1)
    67.3
    """
    pull = 2.0 * lower_density_kg_m3 * friction_velocity_m_s**2 * math.sqrt(area_m2) * volume_centre_depth_m
    return stability_j_m2 * (metalimnion_top_m + metalimnion_bottom_m) / pull


def schmidt_stability_two_layer_idso_1973(
    density_difference_kg_m3: float, interface_depth_m: float, depth_m: float
) -> float:
    """Return the Schmidt stability of two even layers in a basin with upright walls.

    Equation:
        S = g Δρ h (H − h)/2

    Args:
        density_difference_kg_m3: density below less density above [kg/m³]
        interface_depth_m: depth h of the interface [m]
        depth_m: depth H of the basin [m]

    Returns:
        Schmidt stability [J/m²]

    Valid range:
        0 ≤ h ≤ H.

    Source:
        Idso, S. B. 1973. On the concept of lake stability. Limnol. Oceanogr. 18: 681–683, integrated for
        two layers.

    >>> round(schmidt_stability_two_layer_idso_1973(2.362, 2.0, 4.0), 2)
    46.33
    """
    h = interface_depth_m
    return GRAVITY_M_S2 * density_difference_kg_m3 * h * (depth_m - h) / 2.0
