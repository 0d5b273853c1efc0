"""What the reading hands on: the water as it stands today."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from plumeline.notices import Notice
from plumeline.stages.limits import RefugeLimits
from plumeline.stages.reading.bottle import BottleResult
from plumeline.stages.reading.debt import Debt
from plumeline.stages.reading.mixing import MixedChemistry
from plumeline.stages.reading.strata import Strata


@dataclass(frozen=True)
class LayerReading:
    """One depth of the profile, with what follows from it.

    Attributes:
        depth_m, temperature_degc, do_mg_l: as read.
        do_saturation_mg_l: oxygen in equilibrium with the air at this temperature and the station's pressure.
        saturation_fraction: oxygen over that.
        salinity_g_kg, density_kg_m3: from temperature and conductivity.
        buoyancy_frequency_squared_per_s2: between this reading and the next; None at the last.
        ph, ammonia_mg_l: total ammonia as N; from priors where the mark says so.
        unionized_ammonia_mg_l: as N.
        sulphide_mg_l: total, as S; from a prior where the mark says so.
        hydrogen_sulphide_mg_l: undissociated, as H₂S.
        ph_assumed, ammonia_assumed, sulphide_assumed: True where a prior stands in for a reading.
        owing_fraction: how far this water owes oxygen.
        usable: within every limit of the fish.
    """

    depth_m: float
    temperature_degc: float
    do_mg_l: float
    do_saturation_mg_l: float
    saturation_fraction: float
    salinity_g_kg: float
    density_kg_m3: float
    buoyancy_frequency_squared_per_s2: float | None
    ph: float
    ammonia_mg_l: float
    unionized_ammonia_mg_l: float
    sulphide_mg_l: float
    hydrogen_sulphide_mg_l: float
    ph_assumed: bool
    ammonia_assumed: bool
    sulphide_assumed: bool
    owing_fraction: float
    usable: bool


@dataclass(frozen=True)
class MixedNow:
    """The whole pond if it all turned over now.

    Attributes:
        temperature_degc: volume-weighted.
        do_mg_l: volume-weighted oxygen, before any debt.
        do_after_debt_mg_l: the same less the first day's debt, never below zero.
        debt_kg: oxygen that the bottom water takes within a day of meeting it.
        do_after_debt_low_mg_l, do_after_debt_high_mg_l: with the high and the low end of that debt.
        debt_low_kg, debt_high_kg: 90 % band of the debt.
        debt_total_kg: with the slow part, paid over days to weeks.
        volume_m3: the pond's water.
    """

    temperature_degc: float
    do_mg_l: float
    do_after_debt_mg_l: float
    debt_kg: float
    do_after_debt_low_mg_l: float
    do_after_debt_high_mg_l: float
    debt_low_kg: float
    debt_high_kg: float
    debt_total_kg: float
    volume_m3: float


@dataclass(frozen=True)
class WindCheck:
    """How the wind at the time of the reading pulls at the layers; numbers are None in a mixed column.

    Attributes:
        wind_speed_m_s: mean of the hours about the reading, as recorded at the station.
        friction_velocity_m_s: in the water.
        lake_number: large means that the wind can't tilt the layers to the surface.
        wedderburn_number: under 1 deep water comes up at the windward shore.
    """

    wind_speed_m_s: float
    friction_velocity_m_s: float
    lake_number: float | None
    wedderburn_number: float | None


@dataclass(frozen=True)
class Shares:
    """Parts of the pond's volume.

    Attributes:
        hypoxic_below_mg_l: the threshold of the hypoxic share.
        hypoxic_fraction, hypoxic_volume_m3: water under that threshold.
        anoxic_fraction: water under 0.5 mg/L, where a field meter can't tell from none.
        below_limit_fraction: water under the fish's oxygen limit.
        hypoxic_top_m: depth at which the hypoxic water begins; None where there is none.
        usable_fraction: greatest unbroken part within every limit of the fish.
        usable_top_m, usable_bottom_m: where it lies; None where there is none.
    """

    hypoxic_below_mg_l: float
    hypoxic_fraction: float
    hypoxic_volume_m3: float
    anoxic_fraction: float
    below_limit_fraction: float
    hypoxic_top_m: float | None
    usable_fraction: float
    usable_top_m: float | None
    usable_bottom_m: float | None


@dataclass(frozen=True)
class Reading:
    """The water column on the day of the latest profile, weighed with the basin's real shape.

    Attributes:
        time: of the profile.
        profile_id: the profile's id.
        pressure_pa: air pressure at the station, read or from the elevation.
        layers: the profile with what follows from it, from the top down.
        strata: thermocline and metalimnion.
        stability_j_m2: Schmidt stability.
        volume_centre_depth_m: depth of the centre of volume.
        max_buoyancy_frequency_squared_per_s2: strongest N² of the profile; None with one reading.
        wind: None where the weather about that time is not known.
        shares: hypoxic, anoxic and usable water.
        limits: what the fish can bear.
        oxygen_kg, oxygen_at_saturation_kg: dissolved now, and if every layer were saturated.
        deficit_kg: what is missing to saturation, layers above saturation not counted against it.
        debt: what the bottom water owes.
        mixed_now: if it all turned over now.
        mixed_chemistry: pH and ammonia then; None where pH and alkalinity contradict each other.
        bottles: what each bottle told.
        notices, assumptions: findings in plain words, and what was assumed.
    """

    time: datetime
    profile_id: str
    pressure_pa: float
    layers: tuple[LayerReading, ...]
    strata: Strata
    stability_j_m2: float
    volume_centre_depth_m: float
    max_buoyancy_frequency_squared_per_s2: float | None
    wind: WindCheck | None
    shares: Shares
    limits: RefugeLimits
    oxygen_kg: float
    oxygen_at_saturation_kg: float
    deficit_kg: float
    debt: Debt
    mixed_now: MixedNow
    mixed_chemistry: MixedChemistry | None
    bottles: tuple[BottleResult, ...]
    notices: tuple[Notice, ...]
    assumptions: tuple[str, ...]
