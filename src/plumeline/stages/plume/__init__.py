"""The plume stage: how much water the bubbles of each diffuser lift, and whether it reaches the surface."""

from plumeline.stages.plume.lift import Lift, Peel
from plumeline.stages.plume.quick import QuickPlume, quick_plume
from plumeline.stages.plume.stage import (
    DiffuserAir,
    DiffuserPlume,
    PlumeResult,
    gassed,
    plume,
    water_flow_by_depth,
    water_of_job,
    with_gas,
)
from plumeline.stages.plume.water import Water, water_of_one_temperature, water_of_rows

__all__ = [
    "DiffuserAir",
    "DiffuserPlume",
    "Lift",
    "Peel",
    "PlumeResult",
    "QuickPlume",
    "Water",
    "gassed",
    "plume",
    "quick_plume",
    "water_flow_by_depth",
    "water_of_job",
    "water_of_one_temperature",
    "water_of_rows",
    "with_gas",
]
