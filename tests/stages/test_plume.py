"""The plume stage: the quick answer, bands from the priors, profiles, and all diffusers of a job."""

import json
from datetime import UTC, date, datetime

import numpy as np
import pytest

from plumeline.errors import InputError, RangeError
from plumeline.job.document import AirSystem, Job, Pond, Profile, ProfilePoint, Site
from plumeline.pairs import said
from plumeline.sources.priors import prior
from plumeline.stages.plume import (
    DiffuserAir,
    plume,
    quick_plume,
    water_flow_by_depth,
    water_of_one_temperature,
    water_of_rows,
)
from plumeline.stages.plume.draws import COLUMN, Source, prior_draws

FT = 0.3048
SCFM = FT**3 / 60.0
KEYS = {
    "water_flow_m3_s", "reaches_surface", "stall_depth_m", "neutral_depth_m", "oxygen_transfer_efficiency",
    "oxygen_transfer_efficiency_to_surface", "peels",
}  # fmt: skip
PRIOR_KEYS = {"water_flow_p05_m3_s", "water_flow_p95_m3_s", "surfacing_probability"}


def summer():
    """Return the stratified water of the published check cases."""
    return water_of_rows([0.0, 3 * FT, 5 * FT, 10 * FT], [30.0, 30.0, 23.0, 22.0])


def job(points=None, **air):
    """Return a small job with one profile."""
    points = points or ((0.0, 30.0, 8.0), (3 * FT, 30.0, 8.0), (5 * FT, 23.0, 1.0), (10 * FT, 22.0, 0.0))
    profile = Profile(
        id="p1",
        time=datetime(2026, 8, 11, 13, tzinfo=UTC),
        points=tuple(ProfilePoint(depth_m=d, temperature_degc=t, do_mg_l=o) for d, t, o in points),
    )
    return Job(
        id="j",
        name="a pond",
        date=date(2026, 8, 11),
        site=Site(latitude_deg=36.0, longitude_deg=-79.0, elevation_m=207.0),
        pond=Pond(area_m2=6475.0, max_depth_m=4.27),
        air=AirSystem(**air),
        observations=(profile,),
    )


def test_quick_answers_exactly_the_agreed_keys():
    """``quick plume --json`` holds the keys of the agreement and no other, and is plain JSON."""
    answer = quick_plume(10 * FT, 0.3 * SCFM, summer(), members=64).as_json()
    assert set(answer) == KEYS | PRIOR_KEYS
    assert json.loads(json.dumps(answer)) == answer
    assert set(answer["peels"][0]) == {
        "depth_m",
        "water_flow_m3_s",
        "neutral_depth_m",
        "oxygen_transfer_efficiency",
    }


def test_a_given_alpha_leaves_no_band():
    """With α given the keys from the priors are absent."""
    answer = quick_plume(10 * FT, 0.3 * SCFM, summer(), alpha_number=0.08).as_json()
    assert set(answer) == KEYS


def test_quick_agrees_with_the_published_cases():
    """Flow is within 0.3 %, stall depth 0.5 % and transfer 2 % of the check values: other solubility."""
    uniform = quick_plume(12 * FT, 1.3 * SCFM, water_of_one_temperature(28.0), alpha_number=0.06).lift
    assert uniform.water_flow_m3_s == pytest.approx(0.1385, rel=0.003)
    assert uniform.oxygen_transfer_efficiency == pytest.approx(0.194, rel=0.02)
    assert uniform.reaches_surface
    assert uniform.stall_depth_m is None
    stalled = quick_plume(10 * FT, 0.3 * SCFM, summer(), alpha_number=0.08).lift
    assert stalled.water_flow_m3_s == pytest.approx(0.0637, rel=0.003)
    assert stalled.stall_depth_m == pytest.approx(0.438, rel=0.005)
    assert not stalled.reaches_surface


def test_a_stall_is_told_in_words_and_peels():
    """A plume that stalls says where bottom water turns back; its peel is the first of the list."""
    answer = quick_plume(10 * FT, 0.3 * SCFM, summer(), alpha_number=0.08)
    lift = answer.lift
    assert (
        answer.words()
        == "Bubbles will show, but bottom water turns back at 1 ft 5 in and comes to rest at 4 ft 7 in."
    )
    assert lift.peels[0].depth_m == lift.stall_depth_m
    assert lift.peels[0].water_flow_m3_s == lift.water_flow_m3_s
    assert lift.peels[0].neutral_depth_m == lift.neutral_depth_m
    assert lift.stall_depth_m < lift.neutral_depth_m < 10 * FT
    assert lift.oxygen_transfer_efficiency < lift.oxygen_transfer_efficiency_to_surface


def test_neutral_depth_is_where_the_profile_is_as_warm():
    """Fresh peeled water rests at the depth where the profile has its temperature."""
    lift = quick_plume(10 * FT, 0.3 * SCFM, summer(), alpha_number=0.08).lift
    at_rest = np.interp(lift.neutral_depth_m, [0.0, 3 * FT, 5 * FT, 10 * FT], [30.0, 30.0, 23.0, 22.0])
    assert at_rest == pytest.approx(lift.temperature_degc, abs=0.02)


def test_the_band_holds_the_middle_and_follows_the_seed():
    """The 90 % band lies about the central flow; a seed gives the same band, another one nearly the same."""
    first, again, other = (
        quick_plume(12 * FT, 1.3 * SCFM, water_of_one_temperature(28.0), seed=seed) for seed in (1, 1, 2)
    )
    assert first.water_flow_p05_m3_s < first.lift.water_flow_m3_s < first.water_flow_p95_m3_s
    assert first == again
    assert first.water_flow_p05_m3_s != other.water_flow_p05_m3_s
    assert first.water_flow_p05_m3_s == pytest.approx(other.water_flow_p05_m3_s, rel=0.05)
    assert first.water_flow_p95_m3_s == pytest.approx(other.water_flow_p95_m3_s, rel=0.05)


def test_surfacing_grows_from_never_to_always_with_air():
    """The chance of breaking through grows with air, from 0 to 1."""
    chances = [
        quick_plume(10 * FT, scfm * SCFM, summer(), members=128).surfacing_probability
        for scfm in (0.05, 0.2, 0.4, 0.6, 1.0, 3.0)
    ]
    assert chances == sorted(chances)
    assert chances[0] == 0.0
    assert chances[-1] == 1.0


def test_the_trade_s_two_million_gallons_lie_at_the_low_end():
    """One disc at 12 ft, by custom 2 Mgal/d (common practice, no published source), lies below the middle."""
    answer = quick_plume(12 * FT, 1.3 * SCFM, water_of_one_temperature(28.0))
    custom_m3_s = 2e6 * 3.785411784e-3 / 86400.0
    assert custom_m3_s < answer.lift.water_flow_m3_s
    assert custom_m3_s > 0.5 * answer.water_flow_p05_m3_s


def test_both_ways_of_transfer_are_of_one_size():
    """Plume and engineers' formula agree within a third for a disc in clean, oxygen-free water."""
    answer = quick_plume(12 * FT, 1.3 * SCFM, water_of_one_temperature(20.0))
    assert answer.oxygen_transfer_kg_s == pytest.approx(answer.engineers_transfer_kg_s, rel=0.33)
    # 1.3 scfm carry 1.3 x 0.4734 kg/h of oxygen at 21 % (reference notes); dry air holds 20.946 %
    assert answer.lift.oxygen_supplied_kg_s * 3600.0 == pytest.approx(1.3 * 0.4734, rel=0.004)


def test_high_ground_lifts_more_for_the_same_mass_of_air():
    """At 5,000 ft the same standard air is a greater volume: it lifts more water."""
    low, high = (
        quick_plume(12 * FT, 1.3 * SCFM, water_of_one_temperature(20.0), alpha_number=0.075, elevation_m=h)
        for h in (0.0, 1524.0)
    )
    assert 1.0 < high.lift.water_flow_m3_s / low.lift.water_flow_m3_s < 1.1


def test_a_known_bubble_radius_is_not_drawn():
    """Draws hold what is known and cover the prior of what is not."""
    draws = prior_draws(Source(0.2, None, 0.7e-3), 256, 1)
    assert (draws[:, COLUMN["bubble_radius"]] == 0.7e-3).all()
    assert np.median(draws[:, COLUMN["plume_source_radius_ratio"]]) == pytest.approx(0.2, rel=0.02)


def test_draws_follow_the_table_of_priors():
    """5, 50 and 95 % of α are 0.05, 0.075, 0.115 (design notes, section 4); a triangle keeps its ends."""
    draws = prior_draws(Source(), 2000, 3)
    found = np.quantile(draws[:, COLUMN["plume_alpha"]], (0.05, 0.5, 0.95))
    assert found == pytest.approx((0.05, 0.075, 0.115), rel=0.01)
    froude = draws[:, COLUMN["plume_froude"]]
    assert 1.0 <= froude.min() < 1.02
    assert 1.98 < froude.max() <= 2.0
    assert np.mean(froude) == pytest.approx((1.0 + 1.6 + 2.0) / 3.0, rel=0.002)
    bubbles = draws[:, COLUMN["bubble_radius"]]
    assert np.median(bubbles) == pytest.approx(1e-3, rel=0.01)


def test_a_prior_of_no_known_name_is_an_error():
    """An unknown prior names the known ones."""
    with pytest.raises(InputError, match="plume_alpha"):
        prior("plume_gamma")


def test_rows_may_come_in_any_order():
    """A profile written from the bottom up is the same water."""
    assert water_of_rows([3.0, 0.0], [20.0, 28.0]) == water_of_rows([0.0, 3.0], [28.0, 20.0])


@pytest.mark.parametrize(
    ("depth", "temperature", "error"),
    [
        ([], [], InputError),
        ([1.0, 1.0], [20.0, 21.0], InputError),
        ([1.0], [72.0], RangeError),
        ([-1.0], [20.0], RangeError),
    ],
)
def test_faulty_rows_are_refused(depth, temperature, error):
    """No row, a repeated depth, 72 degrees Celsius and a depth over the water are errors."""
    with pytest.raises(error):
        water_of_rows(depth, temperature)


@pytest.mark.parametrize(
    ("rows", "code"),
    [
        (([0.0, 2.0], [28.0, 24.0]), "profile-held-constant"),
        (([1.5, 4.0], [28.0, 24.0]), "profile-held-constant"),
        (([1.0], [28.0]), "profile-one-depth"),
    ],
)
def test_a_profile_that_does_not_span_the_plume_is_said(rows, code):
    """Beyond its ends a profile is held constant, with a caution; so is a profile of one depth."""
    found = quick_plume(3.0, SCFM, water_of_rows(*rows), alpha_number=0.075).notices
    assert [notice.code for notice in found if notice.severity == "caution"] == [code]


def test_a_typed_temperature_is_no_faulty_profile():
    """One temperature typed in carries no caution."""
    found = quick_plume(3.0, SCFM, water_of_one_temperature(25.0), alpha_number=0.075).notices
    assert all(notice.severity == "note" for notice in found)


@pytest.mark.parametrize(
    "bad",
    [{"depth_m": 0.1}, {"depth_m": 400.0}, {"air_m3_s": 1.0}, {"air_m3_s": -1e-3}, {"alpha_number": 0.9},
     {"bubble_radius_m": 1.0}, {"disc_radius_m": 0.0}],
)  # fmt: skip
def test_what_no_pond_has_is_refused(bad):
    """Depth, air, α and radii outside the model raise, naming the value and the range."""
    given = {"depth_m": 3.0, "air_m3_s": SCFM, "alpha_number": 0.075} | bad
    with pytest.raises(RangeError, match=r"outside .* to "):
        quick_plume(given.pop("depth_m"), given.pop("air_m3_s"), water_of_one_temperature(25.0), **given)


def test_a_breath_of_air_lifts_next_to_nothing():
    """A ten-thousandth of a disc's air is answered without failing, with a small flow."""
    answer = quick_plume(3.0, 1e-4 * SCFM, summer(), members=16)
    assert 0.0 <= answer.lift.water_flow_m3_s < 0.02
    assert answer.words()


def test_a_dead_branch_lifts_nothing():
    """A diffuser without air has no plume, no band and no chance to surface, and the others are as before."""
    alone = plume(job(), (DiffuserAir("A", 3.6, SCFM),), members=16)
    both = plume(job(), (DiffuserAir("A", 3.6, SCFM), DiffuserAir("dead", 3.6, 0.0)), members=16)
    dead = both.diffusers[1]
    assert dead.lift.water_flow_m3_s == dead.water_flow_p95_m3_s == dead.surfacing_probability == 0.0
    assert dead.lift.stall_depth_m is None
    assert dead.oxygen_transfer_kg_s == dead.engineers_transfer_kg_s == 0.0
    assert both.water_flow_m3_s == alone.water_flow_m3_s


def test_the_stage_gives_each_diffuser_its_band():
    """Deeper discs with the same air lift more; the sum lies within the sum of the bands."""
    discs = (DiffuserAir("A", 3.6, SCFM), DiffuserAir("B", 2.4, SCFM), DiffuserAir("C", 1.5, 0.2 * SCFM))
    result = plume(job(), discs, members=64)
    assert [one.name for one in result.diffusers] == ["A", "B", "C"]
    a, b, c = result.diffusers
    assert a.lift.water_flow_m3_s > b.lift.water_flow_m3_s > c.lift.water_flow_m3_s
    for one in result.diffusers:
        assert one.water_flow_p05_m3_s <= one.water_flow_p50_m3_s <= one.water_flow_p95_m3_s
        assert 0.0 <= one.surfacing_probability <= 1.0
        assert one.lift.path_depth_m[0] == one.depth_m
        assert len(one.lift.path_depth_m) == len(one.lift.path_radius_m)
    assert result.water_flow_m3_s == sum(one.lift.water_flow_m3_s for one in result.diffusers)
    low = sum(one.water_flow_p05_m3_s for one in result.diffusers)
    high = sum(one.water_flow_p95_m3_s for one in result.diffusers)
    assert 0.98 * low < result.water_flow_p05_m3_s < result.water_flow_p95_m3_s < 1.02 * high


def test_the_stage_warns_of_a_plume_that_turns_back():
    """A disc too weak for the thermocline gets a caution with its name and where the water turns."""
    result = plume(job(), (DiffuserAir("deep", 3.0, 0.1 * SCFM),), members=64)
    cautions = [notice.text for notice in result.notices if notice.code == "plume-turns-back"]
    assert len(cautions) == 1
    assert cautions[0].startswith("deep: Bubbles will show, but bottom water turns back at")


def test_the_stage_is_pure():
    """The same job, diffusers and seed give the same result."""
    discs = (DiffuserAir("A", 3.6, SCFM),)
    assert plume(job(), discs, seed=5, members=32) == plume(job(), discs, seed=5, members=32)


def test_layout_s_flow_is_the_stage_s_flow():
    """The function of depth for the layout gives the stage's central flow."""
    given = job()
    flow = water_flow_by_depth(given, SCFM)
    assert (
        flow(3.6) == plume(given, (DiffuserAir("A", 3.6, SCFM),), members=8).diffusers[0].lift.water_flow_m3_s
    )
    assert flow(2.0) < flow(3.0) < flow(4.0)


def test_salt_at_the_bottom_makes_a_plume_stall():
    """Conductivity that grows with depth is weight: 2 g/kg more at the bottom stops a plume of warm water."""
    points = [(0.0, 25.0, 5.0), (1.5, 25.0, 5.0), (1.8, 25.0, 0.0), (3.6, 25.0, 0.0)]
    fresh = job(points)
    profile = fresh.profiles[0]
    heavier = tuple(
        point.model_copy(update={"conductivity_us_cm": 200.0 if point.depth_m < 1.6 else 4000.0})
        for point in profile.points
    )
    salty = fresh.model_copy(update={"observations": (profile.model_copy(update={"points": heavier}),)})
    disc = (DiffuserAir("A", 3.6, 0.2 * SCFM),)
    assert plume(fresh, disc, members=8).diffusers[0].lift.reaches_surface
    assert not plume(salty, disc, members=8).diffusers[0].lift.reaches_surface


def test_a_job_without_a_profile_says_what_is_missing():
    """Without temperatures there is no plume; the error names the file."""
    with pytest.raises(InputError, match=r"profiles\.csv"):
        plume(job().model_copy(update={"observations": ()}), (DiffuserAir("A", 3.0, SCFM),))


def test_cautions_of_a_plume_are_said_in_either_system():
    """A reader of metres gets no feet: 1 ft is 0.3048 m (international foot, 1959)."""
    result = plume(job(), (DiffuserAir("deep", 3.9, 0.1 * SCFM),), members=8)
    told = {notice.code: notice.text for notice in result.notices}
    for code in ("plume-turns-back", "profile-held-constant"):
        assert "ft" not in said(told[code], "si")
        assert " m" in said(told[code], "si")
        assert "ft" in said(told[code], "us")


def test_water_that_comes_up_heavy_is_not_said_to_stay_on_top():
    """Mixed water weighs what its temperature makes it (Kell 1975): colder than the top, it sinks under it again."""
    water = water_of_rows([0.0, 1.0, 3.0, 4.0], [28.0, 27.0, 20.0, 19.0], 5.0)
    found = quick_plume(3.6, 3.0 * SCFM, water, alpha_number=0.075)
    assert found.lift.stall_depth_m is None
    assert found.lift.neutral_depth_m > 0.5
    assert "sinks" in found.words("si")
    assert f"{found.lift.neutral_depth_m:.2f} m" in found.words("si")
    even = quick_plume(3.6, 3.0 * SCFM, water_of_one_temperature(20.0), alpha_number=0.075)
    assert "spreads at the surface" in even.words("si")


def test_turnovers_of_plumes_that_stay_below_are_not_passed_off_as_mixing():
    """A plume that turns back mixes no water over it (Wüest, Brooks & Imboden 1992): said where all of them do."""
    weak = plume(job(), (DiffuserAir("a", 3.0, 0.02 * SCFM), DiffuserAir("b", 2.8, 0.02 * SCFM)), members=64)
    assert max(one.surfacing_probability for one in weak.diffusers) < 0.1
    assert "plumes-stay-below" in {notice.code for notice in weak.notices}
    strong = plume(job(), (DiffuserAir("a", 3.0, 3.0 * SCFM), DiffuserAir("b", 2.8, 0.02 * SCFM)), members=64)
    assert "plumes-stay-below" not in {notice.code for notice in strong.notices}
