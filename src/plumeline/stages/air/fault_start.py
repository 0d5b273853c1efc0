"""What the gauges accepted at commissioning tell of a sound line, so that the search for faults starts from there.

The bench knows how each gauge moves when a thing that is not known of the line (bores, the compressor's air, membranes,
valves) is off by one standard deviation. The accepted gauges, of a line that was sound, are held against that: what is
left unknown is normal, with a mean and a covariance in those standard deviations.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from plumeline.job.document import AcceptedGauge, Commissioned
from plumeline.stages.air.fault_bench import GAUGE_SD_PA, Array, Bench, Look, State
from plumeline.stages.air.network import COMPRESSOR, AirNetwork
from plumeline.stages.air.results import MANIFOLD

DRIFT_NUMBER = 0.3
"""How far what the commissioning told may have drifted since, in the standard deviations of before: judgement."""


@dataclass(frozen=True)
class Start:
    """What is known of a line since its commissioning.

    Attributes:
        mean: of each unknown, in its standard deviations of before (unknowns).
        root: the covariance is its square, transposed times itself (unknowns, unknowns).
        used_count: gauges that it rests on.
        left_out_count: gauges that disagreed then, or whose place is gone.
    """

    mean: Array
    root: Array
    used_count: int
    left_out_count: int


def start_of(network: AirNetwork, record: Commissioned | None) -> Start | None:
    """Return what the accepted gauges tell of a line; None without any that can be used.

    Args:
        network: the line, sound, valves as set, with the air that it drew on that day.
        record: the accepted gauges; None where nothing was accepted.
    """
    if record is None:
        return None
    kept = tuple(item for item in record.gauges if not item.disagreed and _is_there(network, item))
    if not kept:
        return None
    bench = Bench(network, level_read=True)
    looks = [
        Look(State(item.open_ports or None, item.water_level_m or 0.0, item.full_open), item.place)
        for item in kept
    ]
    moves = bench.moves(looks)
    line, level = moves[:-1], moves[-1]
    off = np.array([item.pressure_pa for item in kept]) - bench.sound(looks)
    error = np.outer(level, level) + GAUGE_SD_PA**2 * np.eye(len(kept))
    weighed = np.linalg.solve(error, line.T)
    covariance = np.linalg.inv(np.eye(len(line)) + line @ weighed)
    mean = covariance @ (weighed.T @ off)
    drifted = covariance + DRIFT_NUMBER**2 * np.eye(len(line))
    return Start(
        np.asarray(mean, dtype=np.float64),
        np.asarray(np.linalg.cholesky(drifted).T, dtype=np.float64),
        len(kept),
        len(record.gauges) - len(kept),
    )


def _is_there(network: AirNetwork, item: AcceptedGauge) -> bool:
    """Return whether a gauge's place and ports are in the line, and its water covers every diffuser."""
    names = network.outlet_names
    wet = all(
        b.outlet is None or b.outlet.depth_m + (item.water_level_m or 0.0) > 0.0 for b in network.branches
    )
    return wet and set(item.open_ports) <= set(names) and item.place in (*names, COMPRESSOR, MANIFOLD)
