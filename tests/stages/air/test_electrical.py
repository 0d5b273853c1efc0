"""What the electrician is told: currents, wires, energy, levels; what is not known is said, not taken as none."""

from datetime import date

import pytest

from plumeline.job.document import (
    AirSystem,
    Answer,
    Compressor,
    Costs,
    CurvePoint,
    Job,
    Pond,
    Power,
    Prices,
    Site,
)
from plumeline.stages.air.electrical import electrical
from plumeline.stages.air.machine import given_machine
from plumeline.stages.air.siphon import Heights

FOOT_M = 0.3048
CURVE = (
    CurvePoint(pressure_pa=0.0, intake_flow_m3_s=0.0022),
    CurvePoint(pressure_pa=1e5, intake_flow_m3_s=0.0016),
)
PLATE = {"volts_v": 120.0, "running_current_a": 5.0, "starting_current_a": 25.0, "power_w": 400.0}


def asked(power_w=400.0, *, plate=None, rise_m=None, prices=None, costs=None, **power):
    """Return what is told of a compressor with this plate at this power."""
    job = Job(
        id="job-1",
        name="a pond",
        date=date(2026, 8, 1),
        site=Site(latitude_deg=35.0, longitude_deg=-80.0, elevation_m=0.0),
        pond=Pond(),
        power=Power(**power),
        prices=prices or Prices(),
        costs=costs or Costs(),
        air=AirSystem(compressor=Compressor(curve=CURVE, **(plate or {}))),
    )
    machine = given_machine(job)
    assert machine is not None
    levels = None if rise_m is None else Heights(rise_m, None, None, 0.3, high_water_given=False)
    return electrical(job, machine, power_w, levels)


def codes(found):
    """Return the codes of its notices."""
    return {notice.code for notice in found.notices}


def wire(found, gauge):
    """Return one size of wire."""
    return next(item for item in found.conductors if item.gauge == gauge)


def test_voltage_drop_by_size_is_table_8():
    """120 V, 5 A, 260 ft of 12 AWG stranded: 5.15 V, 4.29 % (NEC chapter 9 table 8, worked apart)."""
    found = asked(plate=PLATE, feeder_length_m=260.0 * FOOT_M, volts=120.0, amps=20.0)
    row = wire(found, "12")
    assert row.voltage_drop_v == pytest.approx(5.15, abs=0.01)
    assert row.voltage_drop_fraction == pytest.approx(0.0429, abs=1e-4)
    assert row.start_drop_fraction == pytest.approx(5.0 * 0.0429, abs=5e-4)
    assert row.enough is False


def test_the_thinnest_wire_that_is_enough():
    """By hand at 5 A running, 25 A starting, 260 ft: 10 AWG loses 2.69 % and 13.4 %, so it is enough; 12 is not."""
    found = asked(plate=PLATE, feeder_length_m=260.0 * FOOT_M, volts=120.0, amps=20.0)
    assert found.least_gauge == "10"
    assert wire(found, "10").voltage_drop_fraction == pytest.approx(0.0269, abs=1e-4)
    assert [item.enough for item in found.conductors][:2] == [False, False]


def test_a_wire_must_match_the_breaker_at_hand():
    """14 AWG has a 15 A breaker (table): on a circuit of 20 A it is too thin, however short; 12 AWG is not."""
    found = asked(plate=PLATE, feeder_length_m=5.0, volts=120.0, amps=20.0)
    assert (wire(found, "14").enough, wire(found, "12").enough) == (False, True)
    assert asked(plate=PLATE, feeder_length_m=5.0, volts=120.0, amps=100.0).least_gauge == "14"


def test_the_start_can_be_what_rules():
    """50 A to start: at 150 ft 12 AWG loses 2.5 % running and 24.8 % starting: too thin for the start alone."""
    found = asked(
        plate={**PLATE, "starting_current_a": 50.0}, feeder_length_m=150.0 * FOOT_M, volts=120.0, amps=20.0
    )
    row = wire(found, "12")
    assert row.voltage_drop_fraction < 0.03
    assert row.start_drop_fraction == pytest.approx(0.2475, abs=1e-3)
    assert row.enough is False


def test_a_load_of_all_day_counts_as_125_per_cent():
    """6.0 A counts as 7.5 A (NEC 210.19, 210.20, 430.22): a circuit of 7 A is too small, one of 15 A is not."""
    plate = {**PLATE, "running_current_a": 6.0, "power_w": 500.0}
    assert asked(plate=plate, amps=7.0).continuous_current_a == pytest.approx(7.5)
    assert "electrical-circuit" in codes(asked(plate=plate, amps=7.0))
    assert "electrical-circuit" not in codes(asked(plate=plate, amps=15.0))


def test_without_a_plate_the_currents_are_a_span():
    """Capacitor-start motors start at 4 to 6 times running (from memory): 400 W at 120 V, cos φ 0.75 run at 4.44 A."""
    found = asked(volts=120.0)
    assert found.running_current_a == pytest.approx(400.0 / (0.75 * 120.0))
    assert found.starting_low_a == pytest.approx(4.0 * found.running_current_a)
    assert found.starting_high_a == pytest.approx(6.0 * found.running_current_a)
    assert any("Starting current" in words for words in found.assumptions)


@pytest.mark.parametrize(
    ("watts", "hours", "kwh"), [(200.0, None, 144.0), (400.0, None, 288.0), (400.0, 12.0, 144.0)]
)
def test_energy_of_a_month(watts, hours, kwh):
    """200 W day and night are 144 kWh in 30 days (worked by hand); fewer hours count by the job's schedule."""
    found = asked(watts, costs=Costs(running_hours=hours), prices=Prices(energy_per_kwh=0.16))
    assert found.energy_month_kwh == pytest.approx(kwh)
    assert found.energy_month_money == pytest.approx(0.16 * kwh)


def test_no_price_no_cost():
    """Without a price of energy nothing is said of cost, and that is said."""
    found = asked()
    assert found.energy_month_money is None
    assert any("no price is known" in words for words in found.assumptions)


def test_the_datum_plane_is_two_feet_over_the_highest_water():
    """NEC 682: 2 ft over high water; outlets 12 in over that; a compressor under it is a danger."""
    found = asked(rise_m=12.0 * FOOT_M, high_water_m=3.0 * FOOT_M)
    assert found.datum.datum_m == pytest.approx(5.0 * FOOT_M)
    assert found.datum.outlet_m == pytest.approx(6.0 * FOOT_M)
    assert found.datum.clearance_m == pytest.approx(7.0 * FOOT_M)
    assert "electrical-datum" not in codes(found)
    assert "electrical-datum" in codes(asked(rise_m=4.0 * FOOT_M, high_water_m=3.0 * FOOT_M))


def test_unknown_is_not_no():
    """High water, protection, alarm and length that are not known are each said; answered, they are silent."""
    unknown = {"electrical-datum-unknown", "electrical-gfci", "electrical-alarm", "electrical-length-unknown"}
    assert unknown <= codes(asked())
    known = asked(
        plate=PLATE, volts=120.0, amps=20.0, rise_m=5.0, high_water_m=0.5, feeder_length_m=10.0,
        gfci=Answer.YES, trip_alarm=Answer.YES,
    )  # fmt: skip
    assert not codes(known)


def test_no_protection_is_a_danger():
    """An outlet without ground-fault protection is more than a caution."""
    severities = {item.code: item.severity.value for item in asked(gfci=Answer.NO).notices}
    assert severities["electrical-gfci"] == "danger"


def test_a_long_cable_has_its_device_at_the_load():
    """Beyond 250 ft of cable one listed device trips by itself (its instructions): it goes to the far end."""
    assert any("compressor's end" in words for words in asked(feeder_length_m=300.0 * FOOT_M).checklist)
    assert not any("compressor's end" in words for words in asked(feeder_length_m=60.0).checklist)


def test_another_voltage_is_a_danger():
    """A 230 V machine at 120 V is said before anything else."""
    assert asked(plate={**PLATE, "volts_v": 230.0}, volts=120.0).notices[0].code == "electrical-voltage"
    assert "electrical-voltage" not in codes(asked(plate={**PLATE, "volts_v": 115.0}, volts=120.0))


def test_the_points_name_what_kills():
    """Datum plane, GFCI, a tripped outlet, electric shock drowning: all on the list, whatever is known."""
    text = " ".join(asked().checklist)
    for words in (
        "682",
        "ground-fault",
        "tripped outlet kills fish",
        "Electric shock drowning",
        "datum plane",
    ):
        assert words in text


@pytest.mark.parametrize(
    ("motor", "low", "high"), [("", 4.0, 6.0), ("split-phase", 5.0, 8.0), ("shaded-pole", 1.5, 2.5)]
)
def test_the_kind_of_motor_rules_the_start(motor, low, high):
    """Each kind starts at its own multiple of the running current (from memory)."""
    found = asked(volts=120.0, plate={"motor": motor})
    assert found.starting_low_a == pytest.approx(low * found.running_current_a)
    assert found.starting_high_a == pytest.approx(high * found.running_current_a)


@pytest.mark.parametrize("rise_m", [-3.0, 0.0, 0.5])
def test_a_compressor_under_todays_plane_is_a_danger_though_the_flood_mark_is_not_known(rise_m):
    """NEC 682: the plane lies 2 ft over the highest water, which is never under today's: 2 ft over today's at least."""
    found = asked(rise_m=rise_m)
    (told,) = [notice for notice in found.notices if notice.code == "electrical-datum"]
    assert told.severity == "danger"
    assert f"{2.0 * FOOT_M - rise_m:.2f} m" in told.text
    assert "-" not in told.text.split("over the highest")[0]
    assert "electrical-datum-unknown" in codes(asked(rise_m=2.1 * FOOT_M))


@pytest.mark.parametrize(("elevation_m", "said"), [(900.0, False), (1500.0, True)])
def test_a_motor_in_thin_air_is_spoken_of(elevation_m, said):
    """NEMA MG 1 (from memory): ratings hold to 3,300 ft, 1,000 m; over it the air cools less."""
    job = Job(
        id="job-1",
        name="a pond",
        date=date(2026, 8, 1),
        site=Site(latitude_deg=35.0, longitude_deg=-80.0, elevation_m=elevation_m),
        pond=Pond(),
        air=AirSystem(compressor=Compressor(curve=CURVE)),
    )
    machine = given_machine(job)
    assert machine is not None
    assert ("electrical-thin-air" in codes(electrical(job, machine, 400.0, None))) is said
