"""The invented Hollow Oak job: a summer camp's pond of 1.6 acres with a green scum in August."""

from __future__ import annotations

from importlib import resources
from pathlib import Path


def demo_folder() -> Path:
    """Return the folder of the Hollow Oak job; scripts/make_demo.py makes its files."""
    return Path(str(resources.files("plumeline.demo").joinpath("hollow-oak")))
