"""What a choice tells."""

from __future__ import annotations

from dataclasses import dataclass

from plumeline.notices import Notice
from plumeline.stages.choice.life_cost import LifeCost


@dataclass(frozen=True)
class Failure:
    """Why a combination can't be taken: words with the figure, and how far it is from the limit (1 is as far again)."""

    code: str
    words: str
    gap_number: float


@dataclass(frozen=True)
class Combination:
    """One compressor, one trunk, one number of diffusers, solved on the air line.

    Attributes:
        machine: its words.
        compressor_count: machines side by side.
        trunk: pipe of its plastic.
        diffuser_count: diffusers.
        compressor_pressure_pa: gauge with the valves set; None where nothing could be solved.
        air_per_diffuser_m3_s: standard flow of the least served diffuser.
        turnover_per_day: by the plumes; None without a pond.
        served_fraction: part of the pond that its own nearest diffuser turns over with the wanted air.
        power_w: from the wall.
        pressure_margin_pa: under the machine's limit for all day.
        relief_margin_pa: under its relief valve; None where that is set by the plan.
        hot_outlet_degc: on a hot day with a dirty filter.
        outlet_margin_degc: under the machine's heat limit.
        duty_margin_fraction: of the day, over what is asked.
        metal_length_m: first length that must be metal.
        noise_dba: of one machine at 1 m.
        cost: over the years; None where it can't be taken.
        failures: why it can't be taken, the gravest first; empty where it can.
    """

    machine: str
    compressor_count: int
    trunk: str
    diffuser_count: int
    compressor_pressure_pa: float | None
    air_per_diffuser_m3_s: float | None
    turnover_per_day: float | None
    served_fraction: float | None
    power_w: float | None
    pressure_margin_pa: float | None
    relief_margin_pa: float | None
    hot_outlet_degc: float | None
    outlet_margin_degc: float | None
    duty_margin_fraction: float
    metal_length_m: float | None
    noise_dba: float
    cost: LifeCost | None
    failures: tuple[Failure, ...]

    @property
    def key(self) -> tuple[str, int, str, int]:
        """What tells it from others."""
        return self.machine, self.compressor_count, self.trunk, self.diffuser_count

    @property
    def words(self) -> str:
        """Its name for people."""
        count = f"{self.compressor_count} × " if self.compressor_count > 1 else ""
        plural = "" if self.diffuser_count == 1 else "s"
        return f"{count}{self.machine}, {self.trunk}, {self.diffuser_count} diffuser{plural}"

    @property
    def total_money(self) -> float:
        """Life-cycle cost; without bound where it can't be taken."""
        return self.cost.total_money if self.cost is not None else float("inf")


@dataclass(frozen=True)
class Verdict:
    """What became of one compressor: its best combination, or why none of them can be taken."""

    machine: str
    compressor_count: int
    best: Combination
    works: bool
    extra_money: float | None
    """Over the winner, where it works."""
    reason: str


@dataclass(frozen=True)
class LoserGroup:
    """Combinations that fail for one cause, with the one that comes nearest."""

    code: str
    cause: str
    member_count: int
    nearest: str
    words: str


@dataclass(frozen=True)
class Alternative:
    """A combination that works and costs more than the winner, and why it loses."""

    why_shown: str
    combination: Combination
    extra_money: float
    reason: str


@dataclass(frozen=True)
class CostAtDistance:
    """What a length between power and pond costs each way; None where no pipe or no wire does it."""

    distance_m: float
    line_money: float | None
    line_pipe: str
    wire_money: float | None
    wire_gauge: str
    service_money: float


@dataclass(frozen=True)
class ServiceOrLine:
    """Power at the pond against a long air line.

    Attributes:
        distance_m: this job's.
        here: what each costs at this distance.
        voltage_drop_v, voltage_drop_fraction: of the wire at this distance; None where no wire does it.
        break_even_m: distances at which power at the pond becomes the cheaper, or ceases to be; none up to the
            longest tried when empty.
        cheaper: "line", "wire" or "service", at this distance.
        longest_tried_m: where the search ended.
        curve: costs by distance, for the chart.
        sentence: what it means.
    """

    distance_m: float
    here: CostAtDistance
    voltage_drop_v: float | None
    voltage_drop_fraction: float | None
    break_even_m: tuple[float, ...]
    cheaper: str
    longest_tried_m: float
    curve: tuple[CostAtDistance, ...]
    sentence: str


@dataclass(frozen=True)
class ChoiceResult:
    """All combinations ranked, the reasons of those that lost, and power at the pond against a long line."""

    currency: str
    years: int
    discount_rate_fraction: float
    yearly_running_h: float
    energy_per_kwh: float
    wanted_turnover_per_day: float | None
    wanted_air_per_diffuser_m3_s: float | None
    tried_count: int
    works_count: int
    winner: Combination | None
    alternatives: tuple[Alternative, ...]
    verdicts: tuple[Verdict, ...]
    groups: tuple[LoserGroup, ...]
    service: ServiceOrLine | None
    notices: tuple[Notice, ...]
    assumptions: tuple[str, ...]
    planned: Combination | None = None
    """The job's own design, whose line a plan simulates, counted the same way; None where it was not asked for.

    With it, `alternatives`, `verdicts` and `service` are told against it; else against the winner.
    """

    @property
    def subject(self) -> Combination | None:
        """What the others are told against: the job's own design where it was asked for, else the winner."""
        return self.planned or self.winner
