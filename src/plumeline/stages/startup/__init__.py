"""The start-up plan: how many minutes of air on which day, and with what risk."""

from plumeline.stages.startup.chosen_as import ChosenAs
from plumeline.stages.startup.policy import Policy, PolicyDay
from plumeline.stages.startup.result import (
    Band,
    Comparison,
    DaysOff,
    KeptRunning,
    LaterLosses,
    Measure,
    Narrowing,
    ProfileBand,
    ReadingValue,
    Risk,
    RunDay,
    StartUp,
    StopReading,
    VisitValue,
    Waiting,
)
from plumeline.stages.startup.stage import startup

__all__ = [
    "Band", "ChosenAs", "Comparison", "DaysOff", "KeptRunning", "LaterLosses", "Measure", "Narrowing", "Policy",
    "PolicyDay", "ProfileBand", "ReadingValue", "Risk", "RunDay", "StartUp", "StopReading", "VisitValue", "Waiting",
    "startup",
]  # fmt: skip
