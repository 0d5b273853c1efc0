"""Layout: where diffusers, manifold and branch lines lie in the surveyed basin."""

from plumeline.stages.layout.result import Agreement, Layout, MixCheck, PlacedDiffuser, Together
from plumeline.stages.layout.stage import layout

__all__ = ["Agreement", "Layout", "MixCheck", "PlacedDiffuser", "Together", "layout"]
