"""The page for the quote: what to buy, what it costs over the years, why the others lost."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from plumeline.charts import chart_svg
from plumeline.charts.distance import distance_chart
from plumeline.errors import ModelError
from plumeline.job.document import Job
from plumeline.paper.typeset import page_of
from plumeline.paper.what_to_buy import document_of
from plumeline.stages.choice import ChoiceResult
from plumeline.units.showing import System


def render_choice(
    found: ChoiceResult,
    job: Job,
    day: date,
    system: System = "us",
    *,
    head: str = "",
    said: Sequence[str] = (),
) -> bytes:
    """Return the page as PDF; the same choice, day and units give the same bytes.

    It offers the design that the start-up plan of the same job simulates, never a machine that no plan was made for.

    Args:
        found: the choice, told against the job's own design.
        job: its job.
        day: the day of the work, in the text and in the PDF's metadata.
        system: units.
        head: which quote it is, under its title; empty where it is none yet.
        said: more to bear in mind, before all else.

    Raises:
        ModelError: the choice was made without the job's own design.
    """
    if found.planned is None:
        raise ModelError(
            "there is no design to quote.", remedy="A quote is made of the design that a plan is made for."
        )
    data = document_of(found, job, day, system)
    data |= {"head": head, "notices": [*said, *data["notices"]]}
    drawings = {} if found.service is None else {"chart.svg": chart_svg(distance_chart(found, system))}
    return page_of("quote.typ", data, day, system, drawings)
