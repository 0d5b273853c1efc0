"""The two ends of the line: parts, what runs back, what stays trapped, what floats."""

import math
from dataclasses import replace
from datetime import date

import pytest
from fluids.friction import friction_factor
from scipy.optimize import brentq

from plumeline.errors import InputError
from plumeline.job.document import (
    AirLine,
    AirSystem,
    Compressor,
    CurvePoint,
    Diffuser,
    Fitting,
    Job,
    PipeSegment,
    Pond,
    Power,
    RoutePoint,
    Site,
    Trench,
)
from plumeline.pairs import said
from plumeline.stages.air import BranchSpec, air
from plumeline.stages.air.ends import BOX_MARGIN_M
from plumeline.stages.air.job_line import job_line
from plumeline.stages.air.siphon import LOOP_MARGIN_M, flood_flow_m3_s

PSI_PA, FOOT_M, INCH_M, POUND_KG = 6894.757293168, 0.3048, 0.0254, 0.45359237
CURVE = tuple(
    CurvePoint(pressure_pa=psi * PSI_PA, intake_flow_m3_s=cfm * 4.719474432e-4)
    for psi, cfm in ((0, 5.2), (5, 4.7), (10, 4.1), (15, 3.4), (20, 2.5))
)
TRUNK = (PipeSegment(pipe="pe-3/4", length_m=90.0, cover_m=0.45),)
THREE = tuple(
    Diffuser(name=name, depth_m=depth, branch_length_m=length)
    for name, depth, length in (("A", 2.4, 25.0), ("B", 2.7, 40.0), ("C", 3.0, 60.0))
)


def job(*, route=(), water_m=None, high_m=None, machine=None, **air_parts):
    """Return a job whose line is typed in whole."""
    parts = {"trunk": TRUNK, "diffusers": THREE, "membrane_loss_pa": 2750.0, **air_parts}
    return Job(
        id="j",
        name="a pond",
        date=date(2026, 8, 1),
        site=Site(latitude_deg=35.0, longitude_deg=-80.0, elevation_m=0.0),
        pond=Pond(area_m2=6500.0, max_depth_m=4.2),
        trench=Trench(water_elevation_m=water_m),
        power=Power(high_water_m=high_m),
        route=route,
        air=AirSystem(compressor=Compressor(**{"curve": CURVE, **(machine or {})}), **parts),
    )


def ends_of(**parts):
    """Return the two ends of such a job's line."""
    return air(job(**parts)).ends


def codes(found):
    """Return the codes of notices."""
    return {notice.code for notice in found.notices}


def stations(*heights):
    """Return a route of stations 30 m apart, the pipe on the ground."""
    return tuple(
        RoutePoint(station_m=30.0 * index, elevation_m=height, cover_m=0.0)
        for index, height in enumerate(heights)
    )


def test_counts_of_the_valve_box_follow_the_branches():
    """Three branches: a valve, a union, a label and a check valve each, four gauge ports, six barbs; by hand."""
    rows = {row.part: row for row in ends_of().parts if row.place == "valve box"}
    assert {rows[part].count for part in ("ball valve", "check valve", "engraved label")} == {3}
    assert rows["gauge port with its own cock"].count == 4
    assert rows["barb to thread"].count == 6
    # B of 40 m and C of 60 m take two coils of 100 ft each: one coupling, with a barb at either side
    assert rows["barbed coupling"].count == 2
    assert rows["clamp, all stainless"].count == 2 * (6 + 2 * 2)
    assert rows["header with its outlets"].size == "3/4 in × 3 of 1/2 in"


def test_longer_coils_need_no_couplings():
    """Coils of 500 ft: two barbs a branch and no more."""
    rows = {row.part: row for row in ends_of(coil_length_m=500 * FOOT_M).parts}
    assert "barbed coupling" not in rows
    assert rows["clamp, all stainless"].count == 12


def test_a_line_beyond_the_manifold_has_a_box_of_its_own():
    """Two diffusers at the manifold and one at the end of a line: two boxes, each with its own valves."""
    lines = (AirLine(name="far", pipe="pe-3/4", length_m=40.0),)
    diffusers = (*THREE[:2], THREE[2].model_copy(update={"hangs_from": "far", "valve": "gate"}))
    parts = ends_of(lines=lines, diffusers=diffusers).parts
    near = {row.part: row for row in parts if row.place == "valve box"}
    far = {row.part: row for row in parts if row.place == "valve box at the end of far"}
    assert near["ball valve"].count == 2
    assert far["gate valve"].count == 1
    assert near["header with its outlets"].size == "3/4 in × 2 of 1/2 in and 1 of 3/4 in"


def test_the_gauge_works_in_the_middle_of_its_dial():
    """The highest reading of any setting is within three quarters of the span of the gauge on the list."""
    result = air(job())
    highest_psi = max(gauge.pressure_pa for gauge in result.gauges) / PSI_PA
    words = next(
        said(row.size, "us") for row in result.ends.parts if row.part == "gauge that is carried round"
    )
    span_psi = float(words.split()[2])
    assert highest_psi <= 0.75 * span_psi
    assert span_psi in (1, 3, 5, 15, 30, 60, 100)


def test_labels_carry_the_port_gauges():
    """Each valve's label holds the gauge that the sheet gives for its port."""
    result = air(job())
    for label, valve in zip(result.ends.labels, result.valves, strict=True):
        assert f"{valve.port_pressure_pa / PSI_PA:.2f} psig" in said(label.words, "us")


def test_without_any_height_nothing_is_claimed():
    """No rise, no route, no elevations: neither a siphon nor its absence."""
    found = ends_of()
    assert found.siphon is None
    assert "air-siphon" not in codes(found)


@pytest.mark.parametrize(("rise_m", "low"), [(-1.5, True), (0.1, True), (0.4, False), (3.0, False)])
def test_low_is_under_the_highest_water(rise_m, low):
    """The highest water is taken a foot over today's where nothing is given."""
    found = ends_of(rise_m=rise_m)
    assert found.siphon.low is low
    assert ("air-siphon" in codes(found)) is low
    if low:
        assert found.siphon.loop_over_compressor_m == pytest.approx(0.3 + LOOP_MARGIN_M - rise_m)
        assert found.siphon.loop_over_water_m == pytest.approx(0.3 + LOOP_MARGIN_M)
    assert (found.siphon.flow_m3_s > 0.0) is (rise_m < 0.0)


def test_heights_come_from_the_route():
    """Compressor at 100.0, water at 101.2, spillway at 101.6: loop 1.9 m over the compressor, by hand."""
    found = ends_of(route=stations(100.0, 100.4, 101.1, 101.2), water_m=101.2, high_m=0.4).siphon
    assert found.heights.compressor_m == pytest.approx(-1.2)
    assert found.heights.high_water_m == pytest.approx(0.4)
    assert found.loop_over_compressor_m == pytest.approx(1.6 + LOOP_MARGIN_M)
    assert found.high_flow_m3_s > found.flow_m3_s > 0.0


def test_a_crest_of_the_route_over_the_water_protects():
    """A bank 2 m over the water between pond and compressor: nothing runs, and the note says to keep it."""
    found = ends_of(route=stations(100.0, 103.2, 101.3, 101.2), water_m=101.2)
    assert found.siphon.low
    assert found.siphon.crest_protects
    assert found.siphon.flow_m3_s == found.siphon.high_flow_m3_s == 0.0
    assert found.siphon.loop_over_compressor_m is None
    assert "air-siphon-crest" in codes(found)
    assert "air-siphon" not in codes(found)


def test_a_crest_between_the_two_waters_holds_only_today():
    """The bank stands over today's water and under the flood: dry today, wet at the flood."""
    found = ends_of(route=stations(100.0, 101.5, 101.0), water_m=101.0, high_m=1.0).siphon
    assert found.flow_m3_s == 0.0
    assert found.high_flow_m3_s > 0.0
    assert found.loop_over_compressor_m == pytest.approx(2.0 + LOOP_MARGIN_M)


def test_the_flood_through_one_branch_is_that_of_two_pipes_in_series():
    """4 ft of head through 60 m of 1/2 in and 90 m of 3/4 in, `fluids` friction and `brentq`: 1 %."""
    line = job_line(job(diffusers=THREE[2:]), ()).choice.line
    head_m, density = 4 * FOOT_M, line.water_density_kg_m3
    viscosity = 1.0016e-3

    def short(flow_m3_s):
        total = 0.0
        for length_m, bore_m, ends in ((60.0, 0.0127, 1.5), (90.0, 0.02093, 1.0)):
            speed = flow_m3_s / (0.25 * math.pi * bore_m**2)
            f = friction_factor(Re=density * speed * bore_m / viscosity, eD=1.5e-6 / bore_m)
            total += (f * length_m / bore_m + ends) * speed**2 / (2.0 * 9.80665)
        return total - head_m

    expected = brentq(short, 1e-7, 1e-2)
    cold = replace(line, water_degc=20.0)
    assert flood_flow_m3_s(cold, head_m) == pytest.approx(expected, rel=0.02)
    assert flood_flow_m3_s(cold, -0.1) == 0.0


def test_more_branches_flood_faster_and_less_head_slower():
    """Side by side three branches let more in than one; half the head gives less than all of it."""
    three, one = (job_line(job(diffusers=item), ()).choice.line for item in (THREE, THREE[2:]))
    assert flood_flow_m3_s(three, 1.0) > flood_flow_m3_s(one, 1.0)
    assert flood_flow_m3_s(three, 0.5) < flood_flow_m3_s(three, 1.0) < 2.0 * flood_flow_m3_s(three, 0.5)


def test_what_stays_is_the_water_over_the_shallowest():
    """8 ft-ish of 2.4 m: ρ g 2.4 m + 2750 Pa of membrane, by hand, 0.5 %."""
    held = ends_of().restart
    assert held.last_branch == "A"
    assert held.trapped_pressure_pa == pytest.approx(998.0 * 9.80665 * 2.4 + 2750.0, rel=5e-3)
    assert held.running_pressure_pa > held.trapped_pressure_pa
    volume = 0.25 * math.pi * (90.0 * 0.02093**2 + 125.0 * 0.0127**2)
    assert held.volume_m3 == pytest.approx(volume, rel=1e-6)


def test_a_longer_trunk_takes_longer_to_come_down():
    """Twice the trunk holds nearly twice the air: the time grows with the volume."""
    short, long = ends_of().restart, ends_of(trunk=(TRUNK[0].model_copy(update={"length_m": 180.0}),)).restart
    assert long.volume_m3 > 1.5 * short.volume_m3
    assert 1.3 < long.decay_s / short.decay_s < 2.3


def test_the_decay_is_about_the_air_over_the_flow():
    """Between the excess air at the full flow and ten times that: V Δp/p_std over the working flow, by hand."""
    result = air(job())
    held = result.ends.restart
    excess_m3 = held.volume_m3 * (held.running_pressure_pa - held.trapped_pressure_pa) / 101325.0
    least_s = excess_m3 / result.flow_standard_m3_s
    assert least_s < held.decay_s < 10.0 * least_s


@pytest.mark.parametrize(
    ("machine", "unloader", "code"),
    [
        ({"motor": "permanent-split"}, True, "air-unloader"),
        ({"motor": "capacitor-start"}, False, "air-restart"),
        ({"start_pressure_pa": 10.0 * PSI_PA}, False, "air-restart"),
        ({"start_pressure_pa": 0.0}, True, "air-unloader"),
    ],
)
def test_the_motor_decides_on_the_unloader(machine, unloader, code):
    """A weak starter is stalled by what stays trapped; a strong one, or the maker's word, is not."""
    found = ends_of(machine=machine)
    assert found.restart.unloader is unloader
    assert code in codes(found)
    listed = any(row.part == "unloader valve" for row in found.parts)
    assert listed is unloader


def test_a_motor_that_starts_between_the_two_waits():
    """It starts against what stays, not against the working gauge: a least time off, shorter than the whole fall."""
    base = ends_of().restart
    between_pa = 0.5 * (base.running_pressure_pa + base.trapped_pressure_pa)
    found = ends_of(machine={"start_pressure_pa": between_pa})
    assert 0.0 < found.restart.off_s < base.decay_s
    assert "air-off-time" in codes(found)
    assert any(row.part == "delay timer" for row in found.parts)


def test_a_linear_diaphragm_has_no_crank_to_stall():
    """No motor is asked for, no unloader is told."""
    found = air(job(machine={"name": "diaphragm of our own"})).ends
    assert found.restart.drive == "linear diaphragm"
    assert not found.restart.unloader
    assert not {"air-unloader", "air-off-time"} & codes(found)


def test_an_unknown_motor_is_refused_with_the_known_ones():
    """The kinds stand in the error."""
    with pytest.raises(InputError, match="no kind of motor") as caught:
        ends_of(machine={"motor": "steam"})
    assert "capacitor-start" in caught.value.remedy


def test_weighted_tubing_is_judged_by_its_coil():
    """Outside 0.75 in displaces 0.191 lb/ft (by hand): 24 lb a 100 ft sink, 15 lb float."""
    unknown = ends_of().tubing[0]
    assert unknown.submerged_kg_m is None
    assert unknown.sinking_mass_kg_m * FOOT_M / POUND_KG == pytest.approx(0.191, abs=1e-3)
    heavy = ends_of(coil_mass_kg=24 * POUND_KG, coil_length_m=100 * FOOT_M).tubing[0]
    assert heavy.submerged_kg_m * FOOT_M / POUND_KG == pytest.approx(0.24 - 0.191, abs=1e-3)
    assert heavy.weight_needed_kg_m == 0.0
    light = ends_of(coil_mass_kg=15 * POUND_KG, coil_length_m=100 * FOOT_M)
    assert light.tubing[0].submerged_kg_m < 0.0
    assert "tubing-floats" in codes(light)


def test_polyethylene_floats_and_the_weight_holds_it():
    """1 in polyethylene: the weight asked for, under water, is 1.3 of the pipe's own lift less its wall (by hand)."""
    found = ends_of(branch_pipe="pe-1")
    state = found.tubing[0]
    assert state.mass_source == "wall"
    assert state.submerged_kg_m < 0.0
    pressed = state.weight_needed_kg_m * (1.0 - 998.0 / 2000.0)
    assert pressed + state.mass_kg_m == pytest.approx(1.3 * state.displaced_kg_m, rel=2e-3)
    # Nebraska Pond Management, p. 87: a brick (4.5 lb, from memory) every 5 ft
    assert state.weight_each_kg / POUND_KG == pytest.approx(4.5, abs=1.5)
    assert "tubing-floats" in codes(found)


def test_barbs_that_are_listed_are_in_the_network():
    """The gauge at the ports rises by about what the barbs were said to lose, and it is then said that they are in."""
    listed = tuple(item.model_copy(update={"fittings": (Fitting(name="barb", count=2),)}) for item in THREE)
    thin = {"branch_pipe": "tubing-3/8", "coil_length_m": 200.0}
    without, found = air(job(**thin)), air(job(**thin, diffusers=listed))
    told = without.ends.barbs[2]
    assert not told.in_network
    assert told.count == 2
    rise_pa = found.balanced.branch("C").port_pressure_pa - without.balanced.branch("C").port_pressure_pa
    assert rise_pa == pytest.approx(told.pressure_pa, rel=0.15)
    assert all(item.in_network for item in found.ends.barbs)


def test_an_unknown_fitting_names_the_barb_too():
    """A near miss of "barb" is told."""
    wrong = (THREE[0].model_copy(update={"fittings": (Fitting(name="barbs", count=2),)}),)
    with pytest.raises(InputError) as caught:
        air(job(diffusers=wrong))
    assert "barb" in caught.value.remedy


def test_the_box_stands_over_the_highest_water():
    """A foot over the spillway's level, in today's water."""
    found = ends_of(route=stations(105.0, 101.2), water_m=101.2, high_m=0.8)
    assert found.riser.box_over_water_m == pytest.approx(0.8 + BOX_MARGIN_M)


def test_branches_of_a_layout_have_ends_too():
    """Branches given from outside, as a layout gives them, without a diffuser in the job."""
    branches = (BranchSpec("D1", 3.0, 40.0, 0.0127), BranchSpec("D2", 2.5, 40.0, 0.0127))
    found = air(job(diffusers=()), branches).ends
    assert found.tubing[0].branches == ("D1", "D2")
    assert found.tubing[0].pipe == "tubing-1/2"


def test_the_trunks_start_counts_on_the_compressors_own_level():
    """Compressor at 100 m, 3 m over the water; the trunk starts a foot over it: the line's crest is 3.30 m, not 3."""
    job_with = job(rise_m=3.0)
    machine = job_with.air.compressor.model_copy(update={"elevation_m": 100.0})
    trunk = tuple(
        piece.model_copy(update={"start_elevation_m": high, "end_elevation_m": low})
        for piece, high, low in zip(job_with.air.trunk, (100.3, 99.0, 98.5), (99.0, 98.5, 97.0), strict=False)
    )
    air_part = job_with.air.model_copy(update={"compressor": machine, "trunk": trunk})
    found = air(job_with.model_copy(update={"air": air_part})).ends.siphon
    assert found.heights.compressor_m == pytest.approx(3.0)
    assert found.heights.crest_m == pytest.approx(3.3)
