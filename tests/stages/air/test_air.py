"""The air stage: what is printed for a contractor, and what is refused."""

from dataclasses import fields, replace
from datetime import date

import pytest

from plumeline.errors import InputError, ModelError
from plumeline.job.document import (
    AirSystem,
    AsBuilt,
    Compressor,
    CurvePoint,
    Diffuser,
    Job,
    PipeSegment,
    Pond,
    Power,
    Site,
)
from plumeline.notices import Severity
from plumeline.stages.air import BranchSpec, air

PSI_PA = 6894.757293168
FOOT_M = 0.3048
CFM_M3_S = 4.719474432e-4
REFERENCE_CURVE = tuple(
    CurvePoint(pressure_pa=psi * PSI_PA, intake_flow_m3_s=cfm * CFM_M3_S)
    for psi, cfm in ((0, 5.2), (5, 4.7), (10, 4.1), (15, 3.4), (20, 2.5))
)


def job(*, elevation_m=0.0, power=None, as_built=None, **parts):
    """Return a job with an air system of these parts."""
    return Job(
        id="job-1",
        name="a pond",
        date=date(2026, 8, 1),
        site=Site(latitude_deg=35.0, longitude_deg=-80.0, elevation_m=elevation_m),
        pond=Pond(area_m2=6500.0, max_depth_m=4.2),
        power=power or Power(),
        air=AirSystem(**parts),
        as_built=as_built,
    )


def branches(*feet, length_ft=(90.0, 140.0, 200.0), bore_in=0.5):
    """Return branches to depths in feet."""
    return tuple(
        BranchSpec(f"D{index + 1}", depth * FOOT_M, length * FOOT_M, bore_in * 0.0254)
        for index, (depth, length) in enumerate(zip(feet, length_ft, strict=False))
    )


def codes(result):
    """Return the codes of a result's notices."""
    return {notice.code for notice in result.notices}


def reference():
    """Return a job near the published coupled network: its compressor, 300 ft of 0.824 in, 68 °F intake."""
    return job(
        compressor=Compressor(curve=REFERENCE_CURVE, relief_pressure_pa=15.0 * PSI_PA),
        trunk=(PipeSegment(pipe="pe-3/4", length_m=300.0 * FOOT_M, cover_m=0.45),),
        intake_temperature_degc=20.0,
        soil_temperature_degc=20.0,
        membrane_loss_pa=0.4 * PSI_PA,
    )


def test_the_stage_gives_the_published_network():
    """Reference network (scipy and fluids, 25 °C; here 20 °C and water at 20 °C): within 1 % all along."""
    result = air(reference(), branches(7, 9, 10))
    opened, balanced = result.valves_open, result.balanced
    assert opened.compressor_pressure_pa / PSI_PA == pytest.approx(4.7785, rel=0.01)
    assert opened.flow_standard_m3_s / CFM_M3_S == pytest.approx(4.7222, rel=0.01)
    assert opened.branch("D3").dead
    assert opened.branch("D3").shortfall_pa / PSI_PA == pytest.approx(0.352, rel=0.05)
    assert balanced.compressor_pressure_pa / PSI_PA == pytest.approx(5.5118, rel=0.01)
    drops = [valve.pressure_drop_pa / PSI_PA for valve in result.valves]
    assert drops == pytest.approx([1.5096, 0.5482, 0.0], rel=0.01)
    for branch in balanced.branches:
        assert branch.flow_standard_m3_s / CFM_M3_S == pytest.approx(1.5462, rel=0.01)
    alone = [point.compressor_pressure_pa / PSI_PA for point in result.alone]
    assert alone == pytest.approx([5.1164, 6.4335, 7.4060], rel=0.01)


def test_the_trap_of_the_trade_is_shown():
    """Open valves starve the deepest: it is said dead, by how much, and what revives it, depth and valves."""
    result = air(reference(), branches(7, 9, 10))
    dead = next(notice for notice in result.notices if notice.code == "air-dead-branch")
    text = dead.said("us")
    assert "D3 is dead" in text
    assert "revives it with 1.5" in text
    depth_ft = float(text.split("no deeper than ")[1].split(" ft")[0])
    assert depth_ft == pytest.approx(10.0 - 0.352 / 0.4331, abs=0.1)
    shallower = branches(7, 9, depth_ft - 0.15)
    assert not air(reference(), shallower).valves_open.branch("D3").dead


def test_valve_losses_bring_the_balanced_flows():
    """Each valve's K put into the open network gives each branch its share: one shut is another point."""
    result = air(reference(), branches(7, 9, 10))
    assert result.valves[2].loss_number == 0.0
    assert result.valves[0].loss_number > result.valves[1].loss_number > 0.0
    assert len(result.one_shut) == 3
    for point in result.one_shut:
        assert point.compressor_pressure_pa > result.balanced.compressor_pressure_pa
        assert sum(branch.shut for branch in point.branches) == 1


def test_shares_ask_for_unequal_flows():
    """A branch with twice the share gets twice the flow."""
    specs = branches(7, 9, 10)
    specs = (*specs[:2], replace(specs[2], share_number=2.0))
    flows = [branch.flow_standard_m3_s for branch in air(reference(), specs).balanced.branches]
    assert flows[2] == pytest.approx(2.0 * flows[0], rel=1e-9)


def test_gauges_of_the_sheet_are_those_of_the_points():
    """Compressor, manifold and each port with valves set; compressor and manifold in every other case."""
    result = air(reference(), branches(7, 9, 10))
    set_ports = [gauge for gauge in result.gauges if gauge.case == "valves set"]
    assert [gauge.place for gauge in set_ports] == ["compressor", "manifold", "port D1", "port D2", "port D3"]
    assert set_ports[0].pressure_pa == result.balanced.compressor_pressure_pa
    cases = {gauge.case for gauge in result.gauges}
    assert {"valves open", "D1 alone", "D3 alone", "D2 shut"} <= cases
    assert len(result.gauges) == 5 + 2 * (1 + 3 + 3)


def test_higher_and_hotter_gives_less_air():
    """At 5,000 ft the same machine gives 15 to 25 % fewer scfm; at 95 °F instead of 68 °F 3 to 6 % fewer."""
    low = air(reference(), branches(7, 9, 10)).flow_standard_m3_s
    high = air(reference().model_copy(update={"site": job(elevation_m=1524.0).site}), branches(7, 9, 10))
    assert 0.75 < high.flow_standard_m3_s / low < 0.85
    hot = reference().air.model_copy(update={"intake_temperature_degc": 35.0})
    warm = air(reference().model_copy(update={"air": hot}), branches(7, 9, 10)).flow_standard_m3_s
    assert 0.94 < warm / low < 0.97
    assert warm / low > 288.15 / 308.15


def test_ten_answers_choose_machine_and_trunk():
    """A route and a rise alone: the smallest machine and trunk that do it are taken, and that is said."""
    result = air(job(route_length_m=131.0, rise_m=3.0), branches(9, 11, 13))
    assert result.compressor_chosen
    assert result.trunk_chosen
    assert {"air-compressor-chosen", "air-trunk-chosen"} <= codes(result)
    assert "invented" in next(n.text for n in result.notices if n.code == "air-compressor-chosen")
    assert result.balanced.trunk_drop_pa <= 0.1 * result.balanced.compressor_pressure_pa
    assert all(b.flow_standard_m3_s >= 1.3 * CFM_M3_S for b in result.balanced.branches)


def test_a_longer_route_takes_a_larger_trunk():
    """600 m of route: 3/4 in loses too much, the next size is taken."""
    result = air(job(route_length_m=600.0), branches(9, 11, 13))
    assert result.trunk[0].pipe != "pe-3/4"
    assert result.balanced.trunk_drop_pa <= 0.1 * result.balanced.compressor_pressure_pa


def test_power_limits_the_machine():
    """On 115 V with 3 A no machine that draws more at 125 % is taken without a word."""
    weak = Power(volts=115.0, amps=3.0)
    result = air(job(route_length_m=131.0, power=weak), branches(9, 11, 13))
    assert "air-power-short" in codes(result)
    strong = Power(volts=115.0, amps=20.0)
    assert "air-power-short" not in codes(air(job(route_length_m=131.0, power=strong), branches(9, 11, 13)))


def test_typed_depths_need_no_layout():
    """Diffusers with depth and branch length in the job are enough; their tubing is looked up."""
    typed = tuple(
        Diffuser(name=f"D{k}", depth_m=depth, branch_length_m=30.0, branch_pipe="tubing-3/8")
        for k, depth in enumerate((2.5, 3.0))
    )
    result = air(job(route_length_m=100.0, diffusers=typed))
    assert [spec.bore_m for spec in result.branches] == pytest.approx([0.375 * 0.0254] * 2)


def test_as_built_comes_before_the_design():
    """A trunk that the crew recorded is solved instead of the one in the plan."""
    built = AsBuilt(made_on=date(2026, 7, 1), trunk=(PipeSegment(pipe="steel-1", length_m=50.0),))
    result = air(job(route_length_m=100.0, as_built=built), branches(9, 11, 13))
    assert [piece.pipe for piece in result.trunk] == ["steel-1"]


def test_the_air_cools_to_the_soil_and_metal_comes_first():
    """Hot at the outlet, soil by 50 ft; the first 10 to 35 ft must be metal before polyethylene."""
    result = air(job(route_length_m=131.0), branches(9, 11, 13))
    assert result.outlet_temperature_degc > 80.0
    assert result.hot_outlet_temperature_degc > result.outlet_temperature_degc
    temperatures = [point.temperature_degc for point in result.line_temperatures]
    assert temperatures == sorted(temperatures, reverse=True)
    after_50_ft = [p.temperature_degc for p in result.line_temperatures if p.distance_m > 50.0 * FOOT_M]
    assert all(value == pytest.approx(20.0, abs=0.5) for value in after_50_ft)
    assert 10.0 * FOOT_M < result.metal_length_m < 35.0 * FOOT_M
    assert "air-metal-first" in codes(result)


def test_enough_metal_silences_the_metal_notice():
    """12 m of steel before the plastic: nothing more is asked."""
    trunk = (
        PipeSegment(pipe="steel-3/4", length_m=12.0),
        PipeSegment(pipe="pe-3/4", length_m=119.0, cover_m=0.45),
    )
    result = air(job(trunk=trunk), branches(9, 11, 13))
    assert not codes(result) & {"air-metal-first", "air-hot-line", "air-hot-pipe"}


@pytest.mark.parametrize("trunk", ["pe-3/4", "pvc40-3/4", "steel-3/4"])
def test_compressed_gas_is_always_warned_of_and_pvc_never_called_right(trunk):
    """The caution is there for every line; PVC is a danger, and no sentence says that it is fine for air."""
    result = air(job(trunk=(PipeSegment(pipe=trunk, length_m=100.0, cover_m=0.45),)), branches(9, 11, 13))
    assert "air-compressed-gas" in codes(result)
    dangers = {notice.code for notice in result.notices if notice.severity is Severity.DANGER}
    assert ("air-pvc" in dangers) == trunk.startswith("pvc")
    for notice in result.notices:
        if "PVC" in notice.text:
            assert "shatters under compressed gas" in notice.text
            for praise in ("fine", " ok", "suitable", "all right", "safe for"):
                assert praise not in notice.text.lower()


@pytest.mark.parametrize(
    ("relief_psi", "code"), [(4.0, "air-relief-low"), (6.0, "air-relief-tight"), (15.0, None)]
)
def test_a_relief_valve_under_the_working_pressure_is_a_danger(relief_psi, code):
    """Under working: danger. Between working and one line alone: caution. Above: nothing."""
    system = reference().air
    machine = system.compressor.model_copy(update={"relief_pressure_pa": relief_psi * PSI_PA})
    result = air(
        reference().model_copy(update={"air": system.model_copy(update={"compressor": machine})}),
        branches(7, 9, 10),
    )
    found = codes(result) & {"air-relief-low", "air-relief-tight"}
    assert found == ({code} if code else set())
    assert result.relief_pressure_pa == pytest.approx(relief_psi * PSI_PA)


def test_a_depth_beyond_the_curve_is_a_danger_and_the_relief_is_not_to_be_raised():
    """50 ft is 21.7 psi of water, the curve ends at 20 psig: said, and a 15 psig relief is not told to go higher."""
    found = air(reference(), branches(50))
    assert "air-beyond-curve" in codes(found)
    low = next(notice for notice in found.notices if notice.code == "air-relief-low")
    assert "do not raise it" in low.text
    assert "air-beyond-curve" not in codes(air(reference(), branches(10)))


def test_a_generic_machine_is_not_driven_beyond_its_own_limit():
    """90 ft is 39 psi of water: no machine of the table goes so far, and none is taken all the same."""
    asked = reference()
    with pytest.raises(ModelError, match="within its own pressure limit"):
        air(asked.model_copy(update={"air": asked.air.model_copy(update={"compressor": None})}), branches(90))


def test_a_relief_setting_is_proposed_over_every_case():
    """No relief given: the setting lies over the working pressure and over each line alone."""
    result = air(job(route_length_m=131.0), branches(9, 11, 13))
    highest_pa = max(point.compressor_pressure_pa for point in (result.balanced, *result.alone))
    assert result.relief_pressure_pa >= highest_pa
    assert not result.relief_given


@pytest.mark.parametrize(("rise_m", "warned"), [(-1.0, True), (2.0, False), (None, False)])
def test_a_compressor_below_the_pond_is_warned_of_siphoning(rise_m, warned):
    """Only where the compressor stands lower than the water."""
    result = air(job(route_length_m=131.0, rise_m=rise_m), branches(9, 11, 13))
    assert ("air-siphon" in codes(result)) is warned


def test_elevations_of_the_trunk_warn_of_siphon_and_dips():
    """A trunk that ends higher than it starts can siphon; a dip between pieces gathers water."""
    trunk = (
        PipeSegment(pipe="steel-3/4", length_m=20.0, start_elevation_m=2.0, end_elevation_m=0.5),
        PipeSegment(pipe="pe-3/4", length_m=80.0, cover_m=0.4, start_elevation_m=0.5, end_elevation_m=3.0),
    )
    assert {"air-siphon", "air-low-point"} <= codes(air(job(trunk=trunk), branches(9, 11, 13)))


def test_the_deepest_out_of_reach_is_a_danger_and_the_rest_is_solved():
    """A weak machine and one deep diffuser: it is named, shut, and the others are balanced."""
    curve = (
        CurvePoint(pressure_pa=0.0, intake_flow_m3_s=2e-3),
        CurvePoint(pressure_pa=45e3, intake_flow_m3_s=0.0),
    )
    result = air(job(compressor=Compressor(curve=curve), route_length_m=50.0), branches(7, 9, 25))
    assert "air-no-reach" in codes(result)
    assert result.balanced.branch("D3").shut
    assert result.balanced.branch("D1").flow_standard_m3_s > 0.0
    assert [point.case for point in result.alone] == ["D1 alone", "D2 alone"]


def test_a_compressor_that_reaches_no_depth_is_refused():
    """An error with both pressures and the way out."""
    curve = (
        CurvePoint(pressure_pa=0.0, intake_flow_m3_s=2e-3),
        CurvePoint(pressure_pa=15e3, intake_flow_m3_s=0.0),
    )
    with pytest.raises(ModelError, match="can't reach the depth") as error:
        air(job(compressor=Compressor(curve=curve), route_length_m=50.0), branches(7, 9, 25))
    assert "shallower" in error.value.remedy


def test_no_generic_machine_reaches_100_m():
    """An error, not an endless search."""
    with pytest.raises(ModelError, match="no generic compressor"):
        air(job(route_length_m=50.0), branches(330))


@pytest.mark.parametrize(
    ("parts", "specs", "words"),
    [
        ({}, branches(9), "not known"),
        ({"route_length_m": 50.0}, (), "no diffuser"),
        ({"route_length_m": 50.0, "diffusers": (Diffuser(name="D1", depth_m=2.0),)}, (), "no branch_length"),
        ({"route_length_m": 50.0}, (BranchSpec("D1", 2.0, 0.0, 0.0127),), "length of 0"),
        ({"route_length_m": 50.0}, (BranchSpec("D1", 2.0, 10.0, -0.01),), "bore of -0.01"),
        ({"route_length_m": 50.0}, (BranchSpec("D1", 0.0, 10.0, 0.01),), "depth of 0"),
        ({"route_length_m": 50.0}, branches(9) * 2, "two branches"),
        ({"trunk": (PipeSegment(pipe="pe-3/5", length_m=5.0),)}, branches(9), "no pipe named"),
        ({"trunk": (PipeSegment(pipe="", length_m=5.0),)}, branches(9), "neither pipe nor bore"),
        ({"trunk": (PipeSegment(pipe="pe-1", bore_m=0.05, length_m=5.0),)}, branches(9), "not smaller"),
        (
            {"route_length_m": 50.0, "compressor": Compressor(name="rocking piston")},
            branches(9),
            "no generic",
        ),
    ],
)
def test_what_no_line_can_be_is_refused(parts, specs, words):
    """Each fault is named with its place or its remedy."""
    with pytest.raises(InputError, match=words) as error:
        air(job(**parts), specs)
    assert error.value.remedy


@pytest.mark.parametrize(
    ("points", "words"),
    [
        ([(0.0, 2e-3)], "1 point"),
        ([(0.0, 2e-3), (0.0, 1e-3)], "do not rise"),
        ([(0.0, 2e-3), (5e4, 3e-3)], "rises with the pressure"),
        ([(0.0, 0.0), (5e4, 0.0)], "no flow"),
        ([(0.0, 4.7), (5e4, 4.1)], "no compressor of this kind"),
        ([(0.0, 2e-3), (10.0, 1e-3)], "no compressor of this kind"),
    ],
)
def test_a_curve_no_compressor_has_is_refused(points, words):
    """Too short, not monotone, empty, or in the wrong units."""
    curve = tuple(CurvePoint(pressure_pa=p, intake_flow_m3_s=q) for p, q in points)
    with pytest.raises(InputError, match=words):
        air(job(compressor=Compressor(curve=curve), route_length_m=50.0), branches(9))


def test_the_same_job_gives_the_same_answer():
    """Nothing is drawn or timed: twice the same, field by field."""
    first, second = air(reference(), branches(7, 9, 10)), air(reference(), branches(7, 9, 10))
    for field in fields(first):
        assert getattr(first, field.name) == getattr(second, field.name)
