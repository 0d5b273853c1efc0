"""The loops over members are vectors: else the column would be several times slower, and nothing else would tell."""

import re

import numba
import numpy as np
import pytest

from plumeline.kernels import column_index as ix
from plumeline.kernels import column_mixing, column_rates, column_refuge, column_step, column_transport
from plumeline.kernels.column_block import make_block, make_plumes
from plumeline.kernels.jit import LANE_OPTIONS, fast_kernel

LAYERS = 10
PACKED = re.compile(r"\sv?(?:mul|div|add|fn?m(?:add|sub)\d+)pd\s")
SINGLE = re.compile(r"\sv?(?:mul|div|add|fn?m(?:add|sub)\d+)sd\s")


def calls():
    """Return every kernel of a step by name, with arguments to call it with."""
    block, plumes = make_block(LAYERS), make_plumes(LAYERS, 1)
    state, parameters, rates, books, row = block.state, block.parameters, block.rates, block.books, block.row
    state[ix.TEMPERATURE], state[ix.ALKALINITY], state[ix.CARBON] = 20.0, 1.0, 1.0
    parameters[:] = 1.0
    block.weather[:] = 1.0
    block.weather[ix.PRESSURE] = 1e5
    area, volume, centre = np.full(LAYERS + 1, 1e3), np.full(LAYERS, 2e2), np.arange(LAYERS) + 0.5
    bed = np.full(LAYERS, 10.0)
    one, whole, layer, face = row[0], block.whole, block.layer, block.face
    return {
        "light_rates": (column_rates, (state, parameters, one, area, 0.2, rates, row[1], row[2])),
        "demand_rates": (column_rates, (state, parameters, np.zeros(LAYERS), bed, volume, rates)),
        "water_shares": (column_rates, (state, parameters, block.weather[ix.PRESSURE], rates)),
        "fill_density": (column_rates, (state, layer[0])),
        "fill_diffusivity": (column_rates, (layer[0], parameters, 1e3, 0.2, layer[1])),
        "surface_step": (column_step, (state, parameters, block.weather, 1e3, 2e2, 300.0, books, one)),
        "gas_step": (
            column_step,
            (state, parameters, block.weather, rates, block.k600_m_s, one, 1e3, 2e2, row[1], 300.0, books),
        ),
        "warming_step": (column_step, (state, block.bed_degc, rates, bed, volume, 300.0, books)),
        "oxygen_step": (column_step, (state, parameters, rates, volume, 300.0, books, block.fluxes)),
        "matter_step": (column_step, (state, parameters, rates, volume, 0.0, 300.0, books, block.fluxes)),
        "diffusion_step": (column_step, (state, block.heat_factors, 0, 1, one)),
        "transport_step": (
            column_transport, (state, plumes, volume, 300.0, books, one, row[1], layer[0], face[0], face[1],
             whole[0])
        ),
        "grow_mixed_layer": (
            column_mixing,
            (layer[0], state, volume, centre, one, row[1], row[2], row[3], row[4], whole[0], whole[1]),
        ),
        "mix_from_the_top": (
            column_mixing, (state, volume, 1, whole[0], row[1], row[2], row[3], row[4], row[5])
        ),
        "refuge_step": (
            column_refuge, (state, rates, np.zeros(ix.LIMITS), volume, 0.2, one, row[1], row[2])
        ),
    }  # fmt: skip


CALLS = calls()


def code_of(kernel, arguments):
    """Return a kernel's machine code, or skip where it is not that of an Intel or AMD processor.

    It is compiled anew, with the options of its kind, for numba shows no code that it read from its cache.
    """
    options = {**LANE_OPTIONS, "cache": False}
    fresh = numba.njit(pipeline_class=kernel._compiler.pipeline_class, **options)(kernel.py_func)
    with np.errstate(all="ignore"):
        fresh(*arguments)
    code = "".join(fresh.inspect_asm().values())
    if not PACKED.search(code) and not SINGLE.search(code):
        pytest.skip("the instructions of this processor are not known here")
    return code


@pytest.mark.parametrize("name", CALLS)
def test_the_loops_of_a_step_are_vectors(name):
    """Packed arithmetic in the machine code of every step of the column.

    Beside the vectors stands a plain loop for arrays that overlap, which is never run.
    """
    module, arguments = CALLS[name]
    code = code_of(getattr(module, name), arguments)
    packed, single = len(PACKED.findall(code)), len(SINGLE.findall(code))
    print(f"{name}: {packed} packed, {single} single")
    assert packed > 0.4 * single


def test_a_loop_that_is_no_vector_is_seen():
    """A recurrence can't be a vector: the check above can fail."""

    def chain(values):
        for i in range(1, values.shape[0]):
            values[i] = values[i - 1] * values[i] + 1.0

    code = code_of(fast_kernel(chain), (np.ones(8),))
    assert len(PACKED.findall(code)) < 0.4 * len(SINGLE.findall(code))
