"""The answer of one bottle test of bottom water."""

from __future__ import annotations

import argparse
from datetime import UTC, datetime

from plumeline.cli.commands import UsageError
from plumeline.cli.common import Given, answer
from plumeline.job.document import Bottle
from plumeline.stages.reading.bottle import Demand, bottle_demand, start_mg_l, weaker_parts_count
from plumeline.units import half_band, show
from plumeline.units.showing import System

NO_DEPTH_M = 0.0  # asked in the truck, a bottle has no place in a pond


def bottle(args: argparse.Namespace) -> int:
    """Answer how much oxygen a litre of bottom water takes up."""
    if args.after_15min is None and args.after_24h is None:
        raise UsageError("give --after-15min, --after-24h or both: without them the bottle was never read.")
    filled = Bottle(
        id="quick",
        time=datetime(2000, 1, 1, tzinfo=UTC),
        depth_m=NO_DEPTH_M,
        bottom_share=args.dilution,
        bottom_do_mg_l=args.bottom_do.value,
        surface_do_mg_l=args.surface_do.value,
        after_15min_mg_l=_number(args.after_15min),
        after_24h_mg_l=_number(args.after_24h),
        surface_after_24h_mg_l=_number(args.surface_after_24h),
    )
    found = bottle_demand(filled, "the bottle")
    censored = any(part is not None and part.censored for part in (found.immediate, found.fast))
    return answer(
        args,
        {
            **_part("immediate", found.immediate),
            **_part("fast", found.fast),
            "censored": censored,
            "repeat_parts_count": weaker_parts_count(filled.bottom_share) if censored else None,
            "start_do_mg_l": start_mg_l(filled),
            "bottom_share_fraction": filled.bottom_share,
        },
        understood=_understood(args),
        lines=[
            ("oxygen of the mixture at filling", show(start_mg_l(filled), "mg_l", args.units)),
            ("immediate demand, within 15 min", _shown(found.immediate, args.units)),
            ("fast demand, within 24 h", _shown(found.fast, args.units)),
        ],
        notices=found.notices,
    )


def _number(given: Given | None) -> float | None:
    return None if given is None else given.value


def _part(name: str, demand: Demand | None) -> dict[str, float | bool | None]:
    """Return one demand under names with their unit; null where its reading was not taken."""
    return {
        f"{name}_mg_l": None if demand is None else demand.demand_mg_l,
        f"{name}_standard_error_mg_l": None if demand is None else demand.standard_error_mg_l,
        f"{name}_censored": None if demand is None else demand.censored,
    }


def _shown(demand: Demand | None, units: System) -> str:
    if demand is None:
        return "not read"
    least = "at least " if demand.censored else ""
    error = half_band(demand.standard_error_mg_l, "mg_l", units)
    return f"{least}{show(demand.demand_mg_l, 'mg_l', units)} ± {error}, by litre of bottom water"


def _understood(args: argparse.Namespace) -> dict[str, str]:
    """Return what was given, by name."""
    parts = (1.0 - args.dilution) / args.dilution
    named = {
        "bottom water at filling": args.bottom_do,
        "surface water at filling": args.surface_do,
        "mixture after 15 min": args.after_15min,
        "mixture after 24 h": args.after_24h,
        "surface bottle after 24 h": args.surface_after_24h,
    }
    given = {name: value.understood for name, value in named.items() if value is not None}
    return {**given, "mixture": f"1 part of bottom water to {parts:.4g} of surface water"}
