"""The parameters of the column's kernels, from draws of the priors."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from plumeline.job.document import Job
from plumeline.kernels import column_index as ix
from plumeline.science.heat import open_wind_fraction_markfort_2010
from plumeline.stages.column.water import OLD_MATTER_SHARE

Array = NDArray[np.float64]

DAY_S = 86400.0
HALF_LIFE_A_AT_MG_L = 8.0  # oxygen at which the table's half-lives hold: iron, air-saturated
HALF_LIFE_B_AT_MG_L = 5.0  # and sulphide


def parameters_of(
    draws: dict[str, Array], extinction_1_m: Array, job: Job, area_m2: float, sulphide_read: bool
) -> Array:
    """Return the parameters of every member (PARAMETERS, members), in the units of the kernel."""
    members = len(extinction_1_m)
    values = np.zeros((ix.PARAMETERS, members))
    shelter = open_wind_fraction_markfort_2010(area_m2, job.pond.obstacle_height_m)
    rows = {
        ix.BULK: draws["bulk_exchange"] * 1e-3,
        ix.LONGWAVE: draws["longwave_factor"],
        ix.EXTINCTION: extinction_1_m,
        ix.PAR: draws["par_fraction"],
        # a pond among trees is not cut off from the wind: what falls under zero is folded back
        ix.OPEN_WIND: np.clip(np.abs(shelter + draws["open_wind_offset"]), 0.02, 1.0),
        ix.WIND: draws["wind_ratio"],
        ix.DIFFUSIVITY: draws["diffusivity_multiplier"],
        ix.K600_CALM: draws["k600_calm"] / DAY_S,
        ix.K600_WIND: draws["k600_wind_factor"],
        ix.SEDIMENT: draws["sediment_demand"] / DAY_S,
        ix.SEDIMENT_THETA: draws["sediment_theta"],
        ix.SEDIMENT_HALF: draws["sediment_half_saturation"],
        ix.SWEEP: draws["sweep_factor"],
        ix.RESPIRATION: OLD_MATTER_SHARE * draws["water_respiration"] / DAY_S,
        ix.RESPIRATION_THETA: draws["respiration_theta"],
        ix.P_MAX: draws["p_max"] / 3600.0,
        ix.I_K: draws["i_k"],
        ix.RATE_A: np.log(2.0) / (draws["half_life_a"] * 60.0) / HALF_LIFE_A_AT_MG_L,
        ix.RATE_S: np.log(2.0) / (draws["half_life_b"] * 3600.0) / HALF_LIFE_B_AT_MG_L,
        ix.RATE_C: draws["rate_c"] / DAY_S,
        ix.REDUCED_FLUX: draws["reduced_flux"] / DAY_S,
        ix.BOIL_TRANSFER: draws["boil_transfer"] / DAY_S,
        ix.BOIL_RADIUS: draws["boil_radius_ratio"],
        ix.BLOOM_LOSS: draws["bloom_loss"] / DAY_S,
        ix.CHLOROPHYLL_0: draws["chlorophyll"],
        ix.STIRRED_MUD: draws["stirred_mud"],
        ix.ALPHA: draws["plume_alpha"],
        ix.FROUDE: draws["plume_froude"],
        ix.LAMBDA: draws["plume_lambda"],
        ix.SOURCE_RADIUS: draws["plume_source_radius_ratio"] * job.air.disc_radius_m,
        ix.BUBBLE_RADIUS: draws["bubble_radius"] * 1e-3,
        ix.TRANSFER: draws["transfer_factor"],
        ix.REENTRAINMENT: draws["reentrainment"],
        ix.FREE_CONVECTION: draws["free_convection"],
        # which of two laws a pond goes by is drawn, not measured: they differ twelve-fold when it is calm
        ix.K600_LAW: np.where(draws["k600_law"] > 0.5, 1.0, 0.0),
        ix.BLOOM_TURNOVER: draws["bloom_turnover"] / DAY_S,
        ix.BLOOM_MOST: draws["bloom_most_ratio"],
        ix.FRESH_DECAY: draws["fresh_decay"] / DAY_S,
        ix.FRESH_SETTLING: draws["fresh_settling"] / DAY_S,
        # a sulphide that was read is dissolved; the prior's pool holds iron sulphide and more
        ix.SULPHIDE_SHARE: np.ones(members) if sulphide_read else draws["sulphide_share"],
    }
    for index, row in rows.items():
        values[index] = row
    return values
