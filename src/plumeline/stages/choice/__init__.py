"""Choosing: every compressor, trunk and number of diffusers, ranked by life-cycle cost."""

from plumeline.stages.choice.planned import OwnDesign, design_of
from plumeline.stages.choice.result import (
    Alternative,
    ChoiceResult,
    Combination,
    CostAtDistance,
    Failure,
    LoserGroup,
    ServiceOrLine,
    Verdict,
)
from plumeline.stages.choice.stage import choose

__all__ = [
    "Alternative",
    "ChoiceResult",
    "Combination",
    "CostAtDistance",
    "Failure",
    "LoserGroup",
    "OwnDesign",
    "ServiceOrLine",
    "Verdict",
    "choose",
    "design_of",
]
