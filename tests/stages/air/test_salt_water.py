"""The gauge over salt water: it weighs more than fresh water."""

from datetime import UTC, date, datetime

import gsw
import pytest

from plumeline.job.document import AirSystem, Job, Pond, Profile, ProfilePoint, Site
from plumeline.stages.air import BranchSpec, air


def solved(conductivity_us_cm):
    """Return the air line of one membrane 6 m deep under water of one conductivity."""
    points = tuple(
        ProfilePoint(depth_m=z, temperature_degc=22.0, do_mg_l=5.0, conductivity_us_cm=conductivity_us_cm)
        for z in (0.0, 6.3)
    )
    job = Job(
        id="job-1", name="a pond", date=date(2026, 8, 1), pond=Pond(), air=AirSystem(route_length_m=50.0),
        site=Site(latitude_deg=35.0, longitude_deg=-80.0, elevation_m=0.0),
        observations=(Profile(id="p", time=datetime(2026, 8, 1, 9, tzinfo=UTC), points=points),),
    )  # fmt: skip
    return air(job, (BranchSpec(name="A", depth_m=6.0, length_m=30.0, bore_m=0.0127),))


@pytest.mark.parametrize("conductivity_us_cm", [None, 10900.0, 53000.0])
def test_the_membrane_needs_the_weight_of_the_water_that_is_there(conductivity_us_cm):
    """ρ g h by TEOS-10 (gsw) at the surface, PSS-78 for the salt; 3,000 Pa for the membrane: 0.02 %."""
    salt = 0.0 if conductivity_us_cm is None else float(gsw.SP_from_C(conductivity_us_cm / 1000.0, 25.0, 0.0))
    density = float(gsw.rho_t_exact(salt * 35.16504 / 35.0, 22.0, 0.0))
    found = solved(conductivity_us_cm).balanced.branch("A").needed_pressure_pa
    assert found == pytest.approx(density * 9.80665 * 6.0 + 3000.0, rel=2e-4)
