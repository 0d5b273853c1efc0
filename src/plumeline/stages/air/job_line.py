"""From a job to the line that is solved: what both the air stage and the search for faults begin with."""

from __future__ import annotations

from typing import NamedTuple

from plumeline.job.document import Job
from plumeline.stages.air.choosing import Choice, check_branches, check_lines, choose, typed_branches
from plumeline.stages.air.old_pipe import Belief, believe
from plumeline.stages.air.results import BranchSpec
from plumeline.stages.air.route import with_route
from plumeline.stages.air.settings import with_shares


class JobLine(NamedTuple):
    """A job with its route and its old pipe in it, and the line chosen for it.

    Attributes:
        job: the job, its trunk filled in from route and old pipe.
        belief: what is believed of an old pipe; None where there is none.
        branches: the branches, with their shares of the air.
        choice: the line, its balanced point, and what was chosen on the way.
    """

    job: Job
    belief: Belief | None
    branches: tuple[BranchSpec, ...]
    choice: Choice


def job_line(job: Job, branches: tuple[BranchSpec, ...]) -> JobLine:
    """Return a job's line; its branches are those of the diffusers typed into the job when none are given.

    Raises:
        InputError: a pipe, branch, curve or route that can't be used.
        ModelError: a compressor that can't reach any diffuser.
    """
    job, belief = believe(with_route(job))
    branches = with_shares(job, branches or typed_branches(job))
    check_branches(branches)
    check_lines(job, branches)
    return JobLine(job, belief, branches, choose(job, branches))
