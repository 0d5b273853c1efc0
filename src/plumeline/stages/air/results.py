"""What the air stage is given and what it answers. Pressures are gauge unless a name says otherwise."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from plumeline.job.document import Compressor
from plumeline.notices import Notice
from plumeline.stages.air.network import FLOW_BASIS, NORMAL_OVER_STANDARD_NUMBER, LossPoint

MANIFOLD = "manifold"
"""The trunk's end, from which branches and lines hang."""

if TYPE_CHECKING:
    from plumeline.stages.air.accepted_line import AcceptedLine
    from plumeline.stages.air.electrical import Electrical
    from plumeline.stages.air.ends import EndsResult
    from plumeline.stages.air.heat import HotDay
    from plumeline.stages.air.noise import Noise
    from plumeline.stages.air.old_pipe import OldPipeProof
    from plumeline.stages.air.route import RouteResult


@dataclass(frozen=True)
class BranchSpec:
    """One branch: from its valve at the manifold to its diffuser."""

    name: str
    depth_m: float
    """Depth of the membrane under today's water."""
    length_m: float
    bore_m: float
    roughness_m: float = 1.5e-6
    share_number: float = 1.0
    """Wanted flow of this branch beside the others'; equal numbers ask for equal flows."""
    hangs_from: str = MANIFOLD
    """The manifold, or a line beyond it."""
    loss_number: float = 0.0
    """Velocity heads lost in its fittings."""
    valve: str = "ball"
    check_valve_pa: float = 0.0
    standing_water_m: float = 0.0
    membrane: tuple[LossPoint, ...] = ()
    """Curve of its membrane where it is not the one of all."""
    served_volume_m3: float | None = None
    """Water it is to serve, for valves set by volume."""


@dataclass(frozen=True)
class BranchPoint:
    """One branch at an operating point."""

    name: str
    flow_standard_m3_s: float
    port_pressure_pa: float
    """Gauge pressure at the port, after the valve."""
    valve_drop_pa: float
    """Pressure burned in the valve."""
    needed_pressure_pa: float
    """Gauge pressure at its head at which it begins to bubble: water head, membrane, check valve, water in it."""
    reynolds_number: float
    shut: bool
    """Its valve is closed in this case."""
    dead: bool
    """Its valve is open, yet the manifold can't reach it: it carries nothing."""
    shortfall_pa: float
    """What a dead branch lacks where it begins; 0 for the others."""


@dataclass(frozen=True)
class Junction:
    """The end of a line beyond the manifold, from which branches hang."""

    name: str
    pressure_pa: float
    flow_standard_m3_s: float


@dataclass(frozen=True)
class OperatingPoint:
    """Where compressor and lines agree, in one setting of the valves."""

    case: str
    compressor_pressure_pa: float
    manifold_pressure_pa: float
    flow_standard_m3_s: float
    """Flow at 68 °F, dry, 14.696 psia."""
    flow_intake_m3_s: float
    """Free air at the compressor's intake."""
    branches: tuple[BranchPoint, ...]
    beyond_curve: bool
    """The pressure lies beyond the last point of the compressor's curve."""
    junctions: tuple[Junction, ...] = ()
    """Ends of the lines beyond the manifold."""
    flow_basis: str = FLOW_BASIS
    """What a standard flow is counted at."""

    @property
    def flow_normal_m3_h(self) -> float:
        """Flow [m³/h] at 0 °C, dry, 101325 Pa."""
        return 3600.0 * self.flow_standard_m3_s * NORMAL_OVER_STANDARD_NUMBER

    @property
    def trunk_drop_pa(self) -> float:
        """Pressure lost between compressor and manifold."""
        return self.compressor_pressure_pa - self.manifold_pressure_pa

    def branch(self, name: str) -> BranchPoint:
        """Return the branch of that name."""
        return next(branch for branch in self.branches if branch.name == name)


@dataclass(frozen=True)
class ValveSetting:
    """How one valve at the manifold is set for the wanted split."""

    name: str
    port_pressure_pa: float
    """Gauge pressure to set, read after the valve."""
    pressure_drop_pa: float
    loss_number: float
    """Loss coefficient K on the velocity head in the branch's bore."""
    closed_fraction: float | None
    """About how far a valve of its kind is closed; None where it would be too nearly shut to say."""
    words: str
    kind: str = "ball"

    @property
    def open_fraction(self) -> float | None:
        """About how far it is open: the share of the handle's whole way, or of all its turns."""
        return None if self.closed_fraction is None else 1.0 - self.closed_fraction


@dataclass(frozen=True)
class Share:
    """A diffuser's part of all air."""

    name: str
    valves_open_fraction: float
    valves_set_fraction: float


@dataclass(frozen=True)
class Balancing:
    """How the valves are set for the wanted split, and what that costs."""

    mode: str
    """equal, depth or volume."""
    cost_pa: float
    """Gauge pressure at the compressor over what it reads with all valves open."""
    cost_w: float
    """Power of an ideal compression over the same with all valves open; below zero where less air passes."""
    shares: tuple[Share, ...]
    """What part of the air each diffuser gets."""
    procedure: tuple[str, ...]
    """What to do in the field, step by step."""


@dataclass(frozen=True)
class TrunkPiece:
    """One piece of the trunk with what is known of its pipe, and its air's temperature."""

    pipe: str
    material: str
    metal: bool
    length_m: float
    bore_m: float
    outside_diameter_m: float
    roughness_m: float
    conductivity_w_m_k: float
    cover_m: float
    minor_loss_number: float
    start_elevation_m: float | None
    end_elevation_m: float | None
    service_limit_degc: float
    rating_pa: float | None
    check_valve_pa: float = 0.0
    plug_height_m: float = 0.0
    """Height of water that stands in its dips and that the air must lift."""
    start_temperature_degc: float = 20.0
    mean_temperature_degc: float = 20.0
    end_temperature_degc: float = 20.0


@dataclass(frozen=True)
class LinePoint:
    """Temperature of the air at a distance from the compressor."""

    distance_m: float
    temperature_degc: float


@dataclass(frozen=True)
class Gauge:
    """One gauge reading to expect."""

    case: str
    place: str
    pressure_pa: float
    flow_standard_m3_s: float


@dataclass(frozen=True)
class AirResult:
    """The air line at work: what each gauge reads, what each diffuser gets, and what to beware of."""

    compressor: Compressor
    compressor_words: str
    compressor_chosen: bool
    """Chosen from the generic table, for the job names none."""
    trunk_chosen: bool
    """Chosen here, for the job names no trunk."""
    barometric_pressure_pa: float
    """Absolute pressure of the air at the site."""
    intake_temperature_degc: float
    branches: tuple[BranchSpec, ...]
    trunk: tuple[TrunkPiece, ...]
    wanted_flow_standard_m3_s: float
    """Wanted flow of a diffuser of share 1."""
    valves_open: OperatingPoint
    balanced: OperatingPoint
    alone: tuple[OperatingPoint, ...]
    """Each branch alone, its valve open: the commissioning readings."""
    one_shut: tuple[OperatingPoint, ...]
    """Valves as balanced, one shut."""
    derated: OperatingPoint | None
    """Valves as balanced, on a hot day in a warm cabinet behind a dirty filter; None where no air passes then."""
    valves: tuple[ValveSetting, ...]
    balancing: Balancing
    outlet_temperature_degc: float
    hot_outlet_temperature_degc: float
    """On a hot day, in a warm cabinet, with a dirty filter."""
    line_temperatures: tuple[LinePoint, ...]
    metal_length_m: float | None
    """First length of line that must be metal on the hot day; None where no length is enough."""
    relief_pressure_pa: float
    relief_given: bool
    stored_energy_j: float
    adiabatic_power_w: float
    wire_power_w: float
    gauges: tuple[Gauge, ...]
    notices: tuple[Notice, ...]
    assumptions: tuple[str, ...]
    heat: HotDay | None = None
    """The line on the hot day; None where it was not asked for."""
    noise: Noise | None = None
    """The compressor's noise; None where its level is not known."""
    electrical: Electrical | None = None
    """For the licensed electrician; None where it was not asked for."""
    route: RouteResult | None = None
    """The way on land: low points, water in the line, trench; None where the job has no route."""
    old_pipe: OldPipeProof | None = None
    """What is believed of a pipe that was in the ground already; None where the job has none."""
    ends: EndsResult | None = None
    """The valve box at the shore and the compressor's end."""
    accepted: AcceptedLine | None = None
    """The gauges that were accepted at commissioning; None where nothing was."""

    @property
    def flow_standard_m3_s(self) -> float:
        """Standard flow of the compressor with the valves set."""
        return self.balanced.flow_standard_m3_s

    def diffuser_flow_standard_m3_s(self, name: str) -> float:
        """Return the standard flow of one diffuser with the valves set."""
        return self.balanced.branch(name).flow_standard_m3_s


@dataclass(frozen=True)
class LineSpec:
    """A line beyond the manifold."""

    name: str
    hangs_from: str
    piece: TrunkPiece
