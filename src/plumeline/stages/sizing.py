"""Sizing: layout, air and plumes worked round until they agree with each other.

Positions need the flow that each plume lifts, that needs the air each diffuser gets, and the air needs the
depths and lengths of the layout. Where the number of diffusers is open, the simulated water has its say too. The
stages never call each other; this one does.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from plumeline.errors import DepthError, PlumelineError
from plumeline.job.document import Diffuser, Job
from plumeline.notices import Notice, caution
from plumeline.stages.air import AirResult, BranchSpec
from plumeline.stages.air.choosing import with_parts
from plumeline.stages.air.job_line import job_line
from plumeline.stages.air.stage import air_on
from plumeline.stages.layout import Agreement, Layout, MixCheck, layout
from plumeline.stages.mixed import (
    OFTEN_PROBABILITY,
    SimulatedPonds,
    mixed_at_dawns,
    simulated_ponds,
)
from plumeline.stages.plume import DiffuserAir, PlumeResult, plume, water_flow_by_depth, with_gas
from plumeline.stages.survey import Survey
from plumeline.units.showing import both

FIRST_AIR_M3_S = 6.1353e-4  # 1.3 scfm a diffuser, where the job wishes nothing else
CLOSE_FRACTION = 0.02
MOST_ROUNDS = 8
MOST_MORE = 2
"""Diffusers added at most where the simulated water does not come to be mixed."""
NUMBER_OPEN = (
    "number, places, plumes, air line and the simulated water are worked round until they agree: the least number of "
    "diffusers that meets the turnover, then up to two more, each run with the air on all day for a week, until nine "
    "of ten simulated ponds are mixed at the last dawn"
)
NOT_MIXED = (
    "In the simulated water the pond does not come to be mixed often enough, with none of the numbers of diffusers "
    "that were tried. The number is the least that meets the turnover; more air and deeper places are the ways on; the "
    "alternatives show what each number does."
)
NUMBER_GIVEN = (
    "places, plumes and air line are worked round until they agree; the number of diffusers is the job's: the "
    "alternatives try each in the simulated water"
)


@dataclass(frozen=True)
class Sized:
    """A layout and an air line that agree.

    Attributes:
        layout: where everything lies.
        air: the air line on that layout.
        plume: what each diffuser lifts with the air it gets.
        round_count: how often the three were worked through.
        air_change_fraction: last change of the air of a diffuser; under 2 % counts as agreed.
        notices: said where they did not come to agree.
    """

    layout: Layout
    air: AirResult
    plume: PlumeResult
    round_count: int
    air_change_fraction: float
    notices: tuple[Notice, ...]


@dataclass(frozen=True)
class Agreed:
    """A layout and an air line that agree, before the plumes are looked at closely; the fields are those of `Sized`."""

    layout: Layout
    air: AirResult
    round_count: int
    air_change_fraction: float
    notices: tuple[Notice, ...]


def agreed(job: Job, survey: Survey, *, seed: int = 1) -> Agreed:
    """Return a layout and an air line that agree with each other.

    Where the job leaves the number of diffusers open, the simulated water is in the rounds: the least number that
    meets the turnover is run in it, then one more, then two more, until it comes to be mixed.

    Args:
        job: the job, with a profile.
        survey: the basin.
        seed: of the simulated ponds.

    Raises:
        InputError: from the stages.
        DepthError: a compressor that reaches no diffuser; the deepest sounding is named.
        ModelError: an air line where nothing settles.
    """
    found = _in_rounds(job, survey)
    if job.listed_diffusers:
        return _saying(found, NUMBER_GIVEN)
    return _enough_mixed(job, survey, found, seed)


def _saying(found: Agreed, words: str, checks: tuple[MixCheck, ...] = (), *said: Notice) -> Agreed:
    """Return a design that also says what the simulated water had to do with its number of diffusers."""
    assert found.layout.agreement is not None
    told = replace(
        found.layout,
        agreement=replace(found.layout.agreement, mixing=checks),
        assumptions=(*found.layout.assumptions, words),
    )
    return replace(found, layout=told, notices=(*found.notices, *said))


def _enough_mixed(job: Job, survey: Survey, found: Agreed, seed: int) -> Agreed:
    """Return the least number of diffusers, two more at most, that the simulated water comes to be mixed by."""
    try:
        ponds = simulated_ponds(job, survey, seed)
        taken, checks = _more_until_mixed(job, survey, found, ponds)
    except PlumelineError as error:
        words = f"the simulated water could not be asked whether it comes to be mixed: {error.message}"
        return _saying(found, words)
    if _often(checks[-1]):
        return _saying(taken, NUMBER_OPEN, checks)
    return _saying(found, NUMBER_OPEN, checks, caution("column-not-mixed", NOT_MIXED))


def _more_until_mixed(
    job: Job, survey: Survey, found: Agreed, ponds: SimulatedPonds
) -> tuple[Agreed, tuple[MixCheck, ...]]:
    """Return the design with the last number that was tried, and what the water said of each."""
    taken, checks = found, [_check(found, ponds)]
    first = len(found.layout.diffusers)
    for count in range(first + 1, first + 1 + MOST_MORE):
        if _often(checks[-1]):
            break
        try:
            more = _in_rounds(_with_number(job, count), survey)
        except PlumelineError:
            break  # the air line does not carry as many: what was tried so far is said
        if any(item.code == "diffusers-crowded" for item in more.layout.notices):
            break
        taken = more
        checks.append(_check(more, ponds))
    return taken, tuple(checks)


def _often(check: MixCheck) -> bool:
    return check.mixed_members >= OFTEN_PROBABILITY * check.members


def _check(found: Agreed, ponds: SimulatedPonds) -> MixCheck:
    mixed = mixed_at_dawns(found.layout, found.air, ponds)[-1]
    return MixCheck(len(found.layout.diffusers), int(mixed.sum()), len(mixed))


def _with_number(job: Job, count: int) -> Job:
    named = tuple(Diffuser(name=f"D{number}") for number in range(1, count + 1))
    return job.model_copy(update={"air": job.air.model_copy(update={"diffusers": named})})


def _in_rounds(job: Job, survey: Survey) -> Agreed:
    """Return layout and air line worked round until they agree; the number is the job's, or by turnover alone."""
    each_m3_s = job.air.air_per_diffuser_m3_s or FIRST_AIR_M3_S
    change = 1.0
    round_count = 0
    seen: list[tuple[int, float]] = []
    while True:
        round_count += 1
        placed = layout(job, survey, flow_per_diffuser_water_m3_s=water_flow_by_depth(job, each_m3_s))
        try:
            line = job_line(job, branches_of(placed, job))
        except DepthError as error:
            raise _with_sounding(error, job, survey) from error
        flows = [branch.flow_standard_m3_s for branch in line.choice.point.branches]
        running = [flow for flow in flows if flow > 0.0]
        if not running:
            nothing = DepthError(
                "no diffuser gets any air.",
                remedy="Choose a compressor that holds a higher pressure, or shallower diffusers.",
                place="air",
            )
            raise _with_sounding(nothing, job, survey)
        mean = sum(running) / len(running)
        change = abs(mean - each_m3_s) / each_m3_s
        state = (len(flows), round(mean * 1e7))
        if change < CLOSE_FRACTION or round_count >= MOST_ROUNDS or state in seen:
            break
        seen.append(state)
        each_m3_s = mean
    notices: tuple[Notice, ...] = ()
    if change >= CLOSE_FRACTION:
        notices = (
            caution(
                "sizing-not-agreed",
                f"Layout and air changed each other by {change:.0%} in the last of {round_count} rounds: two "
                "numbers of diffusers fit about as well. Fix the number or the compressor in job.toml.",
            ),
        )
    told = replace(
        placed,
        agreement=Agreement(round_count, each_m3_s, mean, change),
    )
    try:
        # what stands around the line is worked out once, for the one that is kept
        return Agreed(told, air_on(line), round_count, change, notices)
    except DepthError as error:
        raise _with_sounding(error, job, survey) from error


def _with_sounding(error: DepthError, job: Job, survey: Survey) -> DepthError:
    """Return the refusal with the deepest sounding that the basin rests on: it may be the mistake."""
    gone = {item.row for item in survey.left_out}
    used = [item for item in job.pond.soundings if not item.row or item.row not in gone]
    if not used:
        return error
    deepest = max(used, key=lambda item: item.depth_m)
    row = f", row {deepest.row} of soundings.csv" if deepest.row else ""
    words = f"The deepest sounding is {both(deepest.depth_m, 'm')}{row}: check it."
    return DepthError(error.message, remedy=f"{words} {error.remedy}".rstrip(), place=error.place)


def sizing(job: Job, survey: Survey, *, seed: int) -> Sized:
    """Return a layout and an air line that agree with each other, and what each diffuser lifts.

    Args:
        job: the job, with a profile.
        survey: the basin.
        seed: seed of the plume's bands, and of the simulated ponds.

    Raises:
        InputError: from the stages.
        DepthError: a compressor that reaches no diffuser; the deepest sounding is named.
        ModelError: an air line where nothing settles.
    """
    found = agreed(job, survey, seed=seed)
    diffusers = [
        DiffuserAir(item.name, item.depth_m, found.air.diffuser_flow_standard_m3_s(item.name))
        for item in found.layout.diffusers
    ]
    lifted = with_gas(job, plume(job, diffusers, seed=seed), survey.area_m2, survey.volume_m3)
    return Sized(found.layout, found.air, lifted, found.round_count, found.air_change_fraction, found.notices)


def branches_of(placed: Layout, job: Job) -> tuple[BranchSpec, ...]:
    """Return the branches of a layout, each from the manifold, with the parts that the job names."""
    typed = {item.name: item for item in job.listed_diffusers}
    return tuple(
        with_parts(
            BranchSpec(
                item.name,
                item.depth_m,
                item.branch_length_m,
                item.branch_bore_m,
                served_volume_m3=item.served_volume_m3,
            ),
            typed.get(item.name),
        )
        for item in placed.diffusers
    )
