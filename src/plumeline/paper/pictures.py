"""The charts and drawings of a plan, made once for the paper and for the files beside it."""

from __future__ import annotations

from dataclasses import dataclass

from plumeline.charts import Chart, all_charts, chart_svg
from plumeline.drawing import cut_scene, plan_scene, route_scene, svg
from plumeline.stages.plan import Plan
from plumeline.units.showing import System


@dataclass(frozen=True)
class Pictures:
    """What a plan shows.

    Attributes:
        charts: by name.
        texts: SVG by the name of its file: drawings, then charts.
    """

    charts: dict[str, Chart]
    texts: dict[str, str]


def pictures_of(plan: Plan, system: System) -> Pictures:
    """Return the charts and drawings of a plan.

    Args:
        plan: the plan.
        system: their units.
    """
    charts = {chart.name: chart for chart in all_charts(plan, system)}
    texts = {
        "plan-view.svg": svg(plan_scene(plan, system)),
        "cut.svg": svg(cut_scene(plan, system)),
        **({"route.svg": svg(route_scene(plan.air.route, system))} if plan.air.route else {}),
        **{f"chart-{name}.svg": chart_svg(chart) for name, chart in charts.items()},
    }
    return Pictures(charts, texts)
