"""The plan as data: plan.json, always SI, and plan.geojson for a map or a positioning receiver."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import date
from itertools import pairwise
from typing import Any

from plumeline.files.json_values import json_value
from plumeline.job.digest import origin
from plumeline.pairs import said
from plumeline.stages.blooms import paragraph
from plumeline.stages.plan import Plan
from plumeline.stages.startup import Risk
from plumeline.stages.survey import LocalPlane

FORMAT = "plumeline-plan"
FORMAT_VERSION = 1
STAGES = ("survey", "reading", "layout", "air", "plume", "startup")

Ring = Sequence[tuple[float, float]]
Feature = dict[str, Any]


def plan_json(plan: Plan, day: date | None = None) -> str:
    """Return a plan as a JSON document in SI units; keys carry their units, no NaN and no infinity.

    Args:
        plan: the plan.
        day: the day of the work; the job's when None.
    """
    document: dict[str, Any] = {
        "format": FORMAT,
        "format_version": FORMAT_VERSION,
        **origin(plan.job),
        "units": "SI; each key ends in its unit",
        "job": {"id": plan.job.id, "name": plan.job.name, "site": json_value(plan.job.site)},
        "date": (day or plan.job.date).isoformat(),
        "risk": _risk(plan.startup.risk),
        "comparisons": [
            {
                "name": item.name,
                **_risk(item.risk),
                "days_to_complete": item.days_to_complete,
                "expected_visits_number": item.expected_visits_number,
            }
            for item in plan.startup.comparisons
        ],
        "notices": json_value(plan.notices),
    }
    for stage in STAGES:
        document[stage] = json_value(getattr(plan, stage))
        document[stage].pop("notices", None)
    if plan.choice is not None:
        document["choice"] = json_value(plan.choice)
    if plan.blooms is not None:
        document["blooms"] = {
            "members": plan.blooms.members,
            "needed_m2_s": plan.blooms.needed_m2_s,
            "regimes": [
                {"name": regime.name, "all_day_probability": regime.all_day_probability}
                for regime in plan.blooms.regimes
            ],
            "words": list(paragraph(plan.blooms, "si")),
        }
    return said(json.dumps(json_value(document), indent=2, ensure_ascii=False, allow_nan=False), "si") + "\n"


def _risk(risk: Risk) -> dict[str, Any]:
    return {
        "members": risk.members,
        "failures": risk.failures,
        "risk": risk.risk,
        "risk_upper95": risk.risk_upper95_fraction,
        "baseline_risk": risk.baseline_risk,
        "added_risk": risk.added_risk,
    }


def plan_geojson(plan: Plan) -> str:
    """Return shore, contours, diffusers, manifold and branches as GeoJSON (RFC 7946, WGS 84)."""
    features = [_pond(plan), *_contours(plan), *_branches(plan), *_diffusers(plan), _manifold(plan)]
    collection = {"type": "FeatureCollection", "features": features}
    return json.dumps(collection, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _feature(geometry: dict[str, Any], properties: dict[str, Any]) -> Feature:
    return {"type": "Feature", "geometry": geometry, "properties": json_value(properties)}


def _place(plane: LocalPlane, x_m: float, y_m: float) -> list[float]:
    """Return longitude and latitude to a centimetre, as far as a drawing can mean it."""
    point = plane.to_point(x_m, y_m)
    return [round(point.longitude_deg, 7), round(point.latitude_deg, 7)]


def _line(plane: LocalPlane, path: Ring) -> list[list[float]]:
    return [_place(plane, x, y) for x, y in path]


def _wound(ring: Ring, *, left: bool) -> Ring:
    """Return a closed ring wound as RFC 7946 wants: shores to the left, islands to the right."""
    closed = list(ring) if ring[0] == ring[-1] else [*ring, ring[0]]
    twice = sum(x * v - u * y for (x, y), (u, v) in pairwise(closed))
    return closed if (twice > 0) == left else closed[::-1]


def _pond(plan: Plan) -> Feature:
    survey = plan.survey
    rings = [_line(survey.plane, _wound(ring, left=n == 0)) for n, ring in enumerate(survey.outline_xy)]
    properties = {
        "kind": "pond",
        "name": plan.job.name,
        "outline_assumed": survey.outline_assumed,
        "area_m2": survey.area_m2,
        "volume_m3": survey.volume_m3,
        "max_depth_m": survey.max_depth_m,
    }
    return _feature({"type": "Polygon", "coordinates": rings}, properties)


def _contours(plan: Plan) -> list[Feature]:
    plane = plan.survey.plane
    return [
        _feature(
            {"type": "MultiLineString", "coordinates": [_line(plane, line) for line in contour.lines_xy]},
            {"kind": "contour", "depth_m": contour.depth_m},
        )
        for contour in plan.survey.contours
    ]


def _branches(plan: Plan) -> list[Feature]:
    plane = plan.survey.plane
    return [
        _feature(
            {"type": "LineString", "coordinates": _line(plane, item.branch_path_xy)},
            {
                "kind": "branch",
                "name": item.name,
                "pipe": item.branch_pipe,
                "bore_m": item.branch_bore_m,
                "length_m": item.branch_length_m,
                "cut_m": item.branch_cut_m,
            },
        )
        for item in plan.layout.diffusers
    ]


def _diffusers(plan: Plan) -> list[Feature]:
    plane = plan.survey.plane
    return [
        _feature(
            {"type": "Point", "coordinates": _place(plane, item.x_m, item.y_m)},
            {
                "kind": "diffuser",
                "name": item.name,
                "depth_m": item.depth_m,
                "bottom_depth_m": item.bottom_depth_m,
                "air_standard_m3_s": plan.air.diffuser_flow_standard_m3_s(item.name),
                "water_flow_m3_s": item.water_flow_m3_s,
                "schematic": plan.layout.schematic,
            },
        )
        for item in plan.layout.diffusers
    ]


def _manifold(plan: Plan) -> Feature:
    x_m, y_m = plan.layout.manifold_xy
    return _feature(
        {"type": "Point", "coordinates": _place(plan.survey.plane, x_m, y_m)},
        {"kind": "manifold", "reason": plan.layout.manifold_reason},
    )
