"""What is slow the first time is done once beside the server: compiled code is loaded, or compiled after a set-up."""

from __future__ import annotations

import functools
import threading
import time

AFTER_S = 2.0
"""The first page goes before."""


@functools.cache
def warm_up() -> None:
    """Work the demo pond through, once in a process, so that nobody's first drag waits for it."""
    # slow to load: not before the server's address is said
    from plumeline.demo import demo_folder
    from plumeline.files.job_folder import load_job
    from plumeline.stages.sizing import sizing
    from plumeline.stages.survey import survey

    job = load_job(demo_folder())
    sizing(job, survey(job, job.seed), seed=job.seed)


def warming(after_s: float = AFTER_S) -> threading.Thread:
    """Begin to warm up beside whatever else goes on; the process may end before it is done.

    Args:
        after_s: how long it waits before.
    """

    def wait_and_warm() -> None:
        time.sleep(after_s)
        warm_up()

    found = threading.Thread(target=wait_and_warm, name="warm-up", daemon=True)
    found.start()
    return found
