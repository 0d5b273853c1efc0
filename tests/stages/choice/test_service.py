"""Power at the pond against a long air line: the wire, the break-even, the costs by distance."""

from datetime import date

import pytest

from plumeline.job.document import (
    AirSystem,
    AsBuilt,
    Costs,
    CurvePoint,
    Diffuser,
    Job,
    OldPipe,
    OwnCompressor,
    PipeSegment,
    Pond,
    Power,
    Prices,
    Site,
)
from plumeline.stages.choice import choose
from plumeline.stages.choice.service import Load, break_even_m, service_money, wire_for, wire_money
from plumeline.stages.choice.terms import terms_of

FT_M = 0.3048


def a_job(prices=None, costs=None, equipment=(), **air):
    """Return a job whose two diffusers are typed in, so that no pond is needed."""
    diffusers = tuple(Diffuser(name=f"D{n}", depth_m=3.0, branch_length_m=30.0) for n in (1, 2))
    fields = {"route_length_m": 130.0, "rise_m": 3.0, "diffusers": diffusers} | air
    return Job(
        id="j", name="a pond", date=date(2026, 8, 1),
        site=Site(latitude_deg=35.0, longitude_deg=-80.0, elevation_m=200.0),
        pond=Pond(), power=Power(volts=120.0, amps=20.0), air=AirSystem(**fields),
        prices=prices or Prices(), costs=costs or Costs(), equipment=equipment,
    )  # fmt: skip


def test_lines_that_cross_once():
    """1,000 + 30 x against 5,000 + 10 x are even at 200 (by hand)."""
    found = break_even_m(lambda x: (1000 + 30 * x) - (5000 + 10 * x), [10, 50, 100, 400, 1600])
    assert found == pytest.approx((200.0,), abs=0.05)


def test_a_step_and_a_cost_without_bound():
    """A step of the thicker wire is found where it stands, and a line that no pipe can do counts as dearer."""
    found = break_even_m(lambda x: -1.0 if x < 123.0 else float("inf"), [10, 100, 1000])
    assert found == pytest.approx((123.0,), abs=0.05)
    assert break_even_m(lambda _x: 5.0, [10, 100]) == ()


@pytest.mark.parametrize(
    ("volts", "amps", "feet", "gauge"),
    [
        # 3 % of 120 V are 3.6 V: 2 · 260 ft · 5 A · R/1000 allows 1.385 ohm/kft; table 8 stranded 10 AWG has 1.24
        (120.0, 5.0, 260.0, "10"),
        # 2 · 300 · 12 allows 0.5 ohm/kft: 6 AWG has 0.491
        (120.0, 12.0, 300.0, "6"),
        # 7.2 V of 240 V over 300 ft at 3 A allow 4 ohm/kft: 14 AWG has 3.14
        (240.0, 3.0, 300.0, "14"),
        # short, but 125 % of 14 A are 17.5 A: over the 15 A of 14 AWG
        (120.0, 14.0, 10.0, "12"),
    ],
)
def test_the_thinnest_wire_that_does(volts, amps, feet, gauge):
    """The conductor is the thinnest of NEC chapter 9 table 8 that keeps 3 % and carries 125 % (by hand)."""
    wire = wire_for(feet * FT_M, Load(volts, amps), terms_of(a_job()))
    assert wire.gauge == gauge
    assert wire.voltage_drop_v <= 0.03 * volts


def test_no_wire_does_it():
    """A mile at 120 V and 5 A would allow 0.068 ohm/kft, under the 0.154 of 1 AWG: none."""
    assert wire_for(5280 * FT_M, Load(120.0, 5.0), terms_of(a_job())) is None


PRICES = Prices(
    energy_per_kwh=0.0, trench_per_m=10.0, pipe_per_m=0.0, metal_pipe_per_m=0.0, power_trench_per_m=40.0,
    pond_outlet_each=500.0, service_connection_each=3000.0, meter_fee_per_month=20.0,
)  # fmt: skip
FLAT = Costs(years=10, discount_rate_fraction=0.0)


def test_fees_and_trench_by_hand():
    """3,000 + 500 + 12 · 20 · 10 = 5,900; 100 m of wire: 100 · (40 + wire) + 500, energy free."""
    terms = terms_of(a_job(PRICES, FLAT))
    assert service_money(terms) == pytest.approx(5_900.0)
    wire = wire_for(100.0, Load(120.0, 4.0), terms)
    assert wire_money(100.0, wire, terms) == pytest.approx(100.0 * (40.0 + wire.price_per_m) + 500.0)


def test_break_even_of_a_whole_job_by_hand():
    """With free pipe and energy the air line costs 10 a metre beyond the 15 m that stand at the pond anyway.

    A new service costs 5,900; the wire 40 a metre and more, never the cheaper: 15 + 5,900/10 = 605 m.
    """
    found = choose(a_job(PRICES, FLAT)).service
    assert found.break_even_m[0] == pytest.approx(605.0, abs=0.2)
    assert found.cheaper == "line"
    assert found.here.service_money - found.here.line_money == pytest.approx(5_900.0 - 10.0 * (130.0 - 15.0))
    assert "605 m" in found.sentence
    assert "605 m" in found.sentence.split("cheaper")[-2] + found.sentence.split("cheaper")[-1]


def test_dear_trenches_bring_power_to_the_pond():
    """A dearer trench for the pipe moves the break-even nearer, and past the job's distance the answer turns."""
    far = choose(a_job(PRICES, FLAT)).service
    near = choose(a_job(PRICES.model_copy(update={"trench_per_m": 60.0}), FLAT)).service
    assert near.break_even_m[0] < far.break_even_m[0]
    assert near.cheaper != "line"


def test_longer_lines_cost_more_each_way():
    """Neither the air line nor the wire gets cheaper with distance; the service does not care."""
    curve = choose(a_job()).service.curve
    for name in ("line_money", "wire_money"):
        costs = [getattr(point, name) for point in curve if getattr(point, name) is not None]
        assert costs == sorted(costs)
    assert len({point.service_money for point in curve}) == 1


def test_a_pipe_in_the_ground_is_not_compared():
    """A trunk that lies there is the only one tried, costs nothing, and no trench is weighed against it."""

    built = AsBuilt(
        made_on=date(2025, 5, 1), trunk=(PipeSegment(pipe="pe-3/4", length_m=130.0, cover_m=0.4),)
    )
    job = a_job().model_copy(update={"as_built": built})
    found = choose(job)
    assert found.service is None
    assert {found.winner.trunk} == {"the pipe that lies there"}
    assert found.winner.cost.purchase_money < choose(a_job()).winner.cost.purchase_money


def own(name="own", *, watts=300.0, price=100.0, **more):
    """Return a machine of the contractor's own with a plain curve."""

    curve = tuple(
        CurvePoint(pressure_pa=pressure, intake_flow_m3_s=flow)
        for pressure, flow in ((0.0, 2.4e-3), (6.9e4, 1.9e-3), (1.72e5, 0.95e-3))
    )
    return OwnCompressor(name=name, curve=curve, power_w=(watts,), purchase_each=price, **more)


def test_the_current_is_the_machines_own():
    """The chosen machine's own running current sizes the wire: three times the current, a thicker wire."""
    free = {"watts": 210.0, "price": 0.0, "service_each": 0.0, "rebuild_each": 0.0, "volts": 115.0}
    costs = [choose(a_job(equipment=(own(running_current_a=current_a, **free),))) for current_a in (6.0, 2.0)]
    assert {found.winner.machine for found in costs} == {"own"}
    thick, thin = (found.service.here for found in costs)
    assert thick.wire_money > thin.wire_money
    # 3 % of 115 V over 130 m (426.5 ft): 6 A allow 0.674 ohm/kft, so 6 AWG (0.491); 2 A allow 2.02, so 12 AWG (1.98)
    assert (thick.wire_gauge, thin.wire_gauge) == ("6", "12")


def test_an_old_pipe_stands_beside_new_ones():
    """A pipe in the ground is one more choice that costs nothing; where it wins, its proof is asked for."""
    old = OldPipe(length_m=130.0, print_line="3/4 IN SIDR 15 PE 100 PSI ASTM D2239")
    found, new = choose(a_job(old_pipe=old)), choose(a_job())
    assert found.tried_count == new.tried_count * 6 // 5
    assert found.winner.trunk == "the pipe that lies there"
    assert "choice-old-pipe" in {notice.code for notice in found.notices}
    assert found.winner.total_money < new.winner.total_money
