"""The two drawings of a plan, as SVG text: the pond from above, and the cut through its water."""

from plumeline.drawing.cut import cut_scene
from plumeline.drawing.plan_view import plan_scene
from plumeline.drawing.scene import Scene, svg

__all__ = ["Scene", "cut_scene", "plan_scene", "svg"]
