"""Plumes marched side by side against the same plumes one by one."""

import numpy as np
import pytest

from plumeline.kernels import column_index as ix
from plumeline.kernels.column import forget_plumes
from plumeline.kernels.column_block import Air, Basin, make_block, make_plumes
from plumeline.kernels.column_plumes import solve_plumes
from plumeline.kernels.plume_lanes import make_rising
from plumeline.kernels.plume_layers import plumes_over_layers, workspace

LAYERS, DEPTH_M = 20, 4.0
PRESSURE_PA = 98000.0
SPANS = (
    (ix.ALPHA, 0.05, 0.115), (ix.FROUDE, 1.0, 2.0), (ix.LAMBDA, 0.7, 0.95), (ix.SOURCE_RADIUS, 0.06, 0.17),
    (ix.BUBBLE_RADIUS, 5e-4, 2e-3), (ix.TRANSFER, 0.4, 1.0), (ix.REENTRAINMENT, 0.0, 1.0),
)  # fmt: skip


def waters(kind, rng):
    """Return a block of members with water of one kind, and its layers."""
    block = make_block(LAYERS)
    faces = np.linspace(0.0, DEPTH_M, LAYERS + 1)
    middle = 0.5 * (faces[1:] + faces[:-1])[:, None]
    if kind == "thermocline":
        drop = rng.uniform(0.0, 12.0, ix.LANES) / (
            1.0 + np.exp(-(middle - rng.uniform(1.0, 3.0, ix.LANES)) / 0.3)
        )
        block.state[ix.TEMPERATURE] = 30.0 - drop
    elif kind == "staircase":
        steps = rng.uniform(12.0, 30.0, (LAYERS, ix.LANES))
        block.state[ix.TEMPERATURE] = np.sort(steps, axis=0)[::-1]
    else:
        block.state[ix.TEMPERATURE] = 24.0
    block.state[ix.SALT] = 0.1
    block.state[ix.OXYGEN] = rng.uniform(0.0, 9.0, (LAYERS, ix.LANES))
    for row, low, high in SPANS:
        block.parameters[row] = rng.uniform(low, high, ix.LANES)
    return block, Basin(faces, np.full(LAYERS + 1, 4000.0), np.full(LAYERS, 800.0), middle[:, 0])


def one_by_one(block, basin, member, depth_m, air_mol_s):
    """Return what one member's plumes draw from each layer and bring to each, and the oxygen of their bubbles."""
    drawn = np.zeros((ix.PLUMES_EACH, LAYERS))
    lands = np.zeros(ix.PLUMES_EACH, dtype=np.int64)
    gained = np.zeros(ix.PLUMES_EACH)
    t, s, o = (block.state[row, :, member].copy() for row in (ix.TEMPERATURE, ix.SALT, ix.OXYGEN))
    p = block.parameters[:, member]
    count = plumes_over_layers(
        basin.interface_depth_m, t, s, o, depth_m, air_mol_s, p[ix.ALPHA], p[ix.FROUDE], p[ix.LAMBDA],
        p[ix.SOURCE_RADIUS], p[ix.BUBBLE_RADIUS], p[ix.TRANSFER], PRESSURE_PA, p[ix.REENTRAINMENT], 0,
        workspace(LAYERS), drawn, lands, gained,
    )[0]  # fmt: skip
    brought = np.zeros(LAYERS)
    for plume in range(count):
        brought[lands[plume]] += drawn[plume].sum()
    return drawn.sum(axis=0), brought, gained[:count].sum(), count


@pytest.mark.parametrize("kind", ["thermocline", "staircase", "mixed"])
@pytest.mark.parametrize("air_mol_s", [0.002, 0.02, 0.06])
@pytest.mark.parametrize("depth_m", [3.7, 0.9])
def test_side_by_side_is_one_by_one(kind, air_mol_s, depth_m):
    """Drawn, brought and taken up by every member as by `plumes_over_layers`, to 1e-11 of the flow.

    No other plume beside it, stalled or gone, changes anything.
    """
    block, basin = waters(kind, np.random.default_rng(8))
    plumes = make_plumes(LAYERS, 1)
    forget_plumes(plumes)
    solve_plumes(
        block.state, block.parameters, np.ones(1, dtype=np.uint8),
        Air(np.ones((1, 1), dtype=np.uint8), np.array([depth_m]), np.array([air_mol_s])), basin,
        np.full(ix.LANES, PRESSURE_PA), plumes, make_rising(LAYERS),
    )  # fmt: skip
    counts = set()
    for member in range(ix.LANES):
        drawn, brought, gained, count = one_by_one(block, basin, member, depth_m, air_mol_s)
        counts.add(count)
        found = np.zeros(LAYERS)
        for row in range(plumes.row_count[member]):
            found[plumes.target_index[row, member]] += plumes.withdrawn_m3_s[row, :, member].sum()
        assert plumes.drawn_m3_s[:, member] == pytest.approx(drawn, abs=1e-11 * drawn.sum())
        assert found == pytest.approx(brought, abs=1e-11 * drawn.sum())
        assert plumes.bubble_oxygen_g_s[:, member].sum() == pytest.approx(gained, rel=1e-9, abs=1e-9)
    if kind == "staircase" and depth_m > 1.0 and air_mol_s < 0.01:
        assert max(counts) > 1  # some stall, and start anew


def test_members_that_are_not_asked_for_keep_their_plumes():
    """Where the stratification has not moved, what stands is kept, and nothing is solved."""
    block, basin = waters("thermocline", np.random.default_rng(9))
    plumes, rising = make_plumes(LAYERS, 1), make_rising(LAYERS)
    air = Air(np.ones((1, 1), dtype=np.uint8), np.array([3.5]), np.array([0.02]))
    given = (np.ones(1, dtype=np.uint8), air, basin, np.full(ix.LANES, PRESSURE_PA), plumes, rising)
    forget_plumes(plumes)
    assert solve_plumes(block.state, block.parameters, *given) == ix.LANES
    before = plumes.withdrawn_m3_s.copy()
    block.state[ix.TEMPERATURE, :8, 5] += 1.0
    assert solve_plumes(block.state, block.parameters, *given) == 1
    others = np.arange(ix.LANES) != 5
    assert np.array_equal(plumes.withdrawn_m3_s[:, :, others], before[:, :, others])
    assert not np.array_equal(plumes.withdrawn_m3_s[:, :, 5], before[:, :, 5])
