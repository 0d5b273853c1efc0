"""Which missing input would narrow the plan most: how much of the ponds' spread each one explains."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from plumeline.job.document import Job
from plumeline.kernels import column_index as ix
from plumeline.stages.startup.final import final_run
from plumeline.stages.startup.result import Narrowing
from plumeline.stages.startup.scene import Scene, StopTable, some_of
from plumeline.stages.startup.schedule import Schedule
from plumeline.stages.startup.value import already_read

Array = NDArray[np.float64]
VOLUME_MEMBERS = 64


def _share(outcome: Array, rows: list[Array]) -> float:
    """Return the part of the outcome's variance that the rows explain together, in ranks, less what chance explains.

    Debts rise and fall together in a pond, so their parts must not be added: one straight fit takes them all
    (R², adjusted for the number of rows: Ezekiel 1930, as in any textbook of statistics).
    """
    # slow to load: no page or command that makes no plan should wait for it
    from scipy.stats import rankdata

    told = [rankdata(row) for row in rows if float(np.ptp(row)) > 0.0]
    left = len(outcome) - len(told) - 1
    if not told or left < 1 or float(np.ptp(outcome)) == 0.0:
        return 0.0
    ranks = rankdata(outcome)
    columns = np.column_stack([np.ones(len(ranks)), *told])
    fitted, *_ = np.linalg.lstsq(columns, ranks, rcond=None)
    unexplained = float(((ranks - columns @ fitted) ** 2).sum() / ((ranks - ranks.mean()) ** 2).sum())
    return min(max(1.0 - unexplained * (len(outcome) - 1) / left, 0.0), 1.0)


def narrowing(
    job: Job, scene: Scene, schedule: Schedule, table: StopTable, volume_spread_fraction: float
) -> tuple[Narrowing, ...]:
    """Return the inputs that were not given, the most telling first.

    The outcome is each member's least oxygen at 0.6 m after the first run: what the fish feel.

    Args:
        job: the job; what it holds is not listed.
        scene: members to ask.
        schedule: the chosen schedule.
        table: its stop readings.
        volume_spread_fraction: standard error of the pond's volume over the volume.
    """
    outcome = final_run(scene, schedule, table).least_do_mg_l
    columns = scene.ensemble.columns
    deep = int(np.argmin(np.abs(columns.grid.centre_m - scene.running.depth_m.max())))
    debts = [columns.state[i, deep] for i in (ix.DEBT_A, ix.SULPHIDE, ix.DEBT_C)]
    missing: list[tuple[str, str, list[Array]]] = []
    if not job.bottles:
        missing.append(("bottle.csv", "a bottle test of the bottom water (15 min and 24 h)", debts))
    if "sulphide_mg_l" not in already_read(job):
        missing.append(
            ("profiles.csv, sulphide_mg_l", "a field-kit sulphide on the bottom water", [debts[1]])
        )
    if job.pond.secchi_depth_m is None:
        light = [columns.parameters[ix.EXTINCTION], columns.parameters[ix.CHLOROPHYLL_0]]
        missing.append(("pond.secchi_depth", "a Secchi depth", light))
    if len(job.profiles) < 2:
        breath = [columns.parameters[i] for i in (ix.RESPIRATION, ix.P_MAX, ix.K600_CALM)]
        missing.append(("profiles.csv", "a second profile at dawn of the same night", breath))
    if not job.weather:
        daily = columns.weather[ix.SHORTWAVE, columns.hour :].mean(axis=0)
        wind = columns.weather[ix.WIND_SPEED, columns.hour :].mean(axis=0)
        missing.append(("weather.csv", "hourly weather, past days and a forecast", [daily, wind]))
    found = [Narrowing(name, how, _share(outcome, rows), len(outcome)) for name, how, rows in missing]
    if not job.pond.soundings:
        few = min(VOLUME_MEMBERS, scene.members)
        share = _volume_share(scene, schedule, table, volume_spread_fraction, outcome)
        found.append(Narrowing("soundings.csv", "a dozen soundings with a weighted line", share, few))
    return tuple(sorted(found, key=lambda item: -item.share_fraction))


def _volume_share(
    scene: Scene, schedule: Schedule, table: StopTable, volume_spread_fraction: float, outcome: Array
) -> float:
    """Return the part of the outcome's variance that the unknown volume adds: two runs, one error apart."""
    few = some_of(scene, np.arange(min(VOLUME_MEMBERS, scene.members)))
    means: list[float] = []
    for side in (-1.0, 1.0):
        factor = 1.0 + side * min(volume_spread_fraction, 0.5)
        columns = few.ensemble.columns
        grid = columns.grid
        # the surface is known, so the basin is fuller or emptier below it
        area = grid.area_m2 * np.concatenate([[1.0], np.full(grid.layers, factor)])
        area = np.minimum(area, grid.area_m2[0])
        changed = replace(grid, area_m2=area, volume_m3=grid.volume_m3 * factor)
        other = replace(few, ensemble=replace(few.ensemble, columns=replace(columns, grid=changed)))
        means.append(float(final_run(other, schedule, table).least_do_mg_l.mean()))
    own = float(outcome.var())
    extra = (0.5 * (means[1] - means[0])) ** 2
    return extra / (own + extra) if own + extra > 0.0 else 0.0
