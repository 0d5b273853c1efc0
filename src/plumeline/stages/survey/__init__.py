"""Survey: from the outline and the soundings to the basin, its volume and how sure that is."""

from plumeline.stages.survey.contours import contours, even_contours, even_step
from plumeline.stages.survey.plane import LocalPlane, plane_of
from plumeline.stages.survey.result import Contour, DepthGrid, Hypsograph, LeftOut, Survey
from plumeline.stages.survey.shape import ShapeVolume, shape_exponent, shape_ratio, volume_from_shape
from plumeline.stages.survey.stage import survey

__all__ = [
    "Contour", "DepthGrid", "Hypsograph", "LeftOut", "LocalPlane", "ShapeVolume", "Survey",
    "contours", "even_contours", "even_step", "plane_of", "shape_exponent", "shape_ratio", "survey",
    "volume_from_shape",
]  # fmt: skip
