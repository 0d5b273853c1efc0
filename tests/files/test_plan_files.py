"""plan.json and plan.geojson."""

from __future__ import annotations

import json
import math

import pytest
from pyproj import Geod
from shapely.geometry import shape

from plumeline.files.plan_files import plan_geojson, plan_json
from plumeline.units import SUFFIXES

RISK_KEYS = {"members", "failures", "risk", "risk_upper95", "baseline_risk", "added_risk"}


def numbers_in(value, key=""):
    """Yield every number with the key it stands under."""
    if isinstance(value, dict):
        for name, part in value.items():
            yield from numbers_in(part, name)
    elif isinstance(value, list):
        for part in value:
            yield from numbers_in(part, key)
    elif isinstance(value, int | float) and not isinstance(value, bool):
        yield key, value


@pytest.fixture(scope="module")
def document(small_plan):
    """plan.json, read back by a parser that refuses NaN."""
    return json.loads(plan_json(small_plan), parse_constant=pytest.fail)


@pytest.fixture(scope="module")
def features(small_plan):
    """The features of plan.geojson."""
    return json.loads(plan_geojson(small_plan), parse_constant=pytest.fail)["features"]


def test_json_holds_the_risk_of_plan_and_comparisons(document, small_plan):
    """Exact keys of the agreed format, for the plan and for each comparison."""
    assert set(document["risk"]) >= RISK_KEYS
    assert document["startup"]["risk"] == document["risk"]
    assert document["risk"]["failures"] == small_plan.startup.risk.failures
    assert len(document["comparisons"]) == len(small_plan.startup.comparisons)
    for item, given in zip(document["comparisons"], document["startup"]["comparisons"], strict=True):
        assert set(item) >= RISK_KEYS
        assert {key: given["risk"][key] for key in RISK_KEYS} == {key: item[key] for key in RISK_KEYS}


def test_json_numbers_round_trip(document, small_plan):
    """Numbers come back as they were, in SI."""
    assert document["survey"]["volume_m3"] == small_plan.survey.volume_m3
    assert (
        document["air"]["balanced"]["compressor_pressure_pa"]
        == small_plan.air.balanced.compressor_pressure_pa
    )
    assert [d["depth_m"] for d in document["layout"]["diffusers"]] == [
        d.depth_m for d in small_plan.layout.diffusers
    ]
    assert all(math.isfinite(value) for _, value in numbers_in(document))


def test_json_keys_are_si(document):
    """No key of a number ends in a unit of the US side."""
    us = {suffix for suffix, unit in SUFFIXES.items() if not unit.metric}
    ends = {key.rsplit("_", 1)[-1] for key, _ in numbers_in(document)}
    assert not ends & us


def test_json_names_every_notice(document, small_plan):
    """Warnings are values here too."""
    assert [item["code"] for item in document["notices"]] == [item.code for item in small_plan.notices]


def test_geojson_has_every_part(features, small_plan):
    """Pond, contours, branches, diffusers and manifold are there, each a valid geometry."""
    kinds = [feature["properties"]["kind"] for feature in features]
    count = len(small_plan.layout.diffusers)
    assert kinds.count("pond") == kinds.count("manifold") == 1
    assert kinds.count("diffuser") == kinds.count("branch") == count
    assert kinds.count("contour") == len(small_plan.survey.contours)
    assert all(shape(feature["geometry"]).is_valid for feature in features)


def test_geojson_area_is_the_surveys(features, small_plan):
    """The area that pyproj.Geod finds from the coordinates is the survey's; rings wind as RFC 7946 says."""
    rings = next(f for f in features if f["properties"]["kind"] == "pond")["geometry"]["coordinates"]
    geod = Geod(ellps="WGS84")
    areas = [geod.polygon_area_perimeter(*zip(*ring, strict=True))[0] for ring in rings]
    assert areas[0] > 0
    assert all(area < 0 for area in areas[1:])
    assert all(ring[0] == ring[-1] for ring in rings)
    assert sum(areas) == pytest.approx(small_plan.survey.area_m2, rel=1e-4)


def test_geojson_diffusers_lie_in_the_pond(features):
    """Every diffuser lies in the water, and its branch runs from the manifold to it."""
    pond = shape(next(f for f in features if f["properties"]["kind"] == "pond")["geometry"])
    manifold = next(f for f in features if f["properties"]["kind"] == "manifold")["geometry"]["coordinates"]
    branches = {f["properties"]["name"]: f for f in features if f["properties"]["kind"] == "branch"}
    for feature in (f for f in features if f["properties"]["kind"] == "diffuser"):
        assert pond.contains(shape(feature["geometry"]))
        line = branches[feature["properties"]["name"]]["geometry"]["coordinates"]
        assert line[0] == manifold
        assert line[-1] == feature["geometry"]["coordinates"]


def test_json_says_whether_the_air_holds_blue_greens_down(document, small_plan):
    """Odds of the three regimes as the stage found them, in words as well, and no cure promised."""
    found = document["blooms"]
    assert [item["all_day_probability"] for item in found["regimes"]] == [
        regime.all_day_probability for regime in small_plan.blooms.regimes
    ]
    assert "no cure" in " ".join(found["words"])
    assert " m " in found["words"][0]
