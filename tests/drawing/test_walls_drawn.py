"""Walls on stretches of the shore are drawn where soundings are."""

from __future__ import annotations

import numpy as np
import pytest
from tests.stages.survey.test_edge import QUAY, changed, dock

from plumeline.drawing import sounded_scene
from plumeline.drawing.scene import Line, Text
from plumeline.drawing.survey_view import WALL_MM
from plumeline.stages.survey import survey


def test_a_quay_is_a_bar_along_its_side_with_the_depth_at_its_foot() -> None:
    """60 m of quay on the south side of a basin 60 m by 40 m: as long as the drawing's east-west span, at its foot."""
    job = changed(dock(3.0), walls=(QUAY,))
    found = survey(job, seed=1)
    scene = sounded_scene(found, job, "si")
    bars = [shape for shape in scene.shapes if isinstance(shape, Line) and shape.stroke_mm == WALL_MM]
    (bar,) = bars
    xy_mm = np.array(bar.path)
    assert np.ptp(xy_mm[:, 1]) == pytest.approx(0.0, abs=1e-6)
    words = [shape.words for shape in scene.shapes if isinstance(shape, Text)]
    assert "wall, 3.00 m" in words
    rows = [row for twin in scene.twins for row in twin.rows if row[0].startswith("wall")]
    assert [row[0] for row in rows] == ["wall 1, start", "wall 1, end"]
    plain = sounded_scene(survey(dock(3.0), seed=1), dock(3.0), "si")
    assert not [shape for shape in plain.shapes if isinstance(shape, Line) and shape.stroke_mm == WALL_MM]
