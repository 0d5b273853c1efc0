"""The water column in time: an ensemble of ponds that could be this one.

Solves heat, oxygen, the bloom and three oxygen debts on the layers of the basin's hypsograph, with the
plumes' withdrawal and delivery; the equations and their sources stand in docs/column.md.
"""

from plumeline.stages.column.case import believed, screened
from plumeline.stages.column.grid import Grid, make_grid
from plumeline.stages.column.march import NEAR_SURFACE_M, AirPlan, Columns, Run, march, still
from plumeline.stages.column.members import LEAD_HOURS, Ensemble, draw_ensemble
from plumeline.stages.column.past_air import PastAir, runs_of
from plumeline.stages.column.refuge import Refuge, refuge_for
from plumeline.stages.column.told import Told

__all__ = [
    "LEAD_HOURS",
    "NEAR_SURFACE_M",
    "AirPlan",
    "Columns",
    "Ensemble",
    "Grid",
    "PastAir",
    "Refuge",
    "Run",
    "Told",
    "believed",
    "draw_ensemble",
    "make_grid",
    "march",
    "refuge_for",
    "runs_of",
    "screened",
    "still",
]
