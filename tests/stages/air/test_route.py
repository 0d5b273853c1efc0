"""The air line's route: low points, water that gathers, slope, trench, frost, the locate ticket, the dam."""

import math
from datetime import date
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from plumeline.job.document import (
    AirSystem,
    Compressor,
    CurvePoint,
    Diffuser,
    Job,
    PipeSegment,
    Pond,
    RoutePoint,
    Site,
    SiteFacts,
    Trench,
)
from plumeline.notices import Severity
from plumeline.stages.air import air
from plumeline.stages.air.profile import low_points, pipe_run
from plumeline.stages.air.trench import dated_line, trench_plan, with_ticket

FOOT_M = 0.3048
PSI_PA, CFM_M3_S = 6894.757293168, 4.719474432e-4


def stations(*rows):
    """Return a route from (station ft, ground ft, cover ft, soil, crossing), the last two as far as given."""
    return tuple(
        RoutePoint(
            station_m=row[0] * FOOT_M, elevation_m=row[1] * FOOT_M, cover_m=row[2] * FOOT_M,
            soil=row[3] if len(row) > 3 else "", crossing=row[4] if len(row) > 4 else "",
        )
        for row in rows
    )  # fmt: skip


def job_of(route, **trench):
    """Return a job whose air line lies in a route: 330 ft of 3/4 in polyethylene, two diffusers."""
    curve = tuple(
        CurvePoint(pressure_pa=psi * PSI_PA, intake_flow_m3_s=cfm * CFM_M3_S)
        for psi, cfm in ((0, 5.0), (5, 4.6), (10, 4.1), (15, 3.4))
    )
    line = AirSystem(
        compressor=Compressor(name="own", curve=curve),
        trunk=(PipeSegment(pipe="pe-3/4", length_m=330 * FOOT_M, cover_m=0.45),),
        diffusers=(
            Diffuser(name="A", depth_m=2.7, branch_length_m=36.0),
            Diffuser(name="B", depth_m=3.3, branch_length_m=54.0),
        ),
        intake_temperature_degc=35.0,
        intake_humidity_fraction=0.6,
        soil_temperature_degc=(60.0 - 32.0) / 1.8,
    )
    return Job(
        id="old-orchard", name="Old orchard", date=date(2026, 8, 11), pond=Pond(), air=line, route=route,
        site=Site(latitude_deg=35.9, longitude_deg=-79.6, elevation_m=0.0), trench=Trench(**trench),
    )  # fmt: skip


DIP = stations((0, 693, 1.5), (120, 684, 1.5), (180, 687, 1.5), (330, 681, 1.5))


def test_a_dip_in_the_line_is_found_with_its_depth():
    """One low point at 120 ft, 3 ft under the crest at 180 ft (drawn by hand): the plug's head is 3 ft of water."""
    found = air(job_of(DIP)).route
    (low,) = found.low_points
    assert low.station_m == pytest.approx(120 * FOOT_M)
    assert low.dip_m == pytest.approx(3 * FOOT_M)
    assert low.plug_pressure_pa == pytest.approx(3 * 0.4335 * PSI_PA, rel=2e-3)
    assert not found.slope_to_water
    assert found.back_slope_m == ((120 * FOOT_M, 180 * FOOT_M),)


def test_all_the_water_of_the_day_is_somewhere():
    """What gathers and what runs on add up to what falls out: a mass balance."""
    found = air(job_of(DIP)).route
    assert sum(item.condensate_kg_d for item in found.low_points) + found.to_the_pond_kg_d == pytest.approx(
        found.condensate_kg_d
    )
    assert found.condensate_kg_d > 0.0


def test_water_of_the_line_is_that_of_the_air_at_the_soil():
    """4.2 scfm at about 6 psig, 95 °F and 60 % in, soil 60 °F: 1.74 kg a day for 2.6 scfm (worked by hand), by flow."""
    found = air(job_of(DIP))
    flow = found.balanced.flow_standard_m3_s / CFM_M3_S
    assert found.route.condensate_kg_d == pytest.approx(1.74 * flow / 2.6, rel=0.02)


def test_the_water_that_shuts_the_bore_is_the_solid_under_a_level_surface():
    """A round pipe in a V of two slopes, filled to its crown at the bottom, by numerical integration of the segment."""
    route = stations((0, 700, 1.0), (100, 698, 1.0), (300, 706, 1.0), (400, 690, 1.0))
    bore_m = 0.02093
    (low,) = low_points(pipe_run(route, 0.024), bore_m, lambda station_m: station_m)
    radius = bore_m / 2

    def segment_m2(depth_m):
        return radius**2 * math.acos(1 - depth_m / radius) - (radius - depth_m) * math.sqrt(
            2 * radius * depth_m - depth_m**2
        )

    count = 4000
    mean_m2 = sum(segment_m2(bore_m * (k + 0.5) / count) for k in range(count)) / count
    lengths = [math.hypot(1.0, 1.0 / slope) * bore_m for slope in (0.02, 0.04)]
    assert low.seal_kg == pytest.approx(1000.0 * mean_m2 * sum(lengths), rel=1e-3)


def test_full_dips_raise_the_gauge_by_their_head_as_far_as_the_compressor_gives():
    """The gauge rises by the head of 3 ft of water, 1.3 psi, less what less air saves in friction: 90 to 100 %."""
    found = air(job_of(DIP))
    more = found.route.plugged_gauge_pa - found.balanced.compressor_pressure_pa
    assert 0.85 * found.route.plug_pressure_pa < more <= found.route.plug_pressure_pa
    assert any(notice.code == "route-plugged" for notice in found.notices)


def test_a_line_that_climbs_from_the_compressor_drains_back_to_it():
    """The first station lies lowest: water runs back, and no plug is counted there."""
    found = air(job_of(stations((0, 676, 1.0), (60, 684, 1.0), (330, 681, 1.0)))).route
    (low,) = found.low_points
    assert low.at_compressor
    assert low.plug_pressure_pa == 0.0
    assert any(notice.code == "route-back-to-compressor" for notice in found.notices)


def test_a_line_that_falls_all_the_way_keeps_no_water():
    """12 ft in 330 ft is 3.6 %; all that falls out runs on."""
    found = air(job_of(stations((0, 693, 1.5), (200, 687, 1.5), (330, 681, 1.5)))).route
    assert found.slope_to_water
    assert found.low_points == ()
    assert found.slope_fraction == pytest.approx(12 / 330)
    assert found.to_the_pond_kg_d == pytest.approx(found.condensate_kg_d)
    assert found.plugged_gauge_pa is None


def test_ground_that_falls_with_a_pipe_that_does_not_makes_a_low_point():
    """The ground falls steadily; cover of 3 ft, then 1 ft: the pipe steps up and holds water before the step."""
    route = stations((0, 693, 3.0), (100, 692.5, 1.0), (330, 681, 1.0))
    (low,) = low_points(pipe_run(route, 0.024), 0.02, lambda station_m: station_m)
    assert low.station_m == pytest.approx(100 * FOOT_M)
    assert low.dip_m == pytest.approx(0.5 * FOOT_M)


@settings(max_examples=150, deadline=None)
@given(
    heights=st.lists(st.floats(0.0, 20.0), min_size=2, max_size=9),
    covers=st.lists(st.sampled_from([0.0, 0.3, 0.45, 0.9]), min_size=9, max_size=9),
)
def test_every_route_keeps_its_water(heights, covers):
    """Any profile: catchments do not overlap, low points lie in them, nothing gathers beyond what falls out."""
    route = tuple(
        RoutePoint(station_m=30.0 * index, elevation_m=height, cover_m=covers[index])
        for index, height in enumerate(heights)
    )
    found = low_points(pipe_run(route, 0.024), 0.02, lambda station_m: station_m)
    total = 30.0 * (len(heights) - 1)
    assert sum(item.condensate_kg_d for item in found) <= total + 1e-9
    for item in found:
        assert item.from_m <= item.station_m <= item.to_m
        assert item.dip_m <= item.rise_after_m + 1e-12
    for before, after in pairwise(found):
        assert before.to_m <= after.from_m + 1e-9


def test_the_trench_is_the_box_that_is_dug():
    """330 ft × 6 in × (18 in + 0.944 in of pipe) = 9.65 yd³, worked by hand."""
    route = stations((0, 693, 1.5, "clay"), (200, 687, 1.5, "sand"), (330, 681, 1.5))
    found = trench_plan(job_of(route, width_m=0.1524), 0.944 / 12 * FOOT_M)
    assert found.volume_m3 / 0.764554857984 == pytest.approx(330 * 0.5 * (1.5 + 0.944 / 12) / 27, rel=1e-6)
    assert dict(found.volume_by_soil_m3)["sand"] / found.volume_m3 == pytest.approx(130 / 330)
    assert found.length_m == pytest.approx(330 * FOOT_M)


def test_frost_is_held_against_the_cover():
    """18 in of cover, frost at 20 in: all of the line is named; at 12 in none is."""
    shallow = trench_plan(job_of(DIP, frost_depth_m=20 * 0.0254), 0.024)
    assert shallow.frost_m == ((0.0, 330 * FOOT_M),)
    assert trench_plan(job_of(DIP, frost_depth_m=12 * 0.0254), 0.024).frost_m == ()
    unknown = trench_plan(job_of(DIP), 0.024)
    assert any(notice.code == "route-frost-unknown" for notice in unknown.notices)


TICKET = {"locate_ticket": "T-4711", "ticket_expires": date(2026, 8, 30), "dig_date": date(2026, 8, 20)}


@pytest.mark.parametrize("lacks", ["locate_ticket", "ticket_expires", "dig_date"])
def test_no_trench_is_dated_without_a_ticket_and_its_expiry(lacks):
    """Each of the three is needed; what is missing is named."""
    given = {name: value for name, value in TICKET.items() if name != lacks}
    assert dated_line(Trench(**given)) is None
    found = trench_plan(job_of(DIP, **given), 0.024)
    assert found.dated_line is None
    assert any(notice.code == "route-no-ticket" for notice in found.notices)


def test_a_ticket_in_order_dates_the_trench():
    """The line names date, ticket and expiry; blanks are no number."""
    line = dated_line(Trench(**TICKET))
    assert all(part in line for part in ("2026-08-20", "T-4711", "2026-08-30"))
    assert dated_line(Trench(**{**TICKET, "locate_ticket": "  "})) is None


def test_the_ticket_of_the_site_s_facts_counts_where_the_trench_names_none():
    """One call, one number: it needs typing once; the trench's own goes before it."""
    job = job_of(stations((0, 693, 1.5), (120, 684, 1.5)), **{**TICKET, "locate_ticket": ""})
    site = job.site.model_copy(update={"facts": SiteFacts(utility_ticket="F-12")})
    job = job.model_copy(update={"site": site})
    assert with_ticket(job).locate_ticket == "F-12"
    assert "utility-locate ticket F-12, good through 2026-08-30" in trench_plan(job, 0.03).dated_line
    own = job.model_copy(update={"trench": Trench(**TICKET)})
    assert with_ticket(own).locate_ticket == "T-4711"


def test_a_ticket_that_ends_before_the_dig_is_a_danger():
    """Digging on an expired ticket is digging without one."""
    found = trench_plan(job_of(DIP, **{**TICKET, "dig_date": date(2026, 9, 2)}), 0.024)
    assert found.dated_line is None
    (notice,) = [item for item in found.notices if item.code == "route-ticket-expired"]
    assert notice.severity is Severity.DANGER


@pytest.mark.parametrize("what", ["the dam", "Earthen embankment", "dike", "emergency spillway"])
def test_no_trench_in_a_dam(what):
    """A route in a dam is refused: danger, no date though the ticket is in order, its stretch not dug."""
    route = stations((0, 693, 1.5), (100, 689, 1.5, "clay", what), (150, 688, 1.5), (330, 681, 1.5))
    found = trench_plan(job_of(route, **TICKET), 0.024)
    assert found.dam_m == ((100 * FOOT_M, 150 * FOOT_M),)
    assert found.dated_line is None
    assert found.length_m == pytest.approx(280 * FOOT_M)
    assert [item.severity for item in found.notices if item.code == "route-dam"] == [Severity.DANGER]


@pytest.mark.parametrize(
    ("what", "kind"),
    [("gravel drive", "road"), ("power line to the shed", "line"), ("septic field", "line"), ("oak roots", "other"),
     ("beaver-damaged fence", "other")],
)  # fmt: skip
def test_what_is_crossed_is_told_apart(what, kind):
    """Words of the trade, whole words only."""
    route = stations((0, 693, 1.5), (100, 689, 1.5, "clay", what), (150, 688, 1.5), (330, 681, 1.5))
    (crossing,) = trench_plan(job_of(route), 0.024).crossings
    assert crossing.kind == kind


def test_the_route_gives_length_and_rise_where_the_job_names_none():
    """Without trunk and route_length the designed trunk is as long as the route."""
    job = job_of(stations((0, 693, 1.5), (200, 687, 1.5), (300, 681, 1.5)), water_elevation_m=680 * FOOT_M)
    job = job.model_copy(update={"air": job.air.model_copy(update={"trunk": ()})})
    found = air(job)
    assert sum(piece.length_m for piece in found.trunk) == pytest.approx(300 * FOOT_M)
    assert found.trunk[0].start_elevation_m == pytest.approx(13 * FOOT_M)


def test_a_job_without_a_route_has_none():
    """No route.csv, no trench."""
    assert air(job_of(())).route is None
