"""Where each quantity of the foreign pond stands in its arrays.

State (boxes, layers, states): °C; mg/L; iron as Fe, sulphide as S, methane, labile carbon as oxygen, ammonia as
N; alkalinity and carbon in mol/m³; chlorophyll in µg/L.
"""

T, O2, FE, HS, CH4, LABILE, NH4, ALK, DIC, CHL = range(10)
STATES = 10

# the pond's own numbers, one vector
(
    P_SHELTER,  # part of the station's wind that is felt on the water
    P_OPEN,  # part of the surface it reaches
    P_WATER_LIGHT,  # extinction without algae, 1/m
    P_CHL_LIGHT,  # by chlorophyll, m²/mg
    P_INTERIOR,  # part of the wind's power that mixes the interior
    P_FILM,  # factor of surface films on gas exchange
    P_SOD,  # g/m²/s at 20 °C and 8 mg/L
    P_SOD_THETA,
    P_FLUX,  # reduced substances from the bed without oxygen, g O₂/m²/s
    P_FLUX_IRON,  # parts of it
    P_FLUX_SULPHIDE,
    P_FLUX_METHANE,
    P_IRON_RATE,  # 1/s, catalysed, at air saturation
    P_SULPHIDE_RATE,  # 1/s
    P_SULPHIDE_O2,  # g O₂ per g S
    P_METHANE_RATE,  # 1/s
    P_LABILE_RATE,  # 1/s
    P_NITRIFY,  # 1/s
    P_RESPIRE,  # background of the water, g/m³/s at 20 °C
    P_THETA,
    P_MAKE,  # mg O₂/mg chlorophyll/s
    P_IK,  # µmol/m²/s
    P_CHL_RESPIRE,  # mg O₂/mg chlorophyll/s at 20 °C
    P_GROW,  # 1/s
    P_CARRY,  # chlorophyll the pond can carry, µg/L
    P_DIE,  # 1/s
    P_CRASH_HOUR,  # hour at which the bloom crashes, or far away
    P_ALPHA,  # entrainment at 0.5 L/s of air, top hat
    P_ALPHA_POWER,  # its power of the air flow
    P_SLIP,  # m/s
    P_PEEL,  # detrainment number
    P_PLUNGE,  # surface water taken along by plunging water, parts of its flow
    P_BUBBLE,  # part of the bubbles' oxygen taken up per metre
    P_SWEEP,  # factor on the bed's demand under a running plume
    P_MUD,  # mud stirred at a diffuser's first start, g O₂/m²
    P_FROUDE,  # of exchange between boxes
    P_DISPERSE,  # horizontal dispersion, m/s at rest
    P_PRESSURE,  # of the place, parts of an atmosphere
) = range(38)
PARAMETERS = 38

# weather of an hour
W_AIR, W_VAPOUR, W_WIND, W_SUN, W_CLOUD = range(5)
WEATHER = 5

# books: what crossed the boundary or was made, since the start; J, g
(
    B_SUN, B_SURFACE, B_BED, B_GAS, B_BOIL, B_BUBBLES, B_MADE, B_ALGAE, B_WATER, B_SOD, B_IRON, B_SULPHIDE,
    B_METHANE, B_LABILE, B_NITRIFIED,
) = range(15)  # fmt: skip
BOOKS = 15

# refuge: limits, and what it was
L_O2, L_T, L_NH3, L_H2S, L_VOLUME, L_THICKNESS = range(6)
STEP_S = 300.0
STEPS = 12  # an hour
