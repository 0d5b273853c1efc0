"""Jobs whose air line is any tree: lines beyond the manifold, curves, shares, and the hot day."""

from dataclasses import replace

import pytest
from tests.stages.air.test_air import CFM_M3_S, FOOT_M, PSI_PA, branches, codes, job, reference

from plumeline.errors import InputError
from plumeline.job.document import AirLine, Diffuser, Fitting, MembranePoint, PipeSegment
from plumeline.stages.air import air
from plumeline.stages.air.network import NORMAL_OVER_STANDARD_NUMBER
from plumeline.stages.sizing import agreed
from plumeline.stages.survey import survey


def with_air(job, **parts):
    """Return a job with other parts of its air."""
    return job.model_copy(update={"air": job.air.model_copy(update=parts)})


def diffuser(name, depth_m, **more):
    """Return a diffuser on 30 m of half-inch tubing."""
    return Diffuser(name=name, depth_m=depth_m, branch_length_m=30.0, branch_bore_m=0.0127, **more)


def far_line(**more):
    """Return a line of 60 m beyond the manifold."""
    return AirLine(name="far", pipe="pe-3/4", length_m=60.0, cover_m=0.4, **more)


def test_a_line_as_long_as_a_piece_of_branch_is_that_piece():
    """One diffuser at the end of a line is the diffuser on a trunk with that line in it."""
    lined = with_air(reference(), lines=(far_line(),), diffusers=(diffuser("D", 3.0, hangs_from="far"),))
    trunk = (*reference().air.trunk, PipeSegment(pipe="pe-3/4", length_m=60.0, cover_m=0.4))
    plain = with_air(reference(), trunk=trunk, diffusers=(diffuser("D", 3.0),))
    first, second = air(lined), air(plain)
    assert first.flow_standard_m3_s == pytest.approx(second.flow_standard_m3_s, rel=1e-4)
    (junction,) = first.balanced.junctions
    assert junction.name == "far"
    assert junction.pressure_pa == pytest.approx(second.balanced.manifold_pressure_pa, rel=1e-3)
    assert "end of far" in {gauge.place for gauge in first.gauges}


def test_a_line_from_which_nothing_hangs_is_said():
    """Not by way of another line either; a line on the way to one that is used carries air and is not named."""
    idle = AirLine(name="idle", pipe="pe-3/4", length_m=60.0)
    lines = (far_line(), idle, AirLine(name="beyond", pipe="pe-3/4", length_m=5.0, hangs_from="idle"))
    found = air(with_air(reference(), lines=lines, diffusers=(diffuser("D", 3.0, hangs_from="far"),)))
    (said,) = (notice.text for notice in found.notices if notice.code == "air-line-unused")
    assert said.startswith("Lines idle, beyond of air.lines carry no air here")
    assert "air-line-unused" not in codes(
        air(with_air(reference(), lines=lines[:1], diffusers=(diffuser("D", 3.0, hangs_from="far"),)))
    )


def test_in_a_surveyed_pond_a_line_beyond_the_manifold_is_said_and_a_branch_keeps_its_parts(small_job):
    """Which diffusers were to hang from the line, and what would be right; a branch keeps valve and fittings."""
    first, *rest = small_job.air.diffusers
    parts = {
        "hangs_from": "far",
        "valve": "gate",
        "check_valve_pa": 2000.0,
        "fittings": (Fitting(name="elbow-90"),),
    }
    line = small_job.air.model_copy(
        update={"lines": (far_line(),), "diffusers": (first.model_copy(update=parts), *rest)}
    )
    job = small_job.model_copy(update={"air": line})
    found = agreed(job, survey(job, 1)).air
    (said,) = (notice.text for notice in found.notices if notice.code == "air-line-unused")
    assert f"that of {first.name} too" in said
    assert "give every diffuser its depth and branch_length" in said
    assert not found.balanced.junctions
    laid = found.branches[0]
    assert (laid.valve, laid.check_valve_pa) == ("gate", 2000.0)
    assert laid.loss_number > 0.0
    assert found.valves[0].kind == "gate"


def test_valves_on_two_manifolds_give_equal_air():
    """Two diffusers at the manifold and two on a line beyond get the same, each by its own valve."""
    parts = (
        diffuser("A", 2.0),
        diffuser("B", 2.5),
        *(diffuser(n, z, hangs_from="far") for n, z in (("C", 2.2), ("D", 3.0))),
    )
    result = air(with_air(reference(), lines=(far_line(),), diffusers=parts))
    flows = [branch.flow_standard_m3_s for branch in result.balanced.branches]
    assert flows == pytest.approx([flows[0]] * 4, rel=1e-9)
    assert result.valves[3].words == "full open"
    assert all(valve.pressure_drop_pa > 0.0 for valve in result.valves[:3])


@pytest.mark.parametrize(
    ("mode", "ratios"), [("equal", (1, 1, 1)), ("depth", (7, 9, 10)), ("volume", (3, 1, 2))]
)
def test_valves_share_the_air_as_asked(mode, ratios):
    """Equal, by depth or by the volume each serves: the flows stand in that ratio."""
    specs = tuple(
        replace(spec, served_volume_m3=volume)
        for spec, volume in zip(branches(7, 9, 10), (3e3, 1e3, 2e3), strict=True)
    )
    result = air(with_air(reference(), balance=mode), specs)
    flows = [branch.flow_standard_m3_s for branch in result.balanced.branches]
    assert [flow / flows[1] for flow in flows] == pytest.approx(
        [ratio / ratios[1] for ratio in ratios], rel=1e-9
    )
    assert result.balancing.mode == mode


def test_by_volume_without_volumes_is_refused():
    """The diffuser without one is named."""
    with pytest.raises(InputError, match="D1 has no served_volume"):
        air(with_air(reference(), balance="volume"), branches(7, 9, 10))


def test_the_steps_and_the_price_of_setting_the_valves():
    """The neediest stays open, the most burned is set first, and the compressor's gauge is up by 0.73 psi.

    4.7785 to 5.5118 psig: the published network (scipy and fluids), here within 1 % of both.
    """
    result = air(reference(), branches(7, 9, 10))
    plan = result.balancing
    assert plan.cost_pa / PSI_PA == pytest.approx(5.5118 - 4.7785, abs=0.03)
    steps = " ".join(plan.procedure)
    assert "Leave D3 full open" in steps
    assert steps.index("Close D1 slowly") < steps.index("Close D2 slowly")
    shares = {share.name: share for share in plan.shares}
    assert shares["D3"].valves_open_fraction == 0.0
    assert shares["D3"].valves_set_fraction == pytest.approx(1.0 / 3.0)
    assert air(reference(), branches(7)).balancing.procedure == ()


def test_a_check_valve_on_the_trunk_costs_its_cracking_pressure():
    """0.5 psi in the trunk: the compressor stands that much higher, less what the curve gives back."""
    plain = air(reference(), branches(7, 9, 10)).balanced
    (piece,) = reference().air.trunk
    valved = piece.model_copy(update={"check_valve_pa": 0.5 * PSI_PA})
    found = air(with_air(reference(), trunk=(valved,)), branches(7, 9, 10)).balanced
    assert found.compressor_pressure_pa - plain.compressor_pressure_pa == pytest.approx(
        0.5 * PSI_PA, rel=0.05
    )
    assert found.trunk_drop_pa - plain.trunk_drop_pa == pytest.approx(0.5 * PSI_PA, rel=0.05)


def test_fittings_of_the_trunk_count_by_name():
    """A globe valve in the trunk (K 8.05 at 3/4 in, Crane) takes 8.05 velocity heads; ten elbows are noise."""
    (piece,) = reference().air.trunk
    drops = []
    for fittings in ((), (Fitting(name="globe-valve"),), (Fitting(name="elbow-90", count=10),)):
        trunk = (piece.model_copy(update={"fittings": fittings}),)
        drops.append(air(with_air(reference(), trunk=trunk), branches(7, 9, 10)).balanced.trunk_drop_pa)
    # 4.64 scfm in 0.824 in at 20 psia and 20 °C: ρ v²/2 = 17 Pa
    assert drops[1] - drops[0] == pytest.approx(8.05 * 17.0, rel=0.1)
    assert drops[2] - drops[0] < 0.02 * PSI_PA + 8.0


def test_membranes_follow_their_curve():
    """A curve through 0.4 psi at the flow that the constant gives changes nothing there, and evens the open split."""
    flat = air(reference(), branches(7, 7.5))
    flow = flat.balanced.branches[0].flow_standard_m3_s
    points = (
        MembranePoint(air_m3_s=0.0, loss_pa=0.0),
        MembranePoint(air_m3_s=2.0 * flow, loss_pa=0.8 * PSI_PA),
    )
    steep = air(with_air(reference(), membrane=points), branches(7, 7.5))
    assert steep.balanced.flow_standard_m3_s == pytest.approx(flat.balanced.flow_standard_m3_s, rel=1e-3)

    def spread(result):
        flows = [branch.flow_standard_m3_s for branch in result.valves_open.branches]
        return (flows[0] - flows[1]) / sum(flows)

    assert spread(steep) < 0.7 * spread(flat)


def test_a_hot_day_and_a_dirty_filter_leave_less_air():
    """95 °F and the cabinet's rise at the intake instead of 68 °F, 0.4 psi less before it: less air by the gas law."""
    result = air(reference(), branches(7, 9, 10))
    assert result.derated is not None
    ratio = result.derated.flow_standard_m3_s / result.balanced.flow_standard_m3_s
    assert result.heat is not None
    free_air = (293.15 / (308.15 + result.heat.cabinet.rise_k)) * (101325.0 - 2700.0) / 101325.0
    assert free_air - 0.02 < ratio < free_air + 0.01


def test_a_dirty_filter_is_known_to_the_curve():
    """2.6 icfm behind 14.3 psia at 95 °F are 2.407 scfm (reference worked with ISO 1217's relation)."""
    from plumeline.job.document import CurvePoint
    from plumeline.stages.air.machine import Machine, curve_at_site

    curve = tuple(CurvePoint(pressure_pa=pa, intake_flow_m3_s=2.6 * CFM_M3_S) for pa in (0.0, 5e4))
    ambient_pa, intake_pa = 14.696 * PSI_PA, 14.3 * PSI_PA
    pressure_pa, flow_kg_s = curve_at_site(
        Machine("m", "m", curve, 0.5), ambient_pa, 308.15, ambient_pa - intake_pa
    )
    assert flow_kg_s[0] / 5.6827e-4 == pytest.approx(2.407, rel=1e-3)
    assert pressure_pa[0] == pytest.approx(intake_pa - ambient_pa)


def test_flows_are_told_on_every_basis():
    """1 m³ of standard air is 0.9317 Nm³ (293.15 K and 14.696 psia to 273.15 K and 101325 Pa); the basis stands by."""
    point = air(reference(), branches(7, 9, 10)).balanced
    assert pytest.approx(273.15 / 293.15, rel=1e-5) == NORMAL_OVER_STANDARD_NUMBER
    assert point.flow_normal_m3_h == pytest.approx(3600.0 * 0.93178 * point.flow_standard_m3_s, rel=1e-4)
    assert point.flow_basis == "68 °F, dry, 14.696 psia"


@pytest.mark.parametrize(
    ("lines", "hangs_from", "words"),
    [
        ((far_line(),), "near", "diffuser D hangs from 'near', which is not there"),
        ((far_line(hangs_from="near"),), "far", "line far hangs from 'near'"),
        (
            (far_line(hangs_from="x"), AirLine(name="x", hangs_from="far", pipe="pe-1", length_m=5.0)),
            "far",
            "not a tree: far hangs from x hangs from far",
        ),
    ],
)
def test_what_hangs_from_nothing_or_in_a_loop_is_refused(lines, hangs_from, words):
    """The loop is named."""
    with pytest.raises(InputError, match=words):
        air(with_air(reference(), lines=lines, diffusers=(diffuser("D", 3.0, hangs_from=hangs_from),)))


def test_a_relief_valve_under_the_working_pressure_is_a_danger():
    """All air would be lost there, and that is said."""
    low = reference().air.compressor.model_copy(update={"relief_pressure_pa": 4.0 * PSI_PA})
    assert "air-relief-low" in codes(air(with_air(reference(), compressor=low), branches(7, 9, 10)))


def test_a_route_and_diffusers_need_no_pond():
    """A job of typed depths alone answers."""
    assert air(job(route_length_m=50.0 * FOOT_M, diffusers=(diffuser("D", 2.0),))).flow_standard_m3_s > 0.0
