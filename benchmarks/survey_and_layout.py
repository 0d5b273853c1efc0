"""Speed of survey and layout beside plain yardsticks on the same data, in one run; processor time of one process.

A sonar log of 200,000 pings over a natural pond, with spikes, zeros and lost bottom: read from its file, cleaned and
drawn. Yardstick: `scipy.interpolate.griddata` (linear) on the same thinned places over the same cells, which cleans
nothing and knows no error.

A pond of ten acres with a cove, eight diffusers: places, manifold and lines. Yardstick: a plain search over all pairs
of candidates and cells of a 2 m grid (Dijkstra over eight neighbours), one diffuser after the other and no exchange.

    python benchmarks/survey_and_layout.py
"""

from __future__ import annotations

import resource
import sys
import tempfile
import time
from datetime import date
from pathlib import Path

import numpy as np
import shapely
from scipy.interpolate import griddata
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import dijkstra

from plumeline.files.findings import Findings
from plumeline.files.soundings import read_soundings
from plumeline.job.document import AirSystem, Diffuser, Job, LocalPoint, Pond, Site, Sounding
from plumeline.stages.layout import layout
from plumeline.stages.survey import Survey, survey

PINGS_COUNT = 200_000
LOG_GOAL_S, LOG_GOAL_BYTES, LAYOUT_GOAL_S = 10.0, 1e9, 2.0
SITE = Site(latitude_deg=36.0, longitude_deg=-79.5, elevation_m=200.0)
CELL_M = 2.0
DIFFUSERS_COUNT = 8


def shore_of(size_m: float) -> np.ndarray:
    """Return the corners of a pond with a cove, (n, 2)."""
    turn = np.linspace(0.0, 2.0 * np.pi, 120, endpoint=False)
    cove = 0.45 * np.exp(-(((turn - 2.0) / 0.22) ** 2))
    radius = size_m * (1.0 + 0.18 * np.cos(2 * turn + 0.4) + 0.08 * np.cos(3 * turn) - cove)
    return np.column_stack([1.3 * radius * np.cos(turn), radius * np.sin(turn)])


def bottom_m(xy: np.ndarray, shore: np.ndarray) -> np.ndarray:
    """Return the depth at places (n, 2): a bowl of 5 m that ends at the shore."""
    polygon = shapely.Polygon(shore)
    away = shapely.distance(polygon.exterior, shapely.points(xy))
    return np.where(shapely.contains_xy(polygon, xy[:, 0], xy[:, 1]), 5.0 * (1.0 - np.exp(-away / 18.0)), 0.0)


def job_of(shore: np.ndarray, soundings: tuple[Sounding, ...], diffusers_count: int = 0) -> Job:
    """Return a pond as a job."""
    outline = (tuple(LocalPoint(x_m=float(x), y_m=float(y)) for x, y in shore),)
    air = AirSystem(diffusers=tuple(Diffuser(name=f"D{n}") for n in range(1, diffusers_count + 1)))
    pond = Pond(outline=outline, soundings=soundings, transducer_depth_m=0.0)
    return Job(id="pond", name="pond", date=date(2026, 8, 1), site=SITE, pond=pond, air=air)


def write_log(path: Path, shore: np.ndarray) -> None:
    """Write a sonar's log: parallel passes, every hundredth ping a spike, every other hundredth a zero."""
    rng = np.random.default_rng(8)
    low, high = shore.min(axis=0), shore.max(axis=0)
    lanes = np.linspace(low[1] + 4.0, high[1] - 4.0, 40)
    passes = []
    for n, y in enumerate(lanes):
        x = np.linspace(low[0], high[0], 2 * PINGS_COUNT // len(lanes))
        passes.append(np.column_stack([x[:: -1 if n % 2 else 1], np.full(len(x), y)]))
    xy = np.concatenate(passes)
    xy = xy[shapely.contains_xy(shapely.Polygon(shore), xy[:, 0], xy[:, 1])][:PINGS_COUNT]
    depth = np.maximum(bottom_m(xy, shore) + rng.normal(0.0, 0.05, len(xy)), 0.0)
    depth[::100] *= rng.uniform(1.8, 3.0, len(depth[::100]))
    depth[50::100] = 0.0
    rows = [f"{x:.2f},{y:.2f},{z:.3f}" for (x, y), z in zip(xy, depth, strict=True)]
    path.write_text("x_m,y_m,depth_m\n" + "\n".join(rows) + "\n")


def timed_log() -> tuple[float, float, int, int]:
    """Return seconds of ours and of the yardstick, pings, and readings left out."""
    shore = shore_of(120.0)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "soundings.csv"
        write_log(path, shore)
        begin = time.process_time()
        table = read_soundings(path, Findings())
        assert table is not None
        columns = (table.numbers[key] for key in ("x_m", "y_m", "depth_m"))
        soundings = tuple(
            Sounding.model_construct(place=LocalPoint.model_construct(x_m=x, y_m=y), depth_m=z, row=row)
            for x, y, z, row in zip(*columns, table.rows, strict=True)
        )
        job = job_of(shore, ())
        job = job.model_copy(update={"pond": job.pond.model_copy(update={"soundings": soundings})})
        found = survey(job)
        own_s = time.process_time() - begin
    gone = {item.row for item in found.left_out}
    kept = [item for item in soundings if item.row not in gone]
    every = kept[:: max(1, len(kept) // 450)]
    xy = np.array([(item.place.x_m, item.place.y_m) for item in every])
    x, y = np.meshgrid(found.grid.x_m, found.grid.y_m)
    begin = time.process_time()
    griddata(xy, np.array([item.depth_m for item in every]), (x, y))
    return own_s, time.process_time() - begin, len(soundings), len(found.left_out)


def ten_acres() -> tuple[Job, Survey, np.ndarray]:
    """Return a pond of ten acres, its survey, and its shore."""
    shore = shore_of(100.0)
    shore *= np.sqrt(40468.564 / shapely.Polygon(shore).area)
    rng = np.random.default_rng(3)
    xy = rng.uniform(shore.min(axis=0), shore.max(axis=0), (160, 2))
    xy = xy[shapely.contains_xy(shapely.Polygon(shore), xy[:, 0], xy[:, 1])]
    soundings = tuple(
        Sounding(place=LocalPoint(x_m=float(a), y_m=float(b)), depth_m=float(z))
        for (a, b), z in zip(xy, bottom_m(xy, shore), strict=True)
    )
    job = job_of(shore, soundings, DIFFUSERS_COUNT)
    return job, survey(job), shore


def all_pairs(basin: Survey) -> float:
    """Return the mean way [m] of a plain search on a 2 m grid: the best next site, eight times."""
    low, high = np.array(basin.outline_xy[0]).min(axis=0), np.array(basin.outline_xy[0]).max(axis=0)
    x, y = np.meshgrid(np.arange(low[0], high[0], CELL_M), np.arange(low[1], high[1], CELL_M))
    wet = shapely.contains_xy(basin.polygon, x, y)
    number = np.cumsum(wet.ravel()).reshape(wet.shape) - 1
    starts, ends, ways = [], [], []
    for dy, dx in ((0, 1), (1, 0), (1, 1), (1, -1)):
        a = wet[: wet.shape[0] - dy, max(0, -dx) : wet.shape[1] - max(0, dx)]
        b = wet[dy:, max(0, dx) : wet.shape[1] - max(0, -dx)]
        both = a & b
        starts.append(number[: wet.shape[0] - dy, max(0, -dx) : wet.shape[1] - max(0, dx)][both])
        ends.append(number[dy:, max(0, dx) : wet.shape[1] - max(0, -dx)][both])
        ways.append(np.full(both.sum(), CELL_M * np.hypot(dx, dy)))
    count = int(wet.sum())
    graph = coo_matrix(
        (np.concatenate(ways), (np.concatenate(starts), np.concatenate(ends))), (count, count)
    ).tocsr()
    depth = basin.grid.sample(x[wet], y[wet])
    sites = np.flatnonzero(depth >= 0.8 * depth.max())
    way = dijkstra(graph, directed=False, indices=sites)
    best = np.full(count, np.inf)
    for _ in range(DIFFUSERS_COUNT):
        best = min((np.minimum(best, row) for row in way), key=lambda found: float(found @ depth))
    return float(best @ depth / depth.sum())


def timed_layout() -> tuple[float, float, float, float]:
    """Return seconds of ours and of the yardstick, and the mean way [m] that each finds."""
    job, basin, _ = ten_acres()
    begin = time.process_time()
    found = layout(job, basin, flow_per_diffuser_water_m3_s=lambda depth_m: 0.008 * depth_m ** (5 / 3))
    own_s = time.process_time() - begin
    begin = time.process_time()
    plain_m = all_pairs(basin)
    return own_s, time.process_time() - begin, found.mean_distance_m, plain_m


def main() -> int:
    """Print times, ratios and whether the goals are met."""
    own_s, plain_s, pings_count, out_count = timed_log()
    most_bytes = 1024.0 * resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    print(
        f"sonar log, {pings_count:,} pings, {out_count:,} left out: {own_s:.1f} s, {most_bytes / 1e6:.0f} MB at most"
    )
    print(f"  griddata on the thinned places {plain_s:.3f} s: ratio {own_s / plain_s:.0f}")
    ok = own_s <= LOG_GOAL_S and most_bytes <= LOG_GOAL_BYTES
    own_s, plain_s, own_m, plain_m = timed_layout()
    print(f"layout, 10 acres, {DIFFUSERS_COUNT} diffusers: {own_s:.2f} s, mean way {own_m:.1f} m")
    print(
        f"  all pairs on a {CELL_M:g} m grid {plain_s:.2f} s, mean way {plain_m:.1f} m: ratio {own_s / plain_s:.2f}"
    )
    ok = ok and own_s <= LAYOUT_GOAL_S
    print("goals met" if ok else f"goals missed ({LOG_GOAL_S:g} s and 1 GB; {LAYOUT_GOAL_S:g} s)")
    return 0 if ok else 1


if __name__ == "__main__":
    sys.exit(main())
