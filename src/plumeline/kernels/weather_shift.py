"""Shift an hour of weather to a warmer, stiller or duller one, keeping its parts in step."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from plumeline.kernels import column_index as ix
from plumeline.kernels.jit import kernel
from plumeline.kernels.relations import (
    clear_sky_emissivity_brutsaert_1975,
    sky_emissivity_crawford_1999,
    vapour_pressure_bolton_1980,
)
from plumeline.science.heat import STEFAN_BOLTZMANN_W_M2_K4

Array = NDArray[np.float64]


@kernel
def shift_weather(
    weather: Array, clear_w_m2: Array, warmer_k: Array, wind_number: Array, clearness_number: Array
) -> None:
    """Shift the weather of every hour and member in place.

    The relative humidity stays, so warmer air is damper; the sky's longwave follows the air's temperature and
    vapour and the cloud, by the clear-sky and cloud relations of the column, times what the hour's own
    longwave was over theirs.

    Args:
        weather: (WEATHER, hours, members).
        clear_w_m2: sunlight under a clear sky (hours), which a brighter day may not pass [W/m²].
        warmer_k: added to the air's temperature (hours, members) [K].
        wind_number: factor on the wind (hours, members).
        clearness_number: factor on the sunlight (hours, members).
    """
    for h in range(weather.shape[1]):
        for m in range(weather.shape[2]):
            air = weather[ix.AIR_TEMPERATURE, h, m]
            vapour = max(weather[ix.VAPOUR, h, m], 1.0)
            light = weather[ix.SHORTWAVE, h, m]
            black = STEFAN_BOLTZMANN_W_M2_K4 * (air + 273.15) ** 4
            warm = air + warmer_k[h, m]
            damp = vapour * vapour_pressure_bolton_1980(warm) / vapour_pressure_bolton_1980(air)
            clear = min(clear_sky_emissivity_brutsaert_1975(max(vapour, 100.0), air), 0.995)
            emissivity = weather[ix.SKY, h, m] / black
            cloud = min(max((emissivity - clear) / (1.0 - clear), 0.0), 1.0)
            own = emissivity / sky_emissivity_crawford_1999(clear, cloud)
            cloud = min(max(1.0 - clearness_number[h, m] * (1.0 - cloud), 0.0), 1.0)
            clear = min(clear_sky_emissivity_brutsaert_1975(max(damp, 100.0), warm), 0.995)
            emissivity = own * sky_emissivity_crawford_1999(clear, cloud)
            weather[ix.AIR_TEMPERATURE, h, m] = warm
            weather[ix.VAPOUR, h, m] = damp
            weather[ix.WIND_SPEED, h, m] *= wind_number[h, m]
            weather[ix.SHORTWAVE, h, m] = min(light * clearness_number[h, m], max(light, clear_w_m2[h]))
            weather[ix.SKY, h, m] = emissivity * STEFAN_BOLTZMANN_W_M2_K4 * (warm + 273.15) ** 4
