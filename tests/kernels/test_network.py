"""Random air networks: mass conserved, never backwards, the same by other names and with a pipe cut in two."""

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from tests.air_trees import AMBIENT_PA, PIECES, arrays, manifold, solved, trees

from plumeline.kernels.network import compressor_line, compressor_mass_flow, outlet_loss, piece_inlet_pressure
from plumeline.kernels.network_balance import solve_balanced
from plumeline.kernels.network_newton import (
    ALL_DEAD,
    SOLVED,
    UNSOLVED,
    bubbling_pressure,
    find_live,
    shut_off_pressure,
)


def live_nodes(net):
    """Return whether air can come to each node."""
    live = np.zeros(len(net.parent), dtype=np.bool_)
    find_live(net, live)
    return live


@settings(max_examples=2000, deadline=None)
@given(trees())
def test_mass_is_conserved_and_never_flows_backwards(net):
    """Every law of every part is met; an outlet flows, or is dead and its node under its own pressure."""
    state, outlet_kg_s, pressure_pa, flow_kg_s = solved(net)
    live = live_nodes(net)
    if state == ALL_DEAD:
        reach = [bubbling_pressure(net, k) for k, node in enumerate(net.outlet_node) if live[node]]
        assert all(pa >= shut_off_pressure(net) for pa in reach)
        assert not flow_kg_s.any()
        return
    assert state == SOLVED
    scale = net.curve_mass_flow_kg_s[0]
    assert flow_kg_s[0] == pytest.approx(
        compressor_mass_flow(net, pressure_pa[0] - AMBIENT_PA), abs=1e-9 * scale
    )
    assert (outlet_kg_s >= 0.0).all()
    behind = np.zeros(len(flow_kg_s))
    np.add.at(behind, net.outlet_node, outlet_kg_s)
    np.add.at(behind, net.parent[1:], flow_kg_s[1:])
    assert behind == pytest.approx(flow_kg_s, rel=1e-12)
    for node in range(1, len(flow_kg_s)):
        if flow_kg_s[node] > 0.0:
            inlet_pa = piece_inlet_pressure(net, node, float(flow_kg_s[node]), float(pressure_pa[node]))
            assert inlet_pa == pytest.approx(pressure_pa[net.parent[node]], rel=1e-8)
    for k, node in enumerate(net.outlet_node):
        needed_pa = net.outlet_pressure_pa[k] + outlet_loss(net, k, float(outlet_kg_s[k]))[0]
        if outlet_kg_s[k] > 0.0:
            assert live[node]
            assert pressure_pa[node] == pytest.approx(needed_pa, rel=1e-8)
        elif live[node]:
            assert pressure_pa[node] <= needed_pa * (1.0 + 1e-8)


def renumbered(net, order):
    """Return the network with its nodes in another order, parents still before children."""
    new = np.empty(len(order), dtype=np.int64)
    new[order] = np.arange(len(order))
    parent = np.array([new[net.parent[old]] if old > 0 else -1 for old in order])
    taken = {name: getattr(net, name)[order] for name in PIECES}
    return net._replace(parent=parent, outlet_node=new[net.outlet_node], **taken), new


def another_order(net, keys):
    """Return an order of the nodes in which parents come first, chosen by a number for each."""
    order, ready = [], [0]
    while ready:
        node = min(ready, key=lambda item: keys[item])
        ready.remove(node)
        order.append(node)
        ready += [int(child) for child in np.flatnonzero(net.parent == node)]
    return order


@settings(max_examples=500, deadline=None)
@given(trees(), st.integers(0, 2**32 - 1))
def test_other_names_give_the_same_answer(net, seed):
    """The order in which the parts are listed changes nothing."""
    order = another_order(net, np.random.default_rng(seed).random(len(net.parent)))
    again, new = renumbered(net, order)
    state, outlet_kg_s, pressure_pa, flow_kg_s = solved(net)
    other_state, other_outlet_kg_s, other_pa, other_kg_s = solved(again)
    assert state == other_state
    scale = net.curve_mass_flow_kg_s[0]
    assert other_outlet_kg_s == pytest.approx(outlet_kg_s, rel=1e-6, abs=1e-7 * scale)
    assert other_kg_s[new] == pytest.approx(flow_kg_s, rel=1e-6, abs=1e-7 * scale)
    assert other_pa[new] == pytest.approx(pressure_pa, rel=1e-7)


def cut(net, piece, share):
    """Return the network with one piece cut in two of the same kind, the second new."""
    count = len(net.parent)
    parent = np.array([*net.parent, net.parent[piece]])
    rows = {name: np.append(getattr(net, name), getattr(net, name)[piece]) for name in PIECES}
    rows["length_m"][[piece, count]] = share * net.length_m[piece], (1.0 - share) * net.length_m[piece]
    rows["loss_number"][count] = 0.0
    rows["threshold_pa"][count] = 0.0
    # the new node stands between parent and piece, and takes the parent's place in the order
    parent[piece] = count
    tall = net._replace(parent=parent, **rows)
    order, ready = [], [0]
    while ready:
        node = ready.pop()
        order.append(node)
        ready += [int(child) for child in np.flatnonzero(parent == node)]
    return renumbered(tall, order)


@settings(max_examples=500, deadline=None)
@given(st.data(), trees(), st.floats(0.05, 0.95))
def test_a_pipe_cut_in_two_loses_no_flow(data, net, share):
    """Two pieces of one pipe in series carry what the whole one carries."""
    piece = data.draw(st.integers(1, len(net.parent) - 1))
    state, outlet_kg_s, pressure_pa, _flow_kg_s = solved(net)
    again, new = cut(net, piece, share)
    other_state, other_outlet_kg_s, other_pa, other_kg_s = solved(again)
    assert state == other_state
    # past the speed of sound a pipe's end is its own limit, and each piece has an end
    nodes = np.flatnonzero(other_kg_s[1:] > 0.0) + 1
    flux = 4.0 * other_kg_s[nodes] / (math.pi * again.bore_m[nodes] ** 2)
    ends = other_pa[nodes] + again.threshold_pa[nodes]
    assume((flux**2 * again.gas_constant_j_kg_k * again.temperature_k[nodes] < 0.98 * ends**2).all())
    scale = net.curve_mass_flow_kg_s[0]
    assert other_outlet_kg_s == pytest.approx(outlet_kg_s, rel=1e-6, abs=1e-7 * scale)
    if state == SOLVED:
        assert other_pa[new[: len(pressure_pa)]] == pytest.approx(pressure_pa, rel=1e-7)


@settings(max_examples=300, deadline=None)
@given(trees(), st.integers(0, 24), st.floats(1.0, 50.0))
def test_more_resistance_never_gives_more_air(net, piece, factor):
    """A rougher fitting anywhere lowers what the compressor gives, or leaves it."""
    piece = 1 + piece % (len(net.parent) - 1)
    loss = net.loss_number.copy()
    loss[piece] = factor * (loss[piece] + 1.0)
    before, after = solved(net), solved(net._replace(loss_number=loss))
    assert after[3][0] <= before[3][0] * (1.0 + 1e-7)


@settings(max_examples=300, deadline=None)
@given(trees())
def test_balanced_flows_are_met_and_the_neediest_way_burns_nothing(net):
    """Each open outlet gets an equal share; from some outlet to the compressor no pressure is left over."""
    live = live_nodes(net)
    weight = live[net.outlet_node].astype(float)
    assume(weight.any())
    nodes = len(net.parent)
    flow_kg_s, needed_pa = np.zeros(nodes), np.zeros(nodes)
    state, unit = solve_balanced(net, weight, flow_kg_s, needed_pa)
    if state == ALL_DEAD:
        assert max(bubbling_pressure(net, k) for k in np.flatnonzero(weight)) >= shut_off_pressure(net)
        return
    assert flow_kg_s[0] == pytest.approx(unit * weight.sum(), rel=1e-12)
    given_kg_s = compressor_mass_flow(net, needed_pa[0] - AMBIENT_PA)
    assert flow_kg_s[0] == pytest.approx(given_kg_s, rel=1e-8)
    node = 0
    while not (net.outlet_node == node).any() or (net.parent == node).any():
        needs = {
            int(child): piece_inlet_pressure(
                net, int(child), float(flow_kg_s[child]), float(needed_pa[child])
            )
            for child in np.flatnonzero(net.parent == node)
            if flow_kg_s[child] > 0.0
        }
        if not needs or max(needs.values()) < needed_pa[node] * (1.0 - 1e-9):
            assert (net.outlet_node == node).any()
            break
        node = max(needs, key=lambda child: needs[child])


@pytest.mark.parametrize("count", [1, 2, 30, 500])
def test_one_to_five_hundred_branches(count):
    """Many branches, most of them dead, are solved: mass conserved to 1e-9."""
    net = manifold(
        AMBIENT_PA + np.linspace(2e4, 6e4, count),
        length_m=np.full(count + 1, 40.0),
        bore_m=np.array([0.035, *np.full(count, 0.0127)]),
    )
    state, outlet_kg_s, pressure_pa, flow_kg_s = solved(net)
    assert state == SOLVED
    given_kg_s = compressor_mass_flow(net, float(pressure_pa[0]) - AMBIENT_PA)
    assert flow_kg_s[0] == pytest.approx(given_kg_s, rel=1e-9)
    assert ((outlet_kg_s > 0.0) == (net.outlet_pressure_pa < pressure_pa[1])).all()


def test_a_deep_tree_of_five_hundred_pieces_in_a_row():
    """A line with an outlet at every joint: pressure falls along it and the far end still balances."""
    count = 500
    outlets = [(node, AMBIENT_PA + 2e4, ((0.0, 0.0), (1e-3, 1e4))) for node in range(1, count + 1)]
    net = arrays(list(range(-1, count)), outlets, length_m=1.0, bore_m=0.03)
    state, outlet_kg_s, pressure_pa, flow_kg_s = solved(net)
    assert state == SOLVED
    assert (np.diff(pressure_pa) <= 0.0).all()
    assert outlet_kg_s.sum() == pytest.approx(flow_kg_s[0], rel=1e-12)


def test_flow_stops_at_the_speed_of_sound():
    """A short pipe to a far lower pressure is choked: at its end p = G √(R T), the isothermal limit."""
    net = arrays(
        [-1, 0], [(1, AMBIENT_PA, ((0.0, 0.0),))], length_m=0.05, bore_m=0.01, roughness_m=0.0,
        curve_pressure_pa=np.array([9e5, 9.000001e5]), curve_mass_flow_kg_s=np.array([1.0, 0.0]),
    )  # fmt: skip
    state, outlet_kg_s, pressure_pa, _flow_kg_s = solved(net)
    assert state == SOLVED
    assert pressure_pa[1] == pytest.approx(AMBIENT_PA)
    root = float(outlet_kg_s[0]) / (math.pi / 4.0 * 0.01**2) * math.sqrt(287.055 * 293.15)
    friction_alone = piece_inlet_pressure(net, 1, float(outlet_kg_s[0]), AMBIENT_PA)
    assert root > AMBIENT_PA
    assert friction_alone == pytest.approx(pressure_pa[0], rel=1e-9)
    assert piece_inlet_pressure(net, 1, float(outlet_kg_s[0]), root) == pytest.approx(
        pressure_pa[0], rel=1e-6
    )


def test_a_check_valve_and_water_take_their_pressure_away_and_no_more():
    """With a threshold on its branch an outlet is as one that lies so much deeper."""
    kept = {"length_m": 40.0, "bore_m": 0.0127}
    plain = manifold(AMBIENT_PA + np.array([2e4, 2.3e4]), **kept)
    valved = manifold(AMBIENT_PA + np.array([2e4, 2e4]), **kept, threshold_pa=np.array([0.0, 0.0, 3e3]))
    assert solved(valved)[1] == pytest.approx(solved(plain)[1], rel=1e-9)


def test_a_shut_piece_passes_nothing_and_holds_the_water_s_head():
    """Behind a shut valve the gauge reads what its outlet bubbles at; the others go on."""
    net = manifold(
        AMBIENT_PA + np.array([2e4, 3e4]), length_m=40.0, bore_m=0.0127, closed=np.array([False, True, False])
    )
    state, outlet_kg_s, pressure_pa, _flow_kg_s = solved(net)
    assert state == SOLVED
    assert outlet_kg_s[0] == 0.0 < outlet_kg_s[1]
    assert pressure_pa[2] == pytest.approx(AMBIENT_PA + 2e4)


def test_a_constant_flow_into_shut_lines_has_no_answer_but_infinity():
    """No curve and no open outlet: the pressure would rise without end."""
    net = manifold(
        AMBIENT_PA + np.array([2e4]), closed=np.array([True, False]),
        curve_pressure_pa=np.zeros(1), curve_mass_flow_kg_s=np.ones(1),
    )  # fmt: skip
    state, _outlet_kg_s, pressure_pa, _flow_kg_s = solved(net)
    assert state in (ALL_DEAD, UNSOLVED)
    assert math.isinf(pressure_pa[0])


@pytest.mark.parametrize(
    ("gauge_pa", "expected_kg_s"),
    [(-5.0, 5.0), (0.0, 5.0), (50.0, 4.0), (100.0, 3.0), (250.0, 1.5), (400.0, 0.0), (500.0, -1.0)],
)
def test_the_curve_is_straight_between_its_points_and_beyond(gauge_pa, expected_kg_s):
    """Linear between points, constant before the first, carried on beyond the last; never less than none given."""
    net = manifold(
        np.array([AMBIENT_PA]),
        curve_pressure_pa=np.array([0.0, 100.0, 200.0]),
        curve_mass_flow_kg_s=np.array([5.0, 3.0, 2.0]),
    )
    assert compressor_line(net, gauge_pa)[0] == pytest.approx(expected_kg_s)
    assert compressor_mass_flow(net, gauge_pa) == pytest.approx(max(expected_kg_s, 0.0))


@pytest.mark.parametrize(
    ("flow_kg_s", "expected_pa"),
    [(0.0, 1000.0), (5e-5, 1500.0), (1e-4, 2000.0), (1e-3, 8000.0), (2e-3, 44000 / 3)],
)
def test_a_membrane_s_curve_is_straight_between_its_points_and_beyond(flow_kg_s, expected_pa):
    """Linear between points and past the last."""
    net = arrays([-1, 0], [(1, AMBIENT_PA, ((0.0, 1000.0), (1e-4, 2000.0), (1e-3, 8000.0)))])
    assert outlet_loss(net, 0, flow_kg_s)[0] == pytest.approx(expected_pa)
