"""Heat and wind at the surface, and mixing in the water: one scalar relation each."""

from math import acos, cos, exp, log, pi, pow, sqrt, tan

STEFAN_BOLTZMANN_W_M2_K4 = 5.670374e-8

RANGE: dict[str, dict[str, tuple[float, float]]] = {
    "clear_sky_emissivity_brutsaert_1975": {
        "vapour_pressure_pa": (100.0, 6000.0),
        "air_temperature_degc": (-20.0, 50.0),
    },
    "sky_emissivity_crawford_1999": {
        "clear_sky_emissivity_fraction": (0.4, 1.0),
        "cloud_fraction": (0.0, 1.0),
    },
    "longwave_emitted_stefan_1879": {"temperature_degc": (-1.0, 45.0)},
    "latent_heat_bulk_hipsey_2019": {
        "wind_m_s": (0.0, 30.0),
        "surface_temperature_degc": (0.0, 45.0),
        "humidity_difference_fraction": (-0.05, 0.05),
        "air_density_kg_m3": (0.8, 1.5),
        "exchange_number": (5e-4, 3e-3),
    },
    "sensible_heat_bulk_hipsey_2019": {
        "wind_m_s": (0.0, 30.0),
        "surface_temperature_degc": (0.0, 45.0),
        "air_temperature_degc": (-30.0, 50.0),
        "air_density_kg_m3": (0.8, 1.5),
        "exchange_number": (5e-4, 3e-3),
    },
    "free_convection_tva_1972": {
        "air_temperature_degc": (-30.0, 50.0),
        "air_density_kg_m3": (0.8, 1.5),
        "surface_air_density_kg_m3": (0.8, 1.5),
    },
    "moist_air_density_bulk_hipsey_2019": {
        "temperature_degc": (-30.0, 50.0),
        "vapour_pressure_pa": (0.0, 9000.0),
        "pressure_pa": (50000.0, 110000.0),
    },
    "specific_humidity_bulk_hipsey_2019": {
        "vapour_pressure_pa": (0.0, 9000.0),
        "pressure_pa": (50000.0, 110000.0),
    },
    "diffusivity_hondzo_1993": {"area_m2": (100.0, 5e6), "buoyancy_frequency_squared_s2": (0.0, 0.1)},
    "open_wind_fraction_markfort_2010": {"area_m2": (50.0, 1e8), "obstacle_height_m": (0.0, 40.0)},
    "sunlit_fraction_circle": {
        "area_m2": (50.0, 1e8),
        "obstacle_height_m": (0.0, 40.0),
        "sun_elevation_deg": (0.0, 90.0),
    },
    "open_sky_fraction_howell_1982": {"area_m2": (50.0, 1e8), "obstacle_height_m": (0.0, 40.0)},
    "yearly_wave_carslaw_1959": {
        "mean_degc": (0.0, 35.0),
        "swing_k": (0.0, 20.0),
        "phase_rad": (-7.0, 7.0),
        "depth_m": (0.0, 10.0),
        "diffusivity_m2_s": (1e-7, 1e-6),
    },
    "coldest_water_by_latitude": {"latitude_deg": (-65.0, 65.0), "elevation_m": (-400.0, 3000.0)},
    "light_extinction_poole_1929": {"secchi_depth_m": (0.1, 20.0), "light_number": (1.0, 2.5)},
}


def clear_sky_emissivity_brutsaert_1975(vapour_pressure_pa: float, air_temperature_degc: float) -> float:
    """Return the emissivity of a clear sky.

    Equation:
        ε_c = 1.24 (e_a / T_a)^(1/7), e_a in hPa, T_a in K

    Args:
        vapour_pressure_pa: vapour pressure of the air [Pa], scalar.
        air_temperature_degc: air temperature [°C], scalar.

    Returns:
        Emissivity, a fraction.

    Valid range:
        -20 to 50 °C, 100 to 6000 Pa.

    Source:
        Brutsaert 1975, Water Resour. Res. 11:742.

    >>> round(clear_sky_emissivity_brutsaert_1975(2547.4, 30.0), 4)
    0.8705
    """
    return 1.24 * pow(vapour_pressure_pa / 100.0 / (air_temperature_degc + 273.15), 1.0 / 7.0)


def sky_emissivity_crawford_1999(clear_sky_emissivity_fraction: float, cloud_fraction: float) -> float:
    """Return the emissivity of a sky that is partly covered by cloud.

    Equation:
        ε = c + (1 - c) ε_c

    Args:
        clear_sky_emissivity_fraction: emissivity of the clear sky, scalar.
        cloud_fraction: cloud cover, 0 to 1, scalar.

    Returns:
        Emissivity, a fraction.

    Valid range:
        Cloud 0 to 1.

    Source:
        Crawford & Duchon 1999, J. Appl. Meteorol. 38:474.

    >>> sky_emissivity_crawford_1999(0.8, 0.5)
    0.9
    """
    return cloud_fraction + (1.0 - cloud_fraction) * clear_sky_emissivity_fraction


def longwave_emitted_stefan_1879(temperature_degc: float) -> float:
    """Return the radiation that water of this temperature emits, or takes from a black sky of it.

    Equation:
        L = 0.97 σ T⁴, T in K

    Args:
        temperature_degc: temperature [°C], scalar.

    Returns:
        Radiation [W/m²].

    Valid range:
        -1 to 45 °C.

    Source:
        Stefan-Boltzmann law; the emissivity 0.97 of water is used both ways (Kirchhoff), as in
        LakeMetabolizer's 0.972.

    >>> round(longwave_emitted_stefan_1879(25.0), 2)
    434.63
    """
    kelvin = temperature_degc + 273.15
    return 0.97 * STEFAN_BOLTZMANN_W_M2_K4 * kelvin * kelvin * kelvin * kelvin


def specific_humidity_bulk_hipsey_2019(vapour_pressure_pa: float, pressure_pa: float) -> float:
    """Return the specific humidity of air.

    Equation:
        q = 0.622 e / (p - 0.378 e)

    Args:
        vapour_pressure_pa: vapour pressure [Pa], scalar.
        pressure_pa: air pressure [Pa], scalar.

    Returns:
        Specific humidity [kg/kg], a fraction.

    Valid range:
        0 to 9000 Pa of vapour.

    Source:
        As in Hipsey et al. 2019 (General Lake Model), Geosci. Model Dev. 12:473.

    >>> round(specific_humidity_bulk_hipsey_2019(2337.0, 101325.0), 5)
    0.01447
    """
    return 0.622 * vapour_pressure_pa / (pressure_pa - 0.378 * vapour_pressure_pa)


def moist_air_density_bulk_hipsey_2019(
    temperature_degc: float, vapour_pressure_pa: float, pressure_pa: float
) -> float:
    """Return the density of moist air.

    Equation:
        ρ = (p - 0.378 e) / (287.05 T), T in K

    Args:
        temperature_degc: air temperature [°C], scalar.
        vapour_pressure_pa: vapour pressure [Pa], scalar.
        pressure_pa: air pressure [Pa], scalar.

    Returns:
        Density [kg/m³].

    Valid range:
        -30 to 50 °C.

    Source:
        Ideal gas law with the vapour's lower molar mass, as in Hipsey et al. 2019.

    >>> round(moist_air_density_bulk_hipsey_2019(20.0, 0.0, 101325.0), 4)
    1.2041
    """
    return (pressure_pa - 0.378 * vapour_pressure_pa) / (287.05 * (temperature_degc + 273.15))


def latent_heat_bulk_hipsey_2019(
    wind_m_s: float,
    surface_temperature_degc: float,
    humidity_difference_fraction: float,
    air_density_kg_m3: float,
    exchange_number: float,
) -> float:
    """Return the heat that evaporation takes from the water under wind.

    Equation:
        Q_E = ρ_a L_v C_E U (q_s - q_a), L_v = 2.501e6 - 2370 T_s

    Args:
        wind_m_s: wind at 10 m [m/s], scalar.
        surface_temperature_degc: water surface temperature [°C], scalar.
        humidity_difference_fraction: q_s - q_a [kg/kg], scalar.
        air_density_kg_m3: air density [kg/m³], scalar.
        exchange_number: bulk coefficient C_E, 1.3e-3 at 10 m, scalar.

    Returns:
        Heat lost by the water [W/m²], positive upward.

    Valid range:
        0 to 30 m/s, 0 to 45 °C.

    Source:
        Hipsey et al. 2019 (General Lake Model), Geosci. Model Dev. 12:473.

    >>> round(latent_heat_bulk_hipsey_2019(2.0, 28.0, 0.0075, 1.16, 1.3e-3), 1)
    55.1
    """
    vaporisation_j_kg = 2.501e6 - 2370.0 * surface_temperature_degc
    return air_density_kg_m3 * vaporisation_j_kg * exchange_number * wind_m_s * humidity_difference_fraction


def sensible_heat_bulk_hipsey_2019(
    wind_m_s: float,
    surface_temperature_degc: float,
    air_temperature_degc: float,
    air_density_kg_m3: float,
    exchange_number: float,
) -> float:
    """Return the heat that the water gives to the air under wind.

    Equation:
        Q_H = ρ_a 1005 C_H U (T_s - T_a)

    Args:
        wind_m_s: wind at 10 m [m/s], scalar.
        surface_temperature_degc: water surface temperature [°C], scalar.
        air_temperature_degc: air temperature [°C], scalar.
        air_density_kg_m3: air density [kg/m³], scalar.
        exchange_number: bulk coefficient C_H, 1.3e-3 at 10 m, scalar.

    Returns:
        Heat lost by the water [W/m²], positive upward.

    Valid range:
        0 to 30 m/s, 0 to 45 °C.

    Source:
        Hipsey et al. 2019 (General Lake Model), Geosci. Model Dev. 12:473.

    >>> round(sensible_heat_bulk_hipsey_2019(2.0, 28.0, 20.0, 1.196, 1.3e-3), 2)
    25.0
    """
    return (
        air_density_kg_m3
        * 1005.0
        * exchange_number
        * wind_m_s
        * (surface_temperature_degc - air_temperature_degc)
    )


def free_convection_tva_1972(
    air_temperature_degc: float,
    air_density_kg_m3: float,
    surface_air_density_kg_m3: float,
) -> float:
    """Return the heat transfer coefficient of still air over warmer water.

    Equation:
        a_h = 0.137 · 0.5 · K (g Δρ / (ρ_a ν D))^(1/3), K = 0.028, D = 2.14e-5,
        ν = (4.94e-8 T_a + 1.7184e-5) / ρ_a; zero where the air at the surface is the heavier

    Args:
        air_temperature_degc: air temperature [°C], scalar.
        air_density_kg_m3: density of the air above [kg/m³], scalar.
        surface_air_density_kg_m3: density of air saturated at the water's temperature [kg/m³], scalar.

    Returns:
        Coefficient [W/m²/K]; Q_H = a_h ΔT, Q_E = a_h L_v Δq / 1005.

    Valid range:
        0 to 45 °C.

    Source:
        Tennessee Valley Authority 1972, Heat and mass transfer between a water surface and the atmosphere,
        as in Hipsey et al. 2019.

    >>> round(free_convection_tva_1972(20.0, 1.196, 1.156), 2)
    1.92
    """
    difference_kg_m3 = air_density_kg_m3 - surface_air_density_kg_m3
    if difference_kg_m3 <= 0.0:
        return 0.0
    viscosity_m2_s = (4.94e-8 * air_temperature_degc + 1.7184e-5) / air_density_kg_m3
    number = 9.81 * difference_kg_m3 / (air_density_kg_m3 * viscosity_m2_s * 2.14e-5)
    return 0.137 * 0.5 * 0.028 * exp(log(number) / 3.0)


def diffusivity_hondzo_1993(area_m2: float, buoyancy_frequency_squared_s2: float) -> float:
    """Return the background vertical diffusivity of a stratified lake.

    Equation:
        K_z [cm²/s] = 8.17e-4 A[km²]^0.56 N²^-0.43, with N² at least 7e-5 s⁻²

    Args:
        area_m2: surface area of the lake [m²], scalar.
        buoyancy_frequency_squared_s2: N² [s⁻²], scalar.

    Returns:
        Diffusivity [m²/s], the molecular part not included.

    Valid range:
        0.01 to 500 ha; below some 2 ha the molecular value is the larger.

    Source:
        Hondzo & Stefan 1993, J. Hydraul. Eng. 119:1251.

    >>> round(diffusivity_hondzo_1993(4046.86, 1e-3) * 1e8, 2)
    7.28
    """
    n2 = max(buoyancy_frequency_squared_s2, 7e-5)
    return 8.17e-8 * pow(area_m2 * 1e-6, 0.56) * pow(n2, -0.43)


def open_wind_fraction_markfort_2010(area_m2: float, obstacle_height_m: float) -> float:
    """Return the part of a round pond that the wind reaches past its banks and trees.

    Equation:
        W = (2/π) acos(x/D) - (2x/(π D²)) √(D² - x²), x = 50 h; 0 where x ≥ D

    Args:
        area_m2: surface area [m²], scalar.
        obstacle_height_m: height of banks and trees [m], scalar.

    Returns:
        Area fraction.

    Valid range:
        50 m² to 100 km², obstacles to 40 m.

    Source:
        Markfort et al. 2010, Water Resour. Res. 46:W03530 (50 obstacle heights; geometry from memory).

    >>> round(open_wind_fraction_markfort_2010(2 * 4046.86, 1.0), 2)
    0.4
    """
    diameter_m = sqrt(4.0 * area_m2 / pi)
    x_m = 50.0 * obstacle_height_m
    if x_m >= diameter_m:
        return 0.0
    return 2.0 / pi * acos(x_m / diameter_m) - 2.0 * x_m / (pi * diameter_m * diameter_m) * sqrt(
        diameter_m * diameter_m - x_m * x_m
    )


def sunlit_fraction_circle(area_m2: float, obstacle_height_m: float, sun_elevation_deg: float) -> float:
    """Return the part of a round pond on which the sun shines past banks and trees all round it.

    Equation:
        f = (2/π) (acos x - x √(1 - x²)), x = h / (D tan β); 0 where x ≥ 1: the overlap of the circle with
        itself moved by the length of the shadow

    Args:
        area_m2: surface area [m²], scalar.
        obstacle_height_m: height of banks and trees [m], scalar.
        sun_elevation_deg: height of the sun above the horizon [°], scalar.

    Returns:
        Area fraction; 0 with the sun at or under the horizon.

    Valid range:
        50 m² to 100 km², obstacles to 40 m.

    Source:
        Geometry: area common to two equal circles.

    >>> round(sunlit_fraction_circle(4046.86, 3.0, 45.0), 3)
    0.947
    """
    if sun_elevation_deg <= 0.0:
        return 0.0
    diameter_m = sqrt(4.0 * area_m2 / pi)
    x = obstacle_height_m / (diameter_m * tan(sun_elevation_deg * pi / 180.0))
    if x >= 1.0:
        return 0.0
    return 2.0 / pi * (acos(x) - x * sqrt(1.0 - x * x))


def open_sky_fraction_howell_1982(area_m2: float, obstacle_height_m: float) -> float:
    """Return the part of what a round pond sees that is sky, over banks and trees all round it.

    Equation:
        F = ½ (X - √(X² - 4)), X = 2 + (h/R)²: view factor between two equal coaxial discs, h apart

    Args:
        area_m2: surface area [m²], scalar.
        obstacle_height_m: height of banks and trees [m], scalar.

    Returns:
        Fraction, weighted by the cosine and averaged over the pond.

    Valid range:
        50 m² to 100 km², obstacles to 40 m.

    Source:
        Howell 1982, A Catalog of Radiation Configuration Factors, C-41 (from memory).

    >>> round(open_sky_fraction_howell_1982(4046.86, 3.0), 3)
    0.92
    """
    square = obstacle_height_m * obstacle_height_m * pi / area_m2
    x = 2.0 + square
    return 0.5 * (x - sqrt(x * x - 4.0))


def yearly_wave_carslaw_1959(
    mean_degc: float, swing_k: float, phase_rad: float, depth_m: float, diffusivity_m2_s: float
) -> float:
    """Return the temperature in the ground under a surface that goes through the year as a cosine.

    Equation:
        T = T_m + A e^(-z/d) cos(φ - z/d), d = √(2 κ / ω), ω = 2π / 365.25 d

    Args:
        mean_degc: mean of the surface over the year [°C], scalar.
        swing_k: half the range of the surface [K], scalar.
        phase_rad: time since the surface was warmest, as an angle of the year [rad], scalar.
        depth_m: depth under the surface [m], scalar.
        diffusivity_m2_s: of heat in the ground [m²/s], scalar.

    Returns:
        Temperature [°C].

    Valid range:
        0 to 10 m; wet mud some 4e-7 m²/s.

    Source:
        Carslaw & Jaeger 1959, Conduction of Heat in Solids, §2.6 (from memory).

    >>> round(yearly_wave_carslaw_1959(12.0, 8.0, 0.0, 1.45, 4e-7), 2)
    14.91
    """
    angular_frequency_s = 2.0 * pi / (365.25 * 86400.0)
    depths = depth_m / sqrt(2.0 * diffusivity_m2_s / angular_frequency_s)
    return mean_degc + swing_k * exp(-depths) * cos(phase_rad - depths)


def coldest_water_by_latitude(latitude_deg: float, elevation_m: float) -> float:
    """Return about how cold the whole water of a pond is when it last lay mixed, at winter's end.

    Equation:
        T = max(4, T_a - 9), T_a = 24.5 - 0.88 (|φ| - 26) - 0.0065 z, the year's mean of the air

    Args:
        latitude_deg: latitude [°], scalar.
        elevation_m: elevation above the sea [m], scalar.

    Returns:
        Temperature [°C], to some 3 K.

    Valid range:
        Inland, 26 to 50° of latitude; nearer the sea colder lands are milder.

    Source:
        Judgement: a line through annual means of stations in the eastern United States (24.5 °C at 26°, 12 °C at
        40°, from memory), and 6.5 K/km of the standard atmosphere.

    >>> round(coldest_water_by_latitude(35.9, 200.0), 1)
    5.5
    """
    air_degc = 24.5 - 0.88 * (abs(latitude_deg) - 26.0) - 0.0065 * elevation_m
    return max(4.0, air_degc - 9.0)


def light_extinction_poole_1929(secchi_depth_m: float, light_number: float) -> float:
    """Return the extinction of visible light from the depth at which the Secchi disc vanishes.

    Equation:
        K = c / Z_s, c = 1.7

    Args:
        secchi_depth_m: Secchi depth [m], scalar.
        light_number: the constant c, 1.7 in the source, 1.2 to 2.3 in ponds, scalar.

    Returns:
        Extinction coefficient [1/m].

    Valid range:
        0.1 to 20 m.

    Source:
        Poole & Atkins 1929, J. Mar. Biol. Assoc. UK 16:297 (from memory).

    >>> light_extinction_poole_1929(1.0, 1.7)
    1.7
    """
    return light_number / secchi_depth_m
