"""What the whole plan of the demonstration pond takes: wall-clock time, memory, candidates, member-days, plume solves.

Run by hand: `python benchmarks/whole_plan.py [--short]`. Each case runs in a process of its own, with its kernels read
from the cache. The growth of the cost with members and with days is the slope of log time on log size, of the column's
march alone and of the whole plan with half and with all of its members; two threads are compared with one in turn.
"""

from __future__ import annotations

import json
import os
import resource
import subprocess
import sys
import time
from typing import Any

import numpy as np

CASES: dict[str, dict[str, Any]] = {
    "whole plan, 2 threads": {"threads": 2},
    "whole plan, 1 thread": {"threads": 1},
    "half the members, 2 threads": {"threads": 2, "share": 0.5},
}


def plan(threads: int, share: float = 1.0) -> dict[str, float]:
    """Make the plan of the demonstration pond in this process, and return what it took."""
    os.cpu_count = lambda: threads
    import importlib

    from plumeline.demo import demo_folder
    from plumeline.files.job_folder import load_job
    from plumeline.kernels import column_index as ix
    from plumeline.kernels.warm import warm
    from plumeline.stages import plan as whole
    from plumeline.stages.startup import stage

    module = importlib.import_module("plumeline.stages.column.march")
    warm()
    solves = [0.0]
    march_block = module._march_block

    def counted(*arguments: Any) -> Any:
        part = march_block(*arguments)
        solves[0] += float(part[0].records[ix.PLUME_SOLVES].sum())
        return part

    module._march_block = counted  # type: ignore[attr-defined]
    original = whole.startup

    def smaller(*arguments: Any, **options: Any) -> Any:
        return original(
            *arguments,
            **options,
            search_members=round(share * stage.SEARCH_MEMBERS),
            fresh_members=round(share * stage.FRESH_MEMBERS),
        )

    whole.startup = smaller  # type: ignore[assignment]
    job = load_job(demo_folder())
    begin = time.perf_counter()
    made = whole.make_plan(job, seed=1)
    return {
        "seconds": time.perf_counter() - begin,
        "megabytes": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0,
        "candidates": made.startup.searched_candidates,
        "member_days": made.startup.member_days,
        "plume_solves": solves[0],
    }


def in_its_own_process(options: dict[str, Any]) -> dict[str, float]:
    """Run one case elsewhere, so that neither memory nor caches are shared."""
    done = subprocess.run(
        [sys.executable, __file__, "--one", json.dumps(options)], check=True, capture_output=True, text=True
    )
    told: dict[str, float] = json.loads(done.stdout.splitlines()[-1])
    return told


def march_exponents() -> tuple[float, float]:
    """Return how the cost of the column grows with members and with days: slopes of logarithms, one thread."""
    from column_yardstick import make_pond

    from plumeline.kernels.column import advance

    def seconds(members: int, hours: int) -> float:
        best = np.inf
        for _ in range(5):
            pond = make_pond(members, air=True)
            begin = time.thread_time()
            advance(*pond, 3, 2, 0, hours)
            best = min(best, time.thread_time() - begin)
        return float(best)

    seconds(32, 1)
    few, many = seconds(64, 24), seconds(512, 24)
    short, long = seconds(128, 6), seconds(128, 24)
    return float(np.log(many / few) / np.log(8.0)), float(np.log(long / short) / np.log(4.0))


def main() -> None:
    """Run the cases and print the table."""
    if sys.argv[1:2] == ["--one"]:
        print(json.dumps(plan(**json.loads(sys.argv[2]))))
        return
    in_members, in_days = march_exponents()
    print(f"column: cost as members^{in_members:.2f}, as days^{in_days:.2f} (goal 1)")
    names = list(CASES)[:1] if "--short" in sys.argv else list(CASES)
    found = {}
    for name in names:
        found[name] = told = in_its_own_process(CASES[name])
        print(
            f"{name}: {told['seconds']:.1f} s, {told['megabytes']:.0f} MB, {told['candidates']:.0f} candidates, "
            f"{told['member_days']:,.0f} member-days, {told['plume_solves']:,.0f} plume solves"
        )
    if len(found) == len(CASES):
        two, one, half = (found[name]["seconds"] for name in names)
        print(f"two threads {one / two:.2f} times as fast as one; plan as members^{np.log2(two / half):.2f}")


if __name__ == "__main__":
    main()
