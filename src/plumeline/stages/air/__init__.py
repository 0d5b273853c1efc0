"""The air line: compressor, trunk, manifold, valves, branches, membranes and water head, solved together.

Names are looked up when they are first used, so that one pipe by itself does not load the compiled network.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from plumeline.stages.air.quick import PipeAnswer, quick_pipe
    from plumeline.stages.air.results import (
        AirResult,
        BranchPoint,
        BranchSpec,
        Gauge,
        LinePoint,
        OperatingPoint,
        TrunkPiece,
        ValveSetting,
    )
    from plumeline.stages.air.stage import air

_HOMES = {
    "air": "stage",
    "quick_pipe": "quick",
    "PipeAnswer": "quick",
    "AirResult": "results",
    "BranchPoint": "results",
    "BranchSpec": "results",
    "Gauge": "results",
    "LinePoint": "results",
    "OperatingPoint": "results",
    "TrunkPiece": "results",
    "ValveSetting": "results",
}

__all__ = [
    "AirResult",
    "BranchPoint",
    "BranchSpec",
    "Gauge",
    "LinePoint",
    "OperatingPoint",
    "PipeAnswer",
    "TrunkPiece",
    "ValveSetting",
    "air",
    "quick_pipe",
]


def __getattr__(name: str) -> Any:
    """Return a name of this package from the module that holds it."""
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_HOMES[name]}"), name)
