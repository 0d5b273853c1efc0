"""The plume kernel keeps its books, follows physics when pushed, and finds its layers."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from plumeline.kernels import relations
from plumeline.kernels.plume import (
    END_DEPTH,
    END_NITROGEN,
    END_OXYGEN,
    END_SALINITY,
    END_TEMPERATURE,
    FLOW,
    NITROGEN_LEFT,
    OXYGEN_LEFT,
    OXYGEN_UPTAKE,
    START_DEPTH,
    SURFACED,
    fall,
    fill_layers,
    rest_depth,
)
from plumeline.kernels.plume_layers import MOST_PLUMES, plumes_over_layers, workspace
from plumeline.kernels.rise import NITROGEN
from plumeline.kernels.solubility import PROGRAM_LAW, WUEST_LAW, oxygen_share, solubilities
from plumeline.science import plume as science
from plumeline.science.gases import do_saturation_benson_krause_1984

MOL_S_PER_SCFM = 0.01962
OXYGEN_G_MOL = 31.9988


def solve(
    temperature, *, depth=3.66, diffuser=None, scfm=1.0, salinity=None, oxygen=None, alpha=0.075, froude=1.6,
    lam=0.8, source=0.115, bubble=1e-3, transfer=1.0, pressure=101325.0, reentrain=0.0, steps=1,
):  # fmt: skip
    """Solve one diffuser over equal layers; return everything that came of it."""
    temperature = np.asarray(temperature, dtype=float)
    count = len(temperature)
    interface = np.linspace(0.0, depth, count + 1)
    salinity = np.zeros(count) if salinity is None else np.asarray(salinity, dtype=float)
    oxygen = np.zeros(count) if oxygen is None else np.asarray(oxygen, dtype=float)
    work = workspace(count)
    withdrawn = np.full((MOST_PLUMES, count), np.nan)
    target = np.zeros(MOST_PLUMES, dtype=np.int64)
    gained = np.full(MOST_PLUMES, np.nan)
    result = plumes_over_layers(
        interface, temperature, salinity, oxygen, depth if diffuser is None else diffuser,
        scfm * MOL_S_PER_SCFM, alpha, froude, lam, source, bubble, transfer, pressure, reentrain, steps,
        work, withdrawn, target, gained,
    )  # fmt: skip
    return {
        "count": result[0], "surfaced": result[1], "flow": result[2], "peel": result[3], "share": result[4],
        "withdrawn": withdrawn, "target": target, "gained": gained, "records": work[2][: result[0]],
        "ambient": work[0], "temperature": temperature, "salinity": salinity, "oxygen": oxygen,
        "air": scfm * MOL_S_PER_SCFM, "interface": interface,
    }  # fmt: skip


def summer(count=24, depth=3.66):
    """Return temperatures of a pond that is warm above 3 ft and cool below 5 ft."""
    middle = (np.arange(count) + 0.5) * depth / count
    return np.interp(middle, [0.914, 1.524, 3.05], [30.0, 23.0, 22.0])


@st.composite
def ponds(draw):
    """Draw a layered pond and a diffuser."""
    count = draw(st.integers(4, 30))
    steps = draw(st.lists(st.floats(0.0, 3.0), min_size=count - 1, max_size=count - 1))
    temperature = np.maximum(30.0 - np.concatenate([[0.0], np.cumsum(steps)]), 5.0)
    depth = draw(st.floats(1.0, 8.0))
    return {
        "temperature": temperature,
        "depth": depth,
        "diffuser": depth * draw(st.floats(0.5, 1.0)),
        "scfm": draw(st.floats(0.02, 6.0)),
        "salinity": np.sort(draw(st.lists(st.floats(0.0, 1.0), min_size=count, max_size=count))),
        "oxygen": draw(st.lists(st.floats(0.0, 15.0), min_size=count, max_size=count)),
        "alpha": draw(st.floats(0.04, 0.13)),
        "froude": draw(st.floats(0.8, 2.2)),
        "lam": draw(st.floats(0.6, 1.0)),
        "source": draw(st.floats(0.04, 0.3)),
        "bubble": draw(st.floats(0.3e-3, 6e-3)),
        "transfer": draw(st.floats(0.2, 1.0)),
        "pressure": draw(st.floats(8e4, 1.05e5)),
    }


@settings(max_examples=150, deadline=None)
@given(ponds())
def test_oxygen_nitrogen_heat_and_salt_are_conserved(pond):
    """What a plume draws from layers and loses from bubbles is what it carries at its end, to round-off.

    The books are made here from the layers and the amounts drawn; the kernel integrates fluxes.
    """
    found = solve(**pond)
    gas_oxygen = oxygen_share(PROGRAM_LAW) * found["air"]
    gas_nitrogen = found["air"] - gas_oxygen
    for p, record in enumerate(found["records"]):
        drawn = found["withdrawn"][p]
        flow = record[FLOW]
        assert drawn.sum() == pytest.approx(flow, rel=1e-12)
        assert (drawn * found["temperature"]).sum() == pytest.approx(
            flow * record[END_TEMPERATURE], rel=1e-11
        )
        assert (drawn * found["salinity"]).sum() == pytest.approx(
            flow * record[END_SALINITY], rel=1e-10, abs=1e-15
        )
        in_water = (drawn * found["oxygen"]).sum() / OXYGEN_G_MOL
        carried = flow * record[END_OXYGEN] + record[OXYGEN_LEFT]
        assert in_water + gas_oxygen == pytest.approx(carried, rel=1e-11)
        in_water = (drawn * found["ambient"][:, NITROGEN]).sum()
        carried = flow * record[END_NITROGEN] + record[NITROGEN_LEFT]
        assert in_water + gas_nitrogen == pytest.approx(carried, rel=1e-11)
        assert found["gained"][p] == pytest.approx(record[OXYGEN_UPTAKE] * OXYGEN_G_MOL, rel=1e-12)
        gas_oxygen, gas_nitrogen = record[OXYGEN_LEFT], record[NITROGEN_LEFT]


@settings(max_examples=150, deadline=None)
@given(ponds(), st.floats(0.0, 1.0))
def test_every_plume_is_finite_and_physical(pond, reentrain):
    """All stays finite, nothing is drawn from below the diffuser, temperatures lie within the pond's."""
    found = solve(**pond, reentrain=reentrain)
    assert 1 <= found["count"] <= MOST_PLUMES
    assert np.isfinite(found["records"]).all()
    assert (found["withdrawn"] >= 0.0).all()
    below = found["interface"][:-1] >= pond["diffuser"]
    assert (found["withdrawn"][:, below] == 0.0).all()
    records = found["records"]
    assert (records[:, OXYGEN_LEFT] >= 0.0).all()
    assert (records[:, NITROGEN_LEFT] > 0.0).all()
    assert (np.diff(records[:, START_DEPTH]) < 0.0).all()
    spread = found["temperature"]
    assert (records[:, END_TEMPERATURE] <= spread.max() + 1e-9).all()
    assert (records[:, END_TEMPERATURE] >= spread.min() - 1e-9).all()
    assert (found["target"][: found["count"]] >= 0).all()
    assert (found["target"][found["count"] :] == -1).all()
    assert (found["withdrawn"][found["count"] :] == 0.0).all()


@settings(max_examples=100, deadline=None)
@given(ponds())
def test_peeled_water_rests_where_it_is_as_dense(pond):
    """The layer that gets a peel is as dense as its water, or the deepest; the one above is lighter."""
    found = solve(**pond)
    density = relations.density_chen_millero_1986
    for p, record in enumerate(found["records"]):
        if record[SURFACED] > 0.0:
            assert found["target"][p] == 0
            continue
        water = density(record[END_TEMPERATURE], record[END_SALINITY])
        around = np.array(
            [density(t, s) for t, s in zip(found["temperature"], found["salinity"], strict=True)]
        )
        k = found["target"][p]
        assert around[k] >= water - 2e-6 or k == len(around) - 1
        at = np.searchsorted(found["interface"][1:], record[END_DEPTH], side="right")
        assert k >= at
        assert (around[at:k] < water).all()


def test_gas_taken_up_is_not_lost_from_the_books():
    """A book that leaves the bubbles' oxygen out does not close: the check above can fail."""
    found = solve(np.full(12, 25.0))
    record = found["records"][0]
    in_water = (found["withdrawn"][0] * found["oxygen"]).sum() / OXYGEN_G_MOL
    assert record[FLOW] * record[END_OXYGEN] - in_water > 0.1 * oxygen_share(PROGRAM_LAW) * found["air"]


@pytest.mark.parametrize(
    ("name", "values"),
    [
        ("scfm", np.geomspace(0.05, 6.0, 25)),
        ("alpha", np.linspace(0.03, 0.15, 25)),
        ("depth", np.linspace(1.0, 8.0, 25)),
        ("froude", np.linspace(0.8, 2.4, 25)),
        ("source", np.linspace(0.04, 0.4, 25)),
    ],
)
def test_flow_grows_in_water_of_one_temperature(name, values):
    """More air, entrainment, depth, start velocity or source area lift more water, over the whole range."""
    flows = [solve(np.full(24, 25.0), **{name: value})["flow"] for value in values]
    assert (np.diff(flows) > 0.0).all()
    assert np.isfinite(flows).all()


@pytest.mark.parametrize(
    ("name", "values", "sign"),
    [
        ("depth", np.linspace(1.0, 8.0, 25), 1),
        ("scfm", np.geomspace(0.05, 6.0, 25), -1),
        ("transfer", np.linspace(0.1, 1.0, 25), 1),
    ],
)
def test_transfer_follows_depth_air_and_surface(name, values, sign):
    """The share of oxygen taken up grows with depth and a clean surface, and falls with air."""
    shares = [solve(np.full(24, 25.0), **{name: value})["share"] for value in values]
    assert (sign * np.diff(shares) > 0.0).all()
    assert min(shares) > 0.0
    assert max(shares) < 1.0


def test_more_air_turns_a_stall_into_a_boil():
    """In a summer pond a little air stalls, more air stalls higher up, enough air breaks through."""
    tries = [solve(summer(), scfm=scfm) for scfm in (0.1, 0.2, 0.3, 0.4, 0.5, 0.7, 1.0, 2.0)]
    peels = [found["peel"] for found in tries]
    stalled = [peel for peel in peels if not math.isnan(peel)]
    assert len(stalled) >= 3
    assert stalled == sorted(stalled, reverse=True)
    assert all(math.isnan(peel) for peel in peels[len(stalled) :])
    assert math.isnan(peels[-1])


def test_bubbles_of_a_stalled_plume_start_another():
    """After a stall a second plume starts where the first ended, with the gas that is left, and surfaces."""
    found = solve(summer(), scfm=0.3)
    first, second = found["records"]
    assert first[SURFACED] == 0.0
    assert second[SURFACED] == 1.0
    assert second[START_DEPTH] == first[END_DEPTH]
    assert second[OXYGEN_UPTAKE] + second[OXYGEN_LEFT] == pytest.approx(first[OXYGEN_LEFT], rel=1e-12)
    assert found["share"] > first[OXYGEN_UPTAKE] / (first[OXYGEN_UPTAKE] + first[OXYGEN_LEFT])


def test_one_step_a_layer_is_enough():
    """One step a layer of 15 cm is within 0.1 % of sixteen, in flow, transfer and depth of the peel."""
    for scfm in (0.2, 0.3, 0.7, 1.5):
        one, many = (solve(summer(), scfm=scfm, steps=steps) for steps in (1, 16))
        assert one["flow"] == pytest.approx(many["flow"], rel=1e-3)
        assert one["share"] == pytest.approx(many["share"], rel=2e-3)
        if not math.isnan(many["peel"]):
            assert one["peel"] == pytest.approx(many["peel"], abs=2e-3)


def test_one_midpoint_step_a_layer_moves_the_same_water_within_two_percent():
    """Over 100 drawn waters together within 0.2 %, and layer by layer within 2 % in nineteen of twenty.

    It is what the column uses; design §5 asks for 2 %.
    """
    rng = np.random.default_rng(3)
    flows, moved = [], []
    for _ in range(100):
        middle, width = rng.uniform(1.0, 2.5), rng.uniform(0.15, 0.8)
        depth = (np.arange(24) + 0.5) * 0.15
        water = rng.uniform(24.0, 31.0) - rng.uniform(0.0, 10.0) / (1.0 + np.exp(-(depth - middle) / width))
        kwargs = {"scfm": rng.uniform(0.2, 2.0), "alpha": rng.uniform(0.05, 0.115)}
        quick, fine = (solve(water, steps=steps, **kwargs) for steps in (0, 16))
        flows.append((quick["withdrawn"].sum(), fine["withdrawn"].sum()))
        off = np.abs(quick["withdrawn"].sum(axis=0) - fine["withdrawn"].sum(axis=0)).sum()
        moved.append(off / flows[-1][1])
    quick, fine = np.array(flows).T
    assert quick.sum() == pytest.approx(fine.sum(), rel=2e-3)
    assert np.quantile(np.abs(quick / fine - 1.0), 0.95) < 5e-3
    assert np.quantile(moved, 0.95) < 0.02


def test_layers_of_15_cm_are_fine_enough():
    """24 layers lift within 1 % of what 384 layers lift, whether the plume stalls or not."""
    for scfm in (0.2, 0.3, 0.7, 1.5):
        coarse, fine = (solve(summer(count), scfm=scfm) for count in (24, 384))
        assert coarse["flow"] == pytest.approx(fine["flow"], rel=0.01)


def test_saturated_water_and_shallow_bubbles_exchange_little():
    """Over half a metre, saturated water takes under 5 % of what water without oxygen takes."""
    saturated = do_saturation_benson_krause_1984(25.0, 0.0, 101325.0)
    lean = solve(np.full(4, 25.0), depth=0.5)
    full = solve(np.full(4, 25.0), depth=0.5, oxygen=np.full(4, saturated))
    assert 0.0 < full["share"] < 0.05 * lean["share"]


def test_supersaturated_water_loses_oxygen_to_the_bubbles():
    """Water of 20 mg/L at 25 °C gives oxygen to the bubbles: the gain is negative."""
    assert solve(np.full(12, 25.0), oxygen=np.full(12, 20.0))["gained"][0] < 0.0


def test_no_air_gives_no_plume():
    """Without air there is no plume and nothing is drawn."""
    found = solve(np.full(12, 25.0), scfm=0.0)
    assert found["count"] == 0
    assert found["withdrawn"].sum() == 0.0


def test_falling_water_takes_water_along_and_rests_higher():
    """With re-entrainment the peel draws from the layers of its fall and comes to rest no deeper."""
    plain, mixed = (solve(summer(), scfm=0.3, reentrain=share) for share in (0.0, 1.0))
    more = mixed["withdrawn"][0] - plain["withdrawn"][0]
    assert more.min() >= -1e-15
    assert 0.0 < more.sum() <= plain["flow"] * (1 + 1e-12)
    assert mixed["target"][0] <= plain["target"][0]
    assert more[mixed["target"][0] + 1 :].sum() == 0.0


def test_rest_depth_is_exact_in_a_straight_gradient():
    """Water half way between the densities of two interfaces rests half way between them."""
    interface = np.array([0.0, 1.0, 3.0])
    ambient = np.zeros((2, 10))
    ambient[:, 8] = 996.0, 997.0
    ambient[:, 9] = 1.0, 0.5
    assert rest_depth(0.2, 997.5, interface, ambient) == (pytest.approx(2.0, abs=1e-5), 1)
    assert rest_depth(0.2, 996.1, interface, ambient) == (0.2, 0)
    assert rest_depth(0.2, 999.0, interface, ambient) == (3.0, 1)


def test_falling_water_that_is_light_stays():
    """Water lighter than the layer where it is let go stays there and takes nothing along."""
    ambient = np.zeros((3, 10))
    fill_layers(np.array([25.0, 20.0, 15.0]), np.zeros(3), np.zeros(3), 101325.0, PROGRAM_LAW, ambient)
    drawn = np.zeros(3)
    assert fall(0.5, 0.1, 26.0, 0.0, 1.0, np.array([0.0, 1.0, 2.0, 3.0]), ambient, drawn) == (0.5, 0)
    assert drawn.sum() == 0.0


def test_the_program_law_comes_to_rest_at_saturation():
    """A bubble of air at the surface is in equilibrium with water at Benson & Krause saturation, to 1e-3."""
    for temperature in (5.0, 15.0, 25.0, 30.0):
        for pressure in (101325.0, 85000.0):
            K_O, _, e_s = solubilities(temperature, 0.0, PROGRAM_LAW)
            at_rest = K_O * oxygen_share(PROGRAM_LAW) * (pressure - e_s) * OXYGEN_G_MOL
            assert at_rest == pytest.approx(
                do_saturation_benson_krause_1984(temperature, 0.0, pressure), rel=1e-3
            )


def test_the_two_laws_are_near_each_other():
    """The published polynomials lie within 4 % of the program's law from 0 to 35 °C (reference notes)."""
    for temperature in np.linspace(0.0, 35.0, 36):
        K_O, K_N, _ = solubilities(temperature, 0.0, PROGRAM_LAW)
        k_o, k_n, vapour = solubilities(temperature, 0.0, WUEST_LAW)
        assert k_o == pytest.approx(K_O, rel=0.04)
        assert k_n == pytest.approx(K_N, rel=0.04)
        assert vapour == 0.0


@pytest.mark.parametrize(
    "name",
    [
        "slip_velocity_wuest_1992",
        "mass_transfer_wuest_1992",
        "bubble_rate_wuest_1992",
        "initial_velocity_wuest_1992",
    ],
)
def test_compiled_relations_equal_the_plain_ones(name):
    """The compiled twin gives the plain function's value to 1e-14 over its range."""
    generator = np.random.default_rng(7)
    for _ in range(200):
        arguments = [generator.uniform(low, high) for low, high in science.RANGE[name].values()]
        assert getattr(relations, name)(*arguments) == pytest.approx(
            getattr(science, name)(*arguments), rel=1e-14
        )


def test_initial_velocity_satisfies_its_equation():
    """w₀ = Fr √(2 λb₀ g (ρ_a − ρ_p)/ρ_p) holds for the velocity returned, over the whole range."""
    generator = np.random.default_rng(8)
    for _ in range(300):
        froude, radius, flow, slip = (
            generator.uniform(0.5, 3.0), generator.uniform(0.02, 1.0),
            10.0 ** generator.uniform(-7, -1.5), generator.uniform(0.0, 0.4),
        )  # fmt: skip
        w = science.initial_velocity_wuest_1992(froude, radius, flow, slip)
        void = flow / (math.pi * radius**2 * (w + slip))
        assert 0.0 < void < 1.0
        assert w == pytest.approx(froude * math.sqrt(2 * radius * 9.80665 * void / (1 - void)), rel=1e-8)


def test_a_diffuser_on_an_interface_lifts_water():
    """A membrane a rounding error under an interface starts like one a millimetre below it."""
    pond = {"depth": 1.875, "alpha": 0.125, "froude": 1.0, "lam": 1.0, "source": 0.25, "pressure": 80000.0}
    on_it = solve(np.full(22, 30.0), diffuser=0.9375, **pond)
    below = solve(np.full(22, 30.0), diffuser=0.9385, **pond)
    assert on_it["flow"] == pytest.approx(below["flow"], rel=0.01)
