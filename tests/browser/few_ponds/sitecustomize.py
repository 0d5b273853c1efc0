"""Loaded by a server's processes whose PYTHONPATH begins with this folder: a start-up asks a quarter of the ponds.

What is clicked, computed, drawn and printed is the same; the whole number takes minutes of a slow machine.
"""

from __future__ import annotations

import sys

# the process that works plans out, which loads the stage anyway; the server itself must start as it always does
if any("spawn_main" in word for word in sys.orig_argv):
    from functools import partial

    from plumeline.stages import plan

    plan.startup = partial(plan.startup, search_members=250, fresh_members=500)
