"""The water column's books: heat, oxygen, nitrogen, salt, debts, bloom and water all add up.

The sums are made here from the books alone, by a routine that knows nothing of how the state is changed; the
same routine must refuse a kernel with any one flux left out, which shows that it can see each of them.
"""

import inspect
import textwrap
import types
from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from plumeline.kernels import (
    column,
    column_mixing,
    column_plumes,
    column_rates,
    column_step,
    column_transport,
)
from plumeline.kernels import column_index as ix
from plumeline.kernels.column_block import (
    Air,
    Basin,
    Conditions,
    Members,
    Told,
    fill_block,
    make_block,
    make_plumes,
)
from plumeline.kernels.plume_lanes import make_rising

ROUND_OFF = 1e-10
DAY_S = 86400.0
O2_G_MOL = 31.9988
REDFIELD_G_G = (
    16.0 * 14.007 / (106.0 * 31.9988)
)  # N for O₂: Redfield et al. 1963, 106 C : 16 N, one O₂ a carbon

# least and most of every parameter, in the kernel's units: wider than the priors on purpose
SPANS = {
    ix.BULK: (1.0e-3, 1.7e-3), ix.LONGWAVE: (0.95, 1.05), ix.EXTINCTION: (0.3, 3.0), ix.PAR: (0.42, 0.5),
    ix.OPEN_WIND: (0.0, 1.0), ix.WIND: (0.3, 1.0), ix.DIFFUSIVITY: (0.3, 5.0),
    ix.K600_CALM: (0.1 / DAY_S, 1.0 / DAY_S), ix.K600_WIND: (0.0, 1.2), ix.SEDIMENT: (0.3 / DAY_S, 4.0 / DAY_S),
    ix.SEDIMENT_THETA: (1.04, 1.09), ix.SEDIMENT_HALF: (0.5, 4.0), ix.SWEEP: (1.0, 3.0),
    ix.RESPIRATION: (0.3 / DAY_S, 12.0 / DAY_S), ix.RESPIRATION_THETA: (1.04, 1.072),
    ix.P_MAX: (5.0 / 3600.0, 25.0 / 3600.0), ix.I_K: (60.0, 350.0), ix.RATE_A: (2e-5, 1e-3),
    ix.RATE_S: (5e-7, 1.5e-5), ix.RATE_C: (0.05 / DAY_S, 0.5 / DAY_S), ix.REDUCED_FLUX: (0.2 / DAY_S, 1.2 / DAY_S),
    ix.BOIL_TRANSFER: (2.0 / DAY_S, 8.0 / DAY_S), ix.BOIL_RADIUS: (0.3, 1.0),
    ix.BLOOM_LOSS: (0.05 / DAY_S, 0.4 / DAY_S), ix.CHLOROPHYLL_0: (5.0, 150.0), ix.STIRRED_MUD: (0.5, 4.0),
    ix.ALPHA: (0.05, 0.115), ix.FROUDE: (1.0, 2.0), ix.LAMBDA: (0.7, 0.95), ix.SOURCE_RADIUS: (0.06, 0.17),
    ix.BUBBLE_RADIUS: (5e-4, 2e-3), ix.TRANSFER: (0.4, 1.0), ix.REENTRAINMENT: (0.0, 1.0),
    ix.SULPHIDE_SHARE: (0.1, 1.0), ix.FREE_CONVECTION: (1.0, 2.1), ix.K600_LAW: (0.0, 1.0),
    ix.BLOOM_TURNOVER: (0.04 / DAY_S, 0.2 / DAY_S), ix.BLOOM_MOST: (1.1, 2.5),
    ix.FRESH_DECAY: (0.3 / DAY_S, 1.5 / DAY_S), ix.FRESH_SETTLING: (0.05 / DAY_S, 0.5 / DAY_S),
}  # fmt: skip


@dataclass
class Pond:
    """What `advance` is given for a small ensemble, by name."""

    arguments: dict
    hours: int

    def groups(self):
        """Return the arguments in the groups of the kernel."""
        held = self.arguments
        return tuple(
            group(*(held[name] for name in group._fields))
            for group in (Members, Basin, Conditions, Air, Told)
        )

    def run(self, advance=column.advance, stride=1):
        """March to the end and return the pond as it was before."""
        before = {name: self.arguments[name].copy() for name in ("state", "bed_degc")}
        broke = advance(*self.groups(), 2, stride, 0, self.hours)
        # a spoilt kernel may end in nonsense, which the balances must see by themselves
        assert broke == (-1, -1, -1) or advance is not column.advance
        return before


def make_pond(seed, *, diffusers, hours=5, members=2, layers=10, wind_m_s=3.0, sun_w_m2=700.0):
    """Return a pond drawn at random: profile, weather, schedule, parameters."""
    rng = np.random.default_rng(seed)
    depth_m = rng.uniform(2.0, 6.0)
    faces = np.linspace(0.0, depth_m, layers + 1)
    area = 4000.0 * (1.0 - 0.9 * (faces / depth_m) ** rng.uniform(0.5, 3.0))
    volume = 0.5 * (area[1:] + area[:-1]) * np.diff(faces)
    parameters = np.empty((ix.PARAMETERS, members))
    for row, (low, high) in SPANS.items():
        parameters[row] = rng.uniform(low, high, members)
    state = np.empty((ix.STATES, layers, members))
    state[ix.TEMPERATURE] = np.sort(rng.uniform(12.0, 32.0, (layers, members)), axis=0)[::-1]
    state[ix.TEMPERATURE] += rng.uniform(-0.5, 0.5, (layers, members))  # some of it unstable
    state[ix.SALT] = rng.uniform(0.05, 0.3, (layers, members))
    state[ix.OXYGEN] = rng.uniform(0.0, 1.0, (layers, members)) * np.linspace(26.0, 0.5, layers)[:, None]
    for row, most in (
        (ix.CHLOROPHYLL, 80.0), (ix.DEBT_A, 3.0), (ix.SULPHIDE, 5.0), (ix.DEBT_C, 30.0), (ix.AMMONIA, 3.0),
        (ix.FRESH, 10.0),
    ):  # fmt: skip
        state[row] = rng.uniform(0.0, most, (layers, members))
    state[ix.ALKALINITY] = rng.uniform(0.8, 3.0, (layers, members))
    state[ix.CARBON] = state[ix.ALKALINITY] * rng.uniform(0.98, 1.1, (layers, members))
    weather = np.empty((ix.WEATHER, hours, members))
    weather[ix.AIR_TEMPERATURE] = rng.uniform(5.0, 38.0, (hours, members))
    weather[ix.VAPOUR] = rng.uniform(500.0, 3000.0, (hours, members))
    weather[ix.WIND_SPEED] = rng.uniform(0.0, wind_m_s, (hours, members))
    weather[ix.SHORTWAVE] = rng.uniform(0.0, sun_w_m2, (hours, members))
    weather[ix.SKY] = rng.uniform(280.0, 430.0, (hours, members))
    weather[ix.PRESSURE] = rng.uniform(9.0e4, 1.02e5, (hours, members))
    steps = hours * ix.STEPS_EACH_HOUR
    air_on = (rng.uniform(size=(steps, diffusers)) < 0.6).astype(np.uint8)
    air_on = np.repeat(air_on[::6], 6, axis=0)  # runs of half an hour
    nothing = np.zeros(members, dtype=np.int64)
    return Pond(
        {
            "state": state,
            "bed_degc": np.concatenate([state[ix.TEMPERATURE]] * ix.BED_SLABS)
            + rng.uniform(-3.0, 1.0, (ix.BED_SLABS * layers, members)),
            "parameters": parameters,
            "weather": weather,
            "on": np.ascontiguousarray(air_on),
            "depth_m": rng.uniform(0.6, 0.95, diffusers) * depth_m,
            "air_mol_s": rng.uniform(0.005, 0.04, diffusers),
            "interface_depth_m": faces,
            "area_m2": area,
            "volume_m3": volume,
            "centre_m": 0.5 * (faces[1:] + faces[:-1]),
            "limits": np.array([3.0, 34.0, 0.2, 0.01, 0.15, 0.6]),
            "under_steps": nothing.copy(),
            "failed_step": nothing - 1,
            "cause_index": nothing.copy(),
            "stirred_count": np.zeros(1, dtype=np.int64),
            "books": np.zeros((ix.FLUXES, members)),
            "records": np.zeros((ix.RECORDS, hours, members)),
            "snapshots": np.zeros((2, 0, layers, members)),
        },
        hours,
    )


def balances(pond, before):
    """Return by name what each budget is out by, over what it turned round (members).

    Only the books, the states before and after, volumes and areas are used.
    """
    held = pond.arguments
    books, volume, area = held["books"], held["volume_m3"], held["area_m2"]
    bed_m2 = np.append(area[:-2] - area[1:-1], area[-2])
    gain = np.einsum("slm,l->sm", held["state"] - before["state"], volume)
    stock = np.einsum("slm,l->sm", np.abs(before["state"]), volume)
    capacity = ix.HEAT_CAPACITY_J_M3_K
    # three slabs of mud of 0.2, 0.5 and 1.5 m, 3 MJ/m³/K (docs/column.md)
    mud_j_k = 3.0e6 * np.concatenate([thick_m * bed_m2 for thick_m in (0.2, 0.5, 1.5)])
    bed_gain = np.einsum("lm,l->m", held["bed_degc"] - before["bed_degc"], mud_j_k)
    bed_stock = np.einsum("lm,l->m", np.abs(before["bed_degc"]), mud_j_k)
    sun = 0.92 * held["weather"][ix.SHORTWAVE].sum(axis=0) * 3600.0 * area[0]
    oxygen = books[ix.O2_GAS : ix.O2_DEBT_C + 1]
    none = np.zeros(books.shape[1])
    sides = {
        "heat of the water": (
            capacity * gain[ix.TEMPERATURE],
            books[ix.HEAT_SHORTWAVE] + books[ix.HEAT_SURFACE] + books[ix.HEAT_BED],
            capacity * stock[ix.TEMPERATURE],
        ),
        "heat of the mud": (bed_gain, -books[ix.HEAT_BED], bed_stock),
        "sunlight": (books[ix.HEAT_SHORTWAVE], sun, sun),
        "oxygen": (gain[ix.OXYGEN], oxygen.sum(axis=0), stock[ix.OXYGEN] + np.abs(oxygen).sum(axis=0)),
        "nitrogen as ammonia": (
            gain[ix.AMMONIA],
            books[ix.AMMONIA_MADE]
            + books[ix.AMMONIA_BED]
            + books[ix.AMMONIA_TAKEN]
            + books[ix.AMMONIA_OXIDISED]
            + books[ix.AMMONIA_GAS],
            stock[ix.AMMONIA],
        ),
        "salt": (gain[ix.SALT], none, stock[ix.SALT]),
        "alkalinity": (gain[ix.ALKALINITY], none, stock[ix.ALKALINITY]),
        "inorganic carbon": (
            gain[ix.CARBON],
            books[ix.CARBON_GAS] + books[ix.CARBON_FIXED] + books[ix.CARBON_RESPIRED] + books[ix.CARBON_BED],
            stock[ix.CARBON],
        ),
        # what oxygen did, carbon did with it: one for one in the light and in the dark, a half from methane
        "carbon fixed for oxygen made": (
            -books[ix.CARBON_FIXED],
            books[ix.O2_MADE] / O2_G_MOL,
            stock[ix.CARBON],
        ),
        "carbon respired for oxygen used": (
            books[ix.CARBON_RESPIRED],
            -(books[ix.O2_RESPIRED] + books[ix.O2_FRESH] + books[ix.O2_SEDIMENT] + 0.5 * books[ix.O2_DEBT_C])
            / O2_G_MOL,
            stock[ix.CARBON],
        ),
        "nitrogen mineralised by respiration": (
            books[ix.AMMONIA_MADE],
            -REDFIELD_G_G * books[ix.O2_RESPIRED],
            stock[ix.AMMONIA],
        ),
        "what the bed gives, by its parts": (
            books[ix.CARBON_BED] * 2.0 * O2_G_MOL,
            books[ix.AMMONIA_BED] / REDFIELD_G_G,
            stock[ix.CARBON],
        ),
        "debt A": (gain[ix.DEBT_A], books[ix.O2_DEBT_A], stock[ix.DEBT_A]),
        "sulphide": (
            gain[ix.SULPHIDE],
            books[ix.SULPHIDE_BED] + books[ix.SULPHIDE_GAS] + books[ix.O2_SULPHIDE] / ix.SULPHIDE_DEMAND,
            stock[ix.SULPHIDE],
        ),
        "slow debt": (
            gain[ix.DEBT_C],
            books[ix.O2_DEBT_C] + books[ix.DEBT_C_BED] + books[ix.DEBT_C_BLOOM] + books[ix.DEBT_C_AMMONIA],
            stock[ix.DEBT_C],
        ),
        "chlorophyll": (
            gain[ix.CHLOROPHYLL],
            books[ix.CHLOROPHYLL_GROWN] + books[ix.CHLOROPHYLL_TURNED] - books[ix.CHLOROPHYLL_LOST],
            stock[ix.CHLOROPHYLL],
        ),
        "what the bloom leaves": (
            gain[ix.FRESH],
            books[ix.FRESH_MADE] + books[ix.O2_FRESH] + books[ix.FRESH_SETTLED],
            stock[ix.FRESH],
        ),
        # all that is fixed stands in the bloom or was left by it: no carbon is lost with a bloom at its most
        "what is fixed, grown or left": (
            books[ix.FRESH_MADE],
            books[ix.O2_MADE]
            - (books[ix.CHLOROPHYLL_GROWN] + books[ix.CHLOROPHYLL_TURNED]) * 1e-3 * ix.BLOOM_DEMAND,
            stock[ix.FRESH],
        ),
        "bloom to slow debt": (
            books[ix.DEBT_C_BLOOM],
            books[ix.CHLOROPHYLL_LOST] * 1e-3 * ix.BLOOM_DEMAND,
            stock[ix.DEBT_C],
        ),
    }
    return {
        name: float((np.abs(left - right) / (scale + 1e-9)).max())
        for name, (left, right, scale) in sides.items()
    }


@settings(max_examples=40, deadline=None)
@given(
    seed=st.integers(0, 2**32 - 1),
    diffusers=st.integers(0, 3),
    wind_m_s=st.floats(0.0, 12.0),
    sun_w_m2=st.floats(0.0, 1000.0),
    stride=st.sampled_from([1, 2, 3, 6, 12]),
)
def test_every_budget_closes_to_round_off(seed, diffusers, wind_m_s, sun_w_m2, stride):
    """Whatever the water, the weather and the schedule, what a pond gained is what its books say."""
    pond = make_pond(seed, diffusers=diffusers, wind_m_s=wind_m_s, sun_w_m2=sun_w_m2)
    before = pond.run(stride=stride)
    assert np.isfinite(pond.arguments["state"]).all()
    out = balances(pond, before)
    assert max(out.values()) < ROUND_OFF, out


@settings(max_examples=30, deadline=None)
@given(seed=st.integers(0, 2**32 - 1), diffusers=st.integers(1, 3))
def test_the_column_closes_the_water_that_plumes_move(seed, diffusers):
    """In each layer, what plumes draw and bring and what passes its faces adds to nothing."""
    pond = make_pond(seed, diffusers=diffusers)
    held = pond.arguments
    layers = held["state"].shape[1]
    members, basin, conditions, air, _ = pond.groups()
    block, plumes = make_block(layers), make_plumes(layers, diffusers)
    fill_block(block, members, conditions.parameters, 0)
    column.forget_plumes(plumes)
    pressure = np.resize(held["weather"][ix.PRESSURE, 0], ix.LANES)
    count = column_plumes.solve_plumes(
        block.state,
        block.parameters,
        np.ones(diffusers, dtype=np.uint8),
        air,
        basin,
        pressure,
        plumes,
        make_rising(layers),
    )
    assert count == diffusers * ix.LANES
    withdrawn, target, sinking = plumes.withdrawn_m3_s, plumes.target_index, plumes.sinking_m3_s
    assert (withdrawn.sum(axis=(0, 1)) > 0.0).all()
    assert plumes.drawn_m3_s == pytest.approx(withdrawn.sum(axis=0), rel=1e-14)
    net = -withdrawn.sum(axis=0) + sinking[:-1] - sinking[1:]
    for m in range(ix.LANES):
        for row in range(plumes.row_count[m]):
            net[target[row, m], m] += withdrawn[row, :, m].sum()
    assert np.abs(net).max() < 1e-14 * layers * withdrawn.sum()


@pytest.mark.parametrize("diffusers", [2, 3])
def test_diffusers_alike_are_solved_once_and_move_as_much_together(diffusers):
    """Diffusers of one depth and one air move so many times the water of one."""
    pond = make_pond(5, diffusers=1, layers=12)
    moved = {}
    for count in (1, diffusers):
        for name in ("depth_m", "air_mol_s"):
            pond.arguments[name] = np.repeat(pond.arguments[name][:1], count)
        members, basin, conditions, air, _ = pond.groups()
        block, plumes = make_block(12), make_plumes(12, count)
        fill_block(block, members, conditions.parameters, 0)
        column.forget_plumes(plumes)
        solves = column_plumes.solve_plumes(
            block.state, block.parameters, np.ones(count, dtype=np.uint8), air, basin,
            np.full(ix.LANES, 101325.0), plumes, make_rising(12),
        )  # fmt: skip
        assert solves == ix.LANES
        moved[count] = plumes.drawn_m3_s.copy()
    assert moved[diffusers] == pytest.approx(diffusers * moved[1], rel=1e-14)


@settings(max_examples=30, deadline=None)
@given(seed=st.integers(0, 2**32 - 1), diffusers=st.integers(1, 3))
def test_a_substance_alike_everywhere_stays_alike(seed, diffusers):
    """Moving water can't make a gradient of what has none: the volume of no layer drifts."""
    pond = make_pond(seed, diffusers=diffusers, wind_m_s=8.0)
    pond.arguments["state"][ix.ALKALINITY] = 1.25
    pond.run()
    assert np.abs(pond.arguments["state"][ix.ALKALINITY] - 1.25).max() < 1e-11


# ---- a kernel with one flux left out must be refused ------------------------------------------------------

STEPS = {
    "surface_step": column_step.surface_step,
    "gas_step": column_step.gas_step,
    "oxygen_step": column_step.oxygen_step,
    "matter_step": column_step.matter_step,
    "warming_step": column_step.warming_step,
    "transport_step": column_transport.transport_step,
    "stir_mud": column_plumes.stir_mud,
    "light_rates": column_rates.light_rates,
    "mix_layers": column_mixing.mix_layers,
    "mix_from_the_top": column_mixing.mix_from_the_top,
    "diffusion_step": column_step.diffusion_step,
}


def _source(name):
    return textwrap.dedent(inspect.getsource(STEPS[name].py_func))


def _bookings():
    """Return every booking of every step, as (step, the line)."""
    return [
        (name, line.strip())
        for name in STEPS
        for line in _source(name).splitlines()
        if line.strip().startswith("books[")
    ]


# what changes the state, and the same without the change
APPLICATIONS = (
    ("surface_step", "t + heat / (ix.HEAT_CAPACITY_J_M3_K * volume_m3)", "t"),
    ("gas_step", "+ (quiet + boil) * saturation) / (1.0 + quiet + boil)",
     "+ quiet * saturation) / (1.0 + quiet)"),
    ("gas_step", "+ (quiet + boil) * saturation) / (1.0 + quiet + boil)",
     "+ boil * saturation) / (1.0 + boil)"),
    ("gas_step", "state[ix.CARBON, 0, j] = balanced", "pass"),
    ("gas_step", "state[ix.SULPHIDE, 0, j] = kept", "pass"),
    ("warming_step", "(light - to_bed * ground_m2)", "(light)"),
    ("warming_step", "(light - to_bed * ground_m2)", "(-to_bed * ground_m2)"),
    ("warming_step", "skin + (to_bed - down) / ix.SKIN_HEAT_J_M2_K", "skin - down / ix.SKIN_HEAT_J_M2_K"),
    ("warming_step", "skin + (to_bed - down) / ix.SKIN_HEAT_J_M2_K", "skin + to_bed / ix.SKIN_HEAT_J_M2_K"),
    ("warming_step", "(down - further)", "(down)"),
    ("warming_step", "deep + further / ix.DEEP_HEAT_J_M2_K", "deep"),
    ("oxygen_step", "(oxygen + made)", "(oxygen)"),
    ("oxygen_step", "(1.0 + breathing + bed + slow + used)", "(1.0 + bed + slow + used)"),
    ("oxygen_step", "(1.0 + breathing + bed + slow + used)", "(1.0 + breathing + slow + used)"),
    ("oxygen_step", "(1.0 + breathing + bed + slow + used)", "(1.0 + breathing + bed + used)"),
    ("oxygen_step", "(1.0 + breathing + bed + slow + used)", "(1.0 + breathing + bed + slow)"),
    ("oxygen_step", "fresh - used * after", "fresh"),
    ("matter_step", "(state[ix.FRESH, k, j] + left_over)", "state[ix.FRESH, k, j]"),
    ("matter_step", "/ (1.0 + sinking)", "/ 1.0"),
    ("matter_step", "made * (1.0 - kept) + turned", "turned"),
    ("matter_step", "made * (1.0 - kept) + turned * chlorophyll * 1e-3 * ix.BLOOM_DEMAND", "made * (1.0 - kept)"),
    ("gas_step", "state[ix.AMMONIA, 0, j] = rest", "pass"),
    ("oxygen_step", "debt_c -= slow * after", "pass"),
    ("oxygen_step", "after -= share * excess", "pass"),
    ("oxygen_step", "state[ix.DEBT_A, k, j] -= x", "pass"),
    ("oxygen_step", "after -= x", "pass"),
    ("oxygen_step", "sulphide -= x", "pass"),
    ("oxygen_step", "after -= ix.SULPHIDE_DEMAND * x", "pass"),
    ("oxygen_step", "sulphide + given", "sulphide"),
    ("oxygen_step", "debt_c + (1.0 - ix.SULPHIDE_OF_FLUX) * anoxic", "debt_c"),
    ("matter_step", "respired - fixed", "respired"),
    ("matter_step", "respired - fixed", "-fixed"),
    ("matter_step", "+ anoxic * BED_MOL_G", ""),
    ("matter_step", "(ammonia + mineralised + from_bed)", "(ammonia + from_bed)"),
    ("matter_step", "(ammonia + mineralised + from_bed)", "(ammonia + mineralised)"),
    ("matter_step", "(1.0 + wanted + nitrified)", "(1.0 + nitrified)"),
    ("matter_step", "(1.0 + wanted + nitrified)", "(1.0 + wanted)"),
    ("matter_step", "debt_c + owed", "debt_c"),
    ("matter_step", "(chlorophyll + grown)", "chlorophyll"),
    ("matter_step", "/ (1.0 + turned)", "/ 1.0"),
    ("matter_step", "chlorophyll - lost", "chlorophyll"),
    ("matter_step", "owed + lost * 1e-3 * ix.BLOOM_DEMAND", "owed"),
    ("transport_step", "- plumes.drawn_m3_s[k, j] * state[s, k, j]", ""),
    ("transport_step", "gain[plumes.target_index[p, j], j] += amount[j]", "pass"),
    ("transport_step", "flux[k, j] - flux[k + 1, j]", "flux[k, j]"),
    ("transport_step", "flux[k, j] - flux[k + 1, j]", "-flux[k + 1, j]"),
    ("transport_step", "state[ix.OXYGEN, k, j] += given / volume_m3[k]", "pass"),
    ("stir_mud", "state[ix.DEBT_C, k, m] += amount / volume_m3[k]", "pass"),
    ("light_rates", "entering - visible_w_m2[j]", "0.0"),
    ("mix_layers", "total += state[s, k, member] * volume_m3[k]", "total = state[s, k, member] * whole"),
    ("mix_from_the_top", "top = total[j] / whole_m3[j]", "top = total[j] / volume_m3[0]"),
    ("mix_from_the_top", "under[j] += share * (mean - under[j])", "pass"),
    ("diffusion_step", "state[s, k, j] + factors[ix.UPPER, k, j] * carried[j]", "state[s, k, j]"),
)  # fmt: skip


def spoilt_advance(name, old, new):
    """Return plain-Python `advance` in which one place of one step was changed."""
    source = _source(name)
    assert source.count(old) == 1, f"{old!r} stands {source.count(old)} times in {name}"
    changed = source.replace(old, new)
    # the decorator goes: it runs as plain Python, with the compiled relations
    changed = changed[changed.index("def ") :]
    step = STEPS[name].py_func
    world = dict(step.__globals__)
    exec(compile(changed, f"<{name} without {old}>", "exec"), world)

    def plain(function, names):
        code = function.py_func.__code__
        return types.FunctionType(code, {**function.py_func.__globals__, **names}, code.co_name)

    spoilt = {name: world[name]}
    if name == "mix_layers":
        spoilt["overturn"] = plain(column_mixing.overturn, spoilt)
    # and those that call it, up to `advance`
    for caller in ("fill_hour", "mix", "one_step", "run_hour", "advance"):
        spoilt[caller] = plain(getattr(column, caller), spoilt)
    return spoilt["advance"]


def busy_pond():
    """Return one small pond in which every flux of the books flows within the hour."""
    pond = make_pond(11, diffusers=1, hours=1, members=1, layers=10, wind_m_s=6.0)
    held = pond.arguments
    held["on"][:] = 1
    held["air_mol_s"][:] = 0.03
    held["weather"][ix.SHORTWAVE] = 600.0
    held["state"][ix.OXYGEN, :2] = 26.0  # over 2.5 × saturation
    held["state"][ix.OXYGEN, 2:] = np.linspace(5.0, 0.3, 8)[:, None]
    held["state"][ix.CHLOROPHYLL] = 60.0
    held["parameters"][ix.CHLOROPHYLL_0] = 60.0
    return pond


def test_the_unspoilt_kernel_as_plain_python_closes_its_budgets():
    """The way of spoiling does not spoil by itself, and every flux flows in the pond that it is tried on."""
    pond = busy_pond()
    line = "state[ix.AMMONIA, k, j] = left"
    before = pond.run(spoilt_advance("matter_step", line, line + " + 0.0"))
    assert max(balances(pond, before).values()) < ROUND_OFF
    assert (np.abs(pond.arguments["books"]) > 0.0).all()


@pytest.mark.parametrize(("name", "booking"), _bookings())
def test_a_flux_not_booked_breaks_a_balance(name, booking):
    """With any one line of the books left out, some balance is out by far more than round-off."""
    pond = busy_pond()
    before = pond.run(spoilt_advance(name, booking, "pass"))
    out = balances(pond, before)
    assert max(out.values()) > 100.0 * ROUND_OFF, out


@pytest.mark.parametrize(("name", "applied", "instead"), APPLICATIONS)
def test_a_flux_booked_but_not_applied_breaks_a_balance(name, applied, instead):
    """With any one change of the state left out, some balance is out by far more than round-off."""
    pond = busy_pond()
    before = pond.run(spoilt_advance(name, applied, instead))
    out = balances(pond, before)
    assert max(out.values()) > 100.0 * ROUND_OFF, out
