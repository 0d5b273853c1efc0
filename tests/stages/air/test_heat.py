"""The hot day: the line's heat, what plastic stands at each joint, the first metal, the cabinet, the noise."""

from datetime import date

import pytest

from plumeline.job.document import (
    AirLine,
    AirSystem,
    Answer,
    Cabinet,
    Compressor,
    CurvePoint,
    Housing,
    Job,
    PipeSegment,
    Pond,
    Power,
    Site,
)
from plumeline.stages.air import BranchSpec, air

PSI_PA = 6894.757293168
FOOT_M = 0.3048
CURVE = tuple(
    CurvePoint(pressure_pa=psi * PSI_PA, intake_flow_m3_s=cfm * 4.719474432e-4)
    for psi, cfm in ((0, 5.2), (5, 4.7), (10, 4.1), (15, 3.4), (20, 2.5))
)
STEEL_THEN_PE = (
    PipeSegment(pipe="steel-3/4", length_m=4.0),
    PipeSegment(pipe="pe-3/4", length_m=60.0, cover_m=0.45),
)


def solved(*, trunk=STEEL_THEN_PE, power=None, branches=None, **parts):
    """Return the solved line of a job with these parts."""
    parts.setdefault("compressor", Compressor(curve=CURVE, relief_pressure_pa=15.0 * PSI_PA, power_w=420.0))
    job = Job(
        id="job-1",
        name="a pond",
        date=date(2026, 8, 1),
        site=Site(latitude_deg=35.0, longitude_deg=-80.0, elevation_m=0.0),
        pond=Pond(),
        power=power or Power(),
        air=AirSystem(trunk=trunk, **parts),
    )
    return air(job, branches or (BranchSpec("A", 2.7, 30.0, 0.0127), BranchSpec("B", 3.0, 40.0, 0.0127)))


def codes(result):
    """Return the codes of a result's notices."""
    return {notice.code for notice in result.notices}


def test_a_large_room_adds_nothing_and_an_unknown_place_is_a_cabinet():
    """No rise in a room; not known counts as the usual cabinet, which is said; shade and a fan cool it."""
    rises = {
        name: solved(cabinet=box).heat.cabinet.rise_k
        for name, box in (
            ("room", Cabinet(housing=Housing.ROOM)),
            ("unknown", None),
            ("shade", Cabinet(housing=Housing.CABINET, shade=Answer.YES)),
            ("fan", Cabinet(housing=Housing.CABINET, fan_flow_m3_s=0.047)),
        )
    }
    assert rises["room"] == 0.0
    assert rises["unknown"] > rises["shade"] > 1.0
    assert rises["unknown"] > rises["fan"] > 1.0
    assert "air-cabinet-assumed" in codes(solved())
    assert "air-cabinet-assumed" not in codes(solved(cabinet=Cabinet(housing=Housing.ROOM)))


def test_the_outlet_on_the_hot_day_is_the_published_relation():
    """T2 = T1 (1 + (r^0.2857 − 1)/η) with the filter's 2,700 Pa before and the cabinet's rise in T1, by hand."""
    result = solved(cabinet=Cabinet(housing=Housing.ROOM))
    ratio = (result.balanced.compressor_pressure_pa + 101325.0) / (101325.0 - 2700.0)
    by_hand_degc = 308.15 * (1.0 + (ratio ** (0.4 / 1.4) - 1.0) / 0.5) - 273.15
    assert result.heat.outlet_degc == pytest.approx(by_hand_degc, abs=0.05)
    assert result.hot_outlet_temperature_degc == result.heat.outlet_degc


def test_every_plastic_joint_is_there_with_its_derated_rating():
    """Steel to polyethylene, its end, and the ports; PE keeps 0.78 at 100 °F and 0.63 at 120 °F, straight between."""
    found = solved().heat
    assert [joint.where for joint in found.joints] == [
        "steel-3/4 to pe-3/4", "end of the metal to come", "manifold", "port of A", "port of B",
    ]  # fmt: skip
    coming = found.joints[1]
    assert coming.temperature_degc == pytest.approx(50.0)
    share = 0.63 + (0.50 - 0.63) * (50.0 - 48.8889) / (60.0 - 48.8889)
    assert coming.derated_pa == pytest.approx(share * 689476.0, rel=1e-6)
    first, last = found.joints[0], found.joints[2]
    assert first.temperature_degc > 60.0
    assert (first.derated_pa, first.too_hot) == (None, True)
    assert last.derated_pa == pytest.approx(689476.0)
    assert found.joints[3].rating_pa is None


def test_a_change_of_plastic_gives_both_sides():
    """PVC to polyethylene: the joint counts once for each pipe, each by its own table."""
    trunk = (
        PipeSegment(pipe="steel-3/4", length_m=15.0),
        PipeSegment(pipe="pvc40-3/4", length_m=5.0, cover_m=0.45),
        PipeSegment(pipe="pe-3/4", length_m=60.0, cover_m=0.45),
    )
    found = solved(trunk=trunk).heat
    both = [joint for joint in found.joints if joint.where == "pvc40-3/4 to pe-3/4"]
    assert [joint.pipe for joint in both] == ["pvc40-3/4", "pe-3/4"]
    assert both[0].temperature_degc == pytest.approx(both[1].temperature_degc)


def test_the_lines_beyond_the_manifold_have_joints_too():
    """A line of polyethylene from the manifold to a second one is listed at both of its ends."""
    second = AirLine(name="east", pipe="pe-1/2", length_m=20.0)
    branches = (
        BranchSpec("A", 2.7, 30.0, 0.0127),
        BranchSpec("B", 3.0, 40.0, 0.0127, hangs_from="east"),
    )
    where = [joint.where for joint in solved(lines=(second,), branches=branches).heat.joints]
    assert {"head of east", "end of east", "port of B"} <= set(where)


def test_metal_in_the_ground_needs_less_length():
    """Soil cools better than still air (reference: 8.2 ft against 12.2 ft); the pipe at that length is at 50 °C."""
    found = solved().heat
    assert 0.0 < found.metal_buried_length_m < found.metal_length_m
    trunk = (
        PipeSegment(pipe="steel-3/4", length_m=found.metal_length_m),
        PipeSegment(pipe="pe-3/4", length_m=60.0, cover_m=0.45),
    )
    again = solved(trunk=trunk).heat
    assert again.joints[0].temperature_degc == pytest.approx(50.0, abs=0.3)


def test_enough_metal_in_the_ground_is_enough():
    """Steel that lies in the ground is judged by its own heat, not by what it would need in the open."""
    buried_m = 1.1 * solved().heat.metal_buried_length_m
    trunk = (
        PipeSegment(pipe="steel-3/4", length_m=buried_m, cover_m=0.45),
        PipeSegment(pipe="pe-3/4", length_m=60.0, cover_m=0.45),
    )
    assert "air-metal-first" in codes(solved())
    assert "air-metal-first" not in codes(solved(trunk=trunk))


def test_plastic_in_the_open_is_warned_of():
    """Polyethylene without cover: the hazard bulletin and Recommendation B; buried or steel: nothing."""
    bare = (PipeSegment(pipe="pe-3/4", length_m=60.0),)
    assert "air-plastic-exposed" in codes(solved(trunk=bare))
    assert "air-plastic-exposed" not in codes(solved())


def test_a_hot_shut_cabinet_is_a_caution_with_what_mends_it():
    """Nearly no opening and no fan: over 30 °F, and the fan that would do."""
    box = Cabinet(housing=Housing.CABINET, vent_area_m2=1e-4, vent_height_m=0.4, shade=Answer.NO)
    (said,) = [notice.text for notice in solved(cabinet=box).notices if notice.code == "air-hot-cabinet"]
    assert "cfm" in said


def test_noise_at_the_neighbour_against_the_night_limit():
    """57 dB(A) at 1 m is 57 − 20 log 30 = 27.5 at 30 m; the margin to 40 is 12.5; one over it is a caution."""
    loud = Compressor(curve=CURVE, noise_dba=57.0, relief_pressure_pa=15.0 * PSI_PA)
    found = solved(compressor=loud, neighbour_distance_m=30.0, night_limit_dba=40.0)
    assert found.noise.at_neighbour_dba == pytest.approx(27.46, abs=0.01)
    assert found.noise.margin_dba == pytest.approx(12.54, abs=0.01)
    assert not {code for code in codes(found) if code.startswith(("air-too-loud", "air-noise"))}
    near = solved(compressor=loud, neighbour_distance_m=5.0, night_limit_dba=40.0)
    assert "air-too-loud" in codes(near)
    assert "air-noise-close" in codes(solved(compressor=loud, neighbour_distance_m=8.0, night_limit_dba=40.0))


@pytest.mark.parametrize(
    ("parts", "code"),
    [
        ({}, "air-noise-unknown"),
        ({"noise_dba": 57.0}, "air-neighbour-unknown"),
    ],
)
def test_unknown_is_not_quiet(parts, code):
    """What is not known of the noise is said, never taken as silence."""
    machine = Compressor(curve=CURVE, relief_pressure_pa=15.0 * PSI_PA, **parts)
    assert code in codes(solved(compressor=machine))


def test_two_machines_are_three_decibels_louder():
    """Generic machines bring their noise; two side by side make 3 dB more (tables of adding levels)."""
    one = solved(compressor=Compressor(name="rocking-piston 1/2 hp class"))
    two = solved(compressor=Compressor(name="rocking-piston 1/2 hp class", count=2))
    assert two.noise.at_1_m_dba - one.noise.at_1_m_dba == pytest.approx(3.01, abs=0.01)


def test_a_machine_hotter_than_it_stands_is_a_danger():
    """30 psig through a one-stage machine: T2 by hand (Mills 2004) is far over the 135 °C of the generic table."""
    deep = (BranchSpec(name="A", depth_m=12.0, length_m=30.0, bore_m=0.0127),)
    machine = Compressor(name="rocking-piston 1/2 hp class")
    found = solved(compressor=machine, branches=deep)
    ratio = (found.balanced.compressor_pressure_pa + 101325.0) / (101325.0 - 2700.0)
    by_hand_degc = 308.15 * (1.0 + (ratio ** (0.4 / 1.4) - 1.0) / 0.5) - 273.15
    assert by_hand_degc > 160.0
    (told,) = [notice for notice in found.notices if notice.code == "air-hot-outlet"]
    assert told.severity == "danger"
    assert "135 °C" in told.text
    shallow = (BranchSpec(name="A", depth_m=1.0, length_m=30.0, bore_m=0.0127),)
    assert "air-hot-outlet" not in codes(solved(compressor=machine, branches=shallow))


def test_of_a_machine_nobody_knows_the_limit_the_hottest_of_the_table_is_named():
    """An own curve has no limit: the maker's sheet is asked for, and 150 °C of the vane machines stands beside."""
    deep = (BranchSpec(name="A", depth_m=14.0, length_m=30.0, bore_m=0.0127),)
    curve = (
        CurvePoint(pressure_pa=0.0, intake_flow_m3_s=0.0022),
        CurvePoint(pressure_pa=2.5e5, intake_flow_m3_s=0.0012),
    )
    found = solved(compressor=Compressor(curve=curve, power_w=420.0), branches=deep)
    (told,) = [notice for notice in found.notices if notice.code == "air-hot-outlet"]
    assert "150 °C" in told.text
    assert "maker's sheet" in told.text
