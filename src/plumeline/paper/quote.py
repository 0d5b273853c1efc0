"""The page for the quote: what to buy, what it costs over the years, why the others lost."""

from __future__ import annotations

from datetime import date

from plumeline.charts import chart_svg
from plumeline.charts.distance import distance_chart
from plumeline.job.document import Job
from plumeline.paper.typeset import page_of
from plumeline.paper.what_to_buy import document_of
from plumeline.stages.choice import ChoiceResult
from plumeline.units.showing import System


def render_choice(found: ChoiceResult, job: Job, day: date, system: System = "us") -> bytes:
    """Return the page as PDF; the same choice, day and units give the same bytes.

    Args:
        found: the choice.
        job: its job.
        day: the day of the work, in the text and in the PDF's metadata.
        system: units.
    """
    data = document_of(found, job, day, system)
    drawings = {} if found.service is None else {"chart.svg": chart_svg(distance_chart(found, system))}
    return page_of("quote.typ", data, day, system, drawings)
