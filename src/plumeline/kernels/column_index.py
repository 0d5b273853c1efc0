"""Where each quantity stands in the arrays of the water column.

The state is an array (states, layers, members), the member index contiguous. All concentrations are mg/L
= g/m³ but chlorophyll (µg/L = mg/m³), alkalinity and carbon (mol/m³) and temperature (°C).
"""

# states
# `FRESH` is what the bloom gave off or left behind and bacteria have not yet used, g O₂/m³
TEMPERATURE, SALT, OXYGEN, CHLOROPHYLL, DEBT_A, SULPHIDE, DEBT_C, AMMONIA, ALKALINITY, CARBON, FRESH = range(
    11
)
STATES = 11

# parameters of a member, an array (parameters, members)
(
    BULK,  # bulk exchange coefficient of heat and vapour
    LONGWAVE,  # factor on the sky's longwave
    EXTINCTION,  # of visible light by the water itself, 1/m
    PAR,  # part of shortwave that is visible
    OPEN_WIND,  # part of the surface that the wind reaches
    WIND,  # wind over the pond against the station's
    DIFFUSIVITY,  # factor on the background diffusivity
    K600_CALM,  # m/s
    K600_WIND,  # factor on Cole & Caraco's wind term
    SEDIMENT,  # sediment oxygen demand at 20 °C, g/m²/s
    SEDIMENT_THETA,
    SEDIMENT_HALF,  # mg/L
    SWEEP,  # factor on the sediment demand where a plume sweeps the bed
    RESPIRATION,  # of the water at 20 °C by all but the bloom and what it leaves, g/m³/s
    RESPIRATION_THETA,
    P_MAX,  # mg O₂ / mg chlorophyll / s at 20 °C
    I_K,  # µmol/m²/s
    RATE_A,  # L/mg/s
    RATE_S,  # L/mg/s
    RATE_C,  # 1/s
    REDUCED_FLUX,  # g O₂ equivalents /m²/s from the bed without oxygen
    BOIL_TRANSFER,  # m/s
    BOIL_RADIUS,  # boil radius over diffuser depth
    BLOOM_LOSS,  # 1/s while air runs
    CHLOROPHYLL_0,  # µg/L, the bloom as read
    STIRRED_MUD,  # g O₂ equivalents /m² at the first start
    ALPHA,
    FROUDE,
    LAMBDA,
    SOURCE_RADIUS,  # m
    BUBBLE_RADIUS,  # m
    TRANSFER,
    REENTRAINMENT,
    SULPHIDE_SHARE,  # dissolved part of the pool that "sulphide" stands for
    FREE_CONVECTION,  # factor on the heat transfer of still air
    K600_LAW,  # 0: the calm value and Cole & Caraco's wind term; 1: Crusius & Wanninkhof's law and night convection
    BLOOM_TURNOVER,  # loss of the bloom by death and grazing at 20 °C, 1/s
    BLOOM_MOST,  # the most that the nutrients bear, over the bloom as read
    FRESH_DECAY,  # use of the bloom's fresh leavings at 20 °C, 1/s
    FRESH_SETTLING,  # of them to the bed, 1/s
) = range(40)
PARAMETERS = 40

# weather of an hour, an array (weather, hours, members)
AIR_TEMPERATURE, VAPOUR, WIND_SPEED, SHORTWAVE, SKY, PRESSURE = range(6)
WEATHER = 6

# amounts that crossed a boundary or were made or used, summed over all layers since the start: the books
# from which a second routine closes the budgets. Heat in J, oxygen and debts in g, an array (fluxes, members)
(
    HEAT_SHORTWAVE,
    HEAT_SURFACE,  # longwave, latent and sensible, positive into the water
    HEAT_BED,  # positive into the water
    O2_GAS,
    O2_BOIL,
    O2_BUBBLES,
    O2_OUTGASSED,
    O2_MADE,
    O2_RESPIRED,
    O2_SEDIMENT,
    O2_DEBT_A,
    O2_SULPHIDE,
    O2_FRESH,
    O2_DEBT_C,
    SULPHIDE_BED,  # g S
    DEBT_C_BED,
    DEBT_C_BLOOM,
    CHLOROPHYLL_LOST,  # mg
    CARBON_GAS,  # mol, positive into the water
    CARBON_FIXED,  # mol
    CARBON_RESPIRED,  # mol, water, bed and slow debt
    CARBON_BED,  # mol, with the bed's reduced flux
    SULPHIDE_GAS,  # g S, positive into the water
    AMMONIA_MADE,  # g N, by respiration
    AMMONIA_BED,  # g N, with the bed's reduced flux
    AMMONIA_TAKEN,  # g N, by growth
    AMMONIA_OXIDISED,  # g N
    DEBT_C_AMMONIA,  # slow debt that ammonia brought when it was made, less what went when it was taken up
    CHLOROPHYLL_GROWN,  # mg
    CHLOROPHYLL_TURNED,  # mg
    FRESH_MADE,  # g O₂, fixed but not grown, and of the bloom that died
    FRESH_SETTLED,  # g O₂, to the bed: its demand is the bed's own and is not owed twice
    AMMONIA_GAS,  # g N, positive into the water
) = range(33)
FLUXES = 33

# what stands for an hour, an array (RATES, layers, lanes)
(
    HEATING,  # shortwave that the layer absorbs, W
    GROWTH,  # oxygen made by light, g/m³/s
    BREATHING,  # demand of the water with plenty of oxygen, the bloom's leavings apart, g/m³/s
    BED_DEMAND,  # demand of the bed with plenty of oxygen, g/m³/s
    BED_REDUCED,  # reduced substances that the bed gives off without oxygen, g/m³/s
    WARM,  # factor of temperature on the debts' rates
    MOST_O2,  # oxygen over which the layer gives off bubbles of its own, mg/L
    AMMONIA_SHARE,  # un-ionised part of ammonia
    H2S_SHARE,  # undissociated part of sulphide
    PH,  # of the layer's own alkalinity and carbon
) = range(10)
RATES = 10

# elimination factors of the implicit diffusion, an array (FACTORS, layers, lanes)
LOWER, UPPER, PIVOT = range(3)
FACTORS = 3

# limits of the refuge
LIMIT_OXYGEN, LIMIT_TEMPERATURE, LIMIT_AMMONIA, LIMIT_H2S, LIMIT_VOLUME, LIMIT_THICKNESS = range(6)
LIMITS = 6

# hourly records, an array (records, hours, members)
(
    REFUGE,  # least usable part of the volume in the hour
    NEAR_SURFACE_O2,  # oxygen at 0.6 m at the end of the hour
    BOTTOM_O2,  # oxygen at the deepest diffuser
    DIFFERENCE,  # top minus bottom temperature, K
    LEAST_O2,  # least oxygen at 0.6 m in the hour
    PLUME_FLOW,  # water lifted by all running plumes, m³/s
    PLUME_SOLVES,  # plumes of a diffuser solved in the hour, a count
    SALT_DIFFERENCE,  # bottom minus top salt, g/kg
) = range(8)
RECORDS = 8

# members of a block: loops over them have this constant length and become vectors without a remainder
LANES = 32
PLUMES_EACH = 6  # most plumes (first and restarted) of one diffuser
STEPS_EACH_HOUR = 12
STEP_S = 300.0
HEAT_CAPACITY_J_M3_K = 4.18e6
# the mud under each layer: three slabs from its top down, of wet mud (1.2 W/m/K, 3 MJ/m³/K: judgement). Their
# temperatures are the rows of one array (BED_SLABS * layers, members), the first slabs of all layers first
BED_SLABS = 3
BED_THICKNESS_M = (0.2, 0.5, 1.5)
MUD_CONDUCTIVITY_W_M_K = 1.2
MUD_HEAT_J_M3_K = 3.0e6
# from the water to the middle of the first slab, and from middle to middle; heat that a slab holds
SKIN_CONDUCTANCE_W_M2_K = 1.2 / 0.1
MIDDLE_CONDUCTANCE_W_M2_K = 1.2 / 0.35
DEEP_CONDUCTANCE_W_M2_K = 1.2 / 1.0
SKIN_HEAT_J_M2_K = 0.2 * 3.0e6
MIDDLE_HEAT_J_M2_K = 0.5 * 3.0e6
DEEP_HEAT_J_M2_K = 1.5 * 3.0e6
# part of the bed's reduced flux that is sulphide: fresh-water beds give methane mostly (Steinsberger 2019)
SULPHIDE_OF_FLUX = 0.1
SULPHIDE_DEMAND = 1.996  # g O₂ per g S, to sulphate
BLOOM_DEMAND = 133.0  # g O₂ per g chlorophyll: carbon to chlorophyll 50, 2.67 g O₂ per g C
# a mixed pond keeps algae, other ones (Nieuwe Meer: transparency unchanged, science notes §11): the extra
# loss under air ends at this part of the bloom as read (judgement)
BLOOM_FLOOR = 0.6
# oxygen at which half of what the bed gives off without oxygen is held back by its oxidised skin (judgement)
SKIN_MG_L = 0.5
# plumes are solved again when the stratification of a member has moved by this much
MOVED_K = 0.2
# oxygen over this many times saturation leaves as bubbles of its own within the hour: judgement
SUPERSATURATION = 2.5
CHLOROPHYLL_EXTINCTION_M2_MG = 0.02
OXYGEN_G_MOL = 31.9988
PCO2_FRACTION = 4.2e-4  # carbon dioxide in dry air: 420 ppm, NOAA Global Monitoring Laboratory, about 2023
# inorganic carbon never falls under this many times alkalinity: algae that use it up to pH 10.5 leave 0.6
LEAST_CARBON_OF_ALKALINITY = 0.56
# mol of inorganic carbon for a mol of oxygen: photosynthesis and respiration of organic carbon one; the slow debt is
# counted as methane, two of oxygen for one of carbon, and so is what the bed gives off, one for each methane
CARBON_PER_OXYGEN = 1.0
CARBON_OF_SLOW_DEBT = 0.5
CARBON_OF_BED_FLUX = 0.5
NITROGEN_PER_OXYGEN = 16.0 * 14.007 / (106.0 * 31.9988)  # g N per g O₂ from ammonia, Redfield et al. 1963
NITRIFICATION_DEMAND = 4.57  # g O₂ per g N, to nitrate
AMMONIA_HALF_MG_L = 0.05  # ammonia at which growth takes half of its nitrogen from it (judgement)
VISCOSITY_M2_S = 0.9e-6  # of water at 25 °C, any handbook; its fourth root is used
