"""The plots of a plan: one specification a chart serves web, PDF and export; each has its sentence."""

from plumeline.charts.basin import hypsograph_chart
from plumeline.charts.common import Chart, chart_svg
from plumeline.charts.risks import risk_chart
from plumeline.charts.start import startup_chart
from plumeline.charts.water import profile_chart
from plumeline.stages.plan import Plan
from plumeline.units.showing import System


def all_charts(plan: Plan, system: System = "us") -> tuple[Chart, ...]:
    """Return every chart of a plan, in the order of the work."""
    return (
        hypsograph_chart(plan, system),
        startup_chart(plan, system),
        profile_chart(plan, system),
        risk_chart(plan, system),
    )


__all__ = [
    "Chart", "all_charts", "chart_svg", "hypsograph_chart", "profile_chart", "risk_chart", "startup_chart",
]  # fmt: skip
