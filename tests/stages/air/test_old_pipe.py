"""A pipe in the ground: print line, posterior in the network, leak, verdict."""

import math
from datetime import date

import pytest

from plumeline.errors import InputError
from plumeline.job.document import (
    AirSystem,
    Compressor,
    CurvePoint,
    Diffuser,
    HoldTest,
    Job,
    OldPipe,
    OpenEndTest,
    PipeSegment,
    Pond,
    Site,
)
from plumeline.stages.air import air
from plumeline.stages.air.old_pipe import Verdict, bore_nodes, quantile
from plumeline.stages.air.pipe_classes import OTHER
from plumeline.stages.air.proving import bore_classes

FOOT_M, INCH_M = 0.3048, 0.0254
PSI_PA, CFM_M3_S = 6894.757293168, 4.719474432e-4
HELD = HoldTest(
    start_pressure_pa=9.3 * PSI_PA, end_pressure_pa=9.28 * PSI_PA, minutes=60, temperature_degc=18.0
)


def job_of(trunk=None, relief_psi=14.0, **old):
    """Return a job whose trunk has 300 ft of an old pipe behind 30 ft of steel."""
    curve = tuple(
        CurvePoint(pressure_pa=psi * PSI_PA, intake_flow_m3_s=cfm * CFM_M3_S)
        for psi, cfm in ((0, 5.0), (5, 4.6), (10, 4.1), (15, 3.4))
    )
    if trunk is None:
        trunk = (
            PipeSegment(pipe="steel-3/4", length_m=30 * FOOT_M),
            PipeSegment(pipe="old-pipe", length_m=300 * FOOT_M, cover_m=0.45),
        )
    line = AirSystem(
        compressor=Compressor(name="own", curve=curve, relief_pressure_pa=relief_psi * PSI_PA),
        trunk=trunk,
        old_pipe=OldPipe(length_m=300 * FOOT_M, **old),
        diffusers=(
            Diffuser(name="A", depth_m=2.7, branch_length_m=36.0),
            Diffuser(name="B", depth_m=3.3, branch_length_m=54.0),
        ),
        air_per_diffuser_m3_s=1.0 * CFM_M3_S,
        soil_temperature_degc=18.0,
    )
    return Job(
        id="old-orchard", name="Old orchard", date=date(2026, 8, 11), pond=Pond(), air=line,
        site=Site(latitude_deg=35.9, longitude_deg=-79.6, elevation_m=0.0),
    )  # fmt: skip


def open_end(gauge_psi):
    """Return a test with 3.5 scfm."""
    return OpenEndTest(air_m3_s=3.5 * CFM_M3_S, inlet_pressure_pa=gauge_psi * PSI_PA, temperature_degc=25.0)


def codes(found):
    """Return the codes of all notices."""
    return {notice.code for notice in found.notices}


def test_the_print_line_beats_the_test():
    """DR 9 of 1/2 in on the wall, a gauge of 3/4 in at the test: the wall is believed, the difference is said."""
    found = air(job_of(print_line="1/2 IPS DR 9 PE4710 ASTM D3035", open_end_test=open_end(0.31)))
    proof = found.old_pipe
    assert proof.printed
    assert [item.name for item in proof.classes] == ["pe-dr9-1/2"]
    assert proof.bore_m == pytest.approx(0.654 * INCH_M, rel=1e-3)
    assert "old-pipe-disagrees" in codes(found)
    assert "old-pipe-print-line" not in codes(found)


def test_a_print_line_that_agrees_says_nothing_more():
    """0.31 psig is what 0.824 in shows (`fluids` 1.3.1): no word of a difference."""
    found = air(job_of(print_line='3/4" SIDR-15 PE 100 PSI ASTM D2239', open_end_test=open_end(0.31)))
    assert found.old_pipe.printed
    assert "old-pipe-disagrees" not in codes(found)
    assert found.trunk[1].bore_m == pytest.approx(0.824 * INCH_M, rel=1e-3)


def test_a_print_line_that_leaves_several_kinds_narrows_the_test():
    """ "3/4 IN PE" leaves polyethylene of that size; a gauge that none of them shows means none of these."""
    found = air(job_of(print_line="3/4 IN PE", open_end_test=open_end(0.31))).old_pipe
    assert not found.printed
    assert {item.material for item in found.classes if item.name != OTHER} == {"polyethylene"}
    assert {item.nominal for item in found.classes if item.name != OTHER} == {"3/4 in"}
    choked = air(job_of(print_line="3/4 IN PE", open_end_test=open_end(6.0))).old_pipe
    assert choked.classes[0].name == OTHER
    assert all(item.name != OTHER for item in air(job_of(print_line="3/4 IN PE")).old_pipe.classes)


def test_an_unread_print_line_is_said():
    """A line that names no pipe of the table leaves the test to decide."""
    found = air(job_of(print_line="NSF-pw 61", open_end_test=open_end(0.31)))
    assert "old-pipe-print-unread" in codes(found)
    assert not found.old_pipe.printed


def test_the_posterior_goes_into_the_network_as_a_distribution():
    """The band of the gauge is that of the line solved bore by bore, weighed by hand with the posterior's weights."""
    job = job_of(open_end_test=open_end(0.35))
    proof = air(job).old_pipe
    by_hand = []
    for bore_m, weight in bore_nodes(proof.classes):
        trunk = (job.air.trunk[0], PipeSegment(pipe="", bore_m=bore_m, length_m=300 * FOOT_M, cover_m=0.45))
        line = job.air.model_copy(update={"trunk": trunk, "old_pipe": None})
        by_hand.append((air(job.model_copy(update={"air": line})).balanced.compressor_pressure_pa, weight))
    for share, value in ((0.05, proof.bands.compressor.p05_pa), (0.95, proof.bands.compressor.p95_pa)):
        assert value == pytest.approx(quantile(by_hand, share), rel=0.003)
    assert proof.bands.compressor.p05_pa < proof.bands.compressor.p95_pa


def test_nodes_keep_the_weight_and_the_middle_of_the_posterior():
    """Weights sum to 1; their mean bore is the classes' mean within 0.1 %."""
    classes = bore_classes(3.5 * CFM_M3_S, 300 * FOOT_M, 0.31 * PSI_PA, 25.0)
    nodes = bore_nodes(classes)
    assert sum(weight for _, weight in nodes) == pytest.approx(1.0)
    mean = sum(item.probability * item.bore_m for item in classes)
    assert sum(bore * weight for bore, weight in nodes) == pytest.approx(mean, rel=1e-3)


def test_a_narrower_gauge_narrows_the_line():
    """Without a test the band of the trunk's loss is wider than with one."""
    plain = air(job_of(nominal="3/4 in")).old_pipe.bands.trunk_drop
    tested = air(job_of(nominal="3/4 in", open_end_test=open_end(0.31))).old_pipe.bands.trunk_drop
    assert tested.p95_pa - tested.p05_pa < 0.6 * (plain.p95_pa - plain.p05_pa)


def test_verdict_usable():
    """It held 1.5 × the working pressure with a leak too small to matter."""
    proof = air(job_of(print_line='3/4" SIDR-15 PE 100 PSI ASTM D2239', hold_test=HELD)).old_pipe
    assert proof.working_pressure_pa < 6.2 * PSI_PA
    assert proof.verdict is Verdict.USABLE
    assert proof.leak_share_fraction < 0.01


def test_verdict_usable_below():
    """Held at 6 psig it is good to 4, two thirds of it, and the line works above that."""
    test = HELD.model_copy(update={"start_pressure_pa": 6.0 * PSI_PA, "end_pressure_pa": 5.99 * PSI_PA})
    proof = air(job_of(print_line='3/4" SIDR-15 PE 100 PSI ASTM D2239', hold_test=test)).old_pipe
    assert proof.verdict is Verdict.BELOW
    assert proof.proven_pressure_pa == pytest.approx(4.0 * PSI_PA)
    assert "usable below" in proof.verdict_words


@pytest.mark.parametrize(
    ("end_psi", "minutes", "verdict"), [(7.0, 0.4, Verdict.LEAK), (0.5, 1.0, Verdict.REPLACE)]
)
def test_verdict_leak_and_replace(end_psi, minutes, verdict):
    """Loss by hand: V·ln(p0/p1)/(p_std·t)·p_working over 4.1 scfm, in the bands 5 to 25 % and over."""
    test = HELD.model_copy(update={"end_pressure_pa": end_psi * PSI_PA, "minutes": minutes})
    proof = air(job_of(print_line='3/4" SIDR-15 PE 100 PSI ASTM D2239', hold_test=test)).old_pipe
    volume_ft3 = math.pi / 4 * (0.824 / 12) ** 2 * 300
    scfm = volume_ft3 * math.log(9.3 / end_psi) / minutes * proof.working_pressure_pa / PSI_PA / 14.696
    scfm *= 293.15 / 291.15
    found = air(job_of(print_line='3/4" SIDR-15 PE 100 PSI ASTM D2239', hold_test=test))
    expected = scfm * CFM_M3_S / found.balanced.flow_standard_m3_s
    assert proof.leak_share_fraction == pytest.approx(expected, rel=0.01)
    assert proof.verdict is verdict


def test_a_pipe_too_narrow_for_the_air_is_given_up():
    """300 ft of 3/8 in lose over 5 psi with 2.6 scfm (low-pressure table): no diffuser under 6 psig of relief."""
    proof = air(job_of(nominal="3/8 in", relief_psi=9.0)).old_pipe
    assert proof.verdict is Verdict.REPLACE
    assert proof.bands.enough_probability == 0.0


def test_a_pipe_that_no_size_fits_is_not_trusted():
    """5 psig at the open-end test of 3/4 in: ten times what 0.68 in shows; held or not, something chokes it."""
    proof = air(job_of(open_end_test=open_end(5.0), hold_test=HELD)).old_pipe
    assert proof.classes[0].name == OTHER
    assert proof.verdict is Verdict.UNPROVEN
    assert "chokes" in proof.verdict_words


def test_without_a_hold_test_it_is_not_proven():
    """No hold test, no trust."""
    assert air(job_of(open_end_test=open_end(0.31))).old_pipe.verdict is Verdict.UNPROVEN


@pytest.mark.parametrize("relief_psi", [14.0, 7.5])
def test_the_test_pressure_is_never_over_the_relief_nor_half_more_than_working(relief_psi):
    """The lesser of 1.5 × working and the relief; and never 100 psi, with its energy said (Crowl 1992)."""
    found = air(
        job_of(print_line='3/4" SIDR-15 PE 100 PSI ASTM D2239', relief_psi=relief_psi, hold_test=HELD)
    )
    proof = found.old_pipe
    assert proof.test_pressure_pa == pytest.approx(min(1.5 * proof.working_pressure_pa, relief_psi * PSI_PA))
    # reference: 430 ft of 0.824 in hold 42 kJ at 100 psig, 1.8 kJ at 15
    assert proof.high_test_energy_j == pytest.approx(42e3 * 300 / 430, rel=0.02)
    (notice,) = [item for item in found.notices if item.code == "old-pipe-test"]
    assert "people clear" in notice.text
    assert "100 psi" in notice.text


def test_a_hold_test_in_which_the_pressure_rises_is_refused():
    """Air that comes from nowhere: the stage refuses it as the quick command does."""
    test = HELD.model_copy(update={"end_pressure_pa": 9.9 * PSI_PA})
    with pytest.raises(InputError, match="the pressure rises"):
        air(job_of(print_line='3/4" SIDR-15 PE 100 PSI ASTM D2239', hold_test=test))


def test_an_old_pipe_alone_is_the_whole_trunk():
    """Without any trunk the line is the old pipe, at its own length."""
    found = air(job_of(trunk=(), open_end_test=open_end(0.31)))
    assert [piece.length_m for piece in found.trunk] == [pytest.approx(300 * FOOT_M)]
    assert not found.trunk_chosen


def test_a_piece_of_old_pipe_that_nobody_describes_is_refused():
    """The name alone is no pipe."""
    job = job_of()
    line = job.air.model_copy(update={"old_pipe": None})
    with pytest.raises(InputError, match="none is described"):
        air(job.model_copy(update={"air": line}))


def test_a_pipe_of_which_nothing_is_known_still_has_a_line():
    """No print line that can be read, no test of its bore: the piece of trunk is a pipe that holds the middle bore."""
    found = air(job_of(print_line="3/4 SDR 11", hold_test=HELD))
    piece = found.trunk[1]
    assert piece.bore_m == pytest.approx(found.old_pipe.bore_m)
    assert piece.bore_m < piece.outside_diameter_m
