"""The start-up plan: how many minutes of air on which day, and with what risk."""

from plumeline.stages.startup.result import (
    Band,
    Comparison,
    Narrowing,
    ProfileBand,
    Risk,
    RunDay,
    StartUp,
)
from plumeline.stages.startup.stage import startup

__all__ = ["Band", "Comparison", "Narrowing", "ProfileBand", "Risk", "RunDay", "StartUp", "startup"]
