"""What the crew let down, at its own depths, is what is started up; the drawing is not."""

from datetime import date

import pytest

from plumeline.job.document import AsBuilt, Diffuser, LocalPoint
from plumeline.stages import plan as plan_module
from plumeline.stages.column import members as members_module
from plumeline.stages.plan import start_up_of
from plumeline.stages.sizing import sizing
from plumeline.stages.startup.schedule import WHOLE_DAY_MIN, growing
from plumeline.stages.startup.stage import startup
from plumeline.stages.survey import survey

SHALLOW = (Diffuser(name="A", place=LocalPoint(x_m=55, y_m=60), depth_m=1.6),
           Diffuser(name="B", place=LocalPoint(x_m=20, y_m=24)))  # fmt: skip


@pytest.fixture(scope="module")
def both(small_job):
    """Return layout, air and a start-up of few ponds, as drawn and as built in shallower water."""
    asked = []

    def few(*args, **more):
        asked.append(args)
        one = (growing(WHOLE_DAY_MIN, 2.0, 10.0, 3),)
        return startup(*args, **more, search_members=8, fresh_members=12, schedules=one)

    found = []
    for job in (
        small_job,
        small_job.model_copy(update={"as_built": AsBuilt(made_on=date(2026, 8, 9), diffusers=SHALLOW)}),
    ):
        basin = survey(job, 1)
        sized = sizing(job, basin, seed=1)
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(plan_module, "startup", few)
            patch.setattr(members_module, "PILOTS", 48)  # few pilots find the law
            found.append((sized, start_up_of(job, basin, sized, seed=1, brief=True), asked[-1]))
    return found


def test_the_plan_stands_on_built_places_depths_and_air(both):
    """A's membrane was let down at 1.6 m, B elsewhere: the stage gets those depths and the air that they then draw."""
    (drawn, _, _), (built, _, asked) = both
    assert built.layout.diffusers[0].depth_m == pytest.approx(1.6)
    assert (built.layout.diffusers[1].x_m, built.layout.diffusers[1].y_m) == pytest.approx(
        (20.0, 24.0), abs=0.01
    )
    depths, flows = asked[6], asked[7]
    assert depths == tuple(item.depth_m for item in built.layout.diffusers)
    assert flows == tuple(built.air.diffuser_flow_standard_m3_s(name) for name in ("A", "B"))
    assert depths != tuple(item.depth_m for item in drawn.layout.diffusers)
    # less water over the membranes: the compressor pushes against less
    assert built.air.balanced.compressor_pressure_pa < drawn.air.balanced.compressor_pressure_pa


def test_diffusers_built_shallower_give_another_plan(both):
    """A minute of air lifts less water from shallower diffusers, and the days to come are not those of the drawing."""
    (_, drawn, _), (_, built, _) = both
    each = [plan.days[0].turnover_fraction.median / plan.days[0].minutes for plan in (drawn, built)]
    assert each[1] < 0.7 * each[0]
    assert built.days != drawn.days
    assert built.risk != drawn.risk or built.name != drawn.name


def test_the_layout_says_which_places_were_used(both):
    """One notice, with the day of the note; a drawn layout has none."""
    (drawn, _, _), (built, _, _) = both
    (told,) = [item for item in built.layout.notices if item.code == "layout-as-built"]
    assert "As built, noted on 2026-08-09" in told.text
    assert "A, B as the crew let them down" in told.text
    assert not [item for item in drawn.layout.notices if item.code == "layout-as-built"]


def test_a_built_diffuser_without_a_place_is_asked_for(small_job):
    """It is placed by the search, and that is a caution: the crew knows better."""
    from plumeline.stages.layout.stage import as_built_notices

    built = AsBuilt(made_on=date(2026, 8, 9), diffusers=(SHALLOW[0], Diffuser(name="B")))
    (told,) = as_built_notices(small_job.model_copy(update={"as_built": built}))
    assert told.severity == "caution"
    assert "Of B no place was noted" in told.text
