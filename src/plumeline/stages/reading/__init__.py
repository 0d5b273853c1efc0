"""The reading: the water as it stands today, weighed with the basin's real shape."""

from plumeline.stages.reading.bottle import BottleResult, Demand, bottle_demand
from plumeline.stages.reading.debt import Debt, Mass, Pool
from plumeline.stages.reading.mixing import MixedChemistry
from plumeline.stages.reading.result import LayerReading, MixedNow, Reading, Shares, WindCheck
from plumeline.stages.reading.stage import latest_profile, mixed_chemistry_now, mixed_now, reading
from plumeline.stages.reading.strata import Strata

__all__ = [
    "BottleResult",
    "Debt",
    "Demand",
    "LayerReading",
    "Mass",
    "MixedChemistry",
    "MixedNow",
    "Pool",
    "Reading",
    "Shares",
    "Strata",
    "WindCheck",
    "bottle_demand",
    "latest_profile",
    "mixed_chemistry_now",
    "mixed_now",
    "reading",
]
