"""What stands on the paper, as texts and tables for the template; the template decides only how it looks."""

from __future__ import annotations

from datetime import date
from typing import Any
from zoneinfo import ZoneInfo

import plumeline
from plumeline.charts import Chart
from plumeline.charts.start import running_words
from plumeline.pairs import said
from plumeline.paper import tables, words
from plumeline.paper.figures import (
    band_words,
    clock,
    completion_words,
    counted,
    long_date,
    per_cent,
    per_day,
    pressure,
    pressure_unit,
    risk_words,
    short_date,
    shown_range,
    still_words,
)
from plumeline.paper.on_land import old_pipe_part, route_part
from plumeline.paper.power import power_part
from plumeline.paper.shore import ends_part, weights_words
from plumeline.paper.site import site_codes, site_part
from plumeline.paper.what_to_buy import choice_part
from plumeline.safety import safety_card
from plumeline.stages.blooms import paragraph
from plumeline.stages.plan import Plan
from plumeline.stages.startup.lines import COMPARISONS, risk_line
from plumeline.units import plain, show, show_air
from plumeline.units.showing import System

FIRST_PAGE_CODES = (
    "worse-than-no-air",
    "hold-until-reading",
    "owner-decides",
    "already-failing",
    "keep-off-tonight",
    "promise-not-kept",
    "not-complete",
    "no-oxygen-anywhere",
    "every-plume-turns-back",
    "risk-not-stated",
    "stop-capped",
    "site-herbicide",
    "site-outflow-now",
    "site-outlet",
    "positions-schematic",
)
"""Notices that change the job, so they stand under the heading as well."""


CARD_PAGE = "CARD-PAGE"
"""Stands for the page of the start-up card, which only the template knows."""


def document(plan: Plan, day: date, system: System, charts: dict[str, Chart]) -> dict[str, Any]:
    """Return everything that the template prints.

    Args:
        plan: the plan.
        day: the day of the work.
        system: units.
        charts: the charts by name, for their sentences.
    """
    start = plan.startup
    return {
        "name": plan.job.name,
        "id": plan.job.id,
        "date": long_date(day),
        "iso_date": day.isoformat(),
        "version": plumeline.__version__,
        "summary": summary(plan, system),
        "figures": key_figures(plan, system),
        "site": site_part(plan.job),
        "alerts": [notice.text for notice in plan.notices if notice.code in FIRST_PAGE_CODES],
        "plan_caption": _plan_caption(plan, system),
        "plan_alt": f"Plan view of {plan.job.name} with depths, diffusers, branches and manifold.",
        "places": tables.places_table(plan, system),
        "stakes": tables.stakes_table(plan, system) if _has_sights(plan) else None,
        "lines": tables.lines_table(plan, system),
        "weights": weights_words(plan, system),
        "cut_caption": _cut_caption(plan),
        "cut_alt": "Cut through the water with plumes, thermocline, and temperature and oxygen as read.",
        "air_words": _air_words(plan, system),
        "gauges": tables.gauges_table(plan, system),
        "flows": tables.flows_table(plan, system),
        "ends": ends_part(plan.air, system),
        "power": power_part(plan.air, system),
        "route": route_part(plan.air, system),
        "old_pipe": old_pipe_part(plan.air, system),
        "choice": choice_part(plan.choice, system),
        "schedule": start.name,
        "emergency": list(start.emergency),
        "card": tables.card_table(plan),
        "card_words": _card_words(plan, system),
        "stop_rule": " ".join(words.on_paper(start.stop_words)),
        "stops": tables.stops_table(plan),
        "measures": _measures(plan, system),
        "hold_rule": words.HOLD_RULE,
        "firm": words.FIRM,
        "risk": _risk_paragraph(plan),
        "comparisons": tables.comparisons_table(plan),
        "comparisons_words": COMPARISONS,
        "narrowing": _narrowing(plan),
        "sentences": {name: chart.sentence for name, chart in charts.items()},
        "safety": [list(item) for item in safety_card(system)],
        "design_aid": words.DESIGN_AID,
        "notices": [
            [notice.severity.value, notice.text]
            for notice in plan.notices
            if notice.code not in site_codes(plan.job)
        ],
        "blooms": "" if plan.blooms is None else " ".join(paragraph(plan.blooms, system)),
        "assumptions": assumptions(plan),
        "sources": list(words.SOURCES),
        "workings": f"{words.workings_at(plan.job.id, 'survey', 'reading', 'layout', 'air')} {words.OF_THE_RUN}",
    }


def summary(plan: Plan, system: System) -> list[str]:
    """Return what will be done, in three sentences."""
    layout, air, start = plan.layout, plan.air, plan.startup
    depths = [item.depth_m for item in layout.diffusers]
    at = (
        show(depths[0], "m", system)
        if len(depths) == 1
        else shown_range(min(depths), max(depths), "m", system)
    )
    trunk = show(sum(piece.length_m for piece in air.trunk), "m", system)
    first = start.days[0] if start.days else None
    begin = "The start-up"
    worse = any(notice.code == "worse-than-no-air" for notice in plan.notices)
    if worse:
        begin = (
            "DO NOT START BY THE CARD as it stands (see the box). The schedule with the fewest losses found"
        )
    elif first is not None:
        hour = "" if first.start_hour_h is None else f" at {clock(first.start_hour_h)}"
        begin = f"Air starts on {short_date(first.date)}{hour} with {running_words(first.minutes)}, and"
    lifted = show(layout.water_flow_m3_s, "m3_s", system)
    return [
        f"{counted(len(depths), 'diffuser').capitalize()}, {at} deep, get "
        f"{show_air(air.flow_standard_m3_s, system)} of air in all through {trunk} of air line and a "
        f"manifold at the shore, and lift {lifted} of water: the whole pond "
        f"{per_day(layout.turnover_per_day)}.",
        f"{begin} goes on by the card on page {CARD_PAGE} ({start.name}); {completion_words(plan)}.",
        f"With this plan, {risk_words(start.risk)}; {still_words(start.risk)}."
        if start.risk_stated
        else f"Its risk is {risk_line(start)}.",
    ]


def key_figures(plan: Plan, system: System) -> list[list[str]]:
    """Return the figures under the heading."""
    basin, water, air = plan.survey, plan.reading, plan.air.balanced
    unit = pressure_unit(system)
    strata = water.strata.thermocline_depth_m
    low, high = band_words(basin.volume_p05_m3, basin.volume_p95_m3, "m3", system)
    return [
        ["area", show(basin.area_m2, "m2", system)],
        ["greatest depth", show(basin.max_depth_m, "m", system)],
        ["volume (90 % band)", f"{show(basin.volume_m3, 'm3', system)} ({low}–{high})"],
        ["turnover", per_day(plan.layout.turnover_per_day)],
        ["thermocline", "none: mixed" if strata is None else show(strata, "m", system)],
        [f"water under {water.shares.hypoxic_below_mg_l:g} mg/L", per_cent(water.shares.hypoxic_fraction)],
        ["debt of the bottom water", f"{show(water.debt.first_day.central_kg, 'kg', system)} of oxygen"],
        ["if it all mixed now", f"{water.mixed_now.do_after_debt_mg_l:.1f} mg/L"],
        ["gauge at compressor", f"{pressure(air.compressor_pressure_pa, system)} {unit}"],
        ["gauge at manifold", f"{pressure(air.manifold_pressure_pa, system)} {unit}"],
        ["relief valve", f"{pressure(plan.air.relief_pressure_pa, system)} {unit}"],
        ["power", show(plan.air.wire_power_w, "w", system)],
    ]


def _has_sights(plan: Plan) -> bool:
    """Return whether there is more to say of the places than stands in their own table: marks, or muck."""
    return bool(plan.job.pond.marks) or any(item.base is not None for item in plan.layout.diffusers)


def _plan_caption(plan: Plan, system: System) -> str:
    basin = plan.survey
    soundings = (
        f"{plain(basin.sounding_count, 0)} soundings"
        if basin.sounding_count
        else "no soundings, shape assumed"
    )
    shore = "The outline is assumed, so places are schematic. " if basin.outline_assumed else ""
    return (
        f"Depths in {'feet' if system == 'us' else 'metres'} below today's water, from {soundings}. "
        f"{shore}Beside each diffuser stands the depth of its membrane; each branch has its own dash. The "
        "bearing of the air line on land is not surveyed. Coordinates: WGS 84. Bearings are true: a compass is set to "
        "the declination of the place."
    )


def _cut_caption(plan: Plan) -> str:
    peels = [one.name for one in plan.plume.diffusers if not one.lift.reaches_surface]
    tail = f" The first plume of {', '.join(peels)} turns back below the surface." if peels else ""
    day = short_date(plan.reading.time.astimezone(ZoneInfo(plan.job.site.time_zone)).date())
    return (
        "From shore to shore, bending at each diffuser; the height is stretched. Plumes in the middle "
        "case, their width at the scale of the depth; above each the water it lifts. Points: the reading "
        f"of {day}.{tail}"
    )


def _air_words(plan: Plan, system: System) -> list[str]:
    air = plan.air
    unit = pressure_unit(system)
    machine = air.compressor
    count = f"{machine.count} × " if machine.count > 1 else ""
    given = "as given" if air.relief_given else "chosen here"
    if air.metal_length_m is None:
        metal = "no length of metal line cools it enough"
    elif air.metal_length_m > 0:
        metal = f"the first {show(air.metal_length_m, 'm', system)} of line must be metal"
    else:
        metal = "no metal line is needed for the heat"
    return [
        f"{count}{air.compressor_words[:1].upper()}{air.compressor_words[1:]}; relief valve at "
        f"{pressure(air.relief_pressure_pa, system)} {unit} ({given}).",
        f"Air leaves it at {show(air.outlet_temperature_degc, 'degc', system)}, on a hot day with a dirty "
        f"filter at {show(air.hot_outlet_temperature_degc, 'degc', system)}: {metal}.",
        "Set the valves by the gauge after each; the neediest branch stands full open; read all cases "
        "below at commissioning and write them beside. Gauges hold for today's water level.",
        *_balancing_words(plan, system),
    ]


def _balancing_words(plan: Plan, system: System) -> list[str]:
    """Return the steps of setting the valves and what it costs; nothing with one diffuser."""
    setting = plan.air.balancing
    if not setting.procedure:
        return []
    steps = " ".join(
        f"({number}) {said(step, system)}" for number, step in enumerate(setting.procedure, start=1)
    )
    cost = f"{pressure(setting.cost_pa, system)} {pressure_unit(system)}"
    return [f"Setting the valves: {steps} Against all valves open this costs {cost} at the compressor."]


def _card_words(plan: Plan, system: System) -> str:
    bound = (
        ", with the upper bound (of later days, that of the worst)"
        if plan.startup.risk_stated
        else "; no risk is stated, so no bound"
    )
    worse = any(notice.code == "worse-than-no-air" for notice in plan.notices)
    return (
        f"{'DO NOT START BY THIS CARD: see page 1. ' if worse else ''}"
        f"Oxygen in mg/L, {show(0.6, 'm', system)} down: middle simulated pond and nine of ten. “Lost” "
        f"counts the ponds of {plain(plan.startup.risk.members, 0)} that lost their refuge between that run and "
        f"the next{bound}; the days come to “all”."
    )


def _risk_paragraph(plan: Plan) -> list[str]:
    start = plan.startup
    stated = (
        f"{risk_words(start.risk).capitalize()} for more than an hour between the first run and the end; "
        f"{still_words(start.risk)}. The upper bound of this plan's risk is "
        f"{per_cent(start.risk.risk_upper95_fraction, 1)}; {per_cent(start.accepted_job_risk, 1)} is "
        f"accepted, {'which it keeps' if start.promise_kept else 'which it does NOT keep'}."
    )
    found = [stated if start.risk_stated else f"Risk {risk_line(start)}.", f"Refuge: {start.limits_words}."]
    if start.bound_by and start.risk_stated:
        causes = ", ".join(f"{limit} in {plain(count, 0)}" for limit, count in start.bound_by)
        whose = "of this plan" if start.risk.failures else "of the still pond"
        found.append(f"What took the refuge in the losses {whose}: {causes}.")
    return [*found, words.NO_PROMISE]


def _measures(plan: Plan, system: System) -> str:
    """Return what to read round the first run, where and when, in one paragraph."""
    items = plan.startup.measures
    if not items:
        return ""
    depths = ", ".join(show(z, "m", system) for z in items[0].depth_m)
    moments = "; ".join(f"{item.when} ({item.time})" for item in items)
    return (
        f"Temperature, oxygen and smell at {depths}: {moments}. Write them into readings.csv and plan anew."
    )


def _narrowing(plan: Plan) -> list[str]:
    return [
        f"{item.how} ({item.input}): known exactly, it would explain {per_cent(item.share_fraction)} of the "
        f"spread of the least oxygen in {plain(item.members, 0)} simulated ponds"
        for item in plan.startup.narrowing
    ]


def assumptions(plan: Plan) -> list[str]:
    """Return what was assumed, stage by stage, each once."""
    stages = (plan.survey, plan.reading, plan.layout, plan.air, plan.plume, plan.startup)
    found = dict.fromkeys(text for stage in stages for text in stage.assumptions)
    return [text if text.endswith(".") else f"{text}." for text in (_sentence(t) for t in found)]


def _sentence(text: str) -> str:
    """Return a text with a capital at its front, but for pH."""
    return text if text.startswith("pH") else text[:1].upper() + text[1:]
