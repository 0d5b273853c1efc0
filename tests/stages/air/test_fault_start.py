"""The search for faults from the accepted gauges: conjugate normals by hand, a line unlike its drawing."""

from dataclasses import replace
from datetime import UTC, date, datetime

import numpy as np
import pytest

from plumeline.job.document import AcceptedGauge, Commissioned
from plumeline.stages.air.fault_bench import GAUGE_SD_PA, Bench, Look, State
from plumeline.stages.air.fault_cases import with_branch, with_flow, with_parts
from plumeline.stages.air.fault_start import DRIFT_NUMBER, start_of
from plumeline.stages.air.faults import GaugeReading, faults
from plumeline.stages.air.network import AirNetwork, Branch, Diffuser, LossPoint, Pipe, SiteCurve, Valve

NOON = datetime(2026, 8, 11, 12, tzinfo=UTC)
LATER = datetime(2027, 6, 11, 12, tzinfo=UTC)
NAMES = ("A", "B", "C")
STATES = (
    State(None, 0.0, True), *(State((name,), 0.0, True) for name in NAMES), State(None, 0.0),
    State(("B", "C"), 0.0), State(("A", "C"), 0.0), State(("A", "B"), 0.0),
)  # fmt: skip


@pytest.fixture(scope="module")
def network():
    """A line to three diffusers."""
    branches = [Branch("manifold", parts=(Pipe(130.0, 0.0209),))]
    for name, depth_m, length_m, loss in (
        ("A", 2.4, 30.0, 400.0),
        ("B", 2.7, 45.0, 200.0),
        ("C", 3.0, 60.0, 0.0),
    ):
        parts = (Valve(0.0127, loss_number=loss), Pipe(length_m, 0.0127))
        branches.append(Branch(name, "manifold", parts, Diffuser(depth_m, (LossPoint(0.0, 3000.0),))))
    return AirNetwork(SiteCurve((0.0, 7e4, 1.4e5), (2.6e-3, 2.1e-3, 1.4e-3)), tuple(branches))


def read_off(line, states=STATES):
    """Return every gauge of a line: (state, place, pressure)."""
    bench = Bench(line, level_read=True)
    looks = [Look(s, place) for s in states for place in ("compressor", *(s.open_ports or NAMES))]
    return list(zip(looks, bench.sound(looks), strict=True))


def record(read, *, disagreed=()):
    """Return what was read as an accepted record."""
    kept = tuple(
        AcceptedGauge(
            time=NOON, place=look.place, pressure_pa=pressure, expected_pa=pressure, p05_pa=0.0, p95_pa=1e5,
            water_level_m=0.0, open_ports=look.state.open_ports or (), full_open=look.state.full_open,
            disagreed=k in disagreed,
        )
        for k, (look, pressure) in enumerate(read)
    )  # fmt: skip
    return Commissioned(accepted_on=date(2026, 8, 12), accepted_by="J. Miller", gauges=kept)


def test_one_gauge_tells_what_conjugate_normals_say(network):
    """Source: a normal mean with a normal prior (textbook): r s²/(s² + e²) of the reading, s² e²/(s² + e²) left.

    s² is what the unknowns move that gauge by, e² that of gauge and level; the drift adds its square of s².
    """
    look = Look(State(None, 0.0), "compressor")
    plain = Bench(network, level_read=True)
    off_pa = 3000.0
    start = start_of(network, record([(look, plain.sound([look])[0] + off_pa)]))
    moves = plain.moves([look])[:, 0]
    s2, e2 = float(moves[:-1] @ moves[:-1]), float(moves[-1] ** 2) + GAUGE_SD_PA**2
    begun = Bench(network, level_read=True, start=start)
    assert begun.means([look])[0, 0] - plain.means([look])[0, 0] == pytest.approx(
        off_pa * s2 / (s2 + e2), rel=1e-6
    )
    left = s2 * e2 / (s2 + e2) + DRIFT_NUMBER**2 * s2
    assert begun.covariances([look])[0][0, 0] == pytest.approx(left + e2, rel=1e-6)


def test_a_gauge_that_disagreed_is_left_out(network):
    """It tells nothing of the line; a record of such gauges alone is no start."""
    read = read_off(network, STATES[:1])
    spoilt = [(read[0][0], read[0][1] + 3e4), *read[1:]]
    start = start_of(network, record(spoilt, disagreed=(0,)))
    assert (start.used_count, start.left_out_count) == (len(read) - 1, 1)
    assert np.abs(start.mean).max() < 0.2
    assert start_of(network, record(read[:1], disagreed=(0,))) is None
    assert start_of(network, None) is None


def odds(network, line, start):
    """Return the odds of each cause from three gauges of a line, each right."""
    read = [item for item in read_off(line, (State(None, 0.0),)) if item[0].place in ("compressor", "A", "C")]
    readings = tuple(GaugeReading(LATER, look.place, float(pa), 0.0) for look, pa in read)
    found = faults(network, readings, Bench(network, level_read=True, start=start))
    return dict(found.cause_probability), found


def test_a_line_that_differs_from_its_drawing_is_known_from_its_first_day(network):
    """A trunk 5 % narrower, a compressor 8 % stronger than drawn: sound then and now, and its wear stands out."""
    narrow = with_parts(
        lambda part: replace(part, bore_m=0.95 * part.bore_m) if isinstance(part, Pipe) else part
    )
    built = with_flow(1.08)(with_branch("manifold", narrow)(network))
    start = start_of(network, record(read_off(built)))
    without, drawn = odds(network, built, None)
    with_it, found = odds(network, built, start)
    assert with_it["nothing wrong"] > without["nothing wrong"]
    assert max(abs(value) for value in found.off_pa) < 0.6 * max(abs(value) for value in drawn.off_pa)
    worn = with_flow(0.6)(built)
    without, _ = odds(network, worn, None)
    with_it, _ = odds(network, worn, start)
    assert with_it["worn compressor"] > 1.3 * without["worn compressor"]
    assert with_it["nothing wrong"] < without["nothing wrong"]


def test_gauges_with_valves_full_open_and_set_are_weighed_together(network):
    """Valves that burn when they are set burn nothing full open; a visit may hold both, in any order."""
    read = read_off(network, (STATES[0], STATES[4]))
    readings = tuple(
        GaugeReading(LATER, look.place, float(pa), 0.0, look.state.open_ports, full_open=look.state.full_open)
        for look, pa in read
    )
    first, second = faults(network, readings), faults(network, readings[::-1])
    assert dict(first.cause_probability)["nothing wrong"] == pytest.approx(
        dict(second.cause_probability)["nothing wrong"]
    )
    assert first.cause_probability[0][0] == "nothing wrong"
    assert read[0][1] < read[4][1]
