"""Described air networks: parts, trees and what is refused; the answer by names and gauges."""

from dataclasses import replace

import numpy as np
import pytest

from plumeline.errors import InputError, ModelError
from plumeline.stages.air.balancing import balance_tree
from plumeline.stages.air.fittings import fitting_loss_number
from plumeline.stages.air.network import (
    AirNetwork,
    Branch,
    CheckValve,
    Diffuser,
    Leak,
    LossPoint,
    OpenEnd,
    Pipe,
    SiteCurve,
    Valve,
    WaterPlug,
)
from plumeline.stages.air.tree import compile_tree, run, solve
from plumeline.stages.air.valves import closed_fraction, valve_loss_number

SOURCE = SiteCurve((0.0, 4e4, 1e5), (2.4e-3, 2.1e-3, 1e-3))
TRUNK = Branch("trunk", parts=(Pipe(130.0, 0.0209),))


def one(name, depth_m, *parts, parent="trunk", length_m=40.0):
    """Return a branch with a valve, parts, a pipe and a diffuser."""
    return Branch(
        name,
        parent,
        (Valve(0.0127), *parts, Pipe(length_m, 0.0127)),
        Diffuser(depth_m, (LossPoint(0.0, 3e3),)),
    )


def network(*branches, **more):
    """Return a network of a trunk and these branches."""
    return AirNetwork(SOURCE, (TRUNK, *branches), **more)


def test_open_valves_starve_the_deepest():
    """Alike but for a metre of depth, the shallow diffuser takes the air and the deep one is dead."""
    found = solve(network(one("shallow", 2.0), one("deep", 3.0)))
    assert found.reached
    assert found.branch("deep").dead
    assert found.branch("deep").flow_standard_m3_s == 0.0
    assert found.branch("shallow").flow_standard_m3_s == pytest.approx(found.flow_standard_m3_s)
    assert found.gauge_pa["trunk"] < found.branch("deep").needed_pressure_pa


def test_order_and_names_of_branches_change_nothing():
    """Children listed before parents and other names give the same flows."""
    plain = network(
        one("a", 2.0), one("b", 2.1), one("c", 2.05, parent="x"), Branch("x", "trunk", (Pipe(20.0, 0.02),))
    )
    turned = replace(plain, branches=tuple(reversed(plain.branches)))
    first, second = solve(plain), solve(turned)
    for name in "abc":
        assert second.branch(name).flow_standard_m3_s == pytest.approx(
            first.branch(name).flow_standard_m3_s, rel=1e-7
        )


def test_a_check_valve_counts_as_so_much_depth():
    """0.3 m of water's pressure in a check valve is 0.3 m more depth."""
    pressure_pa = 998.2 * 9.80665 * 0.3
    shallow = one("b", 1.9)
    checked = replace(shallow, parts=(*shallow.parts, CheckValve(pressure_pa)))
    valved = solve(network(one("a", 2.0), checked))
    deeper = solve(network(one("a", 2.0), one("b", 2.2)))
    assert valved.branch("b").flow_standard_m3_s == pytest.approx(
        deeper.branch("b").flow_standard_m3_s, rel=1e-3
    )
    assert valved.branch("b").needed_pressure_pa == pytest.approx(
        deeper.branch("b").needed_pressure_pa, rel=1e-9
    )


def test_water_in_the_trunk_raises_the_compressor_s_gauge_alone():
    """Half a metre of water in a dip: the gauge there is up by its head and a little less air comes through."""
    dry = solve(network(one("a", 2.0), one("b", 2.1)))
    flooded = replace(TRUNK, parts=(*TRUNK.parts, WaterPlug(0.5)))
    wet = solve(AirNetwork(SOURCE, (flooded, one("a", 2.0), one("b", 2.1))))
    rise_pa = wet.compressor_pressure_pa - dry.compressor_pressure_pa
    assert rise_pa == pytest.approx(998.2 * 9.80665 * 0.5, rel=0.1)
    assert wet.flow_standard_m3_s < dry.flow_standard_m3_s
    assert abs(wet.gauge_pa["trunk"] - dry.gauge_pa["trunk"]) < 0.1 * rise_pa


def test_a_hole_takes_air_and_lowers_the_gauge():
    """A 3 mm hole in the trunk's end: its flow is near that of an orifice of 0.6 (any text on fluid mechanics)."""
    tight = network(one("a", 2.0), one("b", 2.1))
    holed = replace(tight, leaks=(Leak("trunk", 1, 0.003),))
    before, after = solve(tight), solve(holed)
    (leak,) = after.leak_flow_standard_m3_s
    assert after.gauge_pa["trunk"] < before.gauge_pa["trunk"]
    density = (101325.0 + after.gauge_pa["trunk"]) / (287.055 * 293.15)
    ideal = 0.6 * np.pi / 4.0 * 0.003**2 * np.sqrt(2.0 * density * after.gauge_pa["trunk"])
    assert leak * 1.2041 == pytest.approx(ideal, rel=0.15)


def test_membranes_side_by_side_share_the_flow():
    """Two membranes on one end lose at the whole flow what one loses at half of it."""
    curve = (LossPoint(0.0, 2e3), LossPoint(1e-3, 8e3))
    two = replace(one("a", 2.0), outlet=Diffuser(2.0, curve, count=2))
    half = tuple(LossPoint(2.0 * point.flow_standard_m3_s, point.pressure_pa) for point in curve)
    same = replace(one("a", 2.0), outlet=Diffuser(2.0, half))
    assert solve(network(two)).compressor_pressure_pa == pytest.approx(
        solve(network(same)).compressor_pressure_pa
    )


def test_a_membrane_curve_evens_out_the_split():
    """The steeper the membranes, the more the deep one gets."""
    steep = (LossPoint(0.0, 1e3), LossPoint(1e-3, 2e4))
    flat = (LossPoint(0.0, 3e3),)
    shares = []
    for curve in (flat, steep):
        found = solve(
            network(*(replace(one(n, d), outlet=Diffuser(d, curve)) for n, d in (("a", 2.0), ("b", 2.3))))
        )
        shares.append(found.branch("b").flow_standard_m3_s / found.flow_standard_m3_s)
    assert shares[1] > shares[0] + 0.1


def test_arrays_can_be_changed_and_solved_again():
    """A compiled tree with a branch's bore changed in its arrays is the network with that bore."""
    tree = compile_tree(network(one("a", 2.0), one("b", 2.0)))
    bore_m = tree.arrays.bore_m.copy()
    bore_m[list(tree.pieces["b"])] = 0.009
    raw = run(tree.arrays._replace(bore_m=bore_m))
    narrow = replace(one("b", 2.0), parts=(Valve(0.009), Pipe(40.0, 0.009)))
    found = solve(network(one("a", 2.0), narrow))
    assert raw.outlet_kg_s[tree.outlets["b"]] / 1.2041 == pytest.approx(
        found.branch("b").flow_standard_m3_s, rel=1e-4
    )


def test_balanced_valves_give_the_shares_when_they_are_set():
    """The K found for each valve, put into the network, gives the wanted 1 : 2 : 1 and the same gauges."""
    far = Branch("x", "trunk", (Pipe(60.0, 0.0209),))
    plain = network(one("a", 2.0), far, one("b", 2.4, parent="x"), one("c", 3.0, parent="x"))
    tree = compile_tree(plain)
    found = balance_tree(tree, {"a": 1.0, "b": 2.0, "c": 1.0})
    assert not found.stuck_pa
    set_up = []
    for branch in plain.branches:
        parts = tuple(
            replace(part, loss_number=part.heads_number + found.loss_number[branch.name])
            if isinstance(part, Valve) else part
            for part in branch.parts
        )  # fmt: skip
        set_up.append(replace(branch, parts=parts))
    again = solve(replace(plain, branches=tuple(set_up)))
    total = again.flow_standard_m3_s
    shares = [again.branch(name).flow_standard_m3_s / total for name in "abc"]
    assert shares == pytest.approx([0.25, 0.5, 0.25], rel=1e-3)
    for place, pressure_pa in again.gauge_pa.items():
        assert pressure_pa == pytest.approx(found.solution.gauge_pa[place], rel=1e-4)


def test_balanced_without_a_valve_says_what_is_left_over():
    """A shallow branch without a valve can't be held back: it is named with what stands over."""
    bare = Branch("a", "trunk", (Pipe(40.0, 0.0127),), Diffuser(1.0))
    found = balance_tree(compile_tree(network(bare, one("b", 3.0))), {"a": 1.0, "b": 1.0})
    assert found.stuck_pa["a"] == pytest.approx(998.2 * 9.80665 * 2.0 + 3e3, rel=0.05)


BAD = [
    ((Branch("a", "b", (Pipe(1.0, 0.01),)), Branch("b", "a", (), OpenEnd())), "a hangs from b hangs from a"),
    ((Branch("a", "nowhere", (), OpenEnd()),), "'nowhere', which is not there"),
    ((Branch("a", parts=(), outlet=OpenEnd()), Branch("a", parts=(), outlet=OpenEnd())), "not a tree: two parts"),
    ((Branch("a", parts=(Pipe(0.0, 0.01),), outlet=OpenEnd()),), "length of 0 m"),
    ((Branch("a", parts=(Pipe(1.0, -0.01),), outlet=OpenEnd()),), "bore of -0.01 m"),
    ((Branch("a", parts=(Pipe(1.0, 0.01, 0.002),), outlet=OpenEnd()),), "roughness of 2 mm in a bore of 10.0 mm"),
    ((Branch("a", parts=(Valve(0.01, 1.2),), outlet=OpenEnd()),), "open by 1.2"),
    ((Branch("a", parts=(CheckValve(-5.0),), outlet=OpenEnd()),), "cracks at -5"),
    ((Branch("a", parts=(WaterPlug(-1.0),), outlet=OpenEnd()),), "height of -1"),
    ((Branch("a", outlet=Diffuser(-1.0)),), "1 m over the water"),
    ((Branch("a", outlet=Diffuser(1.0, (LossPoint(0.0, 5.0), LossPoint(1.0, 4.0)))),), "loses 4 Pa"),
    ((Branch("a", parts=(Pipe(1.0, 0.01),)),), "no outlet"),
]  # fmt: skip


@pytest.mark.parametrize(("branches", "words"), BAD, ids=[words for _branches, words in BAD])
def test_what_no_network_can_be_is_refused(branches, words):
    """The error names what is wrong and where, and what would be right."""
    with pytest.raises(InputError, match=words) as caught:
        solve(AirNetwork(SOURCE, branches))
    assert caught.value.remedy


def test_a_leak_that_stands_nowhere_is_refused():
    """A branch that is not there, or a part past its end."""
    for leak in (Leak("z", 0, 0.001), Leak("trunk", 2, 0.001)):
        with pytest.raises(InputError, match="which is not there"):
            solve(network(one("a", 2.0), leaks=(leak,)))


def test_a_depth_beyond_shut_off_leaves_the_compressor_at_shut_off():
    """Nothing flows; the gauge stands where the curve, carried on, gives no more."""
    found = solve(network(one("a", 40.0)))
    assert not found.reached
    assert found.compressor_pressure_pa == pytest.approx(1e5 + 1e-3 / (1.1e-3 / 6e4))


def test_a_constant_flow_into_a_shut_network_is_an_error():
    """No number is made up where the pressure would rise without end."""
    shut = replace(one("a", 2.0), parts=(Valve(0.0127, 0.0),))
    with pytest.raises(ModelError, match="no operating point"):
        solve(AirNetwork(SiteCurve((0.0,), (1e-3,)), (TRUNK, shut)))


@pytest.mark.parametrize(
    ("kind", "opening", "expected"),
    [
        ("ball", 1.0 - 20.0 / 90.0, 1.56), ("ball", 1.0 - 40.0 / 90.0, 17.3), ("ball", 1.0 - 60.0 / 90.0, 206.0),
        ("gate", 0.5, 2.1), ("globe", 0.5, 36.0), ("globe", 0.25, 112.0), ("diaphragm", 0.25, 21.0),
    ],
)  # fmt: skip
def test_valves_lose_what_the_handbook_s_tables_say(kind, opening, expected):
    """Perry's table for plug cock, globe and diaphragm valves, Munson's for gate valves; and the way back."""
    assert valve_loss_number(kind, opening) == pytest.approx(expected, rel=1e-6)
    assert 1.0 - closed_fraction(kind, expected) == pytest.approx(opening, rel=1e-6)


def test_two_textbooks_agree_on_a_ball_valve_a_third_closed():
    """Munson's 5.5 at one third closed (from memory) lies within a tenth of the line between Perry's 20° and 40°."""
    assert valve_loss_number("ball", 2.0 / 3.0) == pytest.approx(5.5, rel=0.1)
    assert valve_loss_number("ball", 1.0 / 3.0) == pytest.approx(210.0, rel=0.05)


@pytest.mark.parametrize(
    ("name", "expected"), [("elbow-90", 0.71), ("tee-branch", 1.42), ("globe-valve", 8.05)]
)
def test_fittings_of_three_quarter_inch(name, expected):
    """K = n f_T at 3/4 in with the fluids library's f_T (Crane TP-410), which is 1.3 % under the rough limit's."""
    assert fitting_loss_number(name, 0.0209296) == pytest.approx(expected, rel=0.02)


def test_threaded_elbows_lose_more():
    """1.70 for a regular screwed elbow at 3/4 in (HVAC Pump Handbook p. 57)."""
    assert fitting_loss_number("elbow-90", 0.0209296, threaded=True) == 1.7
    with pytest.raises(InputError, match="no fitting named 'elbow'"):
        fitting_loss_number("elbow", 0.02)
