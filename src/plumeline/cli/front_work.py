"""``plumeline layout --front``: the alternatives of a pond."""

from __future__ import annotations

import argparse

from plumeline.cli.show_front import front_blocks, sentence
from plumeline.cli.stage_work import asked_job, print_answer, svg_path
from plumeline.stages.front import front as front_stage
from plumeline.stages.survey import survey as survey_stage


def front(args: argparse.Namespace) -> int:
    """Print what each number of diffusers serves, mixes, draws and costs; write the chart that was asked for.

    Raises:
        InputError: the chart's file is no .svg.
    """
    out = args.chart and svg_path(args.chart, "--chart")
    asked = asked_job(args)
    basin = survey_stage(asked.job, asked.seed)
    found = front_stage(asked.job, basin, seed=asked.seed)
    if out:
        # what draws is slow to load
        from plumeline.charts import chart_svg
        from plumeline.charts.front import front_chart

        out.write_text(chart_svg(front_chart(found, sentence(found))), encoding="utf-8")
    return print_answer(args, asked, "front", found, front_blocks(found, args.units), before=(basin,))
