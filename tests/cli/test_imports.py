"""The light commands stay light: what a fresh process has imported at its end."""

from __future__ import annotations

import subprocess
import sys

import pytest

HEAVY = (
    "numpy", "numba", "scipy", "pandas", "shapely", "sqlalchemy", "fastapi", "pint", "altair", "vl_convert",
    "typst", "pvlib", "pyproj", "contourpy", "pydantic",
)  # fmt: skip

LIST_MODULES = """
import sys
from plumeline.cli import main
code = main(sys.argv[1:])
print(*sorted({name.split(".")[0] for name in sys.modules}), file=sys.stderr)
sys.exit(code)
"""


def imported_by(*words: str) -> set[str]:
    """Return the top-level packages that a fresh process has imported when a command is done."""
    done = subprocess.run([sys.executable, "-c", LIST_MODULES, *words], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    return set(done.stderr.splitlines()[-1].split())


@pytest.mark.parametrize(
    "words",
    [
        ["--help"],
        ["--version"],
        ["quick", "--help"],
        ["quick", "saturation", "--temperature", "72 degF"],
        ["quick", "saturation", "--temperature", "72 degF", "--elevation", "680 ft", "--json"],
        ["quick", "ammonia", "--total", "1.2 mg/L", "--ph", "8.9", "--temperature", "29 degC"],
        [
            "quick", "pipe", "--air", "2.6 scfm", "--length", "430 ft", "--bore", "0.824 in",
            "--inlet-pressure", "6 psig", "--temperature", "95 degF",
        ],
    ],
    ids=" ".join,
)  # fmt: skip
def test_the_light_commands_import_no_heavy_package(words):
    """Help and the answers of pure arithmetic load none of the packages that cost start-up time."""
    assert imported_by(*words).isdisjoint(HEAVY)


def test_the_listing_would_notice_a_heavy_package():
    """A command that needs numpy is seen to load it, so that the check above can fail."""
    words = ("quick", "plume", "--depth", "12 ft", "--air", "1.3 scfm", "--temperature", "28 degC")
    assert {"numpy", "numba"} <= imported_by(*words, "--alpha", "0.075")
