"""Undissociated hydrogen sulphide in the water: what the nose and the fish find."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from plumeline.kernels import column_index as ix
from plumeline.kernels.jit import kernel
from plumeline.kernels.relations import (
    ph_from_alkalinity_and_carbon,
    sulphide_undissociated_fraction_millero_1988,
)

Array = NDArray[np.float64]

H2S_PER_SULPHUR = 34.08 / 32.06


@kernel
def fill_h2s(state: Array, sulphide_share: Array, h2s_mg_l: Array) -> None:
    """Fill the undissociated H₂S of each layer of each member (layers, members).

    Args:
        state: (STATES, layers, members).
        sulphide_share: dissolved part of the pool that the state's sulphide stands for (members).
        h2s_mg_l: filled (layers, members).
    """
    for k in range(state.shape[1]):
        for m in range(state.shape[2]):
            t = state[ix.TEMPERATURE, k, m]
            ph = ph_from_alkalinity_and_carbon(state[ix.ALKALINITY, k, m], state[ix.CARBON, k, m], t)
            salt = state[ix.SALT, k, m]
            share = sulphide_share[m] * sulphide_undissociated_fraction_millero_1988(t, salt, ph)
            h2s_mg_l[k, m] = state[ix.SULPHIDE, k, m] * share * H2S_PER_SULPHUR
