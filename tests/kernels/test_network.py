"""Random manifolds: mass conserved, never backwards, the same by other names and with a pipe cut in two."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from plumeline.kernels.network import (
    CHURCHILL,
    SOLVED,
    Network,
    chain_flow,
    chain_inlet_pressure,
    compressor_mass_flow,
    solve_balanced,
    solve_network,
)

AMBIENT_PA = 101325.0


@st.composite
def manifolds(draw, most=12):
    """Return a network of one trunk and up to ``most`` branches of one pipe each."""
    count = draw(st.integers(1, most))
    pipes = count + 1

    def numbers(low, high, size=pipes):
        return np.array(draw(st.lists(st.floats(low, high), min_size=size, max_size=size)))

    shut_off_pa = draw(st.floats(3e4, 2e5))
    free_kg_s = draw(st.floats(2e-4, 2e-2))
    return Network(
        length_m=numbers(0.5, 300.0),
        bore_m=numbers(0.005, 0.04),
        roughness_m=numbers(0.0, 5e-5),
        minor_loss_number=numbers(0.0, 500.0),
        temperature_k=numbers(275.0, 330.0),
        viscosity_pa_s=np.full(pipes, 1.84e-5),
        chain_start=np.arange(pipes + 1),
        outlet_pressure_pa=numbers(3e3, 9e4, count) + AMBIENT_PA,
        curve_pressure_pa=np.array([0.0, 0.5 * shut_off_pa, shut_off_pa]),
        curve_mass_flow_kg_s=np.array([free_kg_s, 0.7 * free_kg_s, 0.0]),
        ambient_pressure_pa=AMBIENT_PA,
        gas_constant_j_kg_k=287.055,
        friction_law=CHURCHILL,
    )


def solved(net):
    """Return state, pressures and flows."""
    flow_kg_s = np.zeros(len(net.outlet_pressure_pa))
    return *solve_network(net, flow_kg_s), flow_kg_s


@settings(max_examples=300, deadline=None)
@given(manifolds())
def test_mass_is_conserved_and_never_flows_backwards(net):
    """The branches take what the compressor gives; a branch flows, or is dead and under its own pressure."""
    state, compressor_pa, manifold_pa, flow_kg_s = solved(net)
    if state != SOLVED:
        assert compressor_mass_flow(net, net.outlet_pressure_pa.min() - AMBIENT_PA) == 0.0
        return
    given_kg_s = compressor_mass_flow(net, compressor_pa - AMBIENT_PA)
    assert flow_kg_s.sum() == pytest.approx(given_kg_s, rel=1e-6, abs=1e-12)
    assert (flow_kg_s >= 0.0).all()
    dead = flow_kg_s == 0.0
    assert (net.outlet_pressure_pa[dead] >= manifold_pa).all()
    assert (net.outlet_pressure_pa[~dead] < manifold_pa).all()
    for branch in np.flatnonzero(~dead):
        inlet_pa = chain_inlet_pressure(
            net, int(branch) + 1, float(flow_kg_s[branch]), float(net.outlet_pressure_pa[branch])
        )
        assert inlet_pa == pytest.approx(manifold_pa, rel=1e-9)


def reordered(net, order):
    """Return the network with its branches in another order."""
    pipes = np.array([0, *(np.array(order) + 1)])
    taken = {
        name: getattr(net, name)[pipes]
        for name in ("length_m", "bore_m", "roughness_m", "minor_loss_number", "temperature_k")
    }
    return net._replace(**taken, outlet_pressure_pa=net.outlet_pressure_pa[order])


@settings(max_examples=100, deadline=None)
@given(st.data(), manifolds())
def test_other_names_give_the_same_answer(data, net):
    """The order in which branches are listed changes nothing."""
    order = data.draw(st.permutations(range(len(net.outlet_pressure_pa))))
    state, compressor_pa, manifold_pa, flow_kg_s = solved(net)
    again, other_compressor_pa, other_manifold_pa, other_kg_s = solved(reordered(net, list(order)))
    assert state == again
    if state == SOLVED:
        assert other_compressor_pa == pytest.approx(compressor_pa, rel=1e-9)
        assert other_manifold_pa == pytest.approx(manifold_pa, rel=1e-9)
        assert other_kg_s == pytest.approx(flow_kg_s[list(order)], rel=1e-5, abs=1e-11)


def cut(net, pipe, share):
    """Return the network with one pipe cut in two of the same kind."""

    def doubled(values, parts):
        return np.concatenate([values[:pipe], parts, values[pipe + 1 :]])

    length, loss = net.length_m[pipe], net.minor_loss_number[pipe]
    same = {
        name: doubled(getattr(net, name), np.full(2, getattr(net, name)[pipe]))
        for name in ("bore_m", "roughness_m", "temperature_k", "viscosity_pa_s")
    }
    start = net.chain_start.copy()
    start[pipe + 1 :] += 1
    return net._replace(
        length_m=doubled(net.length_m, np.array([share * length, (1.0 - share) * length])),
        minor_loss_number=doubled(net.minor_loss_number, np.array([loss, 0.0])),
        chain_start=start,
        **same,
    )


@settings(max_examples=100, deadline=None)
@given(st.data(), manifolds(most=6), st.floats(0.05, 0.95))
def test_a_pipe_cut_in_two_loses_no_flow(data, net, share):
    """Two pieces of one pipe in series carry what the whole one carries."""
    pipe = data.draw(st.integers(0, len(net.length_m) - 1))
    state, _compressor_pa, manifold_pa, flow_kg_s = solved(net)
    again, _other_pa, other_manifold_pa, other_kg_s = solved(cut(net, pipe, share))
    assert state == again
    if state == SOLVED:
        assert other_manifold_pa == pytest.approx(manifold_pa, rel=1e-8)
        assert other_kg_s == pytest.approx(flow_kg_s, rel=1e-5, abs=1e-11)


@settings(max_examples=100, deadline=None)
@given(manifolds(most=6), st.floats(1.0, 50.0))
def test_more_resistance_never_gives_more_air(net, factor):
    """A rougher fitting on the trunk lowers the sum of all flows, or leaves it."""
    state, _c, _m, flow_kg_s = solved(net)
    loss = net.minor_loss_number.copy()
    loss[0] = factor * (loss[0] + 1.0)
    _state, _c, _m, less_kg_s = solved(net._replace(minor_loss_number=loss))
    if state == SOLVED:
        assert less_kg_s.sum() <= flow_kg_s.sum() * (1.0 + 1e-9)


@settings(max_examples=100, deadline=None)
@given(manifolds(most=6))
def test_valves_that_burn_the_balanced_drops_give_the_balanced_flows(net):
    """The balanced point, its drops turned into valve losses, is an operating point of the open solver."""
    count = len(net.outlet_pressure_pa)
    port_pa = np.zeros(count)
    state, unit, compressor_pa, manifold_pa = solve_balanced(net, np.ones(count), port_pa)
    if state != SOLVED or not np.isfinite(port_pa).all():
        return
    # The reverse way is ill-posed where a thousandth of a pascal makes the flow.
    head = (4.0 * unit / (math.pi * net.bore_m[1:] ** 2)) ** 2 * net.gas_constant_j_kg_k
    head = head * net.temperature_k[1:]
    if (head < 1e4).any():
        return
    loss = net.minor_loss_number.copy()
    loss[1:] += np.maximum((manifold_pa**2 - port_pa**2) / head - 2.0 * np.log(manifold_pa / port_pa), 0.0)
    _state, again_pa, _m, flow_kg_s = solved(net._replace(minor_loss_number=loss))
    assert again_pa == pytest.approx(compressor_pa, rel=1e-7)
    assert flow_kg_s == pytest.approx(np.full(count, unit), rel=1e-4)


@pytest.mark.parametrize("count", [1, 2, 30, 500])
def test_one_to_five_hundred_branches(count):
    """Many branches, most of them dead, are solved: mass conserved to 1e-9."""
    pipes = count + 1
    net = Network(
        length_m=np.full(pipes, 40.0),
        bore_m=np.array([0.035, *np.full(count, 0.0127)]),
        roughness_m=np.full(pipes, 1.5e-6),
        minor_loss_number=np.zeros(pipes),
        temperature_k=np.full(pipes, 293.0),
        viscosity_pa_s=np.full(pipes, 1.81e-5),
        chain_start=np.arange(pipes + 1),
        outlet_pressure_pa=AMBIENT_PA + np.linspace(2e4, 6e4, count),
        curve_pressure_pa=np.array([0.0, 1e5]),
        curve_mass_flow_kg_s=np.array([0.01, 0.002]),
        ambient_pressure_pa=AMBIENT_PA,
        gas_constant_j_kg_k=287.055,
        friction_law=CHURCHILL,
    )
    state, compressor_pa, manifold_pa, flow_kg_s = solved(net)
    assert state == SOLVED
    given_kg_s = compressor_mass_flow(net, compressor_pa - AMBIENT_PA)
    assert flow_kg_s.sum() == pytest.approx(given_kg_s, rel=1e-9)
    assert ((flow_kg_s > 0.0) == (net.outlet_pressure_pa < manifold_pa)).all()


def test_flow_stops_at_the_speed_of_sound():
    """A short pipe to a far lower pressure is choked: p2² = G² R T at its outlet, the isothermal limit."""
    net = Network(
        length_m=np.array([1.0, 0.05]),
        bore_m=np.array([0.02, 0.01]),
        roughness_m=np.zeros(2),
        minor_loss_number=np.zeros(2),
        temperature_k=np.full(2, 293.15),
        viscosity_pa_s=np.full(2, 1.8e-5),
        chain_start=np.array([0, 1, 2]),
        outlet_pressure_pa=np.array([AMBIENT_PA]),
        curve_pressure_pa=np.array([0.0]),
        curve_mass_flow_kg_s=np.array([1.0]),
        ambient_pressure_pa=AMBIENT_PA,
        gas_constant_j_kg_k=287.055,
        friction_law=CHURCHILL,
    )
    flow_kg_s = chain_flow(net, 1, 10.0 * AMBIENT_PA, AMBIENT_PA)
    flux = flow_kg_s / (math.pi / 4.0 * 0.01**2)
    assert flux * math.sqrt(287.055 * 293.15) == pytest.approx(AMBIENT_PA, rel=1e-9)


@pytest.mark.parametrize(
    ("gauge_pa", "expected_kg_s"),
    [(-5.0, 5.0), (0.0, 5.0), (50.0, 4.0), (100.0, 3.0), (250.0, 1.5), (400.0, 0.0)],
)
def test_the_curve_is_straight_between_its_points_and_beyond(gauge_pa, expected_kg_s):
    """Linear between points, constant before the first, carried on beyond the last until nothing is left."""
    net = Network(*[np.zeros(1)] * 6, np.zeros(1, np.int64), np.zeros(1), np.array([0.0, 100.0, 200.0]),
                  np.array([5.0, 3.0, 2.0]), AMBIENT_PA, 287.055, CHURCHILL)  # fmt: skip
    assert compressor_mass_flow(net, gauge_pa) == pytest.approx(expected_kg_s)
