"""A job written to a folder reads back as the same job."""

from __future__ import annotations

import tempfile
from datetime import UTC, date, datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from plumeline.demo import demo_folder
from plumeline.errors import InputError
from plumeline.files.equipment_checks import pipe_names
from plumeline.files.fish_part import species_names
from plumeline.files.job_folder import load_job
from plumeline.files.write_job import job_files, write_job
from plumeline.job import document as d

LATITUDE, LONGITUDE = 35.8652, -79.5631


def number(low: float, high: float) -> st.SearchStrategy[float]:
    """Return finite numbers of a span, ends included; no minus zero, which CSV and TOML keep but == hides."""
    return st.floats(low, high, allow_nan=False)


def maybe(strategy):
    """Return a value or None."""
    return st.none() | strategy


words = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cc", "Cs", "Zl", "Zp", "Zs"]), min_size=1, max_size=8
)
names = st.text("abcdefgh-0123456789", min_size=1, max_size=8)
positive = number(1e-3, 1e3)
points = st.builds(
    d.Point,
    longitude_deg=number(LONGITUDE - 0.05, LONGITUDE + 0.05),
    latitude_deg=number(LATITUDE - 0.05, LATITUDE + 0.05),
)
local = st.builds(d.LocalPoint, x_m=number(-4000, 4000), y_m=number(-4000, 4000))
places = points | local
times = st.builds(
    lambda seconds, hours: (
        datetime(2026, 8, 1, tzinfo=timezone(timedelta(hours=hours))) + timedelta(seconds=seconds)
    ),
    st.integers(0, 10**6),
    st.integers(-12, 12),
)


@st.composite
def outlines(draw):
    """Return sound outlines: a ring round the site in points, places of the plane, or both."""
    corners = [(-1, -1), (1, -1), (1.2, 0.3), (1, 1), (-1, 1)]
    size_m = draw(number(100, 500))
    kind = draw(st.sampled_from(["none", "points", "local", "mixed", "closed"]))
    if kind == "none":
        return ()
    ring = [
        d.LocalPoint(x_m=size_m * x, y_m=size_m * y)
        if kind == "local" or (kind == "mixed" and index == 0)
        else d.Point(
            longitude_deg=LONGITUDE + size_m * x * 1.108e-5, latitude_deg=LATITUDE + size_m * y * 0.8993e-5
        )
        for index, (x, y) in enumerate(corners)
    ]
    return (tuple([*ring, ring[0]] if kind == "closed" else ring),)


@st.composite
def ponds(draw):
    """Return ponds; with an outline the soundings lie within it, as more than half of them must."""
    outline = draw(outlines())
    somewhere = st.builds(d.LocalPoint, x_m=number(-90, 90), y_m=number(-90, 90)) | st.builds(
        d.Point,
        longitude_deg=number(LONGITUDE - 9e-4, LONGITUDE + 9e-4),
        latitude_deg=number(LATITUDE - 8e-4, LATITUDE + 8e-4),
    )
    natural = draw(st.booleans())
    found = draw(st.lists(st.tuples(somewhere, number(0, 200), st.integers(0, 10**6)), max_size=6))
    soundings = tuple(
        d.Sounding(place=place, depth_m=depth, row=index if natural else row)
        for index, (place, depth, row) in enumerate(found, start=2)
    )
    return d.Pond(
        area_m2=draw(positive),
        max_depth_m=draw(number(60, 200)),
        shape=draw(st.sampled_from(d.Shape)),
        secchi_depth_m=draw(maybe(number(1e-3, 100))),
        outline=outline,
        soundings=soundings,
        level_offset_m=draw(number(-1, 1)),
        obstacle_height_m=draw(number(0, 30)),
        walls=tuple(
            draw(
                st.lists(
                    st.builds(d.Wall, start=somewhere, end=somewhere, depth_m=number(1e-2, 20)), max_size=2
                )
            )
        ),
        bank_run_number=draw(maybe(number(1, 50))),
    )


segments = st.builds(
    d.PipeSegment,
    pipe=st.sampled_from(pipe_names()),
    bore_m=maybe(number(1e-3, 2)),
    length_m=positive,
    cover_m=number(0, 3),
    start_elevation_m=maybe(number(-400, 900)),
    end_elevation_m=maybe(number(-400, 900)),
    minor_loss_number=number(0, 50),
)
diffusers = st.lists(
    st.builds(
        d.Diffuser,
        name=words,
        place=maybe(places),
        depth_m=maybe(number(1e-3, 200)),
        branch_length_m=maybe(positive),
        branch_pipe=st.just("") | st.sampled_from(pipe_names()),
        branch_bore_m=maybe(number(1e-3, 2)),
        branch_through=st.lists(places, max_size=6).map(tuple),
    ),
    max_size=3,
    unique_by=lambda diffuser: diffuser.name,
).map(tuple)


@st.composite
def compressors(draw):
    """Return compressors with a name, a falling curve, or both."""
    pressures = sorted(draw(st.lists(number(0, 2e5), min_size=2, max_size=5, unique=True)))
    flows = sorted(
        draw(st.lists(number(2e-3, 0.01), min_size=len(pressures), max_size=len(pressures))), reverse=True
    )
    curve = tuple(
        d.CurvePoint(pressure_pa=pressure, intake_flow_m3_s=flow)
        for pressure, flow in zip(pressures, flows, strict=True)
    )
    return d.Compressor(
        name=draw(words),
        curve=draw(st.sampled_from([(), curve])),
        elevation_m=draw(maybe(number(0, 900))),
        relief_pressure_pa=draw(maybe(positive)),
        efficiency=draw(number(0.1, 1)),
        power_w=draw(maybe(positive)),
        count=draw(st.integers(1, 20)),
    )


hold_tests = st.builds(
    d.HoldTest,
    start_pressure_pa=number(2e3, 1e5),
    end_pressure_pa=number(0, 1e3),
    minutes=positive,
    temperature_degc=number(-40, 60),
    end_temperature_degc=maybe(number(-40, 60)),
)
open_end_tests = st.builds(
    d.OpenEndTest,
    air_m3_s=number(1e-5, 1e-2),
    inlet_pressure_pa=positive,
    temperature_degc=number(-40, 120),
    gauge_error_pa=maybe(positive),
    flow_error_fraction=number(1e-3, 0.5),
)
old_pipes = st.builds(
    d.OldPipe,
    length_m=positive,
    print_line=st.just("") | words,
    nominal=st.sampled_from(["", "3/4 in", "1 in"]),
    material=st.sampled_from(["", "polyethylene", "pvc"]),
    cover_m=number(0, 3),
    hold_test=maybe(hold_tests),
    open_end_test=maybe(open_end_tests),
)
trenches = st.builds(
    d.Trench,
    width_m=number(1e-3, 10),
    frost_depth_m=maybe(number(0, 3)),
    water_elevation_m=maybe(number(-400, 900)),
    locate_ticket=st.just("") | words,
    ticket_expires=maybe(st.dates()),
    private_lines_located=st.sampled_from(d.Answer),
    dig_date=maybe(st.dates()),
)


@st.composite
def routes(draw):
    """Return routes of two stations or more, from the compressor on, or none."""
    stations = sorted(draw(st.lists(number(0, 900), max_size=5, unique=True)))
    return tuple(
        d.RoutePoint(
            station_m=station,
            elevation_m=draw(number(-450, 5000)),
            cover_m=draw(maybe(number(0, 5))),
            soil=draw(st.just("") | words),
            crossing=draw(st.just("") | words),
        )
        for station in (stations if len(stations) > 1 else [])
    )


airs = st.builds(
    d.AirSystem,
    compressor=maybe(compressors()),
    trunk=st.lists(segments, max_size=3).map(tuple),
    route_length_m=maybe(positive),
    rise_m=maybe(number(-30, 30)),
    manifold=maybe(places),
    diffusers=diffusers,
    branch_pipe=st.sampled_from(pipe_names()),
    slack_fraction=number(0, 1),
    membrane_loss_pa=number(0, 9000),
    membrane_least_air_m3_s=maybe(number(1e-5, 1e-2)),
    membrane_most_air_m3_s=maybe(number(1e-5, 1e-2)),
    disc_radius_m=number(1e-3, 10),
    base_height_m=number(0, 1),
    air_per_diffuser_m3_s=maybe(number(1e-5, 1e-2)),
    intake_temperature_degc=maybe(number(-20, 50)),
    soil_temperature_degc=maybe(number(-20, 50)),
    roughness_m=number(0, 1e-3),
    intake_humidity_fraction=maybe(number(0, 1)),
    old_pipe=maybe(old_pipes),
)
rings = st.lists(st.lists(places, min_size=3, max_size=4).map(tuple), max_size=2).map(tuple)
wishes = st.builds(
    d.Wishes,
    turnover_per_day=number(1e-3, 100),
    job_risk=number(0, 1),
    day_risk=number(0, 1),
    start_date=maybe(st.dates(date(2026, 1, 1))),
    longest_start_up_d=st.integers(3, 60),
    keep_out=rings,
)
weekdays = st.lists(st.sampled_from(["mon", "tue", "wed", "thu", "fri", "sat", "sun"]), max_size=7).map(tuple)
attendances = st.builds(
    d.Attendance, weekdays=weekdays, first_hour_h=number(0, 24), last_hour_h=number(0, 24)
)
prices = st.builds(
    d.Prices,
    currency=words,
    **{name: maybe(number(0, 1e4)) for name in d.Prices.model_fields if name != "currency"},
)
costs = st.builds(
    d.Costs,
    years=maybe(st.integers(1, 50)),
    discount_rate_fraction=maybe(number(0, 0.5)),
    running_hours=maybe(number(0.1, 24)),
    running_days=maybe(st.integers(1, 365)),
    membrane_interval_h=maybe(positive),
    most_voltage_drop_fraction=maybe(number(0.001, 0.2)),
    most_diffusers=maybe(st.integers(1, 12)),
)


@st.composite
def own_compressors(draw):
    """Return compressors of the contractor's own list, as no two of one name stand in a file."""
    found = []
    for name in draw(st.lists(names, max_size=2, unique=True)):
        count = draw(st.integers(2, 4))
        flows = sorted(draw(st.lists(number(1e-4, 0.01), min_size=count, max_size=count)), reverse=True)
        pressures = sorted(draw(st.lists(number(2e3, 2e5), min_size=count, max_size=count, unique=True)))
        powers = draw(st.lists(number(2e3, 9e3), min_size=count, max_size=count) | st.just([5000.0]))
        found.append(
            d.OwnCompressor(
                name=f"m{name}",
                curve=tuple(
                    d.CurvePoint(pressure_pa=pressure, intake_flow_m3_s=flow)
                    for pressure, flow in zip(pressures, flows, strict=True)
                ),
                power_w=tuple(powers),
                purchase_each=draw(number(0, 5000)),
                volts=draw(maybe(positive)),
                duty_fraction=draw(maybe(number(0.1, 1))),
                outlet_limit_degc=draw(maybe(number(20, 300))),
                noise_dba=draw(maybe(number(0, 90))),
                service_interval_h=draw(maybe(positive)),
                rebuild_each=draw(maybe(number(0, 500))),
            )
        )
    return tuple(found)


fishes = st.builds(
    d.Fish,
    species=st.lists(st.sampled_from(sorted(set(species_names().values()))), max_size=3).map(tuple),
    stage=st.sampled_from(d.LifeStage),
    heavy_stock=st.none() | st.booleans(),
    gasping_at_dawn=st.sampled_from(d.Answer),
    kill_this_season=st.sampled_from(d.Answer),
)
powers = st.builds(d.Power, available=st.booleans(), volts=maybe(positive), amps=maybe(positive))
chemistry = {
    "ph": maybe(number(3, 12)),
    "alkalinity_mg_l": maybe(number(0, 500)),
    "conductivity_us_cm": maybe(number(0, 5000)),
    "ammonia_mg_l": maybe(number(0, 20)),
    "sulphide_mg_l": maybe(number(0, 20)),
    "smell": maybe(st.sampled_from(d.SmellStrength)),
}


@st.composite
def readings(draw):
    """Return observations with ids of their own, in any order."""
    profiles = st.builds(
        d.Profile,
        id=names,
        time=times,
        points=st.lists(
            st.builds(
                d.ProfilePoint,
                depth_m=number(0, 50),
                temperature_degc=number(-0.5, 45),
                do_mg_l=number(0, 40),
                **chemistry,
            ),
            min_size=2,
            max_size=5,
            unique_by=lambda point: point.depth_m,
        ).map(lambda found: tuple(sorted(found, key=lambda point: point.depth_m))),
    )
    oxygen = number(0, 40)
    visit = {"when": maybe(st.sampled_from(d.When)), "meter": maybe(words)}
    profiles = st.builds(
        lambda profile, when, meter, alone: profile.model_copy(
            update={"when": when, "meter": meter, "points": profile.points[: 1 if alone else None]}
        ),
        profiles,
        **visit,
        alone=st.booleans(),
    )
    depths = st.lists(
        st.tuples(number(0, 50), oxygen), min_size=1, max_size=3, unique_by=lambda pair: pair[0]
    )
    oxygens = st.builds(
        lambda found, **fields: d.OxygenReading(
            depth_m=tuple(depth for depth, _ in sorted(found)),
            do_mg_l=tuple(value for _, value in sorted(found)),
            **fields,
        ),
        depths,
        id=names,
        time=times,
        **visit,
    )
    bottles = st.builds(
        d.Bottle,
        id=names,
        time=times,
        depth_m=number(0, 50),
        bottom_share=number(0, 1) | st.sampled_from([0.5, 0.25]),
        bottom_do_mg_l=oxygen,
        surface_do_mg_l=oxygen,
        after_15min_mg_l=maybe(oxygen),
        after_24h_mg_l=maybe(oxygen),
        surface_after_24h_mg_l=maybe(oxygen),
    )
    gauges = st.builds(d.GaugeReading, id=names, time=times, place=words, pressure_pa=number(-1e5, 1e6))
    return tuple(
        draw(st.lists(profiles | oxygens | bottles | gauges, max_size=4, unique_by=lambda item: item.id))
    )


@st.composite
def air_runs(draw, known):
    """Return runs of air, one after the other, through all diffusers or some of those that there are."""
    start = draw(times)
    found = []
    names_of = [name for name in known if not set(name) & set("+;") and name.lower() != "all"]
    for gap_h, minutes in draw(st.lists(st.tuples(number(0, 30), number(1, 600)), max_size=3)):
        start += timedelta(hours=int(gap_h))
        some = st.lists(st.sampled_from(names_of), max_size=3, unique=True) if names_of else st.just([])
        found.append(d.AirRun(start=start, minutes=minutes, diffusers=tuple(draw(some))))
        start += timedelta(minutes=int(minutes) + 1)
    return tuple(found)


@st.composite
def weathers(draw):
    """Return hours without gaps."""
    first = draw(times)
    optional = {
        "cloud_fraction": maybe(number(0, 1)),
        "longwave_w_m2": maybe(number(0, 600)),
        "pressure_pa": maybe(number(5e4, 1.1e5)),
        "rain_mm": maybe(number(0, 90)),
    }
    return tuple(
        d.WeatherHour(
            time=first + timedelta(hours=step),
            air_temperature_degc=draw(number(-60, 60)),
            relative_humidity_fraction=draw(number(0, 1)),
            wind_speed_m_s=draw(number(0, 80)),
            shortwave_w_m2=draw(number(0, 1500)),
            **{name: draw(value) for name, value in optional.items()},
        )
        for step in range(draw(st.integers(0, 3)))
    )


compress = maybe(compressors())
designs = st.builds(
    d.AsDesigned,
    made_on=st.dates(),
    manifold=maybe(places),
    diffusers=diffusers,
    compressor=compress,
    notes=st.just("") | words,
)
stamps = st.datetimes(
    datetime(2026, 1, 1),
    datetime(2026, 12, 31),
    timezones=st.sampled_from([UTC, timezone(timedelta(hours=-5))]),
)
accepted_gauges = st.builds(
    d.AcceptedGauge,
    time=stamps,
    place=names,
    pressure_pa=number(0, 2e5),
    expected_pa=number(0, 2e5),
    p05_pa=number(0, 2e5),
    p95_pa=number(0, 2e5),
    water_level_m=maybe(number(-4, 4)),
    open_ports=st.lists(names, max_size=3).map(tuple),
    full_open=st.booleans(),
    disagreed=st.booleans(),
)
records = st.builds(
    d.Commissioned,
    accepted_on=st.dates(),
    accepted_by=words,
    reason=st.just("") | words,
    intake_temperature_degc=maybe(number(-30, 50)),
    gauges=st.lists(accepted_gauges, min_size=1, max_size=3).map(tuple),
)
builts = st.builds(
    d.AsBuilt,
    made_on=st.dates(),
    manifold=maybe(places),
    diffusers=diffusers,
    trunk=st.lists(segments, max_size=2).map(tuple),
    notes=words,
    commissioned=maybe(records),
)
sites = st.builds(
    d.Site,
    latitude_deg=st.just(LATITUDE),
    longitude_deg=st.just(LONGITUDE),
    elevation_m=number(-400, 4000),
    time_zone=st.sampled_from(["UTC", "America/New_York", "Etc/GMT+5", "Asia/Kathmandu"]),
)
plain_jobs = st.builds(
    d.Job,
    id=names,
    name=words,
    # readings may lie two months after the job's date and no more
    date=st.dates(date(2026, 7, 1)),
    seed=st.integers(0, 2**31 - 1),
    site=sites,
    pond=ponds(),
    fish=fishes,
    power=powers,
    air=airs,
    trench=trenches,
    route=routes(),
    prices=prices,
    costs=costs,
    equipment=own_compressors(),
    wishes=wishes,
    attendance=attendances,
    observations=readings(),
    weather=weathers(),
    as_designed=maybe(designs),
    as_built=maybe(builts),
)


@st.composite
def jobs_with_runs(draw):
    """Return jobs with air that has run, through the diffusers that the job names."""
    job = draw(plain_jobs)
    parts = [part for part in (job.as_built, job.air) if part is not None and part.diffusers]
    known = [item.name for item in parts[0].diffusers] if parts else []
    return job.model_copy(update={"runs": draw(air_runs(known))})


jobs = jobs_with_runs()


@settings(max_examples=150, deadline=None)
@given(job=jobs)
def test_a_written_job_loads_as_the_same_job(job):
    """load_job(write_job(job)) equals job in every field, to the last bit of every number."""
    with tempfile.TemporaryDirectory() as folder:
        write_job(job, Path(folder))
        again = load_job(Path(folder))
    for name in d.Job.model_fields:
        assert getattr(again, name) == getattr(job, name), name
    assert again.model_dump_json() == job.model_dump_json()


def test_hollow_oak_survives_the_round_trip():
    """The demo, units and all, exports to SI and reads back equal."""
    job = load_job(demo_folder())
    with tempfile.TemporaryDirectory() as folder:
        write_job(job, Path(folder))
        assert load_job(Path(folder)) == job


def test_writing_refuses_to_overwrite_and_removes_what_is_stale(tmp_path):
    """Without leave nothing is touched; with leave a file that the job has not is removed."""
    job = load_job(demo_folder())
    write_job(job, tmp_path)
    bare = job.model_copy(update={"weather": ()})
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    with pytest.raises(InputError, match="overwritten"):
        write_job(bare, tmp_path)
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before
    write_job(bare, tmp_path, overwrite=True)
    assert load_job(tmp_path).weather == ()
    assert {path.name for path in tmp_path.iterdir()} == set(job_files(bare))


def test_observations_out_of_step_keep_their_order(tmp_path):
    """Append-only: a late entry of an early reading stays last."""
    job = load_job(demo_folder())
    early = d.GaugeReading(id="late", time=datetime(2026, 8, 1, tzinfo=UTC), place="port A", pressure_pa=1.0)
    longer = job.model_copy(update={"observations": (*job.observations, early)})
    write_job(longer, tmp_path)
    assert [item.id for item in load_job(tmp_path).observations] == [item.id for item in longer.observations]
