"""The published relations that the water column's loops over members call, compiled for lanes; by topic.

The bodies are those of science/ themselves, as in `relations`; a test holds both against the plain functions.
"""

from plumeline.kernels.jit import in_lanes
from plumeline.science import biology, carbonate, chemistry, exchange, gases, heat, plume, water

# water
density_chen_millero_1986 = in_lanes(water.density_chen_millero_1986)
vapour_pressure_benson_krause_1980 = in_lanes(water.vapour_pressure_benson_krause_1980)
vapour_pressure_bolton_1980 = in_lanes(water.vapour_pressure_bolton_1980)

# gases
do_saturation_benson_krause_1984 = in_lanes(gases.do_saturation_benson_krause_1984)
solubility_oxygen_benson_krause_1984 = in_lanes(gases.solubility_oxygen_benson_krause_1984)
solubility_nitrogen_hamme_emerson_2004 = in_lanes(gases.solubility_nitrogen_hamme_emerson_2004)
solubility_oxygen_wuest_1992 = in_lanes(gases.solubility_oxygen_wuest_1992)
solubility_nitrogen_wuest_1992 = in_lanes(gases.solubility_nitrogen_wuest_1992)
schmidt_number_oxygen_wanninkhof_2014 = in_lanes(gases.schmidt_number_oxygen_wanninkhof_2014)
schmidt_number_co2_wanninkhof_2014 = in_lanes(gases.schmidt_number_co2_wanninkhof_2014)
solubility_co2_weiss_1974 = in_lanes(gases.solubility_co2_weiss_1974)
k600_cole_caraco_1998 = in_lanes(gases.k600_cole_caraco_1998)
k600_crusius_wanninkhof_2003 = in_lanes(gases.k600_crusius_wanninkhof_2003)
k600_convective_zappa_2007 = in_lanes(gases.k600_convective_zappa_2007)
gas_velocity_jahne_1987 = in_lanes(gases.gas_velocity_jahne_1987)

# exchange
enhancement_co2_hoover_1969 = in_lanes(exchange.enhancement_co2_hoover_1969)
gas_velocity_ammonia_whitman_1923 = in_lanes(exchange.gas_velocity_ammonia_whitman_1923)

# chemistry
ammonia_unionized_fraction_bell_2008 = in_lanes(chemistry.ammonia_unionized_fraction_bell_2008)
sulphide_undissociated_fraction_millero_1988 = in_lanes(
    chemistry.sulphide_undissociated_fraction_millero_1988
)

# heat
longwave_emitted_stefan_1879 = in_lanes(heat.longwave_emitted_stefan_1879)
specific_humidity_bulk_hipsey_2019 = in_lanes(heat.specific_humidity_bulk_hipsey_2019)
moist_air_density_bulk_hipsey_2019 = in_lanes(heat.moist_air_density_bulk_hipsey_2019)
latent_heat_bulk_hipsey_2019 = in_lanes(heat.latent_heat_bulk_hipsey_2019)
sensible_heat_bulk_hipsey_2019 = in_lanes(heat.sensible_heat_bulk_hipsey_2019)
free_convection_tva_1972 = in_lanes(heat.free_convection_tva_1972)
diffusivity_hondzo_1993 = in_lanes(heat.diffusivity_hondzo_1993)

# biology
temperature_factor_arrhenius_1889 = in_lanes(biology.temperature_factor_arrhenius_1889)
light_limitation_jassby_1976 = in_lanes(biology.light_limitation_jassby_1976)
photons_mccree_1972 = in_lanes(biology.photons_mccree_1972)
carbon_limitation_maberly_1983 = in_lanes(biology.carbon_limitation_maberly_1983)
growth_limitation_verhulst_1838 = in_lanes(biology.growth_limitation_verhulst_1838)
reacted_second_order = in_lanes(biology.reacted_second_order)

# carbonate
ph_from_alkalinity_and_carbon = in_lanes(carbonate.ph_from_alkalinity_and_carbon)
carbonic_acid_fraction_plummer_1982 = in_lanes(carbonate.carbonic_acid_fraction_plummer_1982)

# plume
slip_velocity_wuest_1992 = in_lanes(plume.slip_velocity_wuest_1992)
mass_transfer_wuest_1992 = in_lanes(plume.mass_transfer_wuest_1992)
