"""The description of an air network: a tree of branches, and what no network can be.

A network is a tree of branches. Each branch hangs from ``compressor`` or from the end of another branch, is a row of
parts in the order in which the air meets them, and may end in an outlet. The trunk is a branch like any other, one
without an outlet whose children hang from its end, the manifold:

    AirNetwork(
        source=SiteCurve(pressure_pa=(0.0, 1e5), flow_kg_s=(2e-3, 1e-3)),
        branches=(
            Branch("trunk", parts=(Pipe(130.0, 0.0209),)),
            Branch("D1", "trunk", (Valve(0.0127, opening_fraction=0.5), Pipe(30.0, 0.0127)), Diffuser(2.4)),
            Branch("D2", "trunk", (Valve(0.0127), CheckValve(2000.0), Pipe(60.0, 0.0127)), Diffuser(3.0)),
        ),
    )

`tree.solve` gives the flow of every branch and the gauge pressure at every place: ``compressor``, ``D1`` (the end
of a branch), ``port D1`` (after its first valve). Who solves one tree many times compiles it once by
`tree.compile_tree`, changes its arrays by ``arrays._replace(...)`` and calls `tree.run`.

Flows are standard flows (68 °F, dry, 14.696 psia); pressures are gauge over the site's air, save in the arrays.
Heights along the line count for low points and siphons, not for the pressure: air in a rising line weighs about
5 Pa a metre more than the air outside.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from plumeline.errors import InputError
from plumeline.kernels.network import CHURCHILL
from plumeline.science import air as air_science
from plumeline.stages.air.valves import valve_loss_number

GRAVITY_M_S2 = 9.80665
STANDARD_DENSITY_KG_M3 = air_science.density_clapeyron_1834(
    air_science.STANDARD_PRESSURE_PA, air_science.STANDARD_TEMPERATURE_K
)
FLOW_BASIS = "68 °F, dry, 14.696 psia"
FLOW_BASIS_SI = "20 °C, dry, 101.3 kPa absolute"
NORMAL_OVER_STANDARD_NUMBER = (air_science.STANDARD_PRESSURE_PA / 101325.0) * (
    273.15 / air_science.STANDARD_TEMPERATURE_K
)
"""Normal cubic metres (0 °C, dry, 101325 Pa) in a standard one."""
COMPRESSOR = "compressor"
LEAK_NUMBER = 1.0 / 0.6**2
"""Velocity heads lost in a hole, counted in its own area: a sharp edge lets 0.6 of the ideal through (from memory)."""


@dataclass(frozen=True)
class Pipe:
    """A length of one pipe with its fittings."""

    length_m: float
    bore_m: float
    roughness_m: float = 1.5e-6
    temperature_degc: float = 20.0
    """Temperature of the air in it."""
    fittings: tuple[tuple[str, int], ...] = ()
    """Fittings by name and count, names of sources/fittings.csv."""
    loss_number: float = 0.0
    """Further velocity heads lost, in this bore."""
    threaded: bool = False
    """Fittings are small threaded ones, which lose more."""


@dataclass(frozen=True)
class Valve:
    """A valve: by how far it is open, or by its loss."""

    bore_m: float
    opening_fraction: float = 1.0
    """1 open, 0 shut; a share of the handle's whole way."""
    kind: str = "ball"
    loss_number: float | None = None
    """Velocity heads lost, where they are known better than by the opening."""
    temperature_degc: float = 20.0

    @property
    def is_shut(self) -> bool:
        """Whether nothing passes."""
        return self.opening_fraction <= 0.0

    @property
    def heads_number(self) -> float:
        """Velocity heads lost in it as it stands."""
        if self.loss_number is not None:
            return self.loss_number
        return valve_loss_number(self.kind, self.opening_fraction)


@dataclass(frozen=True)
class CheckValve:
    """A check valve: it takes its cracking pressure away at any flow."""

    cracking_pressure_pa: float


@dataclass(frozen=True)
class WaterPlug:
    """Water in a dip of the line: the air must lift it by its height before anything passes."""

    height_m: float
    density_kg_m3: float = 998.2


Part = Pipe | Valve | CheckValve | WaterPlug


@dataclass(frozen=True)
class LossPoint:
    """One point of a membrane's curve: pressure it takes at a standard flow."""

    flow_standard_m3_s: float
    pressure_pa: float


@dataclass(frozen=True)
class Diffuser:
    """An outlet under water: its depth and what its membrane takes, by flow."""

    depth_m: float
    membrane: tuple[LossPoint, ...] = ()
    count: int = 1
    """Like membranes side by side on this end, which share the flow."""


@dataclass(frozen=True)
class OpenEnd:
    """A line that ends open, in air or at a depth under water."""

    depth_m: float = 0.0


@dataclass(frozen=True)
class Branch:
    """One branch of the tree, from the end of its parent to its own end."""

    name: str
    parent: str = COMPRESSOR
    parts: tuple[Part, ...] = ()
    outlet: Diffuser | OpenEnd | None = None


@dataclass(frozen=True)
class Leak:
    """A hole in a branch, behind so many of its parts (0: at its head). A pipe is split in two for one inside it."""

    branch: str
    after_parts_count: int
    diameter_m: float
    depth_m: float = 0.0
    """Depth of water over the hole; 0 in air or soil."""


@dataclass(frozen=True)
class SiteCurve:
    """A compressor's curve at the site: gauge pressures, rising, and mass flows. One point is a constant flow."""

    pressure_pa: tuple[float, ...]
    flow_kg_s: tuple[float, ...]


@dataclass(frozen=True)
class Laws:
    """Friction law and gas. Other than the program's only to reproduce tables made with others."""

    friction_law: int = CHURCHILL
    gas_constant_j_kg_k: float = air_science.GAS_CONSTANT_J_KG_K
    viscosity_pa_s: float | None = None
    """None: by Sutherland at each part's temperature."""


@dataclass(frozen=True)
class AirNetwork:
    """A whole network."""

    source: SiteCurve
    branches: tuple[Branch, ...]
    ambient_pressure_pa: float = 101325.0
    water_density_kg_m3: float = 998.2
    leaks: tuple[Leak, ...] = ()
    laws: Laws = field(default_factory=Laws)

    def branch(self, name: str) -> Branch:
        """Return the branch of that name."""
        return next(branch for branch in self.branches if branch.name == name)

    @property
    def outlet_names(self) -> tuple[str, ...]:
        """The branches that end in an outlet."""
        return tuple(branch.name for branch in self.branches if branch.outlet is not None)


def in_order(branches: tuple[Branch, ...]) -> tuple[Branch, ...]:
    """Return the branches, parents before children.

    Raises:
        InputError: a name twice, a parent that is not there, or a loop, which is named.
    """
    by_name: dict[str, Branch] = {}
    for branch in branches:
        if branch.name in by_name or branch.name == COMPRESSOR:
            raise InputError(
                f"not a tree: two parts of the network are named {branch.name!r}, so air would come to it two ways.",
                remedy="Give each branch its own name and one parent.",
                place=branch.name,
            )
        by_name[branch.name] = branch
    done: dict[str, Branch] = {}
    for branch in branches:
        way: list[Branch] = []
        step = branch
        while step.name not in done:
            if step in way:
                loop = [item.name for item in way[way.index(step) :]]
                raise InputError(
                    f"not a tree: {' hangs from '.join([*loop, loop[0]])}, a loop.",
                    remedy=f"Let one of {', '.join(loop)} hang from the compressor or from a branch outside the loop.",
                    place=step.name,
                )
            way.append(step)
            if step.parent == COMPRESSOR:
                break
            if step.parent not in by_name:
                raise InputError(
                    f"branch {step.name} hangs from {step.parent!r}, which is not there.",
                    remedy=f"Name its parent: {COMPRESSOR}, {', '.join(sorted(by_name))}.",
                    place=step.name,
                )
            step = by_name[step.parent]
        done |= {item.name: item for item in reversed(way)}
    return tuple(done.values())


def _positive(value: float, what: str, unit: str, branch: str) -> None:
    """Refuse a size that is not over zero.

    Raises:
        InputError: it is not.
    """
    if not value > 0.0:
        raise InputError(
            f"branch {branch} has {what} of {value:g} {unit}.", remedy=f"Give {what} over zero.", place=branch
        )


def _check_part(part: Part, branch: str) -> None:
    """Refuse a part that can't be.

    Raises:
        InputError: a length or bore not over zero, an opening or pressure out of range.
    """
    if isinstance(part, Pipe):
        _positive(part.length_m, "a pipe with a length", "m", branch)
        _positive(part.bore_m, "a pipe with a bore", "m", branch)
        if part.roughness_m < 0.0 or part.roughness_m > 0.05 * part.bore_m:
            raise InputError(
                f"a pipe of branch {branch} has a roughness of {part.roughness_m * 1000.0:g} mm in a bore of "
                f"{part.bore_m * 1000.0:.1f} mm.",
                remedy="Roughness lies between 0 and a twentieth of the bore; plastic has 0.0015 mm.",
                place=branch,
            )
    elif isinstance(part, Valve):
        _positive(part.bore_m, "a valve with a bore", "m", branch)
        if not 0.0 <= part.opening_fraction <= 1.0:
            raise InputError(
                f"the valve of branch {branch} is open by {part.opening_fraction:g}.",
                remedy="0 is shut, 1 is open.",
                place=branch,
            )
    else:
        value = part.cracking_pressure_pa if isinstance(part, CheckValve) else part.height_m
        what = (
            "a check valve that cracks at"
            if isinstance(part, CheckValve)
            else "water in a dip with a height of"
        )
        if value < 0.0:
            raise InputError(f"branch {branch} has {what} {value:g}.", remedy="Give 0 or more.", place=branch)


def _check_membrane(outlet: Diffuser, branch: str) -> None:
    """Refuse a membrane that loses less pressure at more flow.

    Raises:
        InputError: flows that do not rise, pressures that fall or lie under zero.
    """
    before: LossPoint | None = None
    for point in outlet.membrane:
        bad = point.pressure_pa < 0.0 or point.flow_standard_m3_s < 0.0
        if before is not None:
            bad |= (
                point.flow_standard_m3_s <= before.flow_standard_m3_s
                or point.pressure_pa < before.pressure_pa
            )
        if bad:
            raise InputError(
                f"the membrane of {branch} loses {point.pressure_pa:.0f} Pa at {point.flow_standard_m3_s:.3g} m³/s, "
                "out of order with the point before.",
                remedy="List its points by rising flow, with a loss that does not fall.",
                place=branch,
            )
        before = point


def check_network(network: AirNetwork) -> None:
    """Refuse what no network can be, save its shape, which `in_order` tells.

    Raises:
        InputError: no outlet, or a part, membrane or leak that can't be.
    """
    for branch in network.branches:
        for part in branch.parts:
            _check_part(part, branch.name)
        if branch.outlet is not None and branch.outlet.depth_m < 0.0:
            raise InputError(
                f"the outlet of {branch.name} lies {-branch.outlet.depth_m:g} m over the water.",
                remedy="Depth counts down from the water's surface; an end in air has depth 0.",
                place=branch.name,
            )
        if isinstance(branch.outlet, Diffuser):
            _check_membrane(branch.outlet, branch.name)
    if not network.leaks and all(branch.outlet is None for branch in network.branches):
        raise InputError(
            "the network has no outlet.", remedy="Give at least one branch a diffuser or an open end."
        )
    names = {branch.name: branch for branch in network.branches}
    for leak in network.leaks:
        if leak.branch not in names or not 0 <= leak.after_parts_count <= len(names[leak.branch].parts):
            raise InputError(
                f"a leak stands after part {leak.after_parts_count} of branch {leak.branch!r}, which is not there.",
                remedy="Name a branch, and a part from 0 to how many it has.",
            )
        _positive(leak.diameter_m, "a leak with a diameter", "m", leak.branch)
