"""What the layout hands on: where everything lies, in metres of the local plane."""

from __future__ import annotations

from dataclasses import dataclass

from plumeline.notices import Notice
from plumeline.stages.layout.bases import Base
from plumeline.stages.layout.stakes import Bend, Stake

XY = tuple[float, float]


@dataclass(frozen=True)
class PlacedDiffuser:
    """One diffuser in its place, with its line.

    Attributes:
        name: as in the job, or D1, D2, …
        x_m, y_m: place in the local plane.
        depth_m: depth of the membrane.
        bottom_depth_m: depth of the pond there.
        placed_by: "job" where the job gives the place, "search" where it was chosen.
        water_flow_m3_s: water that its plume lifts.
        branch_path_xy: the line on the plan, from the manifold.
        branch_run_m: length along the bottom, up to the membrane, without slack.
        branch_length_m: the run with slack, or as the job gives it.
        branch_cut_m: length to cut, rounded up to 5 ft.
        branch_pipe: name in sources/pipes.csv, empty where only the bore is known.
        branch_bore_m: inside diameter.
        served_volume_m3: water nearer to this diffuser than to any other, by the way through the water.
        reach_m: how far out it turns its water over at the wanted rate, within its own part.
        branch_bends: the places that its line is led through by the job, in turn from the manifold.
        base: muck under it and what it stands on; None where nothing is known of muck.
    """

    name: str
    x_m: float
    y_m: float
    depth_m: float
    bottom_depth_m: float
    placed_by: str
    water_flow_m3_s: float
    branch_path_xy: tuple[XY, ...]
    branch_run_m: float
    branch_length_m: float
    branch_cut_m: float
    branch_pipe: str
    branch_bore_m: float
    served_volume_m3: float
    reach_m: float
    base: Base | None = None
    branch_bends: tuple[Bend, ...] = ()


@dataclass(frozen=True)
class MixCheck:
    """What the simulated water said of one number of diffusers.

    Attributes:
        diffuser_count: how many.
        mixed_members: simulated ponds that are mixed at the last dawn with the air on all day.
        members: simulated ponds.
    """

    diffuser_count: int
    mixed_members: int
    members: int


@dataclass(frozen=True)
class Agreement:
    """How layout and air line came to agree.

    Attributes:
        round_count: how often both were worked through.
        air_before_m3_s: standard air of a diffuser that the places of the last round were sought for.
        air_after_m3_s: mean of what the air line then gives a diffuser that runs.
        change_fraction: how far the second lies from the first.
        mixing: each number of diffusers that was run in the simulated water, in turn; the last is the one taken where
            it is enough, else the first. Empty where the job names the diffusers, or the water can't be simulated.
    """

    round_count: int
    air_before_m3_s: float
    air_after_m3_s: float
    change_fraction: float
    mixing: tuple[MixCheck, ...] = ()


@dataclass(frozen=True)
class Together:
    """How the manifold and the diffusers came to their places together.

    Attributes:
        round_count: rounds of exchange; in the last no place, with the manifold's best for it, made the line shorter.
        line_m: of all branches on the plan, and of the trunk in metres of branch where its start is known.
        line_before_m: the same for the places that serve best, the manifold put where it is best for those.
        way_m: mean way to a diffuser over the parts of the water.
        way_before_m: the same for the places that serve best.
        trunk_m: the trunk's way over land; None where its start is not known, or the manifold is the job's.
        trunk_weight_number: metres of branch that a metre of trunk counted for.
    """

    round_count: int
    line_m: float
    line_before_m: float
    way_m: float
    way_before_m: float
    trunk_m: float | None = None
    trunk_weight_number: float = 1.0


@dataclass(frozen=True)
class Layout:
    """Diffusers, manifold and branches of a pond.

    Attributes:
        manifold_xy: place of the manifold.
        manifold_reason: how it came to be there.
        diffusers: in the order of the job, or of choice.
        water_flow_m3_s: sum of the plumes.
        turnover_per_day: how often the plumes lift the pond's volume.
        wanted_turnover_per_day: as wished.
        served_fraction: part of the pond that its own nearest diffuser turns over at the wanted rate.
        mean_distance_m: volume-weighted way through the water to the nearest diffuser.
        dead_volume_m3: water below the lowest membrane.
        spacing_m: least distance between two diffusers; None for a single one.
        boil_cover_fraction: boils (radius half the depth) over the pond's area.
        rule_air_m3_s: standard air by the published rule of area, shown beside, never used.
        planned_air_m3_s: standard air of all diffusers as the job wants it; None where it does not say.
        stakes: how a crew without GPS finds each place, in the order of work.
        agreement: how it came to agree with the air line; None where it was laid out alone.
        together: how manifold and places were found together; None where the job gives all of them.
        schematic: True where the outline is assumed, so that positions are not to be staked out.
    """

    manifold_xy: XY
    manifold_reason: str
    diffusers: tuple[PlacedDiffuser, ...]
    water_flow_m3_s: float
    turnover_per_day: float
    wanted_turnover_per_day: float
    served_fraction: float
    mean_distance_m: float
    dead_volume_m3: float
    spacing_m: float | None
    boil_cover_fraction: float
    rule_air_m3_s: float
    planned_air_m3_s: float | None
    schematic: bool
    notices: tuple[Notice, ...]
    assumptions: tuple[str, ...]
    stakes: tuple[Stake, ...] = ()
    agreement: Agreement | None = None
    together: Together | None = None
