"""Work through the invented Hollow Oak job and leave its plan in build/hollow-oak/; opens nothing."""

from __future__ import annotations

import os
import sys
from pathlib import Path

from plumeline.cli import main
from plumeline.demo import demo_folder

OUT = Path("build") / "hollow-oak"


def run() -> int:
    """Make the plan of the demo job and return the exit code."""
    os.chdir(Path(__file__).resolve().parent.parent)
    print("Hollow Oak, an invented pond of 1.6 acres: all stages. This takes minutes.", file=sys.stderr)
    code = main(["plan", str(demo_folder()), "--out", str(OUT)])
    if code == 0:
        print(
            "All ponds in a browser: .venv/bin/plumeline serve, then open the address it prints.",
            file=sys.stderr,
        )
    return code


if __name__ == "__main__":
    sys.exit(run())
