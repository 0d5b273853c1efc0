"""What the water column is given, and the arrays of one block of members that its steps work on.

A block holds `LANES` members side by side in memory, few enough to stay in the processor's cache through a whole
run. A block that is not full repeats its last member, and what the repeats come to is thrown away.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from plumeline.kernels import column_index as ix
from plumeline.kernels.jit import kernel

Array = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.uint8]

UNDER, FAILED, CAUSE = range(3)  # rows of a block's `refuge_steps`


class Basin(NamedTuple):
    """The layers of the pond.

    Attributes:
        interface_depth_m: equally spaced faces, from 0 to the bottom (layers + 1) [m].
        area_m2: area at the faces (layers + 1) [m²].
        volume_m3: volume of the layers [m³].
        centre_m: depth of the layers' centres of volume [m].
    """

    interface_depth_m: Array
    area_m2: Array
    volume_m3: Array
    centre_m: Array


class Members(NamedTuple):
    """What a run changes.

    Attributes:
        state: (STATES, layers, members).
        bed_degc: temperature of the mud's slabs under each layer (BED_SLABS * layers, members) [°C].
        under_steps: steps in a row that a member has been without refuge (members).
        failed_step: step at which a member had been without refuge for more than an hour, or -1 (members).
        cause_index: which limit took most of the volume at that step (members).
        stirred_count: 1 once the mud was stirred (1).
    """

    state: Array
    bed_degc: Array
    under_steps: Ints
    failed_step: Ints
    cause_index: Ints
    stirred_count: Ints


class Conditions(NamedTuple):
    """What a run is subject to.

    Attributes:
        parameters: (PARAMETERS, members).
        weather: (WEATHER, hours, members), constant within its hour.
        limits: limits of the refuge (LIMITS).
    """

    parameters: Array
    weather: Array
    limits: Array


class Air(NamedTuple):
    """The diffusers and when they run.

    Attributes:
        on: which run in each step of five minutes (steps, diffusers), 1 or 0.
        depth_m: depths of the membranes (diffusers) [m].
        air_mol_s: dry air of each while it runs (diffusers) [mol/s].
    """

    on: Flags
    depth_m: Array
    air_mol_s: Array


class Told(NamedTuple):
    """What a run leaves beside the state.

    Attributes:
        books: what was gained and lost, added to (FLUXES, members).
        records: (RECORDS, hours, members), filled by the hour.
        snapshots: (2, hours, layers, members) for temperature and oxygen, or (2, 0, layers, members) for none.
    """

    books: Array
    records: Array
    snapshots: Array


class Plumes(NamedTuple):
    """What the running diffusers move in a block.

    Attributes:
        withdrawn_m3_s: what is drawn from each layer, plumes that come to rest in one layer together
            (rows, layers, LANES).
        drawn_m3_s: the same of all rows together (layers, LANES).
        sinking_m3_s: flow down through each face that closes the column (layers + 1, LANES).
        bubble_oxygen_g_s: oxygen that the bubbles give to each row's water (rows, LANES).
        target_index: the layer to which each row is brought (rows, LANES).
        row_count: rows that a member uses (LANES).
        renewal_1_s: how often its fastest flow renews a layer (LANES) [1/s].
        boil_m2: surface that the boils cover (LANES).
        flow_m3_s: water lifted by all plumes (LANES).
        solved_for_degc: stratification that the plumes were solved for (layers, LANES).
        wanted_count: 1 for a member whose plumes are to be solved (LANES).
        solve_count: plumes of a diffuser solved in the hour (LANES).
    """

    withdrawn_m3_s: Array
    drawn_m3_s: Array
    sinking_m3_s: Array
    bubble_oxygen_g_s: Array
    target_index: Ints
    row_count: Ints
    renewal_1_s: Array
    boil_m2: Array
    flow_m3_s: Array
    solved_for_degc: Array
    wanted_count: Ints
    solve_count: Ints


class Block(NamedTuple):
    """The arrays of one block.

    Attributes:
        state: (STATES, layers, LANES).
        bed_degc: (BED_SLABS * layers, LANES).
        parameters: (PARAMETERS, LANES).
        weather: of the hour (WEATHER, LANES).
        books: (FLUXES, LANES).
        records: of the hour (RECORDS, LANES).
        rates: what stands for the hour (RATES, layers, LANES).
        k600_m_s: gas transfer velocity of the hour's wind (LANES).
        fluxes: what one part of a step leaves for the next (STEP_FLUXES, layers, LANES).
        heat_factors: of the diffusion of heat (FACTORS, layers, LANES).
        mass_factors: of the diffusion of all else.
        refuge_steps: steps in a row without refuge, step of failure, and its cause (3, LANES).
        row: room to work in (8, LANES).
        layer: room to work in (2, layers, LANES).
        face: room to work in (2, layers + 1, LANES).
        whole: room for whole numbers (2, LANES).
    """

    state: Array
    bed_degc: Array
    parameters: Array
    weather: Array
    books: Array
    records: Array
    rates: Array
    k600_m_s: Array
    fluxes: Array
    heat_factors: Array
    mass_factors: Array
    refuge_steps: Ints
    row: Array
    layer: Array
    face: Array
    whole: Ints


@kernel
def make_plumes(layers: int, diffusers: int) -> Plumes:
    """Return room for what the diffusers move."""
    rows = diffusers * ix.PLUMES_EACH
    return Plumes(
        np.zeros((rows, layers, ix.LANES)),
        np.zeros((layers, ix.LANES)),
        np.zeros((layers + 1, ix.LANES)),
        np.zeros((rows, ix.LANES)),
        np.zeros((rows, ix.LANES), dtype=np.int64),
        np.zeros(ix.LANES, dtype=np.int64),
        np.zeros(ix.LANES),
        np.zeros(ix.LANES),
        np.zeros(ix.LANES),
        np.zeros((layers, ix.LANES)),
        np.zeros(ix.LANES, dtype=np.int64),
        np.zeros(ix.LANES, dtype=np.int64),
    )


@kernel
def make_block(layers: int) -> Block:
    """Return the arrays of one block."""
    return Block(
        np.zeros((ix.STATES, layers, ix.LANES)),
        np.zeros((ix.BED_SLABS * layers, ix.LANES)),
        np.zeros((ix.PARAMETERS, ix.LANES)),
        np.zeros((ix.WEATHER, ix.LANES)),
        np.zeros((ix.FLUXES, ix.LANES)),
        np.zeros((ix.RECORDS, ix.LANES)),
        np.zeros((ix.RATES, layers, ix.LANES)),
        np.zeros(ix.LANES),
        np.zeros((5, layers, ix.LANES)),
        np.zeros((ix.FACTORS, layers, ix.LANES)),
        np.zeros((ix.FACTORS, layers, ix.LANES)),
        np.zeros((3, ix.LANES), dtype=np.int64),
        np.zeros((8, ix.LANES)),
        np.zeros((2, layers, ix.LANES)),
        np.zeros((2, layers + 1, ix.LANES)),
        np.zeros((2, ix.LANES), dtype=np.int64),
    )


@kernel
def fill_block(block: Block, members: Members, parameters: Array, first: int) -> None:
    """Copy the members from `first` on into a block; a block that is not full repeats the last one."""
    last = members.state.shape[2] - 1
    for j in range(ix.LANES):
        m = min(first + j, last)
        for s in range(ix.STATES):
            for k in range(members.state.shape[1]):
                block.state[s, k, j] = members.state[s, k, m]
        for k in range(members.bed_degc.shape[0]):
            block.bed_degc[k, j] = members.bed_degc[k, m]
        for i in range(ix.PARAMETERS):
            block.parameters[i, j] = parameters[i, m]
        for i in range(ix.FLUXES):
            block.books[i, j] = 0.0
        block.refuge_steps[UNDER, j] = members.under_steps[m]
        block.refuge_steps[FAILED, j] = members.failed_step[m]
        block.refuge_steps[CAUSE, j] = members.cause_index[m]


@kernel
def keep_block(block: Block, members: Members, books: Array, first: int) -> None:
    """Copy what a block came to back to its members."""
    for j in range(min(ix.LANES, members.state.shape[2] - first)):
        m = first + j
        for s in range(ix.STATES):
            for k in range(members.state.shape[1]):
                members.state[s, k, m] = block.state[s, k, j]
        for k in range(members.bed_degc.shape[0]):
            members.bed_degc[k, m] = block.bed_degc[k, j]
        for i in range(ix.FLUXES):
            books[i, m] += block.books[i, j]
        members.under_steps[m] = block.refuge_steps[UNDER, j]
        members.failed_step[m] = block.refuge_steps[FAILED, j]
        members.cause_index[m] = block.refuge_steps[CAUSE, j]
