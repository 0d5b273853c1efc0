"""Branch tubing: whether it stays on the bottom, and what the bore of its barbs costs."""

from __future__ import annotations

import math
from dataclasses import dataclass

from plumeline.job.document import Job
from plumeline.notices import Notice, caution, note
from plumeline.pairs import pair
from plumeline.science.air import density_clapeyron_1834, viscosity_sutherland_1893
from plumeline.science.pipe import reynolds_number_reynolds_1883
from plumeline.science.shore import submerged_mass_archimedes
from plumeline.sources import read_table
from plumeline.stages.air.barbs import BARB, barb_loss_number, barb_of
from plumeline.stages.air.line import pipe_row
from plumeline.stages.air.network import STANDARD_DENSITY_KG_M3
from plumeline.stages.air.results import BranchPoint, BranchSpec, OperatingPoint
from plumeline.stages.air.solving import Line

POUND_KG, FOOT_M = 0.45359237, 0.3048
COIL_M = 30.48
"""Length of a coil where the job gives none: 100 ft, common practice."""
HOLD_NUMBER = 1.3
"""Weight over bare buoyancy, for waves and for what grows on it: judgement; a brick every 5 ft on 1 in is as much."""
BRICK_DENSITY_KG_M3 = 2000.0
"""Of brick and of concrete blocks, a round value, from memory."""
SPACING_M = 1.524
"""Weights stand 5 ft apart: Nebraska Game and Parks, Nebraska Pond Management, p. 87."""


@dataclass(frozen=True)
class TubingState:
    """One kind of branch tubing, full of air on the bottom."""

    pipe: str
    branches: tuple[str, ...]
    outside_diameter_m: float
    displaced_kg_m: float
    """Water that it pushes aside, by length."""
    mass_kg_m: float | None
    """Its own, by length; None where nothing tells."""
    mass_source: str
    """coil, wall or unknown."""
    submerged_kg_m: float | None
    """What presses it on the bottom; below zero it floats."""
    weight_needed_kg_m: float | None
    """Weight of brick or concrete, weighed dry, that holds it down; 0 where none is needed."""
    weight_each_kg: float | None
    """The same for one weight every 5 ft."""
    sinking_mass_kg_m: float
    """Mass by length from which it sinks full of air."""


@dataclass(frozen=True)
class BarbLoss:
    """What the barbs of one branch cost at its flow."""

    name: str
    nominal: str
    tubing_bore_m: float
    barb_bore_m: float
    count: int
    """Both ends, and a coupling for each coil after the first."""
    loss_number: float
    """Of one, in velocity heads of the tubing."""
    pressure_pa: float
    """Of all of them."""
    in_network: bool
    """The job lists barbs among this branch's fittings: then the network has them."""


def nominal_of(bore_m: float, pipe: str = "") -> str:
    """Return the nominal size of a pipe by its name, else of the pipe with the nearest bore, said to be near."""
    rows = read_table("pipes")
    named = next((row["nominal"] for row in rows if row["name"] == pipe), "")
    if named:
        return named
    row = min(rows, key=lambda row: abs(float(row["bore_m"]) - bore_m))
    return f"about {row['nominal']}"


def barbs(job: Job, line: Line, point: OperatingPoint) -> tuple[BarbLoss, ...]:
    """Return what the barbs of each branch cost, valves set."""
    coil_m = job.air.coil_length_m or COIL_M
    names = pipe_names(job, line.branches)
    listed = {item.name for item in job.listed_diffusers if any(part.name == BARB for part in item.fittings)}
    found = []
    for spec, state in zip(line.branches, point.branches, strict=True):
        # a coil is not a hundredth short
        count = 2 + max(math.ceil(spec.length_m / coil_m - 0.01) - 1, 0)
        loss_number, head_pa = _barb_loss(line, spec, state)
        found.append(
            BarbLoss(
                name=spec.name,
                nominal=nominal_of(spec.bore_m, names[spec.name]),
                tubing_bore_m=spec.bore_m,
                barb_bore_m=barb_of(spec.bore_m)[0],
                count=count,
                loss_number=loss_number,
                pressure_pa=count * loss_number * head_pa,
                in_network=spec.name in listed,
            )
        )
    return tuple(found)


def _barb_loss(line: Line, spec: BranchSpec, state: BranchPoint) -> tuple[float, float]:
    """Return what one barb of a branch loses in velocity heads of its tubing, and such a head [Pa]."""
    kelvin = line.water_degc + 273.15
    mass_kg_s = state.flow_standard_m3_s * STANDARD_DENSITY_KG_M3
    reynolds_number = reynolds_number_reynolds_1883(mass_kg_s, spec.bore_m, viscosity_sutherland_1893(kelvin))
    loss_number = barb_loss_number(spec.bore_m, *barb_of(spec.bore_m), max(reynolds_number, 1.0))
    density_kg_m3 = density_clapeyron_1834(line.ambient_pressure_pa + state.port_pressure_pa, kelvin)
    speed_m_s = mass_kg_s / (density_kg_m3 * 0.25 * math.pi * spec.bore_m**2)
    return loss_number, 0.5 * density_kg_m3 * speed_m_s**2


def pipe_names(job: Job, branches: tuple[BranchSpec, ...]) -> dict[str, str]:
    """Return the name of each branch's tubing; empty where only its bore is known."""
    given = {item.name: item for item in job.listed_diffusers}
    names = {}
    for spec in branches:
        item = given.get(spec.name)
        own = item.branch_pipe if item else ""
        bare = item is not None and item.branch_bore_m is not None and not own
        names[spec.name] = "" if bare else own or job.air.branch_pipe
    return names


def tubing(job: Job, line: Line) -> tuple[TubingState, ...]:
    """Return whether each kind of branch tubing sinks full of air, and the weight that holds it down."""
    names = pipe_names(job, line.branches)
    kinds: dict[tuple[str, float], list[str]] = {}
    for spec in line.branches:
        kinds.setdefault((names[spec.name], spec.bore_m), []).append(spec.name)
    return tuple(_state(job, line, name, bore_m, tuple(members)) for (name, bore_m), members in kinds.items())


def _state(job: Job, line: Line, name: str, bore_m: float, members: tuple[str, ...]) -> TubingState:
    row = pipe_row(name, "air.branch_pipe") if name else None
    outside_m = float(row["outside_diameter_m"]) if row and row["outside_diameter_m"] else 1.4 * bore_m
    water = line.water_density_kg_m3
    displaced_kg_m = -submerged_mass_archimedes(0.0, outside_m, water)
    mass_kg_m, source = _mass_kg_m(job, row, name, bore_m, outside_m)
    sunk_kg_m = None if mass_kg_m is None else submerged_mass_archimedes(mass_kg_m, outside_m, water)
    needed_kg_m = None
    if sunk_kg_m is not None:
        lift_kg_m = max(HOLD_NUMBER * displaced_kg_m - (mass_kg_m or 0.0), 0.0) if sunk_kg_m < 0.0 else 0.0
        # a weight under water presses with what it weighs less the water it pushes aside
        needed_kg_m = lift_kg_m / (1.0 - water / BRICK_DENSITY_KG_M3)
    return TubingState(
        pipe=name or pair(f"bore {bore_m / 0.0254:.3f} in", f"bore {1000.0 * bore_m:.1f} mm"),
        branches=members,
        outside_diameter_m=outside_m,
        displaced_kg_m=displaced_kg_m,
        mass_kg_m=mass_kg_m,
        mass_source=source,
        submerged_kg_m=sunk_kg_m,
        weight_needed_kg_m=needed_kg_m,
        weight_each_kg=None if needed_kg_m is None else needed_kg_m * SPACING_M,
        sinking_mass_kg_m=displaced_kg_m,
    )


def _mass_kg_m(
    job: Job, row: dict[str, str] | None, name: str, bore_m: float, outside_m: float
) -> tuple[float | None, str]:
    """Return the mass of tubing by length [kg/m] and what it was taken from."""
    if job.air.coil_mass_kg is not None and name == job.air.branch_pipe:
        return job.air.coil_mass_kg / (job.air.coil_length_m or COIL_M), "coil"
    densities = {item["material"]: float(item["density_kg_m3"]) for item in read_table("wall_densities")}
    density = densities.get(row["material"]) if row else None
    if density is None:
        return None, "unknown"
    return density * 0.25 * math.pi * (outside_m**2 - bore_m**2), "wall"


def by_foot(mass_kg_m: float) -> str:
    """Return a mass by length, as "0.24 lb/ft (0.36 kg/m)"."""
    return pair(f"{mass_kg_m * FOOT_M / POUND_KG:.2f} lb/ft", f"{mass_kg_m:.2f} kg/m")


def weight(mass_kg: float) -> str:
    """Return a weight, as "4.5 lb (2.0 kg)"."""
    return pair(f"{mass_kg / POUND_KG:.1f} lb", f"{mass_kg:.1f} kg")


def tubing_notices(states: tuple[TubingState, ...]) -> tuple[Notice, ...]:
    """Return what is said of tubing that floats, or of which the weight is not known."""
    told: list[Notice] = []
    for item in states:
        which = f"{item.pipe} ({', '.join(item.branches)})"
        coil = f"a {pair('100 ft', '30.5 m')} coil {weight(item.sinking_mass_kg_m * COIL_M)}"
        limit = f"{by_foot(item.sinking_mass_kg_m)}, {coil}"
        if item.submerged_kg_m is None:
            words = (
                f"Whether {which} stays down full of air is not known: it sinks from {limit}. What "
                "decides is air.coil_mass against air.coil_length in job.toml: weigh one."
            )
            told.append(note("tubing-weight", words))
        elif item.submerged_kg_m < 0.0:
            words = (
                f"{which} floats full of air: it weighs {by_foot(item.mass_kg_m or 0.0)} and sinks from {limit}. Hold "
                f"it down with {by_foot(item.weight_needed_kg_m or 0.0)} of brick or concrete, weighed dry: "
                f"{weight(item.weight_each_kg or 0.0)} every {pair('5 ft', '1.5 m')}, tied so that it can't slip."
            )
            told.append(caution("tubing-floats", words))
    return tuple(told)
