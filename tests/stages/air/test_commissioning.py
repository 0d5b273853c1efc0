"""The commissioning sheet: hydrostatics by hand, the order of the gauges, the bands, and what counts as off."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from plumeline.errors import InputError
from plumeline.job.document import AirSystem, AsBuilt, Diffuser, Job, PipeSegment, Pond, Site, Trench
from plumeline.stages.air import air
from plumeline.stages.air.commissioning import commissioning, sheet_states, state_words
from plumeline.stages.air.faults import GaugeReading
from plumeline.stages.air.network import AirNetwork, Branch, LossPoint, Pipe, SiteCurve, Valve
from plumeline.stages.air.network import Diffuser as Outlet
from plumeline.stages.air.sheet_bands import SoundLines, ValveState
from plumeline.stages.air.sheet_compare import Verdict, compare

PSI_PA = 6894.757
NOON = datetime(2026, 8, 12, 12, tzinfo=UTC)
NAMES = ("A", "B", "C")


def network(*, bore_m=0.0127, trunk_bore_m=0.0209, membrane_pa=3000.0):
    """Return a line to three diffusers, its deepest valve open."""
    branches = [Branch("manifold", parts=(Pipe(130.0, trunk_bore_m),))]
    for name, depth_m, length_m, loss in (
        ("A", 2.4, 30.0, 400.0),
        ("B", 2.7, 45.0, 200.0),
        ("C", 3.0, 60.0, 0.0),
    ):
        parts = (Valve(bore_m, loss_number=loss), Pipe(length_m, bore_m))
        branches.append(Branch(name, "manifold", parts, Outlet(depth_m, (LossPoint(0.0, membrane_pa),))))
    return AirNetwork(SiteCurve((0.0, 7e4, 1.4e5), (2.6e-3, 2.1e-3, 1.4e-3)), tuple(branches))


def a_job(**parts):
    """Return a job with two typed diffusers."""
    line = AirSystem(
        trunk=(PipeSegment(pipe="pe-3/4", length_m=90.0),),
        diffusers=(
            Diffuser(name="A", depth_m=2.4, branch_length_m=30.0),
            Diffuser(name="B", depth_m=3.0, branch_length_m=45.0),
        ),
    )
    site = Site(latitude_deg=36.0, longitude_deg=-80.0, elevation_m=0.0)
    return Job(id="j", name="J", date=date(2026, 8, 11), site=site, pond=Pond(), air=line, **parts)


@pytest.fixture(scope="module")
def lines():
    """Sound lines of three diffusers."""
    return SoundLines(network(), 1, level_read=True)


def test_a_port_on_wide_pipes_shows_the_water_over_it():
    """Source: hydrostatics by hand, density x g x depth; 998.2 kg/m³ (fresh water, 20 °C) x 9.80665 m/s².

    Pipes of half a metre lose nothing. Alone at 3.0 m: 29,367 Pa; the level 0.5 m up: 34,262 Pa; both with 3,000 Pa of
    membrane over it.
    """
    wide = SoundLines(network(bore_m=0.5, trunk_bore_m=0.5), 1, level_read=True)
    alone = ValveState(("C",), full_open=True)
    for level_m, water_pa in ((0.0, 29367.0), (0.5, 34262.0), (-0.5, 24473.0)):
        shown, _drawn = wide.gauges(alone, level_m)
        assert shown["C"] == pytest.approx(water_pa + 3000.0, abs=30.0)
        assert shown["compressor"] == pytest.approx(shown["C"], abs=30.0)


def test_the_band_is_that_of_its_parts():
    """Source: variances add. Wide pipes alone at 3.0 m: gauge 1,723.7, level 0.05 m = 489.5, membrane 700 Pa.

    One standard deviation is then 1,923.7 Pa and nine of ten lie in 3.29 of it, 6,329 Pa; 400 draws know that to a
    tenth.
    """
    wide = SoundLines(network(bore_m=0.5, trunk_bore_m=0.5), 1, level_read=True)
    shown, drawn = wide.gauges(ValveState(("C",), full_open=True), 0.0)
    low, high = np.quantile(drawn["C"] + wide.noise(1)[:, 0], (0.05, 0.95))
    assert high - low == pytest.approx(6329.0, rel=0.1)
    assert 0.5 * (low + high) == pytest.approx(shown["C"], abs=250.0)


def test_fewer_outlets_mean_more_pressure(lines):
    """Source: a compressor gives less air at more pressure, so each outlet that is shut raises the gauge."""
    shown = {words: lines.gauges(state, 0.0)[0] for words, state in sheet_states(NAMES).items()}
    for name in NAMES:
        assert shown[f"{name} alone, full open"]["compressor"] > shown["all full open"]["compressor"]
        assert shown[f"{name} shut"]["compressor"] > shown["valves set"]["compressor"]
    for words, gauges in shown.items():
        assert (
            gauges["compressor"] >= gauges["manifold"] >= max(gauges[n] for n in NAMES if n not in words)
        ), words


def test_water_over_all_raises_all_alike_where_the_flow_hardly_changes(lines):
    """Source: by hand, 0.1 m of water is 979 Pa; a flow that falls with it takes a little friction off."""
    low, high = (lines.gauges(ValveState(), level_m)[0] for level_m in (0.0, 0.1))
    for place in ("compressor", "manifold", "C"):
        assert 0.85 * 979.0 < high[place] - low[place] < 979.0


def test_the_table_of_the_air_stage_says_the_same():
    """The sheet's expected gauges and those of the air stage are of one line."""
    job = a_job()
    found = air(job)
    sheet = commissioning(job, found)
    wanted = {("all full open", point.case): point for point in (found.valves_open,)}
    wanted |= {("valves set", point.case): point for point in (found.balanced,)}
    wanted |= {(f"{point.case}, full open", point.case): point for point in found.alone}
    wanted |= {(point.case, point.case): point for point in found.one_shut}
    for (state, _case), point in wanted.items():
        rows = {item.place: item.expected_pa for item in sheet.expected if item.state == state}
        assert rows["compressor"] == pytest.approx(point.compressor_pressure_pa, abs=1.0), state
        for branch in point.branches:
            if not branch.shut:
                assert rows[branch.name] == pytest.approx(branch.port_pressure_pa, abs=1.0), (
                    state,
                    branch.name,
                )


def visit(lines, draw, error, *, off=None):
    """Return a visit's readings of one drawn line, its gauges read with an error."""
    found = []
    for state in sheet_states(NAMES).values():
        _shown, drawn = lines.gauges(state, 0.0)
        for place in ("compressor", "manifold", *(state.open_ports or NAMES)):
            pressure_pa = drawn[place][draw] + 0.25 * PSI_PA * error.standard_normal()
            pressure_pa += (off or {}).get(place, 0.0) * PSI_PA
            found.append(
                GaugeReading(NOON, place, pressure_pa, 0.0, state.open_ports, None, 2, state.full_open)
            )
    return tuple(found)


def test_sound_lines_agree_as_often_as_promised(lines):
    """Lines and gauges drawn by another seed: 1 visit in 20 has a gauge called off, 1 in 100 is apart.

    Source: the binomial law; of 120 visits at 5 %, more than 14 come once in 400 times.
    """
    others = SoundLines(network(), 7, level_read=True)
    error = np.random.default_rng(3)
    off = apart = 0
    for draw in range(120):
        readings = visit(others, draw, error)
        found = compare(lines, readings, ("",) * len(readings), 0.0)
        off += bool(found.disagreeing)
        apart += found.apart_together
    assert 0 < off <= 14
    assert apart <= 6


def test_a_port_two_psi_high_disagrees_by_two_psi(lines):
    """The port's readings are called off, near 2 psi; the gauges of the other places are not."""
    readings = visit(lines, 5, np.random.default_rng(0), off={"B": 2.0})
    found = compare(lines, readings, ("",) * len(readings), 0.0)
    assert not found.agrees
    assert {row.reading.place for row in found.disagreeing} == {"B"}
    assert np.mean([row.off_pa for row in found.rows if row.reading.place == "B"]) == pytest.approx(
        2.0 * PSI_PA, rel=0.25
    )
    assert all(abs(row.off_widths_number) > found.limit_number for row in found.disagreeing)


def test_ports_that_part_from_each_other_disagree_together(lines):
    """Each gauge within its band, A up and C down in every reading: no sound line moves so."""
    found = []
    for item in visit(lines, 0, np.random.default_rng(0)):
        shown, _ = lines.gauges(ValveState(item.open_ports, item.full_open), 0.0)
        shift = {"A": 0.38, "C": -0.38}.get(item.place, 0.0) * PSI_PA
        found.append(replace(item, pressure_pa=shown[item.place] + shift))
    compared = compare(lines, tuple(found), ("",) * len(found), 0.0)
    assert all(row.verdict is Verdict.AGREES for row in compared.rows)
    alone = compare(lines, (found[0],), ("",), 0.0)
    assert alone.agrees
    assert compared.as_far_count < alone.as_far_count


def test_valves_are_named_in_the_words_of_the_sheet():
    """What a file says and what the sheet says are one."""
    assert state_words(ValveState(("B", "A")), NAMES) == "C shut"
    assert state_words(ValveState(("C", "B", "A"), full_open=True), NAMES) == "all full open"
    assert state_words(ValveState(("B",)), NAMES) == "B alone, as set"
    assert state_words(ValveState(), ("A",)) == "valves set"
    assert list(sheet_states(("A",))) == ["valves set"]


@pytest.mark.parametrize(
    ("parts", "words"),
    [
        ({"as_built": AsBuilt(made_on=date(2026, 8, 20))}, "before the line was built on 2026-08-20"),
        ({"trench": Trench(dig_date=date(2026, 8, 17))}, "before the trench is to be dug on 2026-08-17"),
    ],
)
def test_readings_before_the_line_was_there_are_left_out_and_named(parts, words):
    """A gauge of a line that is not in the ground yet goes; one of later stays; with none left it is refused."""
    job = a_job(**parts)
    early = GaugeReading(NOON, "compressor", 4e4, row=2)
    later = GaugeReading(NOON + timedelta(days=9), "compressor", 4e4, row=3)
    sheet = commissioning(job, air(job), readings=(early, later))
    assert sheet.readings == (later,)
    told = {item.code: item.text for item in sheet.notices}["gauges-before-the-line"]
    assert words in told
    assert "Row 2" in told
    assert "Row 3" not in told
    with pytest.raises(InputError, match=words) as refused:
        commissioning(job, air(job), readings=(early,))
    assert refused.value.place == "row 2"


def test_water_below_a_diffuser_is_refused():
    """A level that leaves the shallowest diffuser dry: a sign or a unit is wrong."""
    job = a_job()
    with pytest.raises(InputError, match="stands dry"):
        commissioning(job, air(job), water_level_m=-2.5)


def test_a_relief_valve_under_every_gauge_leaves_no_sheet():
    """Four metres of water more than the line is for: the relief valve opens in every standing."""
    job = a_job()
    with pytest.raises(InputError, match="opens however the valves stand"):
        commissioning(job, air(job), water_level_m=4.0)
