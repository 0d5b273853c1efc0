"""What the gauges of a sound line may show: its solved network under draws of what is not known of it.

Bores, membranes, valves, the compressor's air and the water's level are drawn with the widths by which the search for
faults weighs a sound line; an old pipe's bore is drawn from what its tests say of it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from plumeline.errors import InputError, ModelError
from plumeline.stages.air import tree
from plumeline.stages.air.fault_bench import (
    BORE_FRACTION,
    CURVE_FRACTION,
    GAUGE_SD_PA,
    LEVEL_SD_M,
    LEVEL_UNREAD_SD_M,
    MEMBRANE_PA,
    VALVE_FRACTION,
)
from plumeline.stages.air.fault_cases import at_level, full_open, shut_valves, with_branch
from plumeline.stages.air.network import COMPRESSOR, GRAVITY_M_S2, AirNetwork, Pipe, Valve
from plumeline.stages.air.results import MANIFOLD
from plumeline.stages.air.words import feet_depth

Array = NDArray[np.float64]

DRAW_COUNT = 400
"""Sound lines drawn: the ends of a 90 % band then stand within about a tenth of its width."""


@dataclass(frozen=True)
class ValveState:
    """How the valves stand while gauges are read.

    Attributes:
        open_ports: names of the open ports, the others shut; None for all.
        full_open: the open ones stand full open, not as set.
    """

    open_ports: tuple[str, ...] | None = None
    full_open: bool = False

    @property
    def written(self) -> str:
        """As it stands in the column open_ports of a file of gauges; empty for all as set."""
        return " ".join((*(("full",) if self.full_open else ()), *(self.open_ports or ())))


def standing(network: AirNetwork, state: ValveState, level_m: float) -> AirNetwork:
    """Return a network with its valves and its water as they stand.

    Raises:
        InputError: at that level a diffuser stands out of the water.
    """
    shallow = min(
        (b for b in network.branches if b.outlet), key=lambda b: b.outlet.depth_m if b.outlet else 0.0
    )
    if shallow.outlet is not None and shallow.outlet.depth_m + level_m <= 0.0:
        raise InputError(
            f"with the water {feet_depth(-level_m)} down diffuser {shallow.name}, {feet_depth(shallow.outlet.depth_m)} "
            "under it, stands dry.",
            remedy="Check the sign and the unit: the level counts from where the diffusers' depths hold.",
            place="water_level",
        )
    network = at_level(network, level_m)
    if state.full_open:
        network = full_open(network)
    for name in network.outlet_names if state.open_ports is not None else ():
        if name not in (state.open_ports or ()):
            network = with_branch(name, shut_valves)(network)
    return network


def gauge_at(compiled: tree.Tree, raw: tree.Raw, place: str) -> float:
    """Return what the gauge of a place shows [Pa]."""
    node = compiled.places[place if place in (COMPRESSOR, MANIFOLD) else f"port {place}"]
    return float(raw.pressure_pa[node]) - float(compiled.arrays.ambient_pressure_pa)


class SoundLines:
    """Sound lines as they may be, each with its bores, membranes, compressor, and error of the level."""

    def __init__(
        self,
        network: AirNetwork,
        seed: int,
        *,
        level_read: bool,
        old_bore: dict[int, Callable[[float], float]] | None = None,
    ) -> None:
        """Draw them.

        Args:
            network: the line with its valves as set.
            seed: of the draws.
            level_read: the water's level was read; else it is known no better than any pond's.
            old_bore: by piece of the trunk, its bore over the one in the network at a probability.
        """
        self.network = network
        self.seed = seed
        random = np.random.default_rng(seed)
        ends = network.outlet_names
        self._bore = {
            (branch.name, index): factor
            for factor, is_end in (
                (_factor(random, BORE_FRACTION), False),
                (_factor(random, BORE_FRACTION), True),
            )
            for branch in network.branches
            if (branch.name in ends) == is_end
            for index, part in enumerate(branch.parts)
            if isinstance(part, Pipe)
        }
        trunk = [key for key in self._bore if key[0] == MANIFOLD]
        for piece, quantile in (old_bore or {}).items():
            self._bore[trunk[piece]] = np.array([quantile(float(u)) for u in _even(random)])
        self._flow = _factor(random, CURVE_FRACTION)
        self._membrane_pa = {name: MEMBRANE_PA * _normal(random) for name in ends}
        self._valve = {name: _factor(random, VALVE_FRACTION) for name in ends}
        self._level_m = (LEVEL_SD_M if level_read else LEVEL_UNREAD_SD_M) * _normal(random)
        self._known: dict[tuple[ValveState, float], tuple[dict[str, float], dict[str, Array]]] = {}

    def gauges(self, state: ValveState, level_m: float) -> tuple[dict[str, float], dict[str, Array]]:
        """Return what each place's gauge shows on the line as it is drawn, and on every drawn line (draws) [Pa].

        Raises:
            InputError: a diffuser stands out of the water.
            ModelError: the line has no operating point.
        """
        key = (state, level_m)
        if key not in self._known:
            self._known[key] = self._solved(state, level_m)
        return self._known[key]

    def noise(self, count: int) -> Array:
        """Return errors of gauges read by eye (draws, count) [Pa]."""
        random = np.random.default_rng((self.seed, count))
        return np.stack([GAUGE_SD_PA * _normal(random) for _ in range(count)], axis=1)

    def _solved(self, state: ValveState, level_m: float) -> tuple[dict[str, float], dict[str, Array]]:
        compiled = tree.compile_tree(standing(self.network, state, level_m))
        places = (COMPRESSOR, *compiled.network.outlet_names)
        places = (COMPRESSOR, MANIFOLD, *places[1:]) if MANIFOLD in compiled.places else places
        base = compiled.arrays
        sound = tree.run(base)
        if not np.isfinite(sound.pressure_pa[0]):
            raise ModelError("the air line has no operating point.", remedy="Check the compressor's curve.")
        bore, heads, membrane_pa = self._drawn(compiled)
        found = np.empty((len(places), DRAW_COUNT))
        head_pa_m = self.network.water_density_kg_m3 * GRAVITY_M_S2
        for draw in range(DRAW_COUNT):
            water_pa = base.outlet_pressure_pa + head_pa_m * self._level_m[draw]
            raw = tree.run(
                base._replace(
                    bore_m=base.bore_m * bore[draw],
                    loss_number=base.loss_number * heads[draw],
                    curve_mass_flow_kg_s=base.curve_mass_flow_kg_s * self._flow[draw],
                    loss_pressure_pa=np.maximum(base.loss_pressure_pa + membrane_pa[draw], 0.0),
                    outlet_pressure_pa=np.maximum(water_pa, base.ambient_pressure_pa),
                )
            )
            found[:, draw] = [gauge_at(compiled, raw, place) for place in places]
        shown = {place: gauge_at(compiled, sound, place) for place in places}
        return shown, dict(zip(places, found, strict=True))

    def _drawn(self, compiled: tree.Tree) -> tuple[Array, Array, Array]:
        """Return bores and heads over those of the network (draws, pieces), and membranes' more (draws, points)."""
        arrays = compiled.arrays
        bore, heads = (np.ones((DRAW_COUNT, len(arrays.bore_m))) for _ in range(2))
        for branch in compiled.network.branches:
            for index, (part, piece) in enumerate(
                zip(branch.parts, compiled.pieces[branch.name], strict=True)
            ):
                if isinstance(part, Pipe):
                    bore[:, piece] = self._bore[branch.name, index]
                elif isinstance(part, Valve) and branch.name in self._valve:
                    heads[:, piece] = self._valve[branch.name]
        membrane_pa = np.zeros((DRAW_COUNT, len(arrays.loss_pressure_pa)))
        for name, outlet in compiled.outlets.items():
            start, end = arrays.loss_start[outlet : outlet + 2]
            membrane_pa[:, start:end] = self._membrane_pa[name][:, None]
        return bore, heads, membrane_pa


def _factor(random: np.random.Generator, width_fraction: float) -> Array:
    """Return factors about one (draws)."""
    return np.asarray(np.exp(width_fraction * _normal(random)))


def _even(random: np.random.Generator) -> Array:
    """Return probabilities evenly spread, in random order, so that few draws hold the whole width (draws)."""
    return np.asarray((random.permutation(DRAW_COUNT) + 0.5) / DRAW_COUNT)


def _normal(random: np.random.Generator) -> Array:
    """Return standard normal numbers spread evenly by their probability (draws)."""
    return np.asarray(ndtri(_even(random)))
