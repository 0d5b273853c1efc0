"""The plan view and the cut through the water."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise
from xml.etree import ElementTree

import numpy as np
import pytest
from shapely import LineString, Point, Polygon

from plumeline.drawing import cut_scene, plan_scene, svg
from plumeline.drawing.labels import Box
from plumeline.drawing.measures import FOOT_M, depth_levels_m, round_length_m
from plumeline.drawing.plan_view import frame_of
from plumeline.drawing.scene import Area, Text, text_width_mm
from plumeline.drawing.section import section_through
from plumeline.job.document import LocalPoint, Mark
from plumeline.palette import DEEP, INK
from plumeline.units import show

SVG = "{http://www.w3.org/2000/svg}"
SCENES = [(draw, system) for draw in (plan_scene, cut_scene) for system in ("us", "si")]


def box_of(text: Text) -> Box:
    """Return the rectangle that a text covers."""
    wide = text_width_mm(text.words, text.size_mm, bold=text.bold)
    left = text.x_mm - {"start": 0.0, "middle": wide / 2, "end": wide}[text.anchor]
    return Box(left, text.y_mm - 0.75 * text.size_mm, left + wide, text.y_mm + 0.2 * text.size_mm)


@pytest.mark.parametrize(("draw", "system"), SCENES)
def test_svg_is_xml_that_says_what_it_shows(small_plan, draw, system):
    """Each drawing parses as XML, has a title and a description, and no link to anything outside."""
    text = svg(draw(small_plan, system))
    root = ElementTree.fromstring(text)
    assert root.tag == f"{SVG}svg"
    assert root.findtext(f"{SVG}title")
    assert root.findtext(f"{SVG}desc")
    assert "href" not in text
    assert not re.search(r"\bnan\b|\binf\b", text)


@pytest.mark.parametrize(("draw", "system"), SCENES)
def test_same_plan_same_bytes(small_plan, draw, system):
    """The same plan gives the same drawing."""
    assert svg(draw(small_plan, system)) == svg(draw(small_plan, system))


@pytest.mark.parametrize(("draw", "system"), SCENES)
def test_labels_do_not_cover_each_other(small_plan, draw, system):
    """No two texts share more than a sliver, and none leaves the paper."""
    scene = draw(small_plan, system)
    texts = [shape for shape in scene.shapes if isinstance(shape, Text)]
    paper = Box(0.0, 0.0, scene.width_mm, scene.height_mm)
    for n, text in enumerate(texts):
        box = box_of(text)
        area = (box.right_mm - box.left_mm) * (box.lower_mm - box.upper_mm)
        assert box.shared_mm2(paper) >= 0.97 * area, text.words
        for other in texts[n + 1 :]:
            assert box.shared_mm2(box_of(other)) < 0.08 * area, (text.words, other.words)


@pytest.mark.parametrize(("draw", "system"), SCENES)
def test_text_is_ink_or_deep(small_plan, draw, system):
    """Only ink and deep are colours of text."""
    colours = {shape.colour for shape in draw(small_plan, system).shapes if isinstance(shape, Text)}
    assert colours <= {INK, DEEP}


@pytest.mark.parametrize(("draw", "system"), SCENES)
def test_each_diffuser_is_named_with_its_depth(small_plan, draw, system):
    """Every diffuser stands in both drawings with its depth in the wanted units."""
    words = {shape.words for shape in draw(small_plan, system).shapes if isinstance(shape, Text)}
    for item in small_plan.layout.diffusers:
        assert f"{item.name} · {show(item.depth_m, 'm', system)}" in words


def test_scale_bar_is_as_long_as_it_says(small_plan):
    """The bar's length on paper is the frame's scale times the length written at its end."""
    scene = plan_scene(small_plan, "si")
    words = [shape for shape in scene.shapes if isinstance(shape, Text)]
    end = max((t for t in words if re.fullmatch(r"[\d.]+ m", t.words)), key=lambda t: t.y_mm)
    nought = next(t for t in words if t.words == "0" and t.y_mm == end.y_mm)
    scale = frame_of(small_plan.survey, small_plan.layout).scale_mm_m
    assert end.x_mm - nought.x_mm == pytest.approx(float(end.words.split()[0]) * scale, rel=1e-9)


def test_depth_bands_have_the_surveys_areas(small_plan):
    """The water deeper than a level, measured on the drawing by shapely, is the hypsograph's within 2 %."""
    survey = small_plan.survey
    scale = frame_of(survey, small_plan.layout).scale_mm_m
    levels = depth_levels_m(survey.max_depth_m, "si")
    areas = [shape for shape in plan_scene(small_plan, "si").shapes if isinstance(shape, Area)][1:]
    for level, shape in zip(levels, areas, strict=False):
        drawn = Polygon()
        for ring in shape.outlines:
            drawn = drawn.symmetric_difference(Polygon(ring).buffer(0))
        assert drawn.area / scale**2 == pytest.approx(
            survey.hypsograph.area_at(level), abs=0.02 * survey.area_m2
        )


def test_diffusers_lie_in_the_water_on_paper(small_plan):
    """Drawn places lie inside the drawn shore and outside the island."""
    frame = frame_of(small_plan.survey, small_plan.layout)
    rings = [frame.path(ring) for ring in small_plan.survey.outline_xy]
    water = Polygon(rings[0], rings[1:])
    for item in small_plan.layout.diffusers:
        assert water.contains(Point(frame.at((item.x_m, item.y_m))))


def test_the_cut_meets_each_diffuser_at_its_own_bottom(small_plan):
    """Along the cut the bottom under a diffuser is the depth that the survey has there."""
    section = section_through(small_plan.survey, small_plan.layout)
    for at, item in zip(section.diffuser_at_m, small_plan.layout.diffusers, strict=True):
        bottom = np.interp(at, section.distance_m, section.bottom_m)
        assert bottom == pytest.approx(small_plan.survey.depth_at(item.x_m, item.y_m), abs=1e-6)
    assert section.bottom_m[0] == pytest.approx(0.0, abs=0.15)
    assert section.bottom_m[-1] == pytest.approx(0.0, abs=0.15)
    assert LineString(zip(section.distance_m, section.bottom_m, strict=True)).is_simple


@pytest.mark.parametrize(("system", "unit_m"), [("us", FOOT_M), ("si", 1.0)])
@pytest.mark.parametrize("depth_m", [0.7, 1.5, 4.3, 9.0, 31.0])
def test_levels_are_even_in_the_readers_unit(system, unit_m, depth_m):
    """Levels begin at 0, are even and round in feet or metres, and are at most eight."""
    levels = depth_levels_m(depth_m, system)
    assert levels[0] == 0.0
    assert len(levels) <= 8
    assert levels[-1] < depth_m
    steps = {round((b - a) / unit_m, 6) for a, b in pairwise(levels)}
    assert len(steps) <= 1


@pytest.mark.parametrize(("most_m", "length_m"), [(34.0, 20.0), (50.0, 50.0), (9.9, 5.0), (1.0, 1.0)])
def test_round_length(most_m, length_m):
    """A scale bar is the greatest of 1, 2, 5 times a power of ten that fits."""
    assert round_length_m(most_m, "si") == pytest.approx(length_m)


@pytest.mark.parametrize("system", ["us", "si"])
def test_marks_on_the_shore_are_drawn_where_they_stand_with_their_names(small_plan, system):
    """Two marks: a triangle round each place, each name once, in the table beside the drawing too; no text covered."""
    ring = small_plan.survey.outline_xy[0]
    at = [ring[0], ring[len(ring) // 3]]
    marks = tuple(
        Mark(name=name, place=LocalPoint(x_m=x, y_m=y))
        for name, (x, y) in zip(("dock", "old oak"), at, strict=True)
    )
    job = small_plan.job.model_copy(update={"pond": small_plan.job.pond.model_copy(update={"marks": marks})})
    plan = replace(small_plan, job=job)
    scene, frame = plan_scene(plan, system), frame_of(plan.survey, plan.layout)
    triangles = [
        one.outlines[0] for one in scene.shapes if isinstance(one, Area) and len(one.outlines[0]) == 3
    ]
    for mark, place in zip(marks, at, strict=True):
        assert any(Polygon(corners).covers(Point(frame.at(place))) for corners in triangles)
        assert [shape.words for shape in scene.shapes if isinstance(shape, Text)].count(mark.name) == 1
        assert mark.name in [row[0] for row in scene.twins[0].rows]
    test_labels_do_not_cover_each_other(plan, plan_scene, system)
