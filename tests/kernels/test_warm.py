"""Warming: every kernel that the program calls is compiled by it, with the types the program uses."""

from __future__ import annotations

import subprocess
import sys

SCRIPT = """
import gc
from numba.core.registry import CPUDispatcher
from plumeline.kernels.warm import warm
warm()

def seen():
    return {(kernel.py_func.__module__, kernel.py_func.__qualname__, tuple(map(str, kernel.signatures)))
            for kernel in gc.get_objects() if isinstance(kernel, CPUDispatcher)}

def misses():
    return sum(sum(kernel.stats.cache_misses.values())
               for kernel in gc.get_objects() if isinstance(kernel, CPUDispatcher))

names = {(module, name) for module, name, _ in seen()}
before, missed = seen(), misses()
import contextlib, io
with contextlib.redirect_stdout(io.StringIO()):
    WORK
after = {entry for entry in seen() if (entry[0], entry[1]) in names}
print(sorted(after - before))
print(misses() - missed)
print(len(before))
"""

QUICK_PLUME = """
    from plumeline.cli import main
    assert main(["quick", "plume", "--depth", "12 ft", "--air", "1.3 scfm", "--temperature", "28 degC"]) == 0
"""

ALL_STAGES = """
    from functools import partial
    from plumeline.cli import main
    from plumeline.demo import demo_folder
    from plumeline.stages import plan
    from plumeline.stages.startup import known, schedule, stage
    known.draw_ensemble = partial(known.draw_ensemble, most_tries=32)
    stage.candidates = lambda days, *_: (schedule.growing(30, 2.0, 15.0, days),)
    plan.startup = partial(stage.startup, search_members=16, fresh_members=16)
    assert main(["startup", str(demo_folder())]) == 0
"""


def compiled_by(work: str) -> tuple[str, int, int]:
    """Return what `work` compiled after warming in a fresh process, its cache misses, and how many kernels.

    A miss is a kernel compiled and written to the cache. It is counted in the process itself: the cache's
    folder is shared with whatever else runs.
    """
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT.replace("\n    WORK\n", work)], capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    kernels, missed, count = done.stdout.splitlines()[-3:]
    return kernels, int(missed), int(count)


def test_a_quick_plume_compiles_nothing_after_warming():
    """After warming, `quick plume` finds all it calls and adds nothing to the cache."""
    kernels, missed, count = compiled_by(QUICK_PLUME)
    assert (kernels, missed) == ("[]", 0)
    assert count > 10


def test_the_whole_start_up_compiles_nothing_after_warming():
    """After warming, layout, air, plumes and the water column find all they call."""
    kernels, missed, _ = compiled_by(ALL_STAGES)
    assert (kernels, missed) == ("[]", 0)


def test_the_check_would_notice_another_signature():
    """A kernel called with other types is seen, so that the checks above can fail."""
    other = """
    from plumeline.kernels.network import root_of
    root_of(1, 2)
"""
    kernels, _, _ = compiled_by(other)
    assert "root_of" in kernels
