"""Budgets of random ponds through the whole march: what a pond gained is what its books say, to round-off."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray
from scripts.proof.made_ponds import Made

from plumeline.kernels import column_index as ix
from plumeline.stages.column.march import Columns, Run, march
from plumeline.stages.column.run import standing

Array = NDArray[np.float64]

HOURS = 48
MEMBERS = 16
OXYGEN_BOOKS = tuple(getattr(ix, name) for name in dir(ix) if name.startswith("O2_"))
"""Every flux of oxygen, by its place in the books: a new one counts as soon as it has a name."""


def random_pond(seed: int) -> Made:
    """Return a pond drawn at random, wider than the trade's."""
    draw = np.random.default_rng(seed)
    top = float(draw.uniform(12.0, 33.0))
    return Made(
        f"random pond {seed}",
        area_acre=float(np.exp(draw.uniform(np.log(0.1), np.log(20.0)))),
        depth_ft=float(draw.uniform(5.0, 25.0)),
        power_number=float(draw.uniform(0.3, 2.0)),
        surface_degc=top,
        bottom_degc=float(draw.uniform(6.0, top)),
        thermocline_m=float(draw.uniform(0.5, 3.0)),
        bottom_sulphide_mg_l=float(draw.uniform(0.0, 8.0)),
        bottom_ammonia_mg_l=float(draw.uniform(0.05, 8.0)),
        discs=int(draw.integers(1, 6)),
        month=int(draw.integers(3, 12)),
        surface_do_mg_l=float(draw.uniform(0.5, 14.0)),
    )


def budgets(seed: int) -> dict[str, Any]:
    """Return what each budget of one random pond is out by, over what it held and turned round."""
    made = random_pond(seed)
    columns = standing(made.job(), made.grid(), made.limits(), MEMBERS, seed, HOURS).columns
    columns.state[ix.SALT] = 0.1  # alike everywhere: it must stay so, or water was lost or made
    draw = np.random.default_rng(seed + 1)
    on = np.repeat(draw.uniform(size=HOURS) < 0.5, ix.STEPS_EACH_HOUR)
    run = march(columns, made.air(on), HOURS)
    return {"name": made.name, "out": {**_out(columns, run), "volume": _drift(run)}}


def _drift(run: Run) -> float:
    """Return how far a salt that was alike everywhere has drifted apart: water lost or made in a layer."""
    return float(np.abs(run.after.state[ix.SALT] / 0.1 - 1.0).max())


def _out(before: Columns, run: Run) -> dict[str, float]:
    """Return each budget's remainder, the worst of the members; sums from states and books alone."""
    books, volume = run.books, before.grid.volume_m3
    gain = np.einsum("skm,k->sm", run.after.state - before.state, volume)
    held = np.einsum("skm,k->sm", np.abs(before.state) + np.abs(run.after.state), volume)
    area = before.grid.area_m2
    bed_m2 = np.append(area[:-2] - area[1:-1], area[-2])
    # slabs of mud of 0.2, 0.5 and 1.5 m, 3 MJ/m³/K (docs/column.md)
    mud_j_k = 3.0e6 * np.concatenate([thick_m * bed_m2 for thick_m in (0.2, 0.5, 1.5)])
    mud = np.einsum("km,k->m", run.after.bed_degc - before.bed_degc, mud_j_k)
    mud_held = np.einsum("km,k->m", np.abs(before.bed_degc), mud_j_k)
    heat = books[ix.HEAT_SHORTWAVE] + books[ix.HEAT_SURFACE] + books[ix.HEAT_BED]
    capacity = ix.HEAT_CAPACITY_J_M3_K
    oxygen = sum(books[row] for row in OXYGEN_BOOKS)
    turned = sum(np.abs(books[row]) for row in OXYGEN_BOOKS)
    sides: dict[str, tuple[Array, Array, Array]] = {
        "heat": (capacity * gain[ix.TEMPERATURE], heat, capacity * held[ix.TEMPERATURE]),
        "heat of the mud": (mud, -books[ix.HEAT_BED], mud_held),
        "oxygen": (gain[ix.OXYGEN], oxygen, held[ix.OXYGEN] + turned),
        **substance_sides(gain, books, held),
    }
    return {name: float((np.abs(a - b) / (scale + 1e-9)).max()) for name, (a, b, scale) in sides.items()}


def substance_sides(gain: Array, books: Array, held: Array) -> dict[str, tuple[Array, Array, Array]]:
    """Return gain, books and scale of nitrogen, sulphur, carbon, alkalinity, debts and the bloom."""
    none = np.zeros(gain.shape[1])

    def all_of(*rows: int) -> Array:
        return np.asarray(sum(books[row] for row in rows))

    ammonia = (ix.AMMONIA_MADE, ix.AMMONIA_BED, ix.AMMONIA_TAKEN, ix.AMMONIA_OXIDISED, ix.AMMONIA_GAS)
    carbon = (ix.CARBON_GAS, ix.CARBON_FIXED, ix.CARBON_RESPIRED, ix.CARBON_BED)
    slow = (ix.O2_DEBT_C, ix.DEBT_C_BED, ix.DEBT_C_BLOOM, ix.DEBT_C_AMMONIA)
    bloom = (ix.CHLOROPHYLL_GROWN, ix.CHLOROPHYLL_TURNED)
    return {
        "nitrogen (ammonia)": (gain[ix.AMMONIA], all_of(*ammonia), held[ix.AMMONIA]),
        "sulphur (sulphide)": (
            gain[ix.SULPHIDE],
            all_of(ix.SULPHIDE_BED, ix.SULPHIDE_GAS) + books[ix.O2_SULPHIDE] / ix.SULPHIDE_DEMAND,
            held[ix.SULPHIDE] + np.abs(books[ix.SULPHIDE_BED]),
        ),
        "inorganic carbon": (gain[ix.CARBON], all_of(*carbon), held[ix.CARBON]),
        "alkalinity": (gain[ix.ALKALINITY], none, held[ix.ALKALINITY]),
        "iron debt": (gain[ix.DEBT_A], books[ix.O2_DEBT_A], held[ix.DEBT_A]),
        "slow debt": (gain[ix.DEBT_C], all_of(*slow), held[ix.DEBT_C] + np.abs(books[ix.DEBT_C_BED])),
        "what the bloom leaves": (
            gain[ix.FRESH],
            all_of(ix.FRESH_MADE, ix.O2_FRESH, ix.FRESH_SETTLED),
            held[ix.FRESH],
        ),
        "chlorophyll": (
            gain[ix.CHLOROPHYLL],
            all_of(*bloom) - books[ix.CHLOROPHYLL_LOST],
            held[ix.CHLOROPHYLL],
        ),
    }
