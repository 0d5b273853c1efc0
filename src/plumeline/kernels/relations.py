"""The published relations, each compiled once; sorted by topic. There is never a second copy of a body."""

from plumeline.kernels.jit import compiled
from plumeline.science import biology, carbonate, chemistry, gases, heat, pipe, plume, stability, water

# water
density_kell_1975 = compiled(water.density_kell_1975)
density_chen_millero_1986 = compiled(water.density_chen_millero_1986)
salinity_hill_1986 = compiled(water.salinity_hill_1986)
vapour_pressure_benson_krause_1980 = compiled(water.vapour_pressure_benson_krause_1980)
vapour_pressure_bolton_1980 = compiled(water.vapour_pressure_bolton_1980)

# gases
pressure_icao_1993 = compiled(gases.pressure_icao_1993)
do_nonideality_benson_krause_1980 = compiled(gases.do_nonideality_benson_krause_1980)
do_saturation_benson_krause_1984 = compiled(gases.do_saturation_benson_krause_1984)
nitrogen_saturation_hamme_emerson_2004 = compiled(gases.nitrogen_saturation_hamme_emerson_2004)
solubility_oxygen_benson_krause_1984 = compiled(gases.solubility_oxygen_benson_krause_1984)
solubility_nitrogen_hamme_emerson_2004 = compiled(gases.solubility_nitrogen_hamme_emerson_2004)
solubility_oxygen_wuest_1992 = compiled(gases.solubility_oxygen_wuest_1992)
solubility_nitrogen_wuest_1992 = compiled(gases.solubility_nitrogen_wuest_1992)
schmidt_number_oxygen_wanninkhof_2014 = compiled(gases.schmidt_number_oxygen_wanninkhof_2014)
k600_cole_caraco_1998 = compiled(gases.k600_cole_caraco_1998)
k600_crusius_wanninkhof_2003 = compiled(gases.k600_crusius_wanninkhof_2003)
gas_velocity_jahne_1987 = compiled(gases.gas_velocity_jahne_1987)

# chemistry
ammonia_pka_emerson_1975 = compiled(chemistry.ammonia_pka_emerson_1975)
ammonia_unionized_fraction_bell_2008 = compiled(chemistry.ammonia_unionized_fraction_bell_2008)
sulphide_pk1_millero_1988 = compiled(chemistry.sulphide_pk1_millero_1988)
sulphide_undissociated_fraction_millero_1988 = compiled(
    chemistry.sulphide_undissociated_fraction_millero_1988
)

# stability
buoyancy_frequency_squared_read_2011 = compiled(stability.buoyancy_frequency_squared_read_2011)
drag_hicks_1972 = compiled(stability.drag_hicks_1972)
friction_velocity_read_2011 = compiled(stability.friction_velocity_read_2011)

# heat
clear_sky_emissivity_brutsaert_1975 = compiled(heat.clear_sky_emissivity_brutsaert_1975)
sky_emissivity_crawford_1999 = compiled(heat.sky_emissivity_crawford_1999)
longwave_emitted_stefan_1879 = compiled(heat.longwave_emitted_stefan_1879)
specific_humidity_bulk_hipsey_2019 = compiled(heat.specific_humidity_bulk_hipsey_2019)
moist_air_density_bulk_hipsey_2019 = compiled(heat.moist_air_density_bulk_hipsey_2019)
latent_heat_bulk_hipsey_2019 = compiled(heat.latent_heat_bulk_hipsey_2019)
sensible_heat_bulk_hipsey_2019 = compiled(heat.sensible_heat_bulk_hipsey_2019)
free_convection_tva_1972 = compiled(heat.free_convection_tva_1972)
diffusivity_hondzo_1993 = compiled(heat.diffusivity_hondzo_1993)

# biology
temperature_factor_arrhenius_1889 = compiled(biology.temperature_factor_arrhenius_1889)
light_limitation_jassby_1976 = compiled(biology.light_limitation_jassby_1976)
photons_mccree_1972 = compiled(biology.photons_mccree_1972)
oxygen_limitation_monod_1949 = compiled(biology.oxygen_limitation_monod_1949)
reacted_second_order = compiled(biology.reacted_second_order)
decayed_first_order = compiled(biology.decayed_first_order)

# carbonate
carbonic_pk1_plummer_1982 = compiled(carbonate.carbonic_pk1_plummer_1982)
carbonic_pk2_plummer_1982 = compiled(carbonate.carbonic_pk2_plummer_1982)
ph_from_alkalinity_and_carbon = compiled(carbonate.ph_from_alkalinity_and_carbon)
carbon_from_alkalinity_and_ph = compiled(carbonate.carbon_from_alkalinity_and_ph)

# plume
slip_velocity_wuest_1992 = compiled(plume.slip_velocity_wuest_1992)
mass_transfer_wuest_1992 = compiled(plume.mass_transfer_wuest_1992)
bubble_rate_wuest_1992 = compiled(plume.bubble_rate_wuest_1992)
initial_velocity_wuest_1992 = compiled(plume.initial_velocity_wuest_1992)

# pipe
reynolds_number_reynolds_1883 = compiled(pipe.reynolds_number_reynolds_1883)
friction_factor_colebrook_1939 = compiled(pipe.friction_factor_colebrook_1939)
friction_factor_churchill_1977 = compiled(pipe.friction_factor_churchill_1977)
resistance_number_crane_2009 = compiled(pipe.resistance_number_crane_2009)
upstream_pressure_isothermal_crane_2009 = compiled(pipe.upstream_pressure_isothermal_crane_2009)
