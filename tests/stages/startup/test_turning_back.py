"""A compressor so weak that every plume turns back is said, with what would break through."""

from plumeline.notices import Severity
from plumeline.stages.plume import DiffuserAir
from plumeline.stages.startup.turnback import turning_back

SHARP = tuple(
    (z, t, o)
    for z, t, o in ((0.0, 31.0, 8.0), (0.9, 31.0, 7.0), (1.5, 18.0, 1.0), (3.0, 14.0, 0.1), (4.0, 14.0, 0.1))
)


def test_a_whiff_of_air_under_a_sharp_thermocline_turns_back_and_the_ways_out_are_named(make_job):
    """A hundredth of a usual flow (1.3 scfm, 6.1e-4 m³/s) under 17 K of layering: a danger, with ways out."""
    (notice,) = turning_back(make_job(SHARP), [DiffuserAir("A", 3.4, 4e-6), DiffuserAir("B", 3.0, 4e-6)], 1)
    assert notice.severity is Severity.DANGER
    assert notice.code == "every-plume-turns-back"
    assert "turns back" in notice.text
    assert "break through" in notice.text


def test_a_usual_flow_in_mixed_water_is_no_matter(make_job):
    """Nothing holds a plume back in water of one temperature: no notice."""
    mixed = tuple((z, 12.0, 10.0) for z in (0.0, 2.0, 4.0))
    assert turning_back(make_job(mixed, month=11), [DiffuserAir("A", 3.4, 6e-4)], 1) == ()


def test_one_plume_that_surfaces_is_enough(make_job):
    """Where one diffuser breaks through the pond is not called unmixable."""
    diffusers = [DiffuserAir("A", 3.4, 4e-6), DiffuserAir("B", 1.0, 6e-4)]
    assert turning_back(make_job(SHARP), diffusers, 1) == ()
