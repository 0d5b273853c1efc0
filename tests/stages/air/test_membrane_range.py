"""Air of a membrane against what its maker allows."""

from datetime import date

import pytest

from plumeline.job.document import AirSystem, Compressor, CurvePoint, Job, Pond, Site
from plumeline.notices import Severity
from plumeline.stages.air import BranchSpec, air

SCFM_M3_S = 4.719474432e-4
"""68 °F, dry, 14.696 psia: a cubic foot a minute."""


def codes(**membrane):
    """Return the codes on membranes of one disc that gets some 3 scfm."""
    pump = Compressor(
        curve=(CurvePoint(pressure_pa=0.0, intake_flow_m3_s=3.3 * SCFM_M3_S),
               CurvePoint(pressure_pa=60e3, intake_flow_m3_s=2.9 * SCFM_M3_S)), power_w=300.0,
    )  # fmt: skip
    job = Job(
        id="job-1", name="a pond", date=date(2026, 8, 1), pond=Pond(),
        air=AirSystem(route_length_m=30.0, compressor=pump, **membrane),
        site=Site(latitude_deg=35.0, longitude_deg=-80.0, elevation_m=0.0),
    )  # fmt: skip
    found = air(job, (BranchSpec(name="A", depth_m=3.0, length_m=20.0, bore_m=0.0127),))
    assert 2.5 * SCFM_M3_S < found.balanced.flow_standard_m3_s < 3.3 * SCFM_M3_S
    return {notice.code: notice for notice in found.notices if notice.code.startswith("air-membrane")}


@pytest.mark.parametrize(
    ("membrane", "expected"),
    [
        ({}, {"air-membrane-most-unknown"}),
        ({"disc_radius_m": 0.2}, set()),
        ({"membrane_most_air_m3_s": 4.0 * SCFM_M3_S}, set()),
        ({"membrane_most_air_m3_s": 2.0 * SCFM_M3_S}, {"air-membrane-over"}),
        ({"membrane_least_air_m3_s": 3.5 * SCFM_M3_S, "membrane_most_air_m3_s": 4.0 * SCFM_M3_S},
         {"air-membrane-under"}),
    ],
)  # fmt: skip
def test_more_or_less_air_than_a_membrane_is_made_for_is_said(membrane, expected):
    """By hand: 3 scfm against the most and the least given; without a most against 2.5 scfm of a disc of 9 in."""
    found = codes(**membrane)
    assert set(found) == expected
    assert all(notice.severity is Severity.CAUTION for notice in found.values())


def test_what_goes_through_one_membrane_alone_counts(make_two):
    """A start-up may open one valve alone: all of the machine's air goes through that membrane."""
    found = make_two(1.8 * SCFM_M3_S)
    assert any(notice.code == "air-membrane-over" for notice in found.notices)


@pytest.fixture
def make_two():
    """Return two membranes of 1.5 scfm each under a most."""

    def made(most_m3_s):
        pump = Compressor(
            curve=(CurvePoint(pressure_pa=0.0, intake_flow_m3_s=3.3 * SCFM_M3_S),
                   CurvePoint(pressure_pa=60e3, intake_flow_m3_s=2.9 * SCFM_M3_S)), power_w=300.0,
        )  # fmt: skip
        job = Job(
            id="job-1", name="a pond", date=date(2026, 8, 1), pond=Pond(),
            air=AirSystem(route_length_m=30.0, compressor=pump, membrane_most_air_m3_s=most_m3_s),
            site=Site(latitude_deg=35.0, longitude_deg=-80.0, elevation_m=0.0),
        )  # fmt: skip
        branches = tuple(BranchSpec(name=n, depth_m=3.0, length_m=20.0, bore_m=0.0127) for n in "AB")
        found = air(job, branches)
        assert max(one.flow_standard_m3_s for one in found.balanced.branches) < most_m3_s
        return found

    return made
