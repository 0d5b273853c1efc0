"""Causes from gauges: planted faults are found, what can't be told apart is said, the season's growth is dated."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from plumeline.errors import InputError
from plumeline.pairs import said
from plumeline.stages.air import fault_bench as engine
from plumeline.stages.air.fault_checks import information_bits
from plumeline.stages.air.fault_growth import growth, latest_visit
from plumeline.stages.air.faults import GaugeReading, faults
from plumeline.stages.air.network import (
    AirNetwork,
    Branch,
    Diffuser,
    Leak,
    LossPoint,
    Pipe,
    SiteCurve,
    Valve,
)

PSI_PA = 6894.757
NOON = datetime(2026, 8, 11, 12, tzinfo=UTC)


@pytest.fixture(scope="module")
def network():
    """A line to three diffusers, its deepest valve open."""
    branches = [Branch("manifold", parts=(Pipe(130.0, 0.0209),))]
    for name, depth_m, length_m, loss in (
        ("A", 2.4, 30.0, 60.0),
        ("B", 2.7, 45.0, 30.0),
        ("C", 3.0, 60.0, 0.0),
    ):
        parts = (Valve(0.0127, loss_number=loss), Pipe(length_m, 0.0127))
        branches.append(Branch(name, "manifold", parts, Diffuser(depth_m, (LossPoint(0.0, 3000.0),))))
    return AirNetwork(SiteCurve((0.0, 7e4, 1.4e5), (2.6e-3, 2.1e-3, 1.4e-3)), tuple(branches))


def readings(network, case, *, level=0.0, seed=0, alone=False, offset_psi=None):
    """Return what a visit reads under one case, gauges a quarter of a psi off."""
    error = np.random.default_rng(seed)
    bench = engine.Bench(network, level_read=level is not None)
    k = next(
        i for i, item in enumerate(bench.cases) if (item.cause, item.place, said(item.severity, "si")) == case
    )
    found = []
    settings = [(None, place) for place in ("compressor", "A", "B", "C")]
    if alone:
        settings += [((name,), "compressor") for name in "ABC"]
    for ports, place in settings:
        shown, flowing = bench.shown(engine.State(ports, level or 0.0))[k]
        reading_pa = engine.at(shown, place) + (offset_psi or {}).get(place, 0.0) * PSI_PA
        reading_pa = max(reading_pa + 0.1 * PSI_PA * error.standard_normal(), 0.0)
        boil = tuple(sorted(flowing)) if ports is None else None
        found.append(GaugeReading(NOON, place, reading_pa, level, ports, boil))
    return tuple(found)


@pytest.mark.parametrize(
    ("case", "place"),
    [
        (("fouled membrane", "B", "7.0 kPa more"), "B"),
        (("blocked or closed valve", "C", "shut"), "C"),
        (("worn compressor", "", "50 % of its air left"), ""),
        (("leak", "segment 1 of the trunk", "a hole of 4.7 mm"), "segment 1 of the trunk"),
        (("blocked trunk", "the trunk", "K 2000 more"), "the trunk"),
    ],
)
def test_a_planted_fault_leads(network, case, place):
    """With every gauge, each branch alone, boils and level, what was planted stands first or close behind."""
    found = faults(network, readings(network, case, alone=True))
    first_two = [(row.cause, row.place) for row in found.ranked[:2]]
    assert (case[0], place) in first_two
    assert dict(found.cause_probability)[case[0]] > 0.25
    assert sum(value for _, value in found.cause_probability) == pytest.approx(1.0)


def test_a_sound_line_is_called_sound(network):
    """Gauges of the sound line: nothing wrong leads, and what was read lies near what was to be."""
    found = faults(network, readings(network, ("nothing wrong", "", ""), alone=True))
    assert found.cause_probability[0][0] == "nothing wrong"
    assert max(abs(value) for value in found.off_pa) < 0.5 * PSI_PA


def test_a_wrong_gauge_is_not_blamed_on_the_line(network):
    """The compressor's gauge reads 3 psi low, every port right; 3 high is what a blocked trunk does."""
    read = readings(network, ("nothing wrong", "", ""), alone=True, offset_psi={"compressor": -3.0})
    found = faults(network, read)
    assert found.ranked[0].cause == "wrong gauge"
    assert found.ranked[0].place == "compressor gauge"


def test_one_low_gauge_without_a_level_stays_open(network):
    """Common practice, no published source: low water and wear look alike at one gauge; the level parts them."""
    whole = readings(network, ("low pond", "", "-0.60 m of water"), level=None)
    found = faults(network, whole[:1])
    odds = dict(found.cause_probability)
    assert odds["low pond"] < 0.6
    assert odds["leak"] > 0.02
    low = GaugeReading(NOON, "compressor", whole[0].pressure_pa, -0.6)
    assert dict(faults(network, (low,)).cause_probability)["nothing wrong"] > odds["nothing wrong"]


def test_information_of_a_check(network):
    """A reading tells no more than the causes hold, and a certain cause leaves nothing to tell."""
    found = faults(network, readings(network, ("fouled membrane", "B", "7.0 kPa more"))[:1])
    odds = np.array([value for _, value in found.cause_probability if value > 0.0])
    entropy = float(-(odds * np.log2(odds)).sum())
    assert all(0.0 <= item.information_number <= entropy + 0.01 for item in found.checks)
    assert found.checks[0].information_number > found.checks[-1].information_number
    bits = information_bits(np.array([1.0, 0.0]), np.array([0, 1]), np.array([0.0, 9.0]), np.ones(2))
    assert bits == pytest.approx(0.0, abs=1e-3)
    # two causes at even odds that a reading parts for certain: one bit
    sure = information_bits(np.full(2, 0.5), np.array([0, 1]), np.array([0.0, 100.0]), np.ones(2))
    assert sure == pytest.approx(1.0, abs=0.02)


@pytest.mark.parametrize(
    ("reading", "words"),
    [
        (GaugeReading(NOON, "D", 4e4), "no port"),
        (GaugeReading(NOON, "compressor", -1.0), "under zero"),
        (GaugeReading(NOON, "A", 4e4, open_ports=("B",)), "shut valve"),
        (GaugeReading(NOON, "compressor", 4e4, open_ports=("compressor",)), "no port"),
        (GaugeReading(NOON, "compressor", 4e4, boil=("manifold",)), "no port"),
    ],
)
def test_bad_readings_are_refused(network, reading, words):
    with pytest.raises(InputError, match=words) as told:
        faults(network, (reading,))
    assert "Did you mean compressor" not in str(told.value.remedy)


def test_growth_of_a_season_is_dated(network):
    """A gauge that gains 0.01 psi a day while the water falls: 2 psi after 200 days, with its band about it."""
    sound = engine.Bench(network, level_read=True)
    visits = []
    for day in range(0, 151, 15):
        level = -0.002 * day
        shown, _ = sound.shown(engine.State(None, level))[0]
        visits.append(
            GaugeReading(
                NOON + timedelta(days=day), "compressor", shown["compressor"] + 0.01 * day * PSI_PA, level
            )
        )
    found = growth(network, tuple(visits))
    assert found.rise_pa == pytest.approx(30 * 0.01 * PSI_PA, rel=1e-3)
    assert abs((found.care_date - NOON).total_seconds() / 86400.0 - 200.0) < 0.5
    assert found.care_from < found.care_date < found.care_until
    assert growth(network, tuple(visits[:2])) is None
    assert latest_visit(tuple(visits)) == (visits[-1],)


def test_a_valve_opened_too_far_leads(network):
    """Trade (common practice, no published source): one valve full open takes the air, and its port reads high."""
    found = faults(network, readings(network, ("valve opened too far", "A", "full open"), alone=True))
    assert (found.ranked[0].cause, found.ranked[0].place) == ("valve opened too far", "A")


@pytest.mark.parametrize(
    ("cause", "change"),
    [
        ("leak", lambda network: replace(network, leaks=(Leak("manifold", 1, 0.0057),))),
        ("blocked or closed valve", lambda network: throttled(network, "C", 2300.0)),
    ],
)
def test_a_fault_between_two_severities_is_not_called_something_else(network, cause, change):
    """A hole of 5.7 mm where 4.7 and 7 are solved, a valve between K 1000 and K 5000."""
    read = []
    settings = [(None, p) for p in ("compressor", "manifold", "A", "B", "C")]
    for ports, place in settings + [((name,), "compressor") for name in "ABC"]:
        shown, _ = engine.gauges(change(network), engine.State(ports, 0.0))
        read.append(GaugeReading(NOON, place, engine.at(shown, place), 0.0, ports))
    assert dict(faults(network, tuple(read)).cause_probability)[cause] > 0.9


def throttled(network, name, loss_number):
    """Return the network with one branch's valve at a loss."""
    branches = tuple(
        replace(b, parts=(replace(b.parts[0], loss_number=loss_number), *b.parts[1:]))
        if b.name == name
        else b
        for b in network.branches
    )
    return replace(network, branches=branches)


def test_what_is_on_no_list_is_said_to_be_like_what_is(network):
    """Gauges 1 psi off a fouled membrane's at two ports: none of these gains, and is named as much like it."""
    read = list(readings(network, ("fouled membrane", "B", "12.0 kPa more"), alone=True))
    read[1] = replace(read[1], pressure_pa=read[1].pressure_pa + 2.0 * PSI_PA)
    found = faults(network, tuple(read))
    (row,) = [row for row in found.ranked if row.cause == "none of these"]
    assert row.severity == "much like fouled membrane B"


def test_a_gauge_read_twice_tells_less_than_one_not_read_yet(network):
    """The compressor's gauge was read: the same again only halves its own error; a port's is new."""
    found = faults(network, readings(network, ("nothing wrong", "", ""))[:1])
    by_name = {item.what: item.information_number for item in found.checks}
    assert (
        by_name["the compressor's gauge, valves as set"] < 0.5 * by_name["the gauge of port C, valves as set"]
    )
