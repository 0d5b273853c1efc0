"""The whole job in one go: every stage, in order, and what they all warn of."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

from plumeline.job.document import Job
from plumeline.notices import Notice, Severity
from plumeline.stages.air import AirResult
from plumeline.stages.blooms import Blooms, blooms
from plumeline.stages.choice import ChoiceResult, choose, design_of
from plumeline.stages.column import believed
from plumeline.stages.layout import Layout
from plumeline.stages.plume import PlumeResult
from plumeline.stages.reading import Reading, reading
from plumeline.stages.site_facts import refuse_start
from plumeline.stages.sizing import Sized, sizing
from plumeline.stages.startup import StartUp, startup
from plumeline.stages.startup.search import Progress
from plumeline.stages.startup.stage import quiet, unheard
from plumeline.stages.survey import Survey, survey

BLOOM_MEMBERS = 32  # its odds are said to a few in 100 at best
ORDER = {Severity.DANGER: 0, Severity.CAUTION: 1, Severity.NOTE: 2}


class Designed(Protocol):
    """What is known before the start-up is planned: enough for the two drawings and the hypsograph."""

    @property
    def job(self) -> Job:
        """Return what was known."""

    @property
    def survey(self) -> Survey:
        """Return the basin."""

    @property
    def reading(self) -> Reading:
        """Return the water."""

    @property
    def layout(self) -> Layout:
        """Return where everything lies."""

    @property
    def air(self) -> AirResult:
        """Return the air line."""

    @property
    def plume(self) -> PlumeResult:
        """Return what each diffuser lifts."""


@dataclass(frozen=True)
class Plan:
    """All stages of one job.

    Attributes:
        job: what was known.
        survey: the basin.
        reading: the water.
        layout: where diffusers, manifold and lines lie.
        air: the air line.
        plume: what each diffuser lifts.
        sizing: how layout and air came to agree.
        startup: the start-up plan.
        notices: warnings of all stages, the gravest first, each once.
        blooms: whether the air holds blue-greens down once it runs; None where that was not asked.
        choice: what to buy, ranked by cost over the years; None where that was not asked.
    """

    job: Job
    survey: Survey
    reading: Reading
    layout: Layout
    air: AirResult
    plume: PlumeResult
    sizing: Sized
    startup: StartUp
    notices: tuple[Notice, ...]
    blooms: Blooms | None = None
    choice: ChoiceResult | None = None


def start_up_of(
    job: Job, basin: Survey, sized: Sized, *, seed: int, progress: Progress = quiet, outage_d: int = 0,
    brief: bool = False, stands: Callable[[str], None] = unheard,
) -> StartUp:  # fmt: skip
    """Return the start-up plan of a sized job.

    Args:
        job: the job.
        basin: its basin.
        sized: its layout and air line.
        seed: seed of everything drawn.
        progress: told what is done and how far, as a fraction.
        outage_d: days that the running pond has been without air; the plan is its restart [d].
        brief: only the plan itself, its risk and its days.
        stands: told the plan and its risk in a sentence as soon as they stand.
    """
    flows = tuple(sized.air.diffuser_flow_standard_m3_s(item.name) for item in sized.layout.diffusers)
    return startup(
        job,
        basin.hypsograph,
        basin.area_m2,
        basin.volume_m3,
        basin.volume_se_m3,
        basin.max_depth_m,
        tuple(item.depth_m for item in sized.layout.diffusers),
        flows,
        seed=seed,
        progress=progress,
        diffuser_names=tuple(item.name for item in sized.layout.diffusers),
        outage_d=outage_d,
        brief=brief,
        stands=stands,
    )


def make_plan(
    job: Job, *, seed: int, progress: Progress = quiet, choosing: bool = False,
    stands: Callable[[str], None] = unheard,
) -> Plan:  # fmt: skip
    """Work through every stage of a job.

    Args:
        job: the job.
        seed: seed of everything drawn.
        progress: told what is done and how far, as a fraction.
        choosing: rank all compressors, trunks and numbers of diffusers by cost too, which takes seconds.
        stands: told the start-up plan and its risk in a sentence as soon as they stand: the rest takes longer.

    Raises:
        InputError: from the stages; first of all a site that forbids a start.
    """
    # what the facts of the site forbid is said at once, not after the survey and the air line
    refuse_start(job)
    progress("surveying the basin", 0.0)
    basin = survey(job, seed)
    progress("reading the water", 0.0)
    water = reading(believed(job), basin)
    progress("placing diffusers and solving the air line", 0.0)
    sized = sizing(job, basin, seed=seed)
    plan = start_up_of(job, basin, sized, seed=seed, progress=progress, stands=stands)
    progress("asking whether the air holds blue-greens down", 0.0)
    held = blooms(job, basin, sized, seed=seed, members=BLOOM_MEMBERS)
    if choosing:
        progress("ranking what could be bought", 0.0)
    choice = choose(job, basin, design_of(sized)) if choosing else None
    parts = (basin, water, sized.layout, sized.air, sized.plume, sized, plan)
    # of the weather the start-up has said the same
    more = tuple(notice for notice in held.notices if notice.code.startswith("blooms"))
    return Plan(
        job,
        basin,
        water,
        sized.layout,
        sized.air,
        sized.plume,
        sized,
        plan,
        all_notices(*(p.notices for p in parts), more),
        held,
        choice,
    )


SAID_BY_FILES = frozenset({"species-unknown"})
"""What a look at the files says in full, with what was typed; a stage, which may stand alone, says it again."""


def all_notices(*groups: tuple[Notice, ...]) -> tuple[Notice, ...]:
    """Return the notices of several stages, the gravest first, each text once."""
    found: dict[tuple[str, str], Notice] = {}
    for group in groups:
        before = {code for code, _ in found} & SAID_BY_FILES
        for notice in group:
            if notice.code not in before:
                found.setdefault((notice.code, notice.text), notice)
    return tuple(sorted(found.values(), key=lambda notice: ORDER[notice.severity]))
