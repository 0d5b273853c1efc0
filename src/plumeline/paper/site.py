"""What the facts of the site ask of whoever digs, lays and starts: for each paper that a crew or a customer holds."""

from __future__ import annotations

from typing import Any

from plumeline.job.document import Job
from plumeline.stages.site_facts import crew_question, site_notices


def site_part(job: Job) -> dict[str, Any]:
    """Return the warnings that follow from the site, the gravest first, and what nobody has asked yet."""
    found = sorted(site_notices(job), key=lambda one: one.severity.value != "danger")
    return {
        "rows": [[one.severity.value, one.text] for one in found],
        "question": crew_question(job.site.facts),
    }


def site_codes(job: Job) -> set[str]:
    """Return the codes of those warnings, for a paper that prints all warnings and says these at its head."""
    return {one.code for one in site_notices(job)}
