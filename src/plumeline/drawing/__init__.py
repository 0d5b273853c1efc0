"""The drawings of a plan, as SVG text: the pond from above, the cut through its water, the air line on land."""

from plumeline.drawing.cut import cut_scene
from plumeline.drawing.muck_view import muck_scene
from plumeline.drawing.plan_view import frame_of, ground_scene, plan_scene, water_scene
from plumeline.drawing.route import route_scene
from plumeline.drawing.scene import Scene, svg
from plumeline.drawing.survey_view import sounded_scene

__all__ = [
    "Scene",
    "cut_scene",
    "frame_of",
    "ground_scene",
    "muck_scene",
    "plan_scene",
    "route_scene",
    "sounded_scene",
    "svg",
    "water_scene",
]
