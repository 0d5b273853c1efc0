"""How the truth's loops are compiled: cached, in a folder keyed by the sources of this folder."""

from __future__ import annotations

import hashlib
import os
import tempfile
from pathlib import Path

import numba


def _folder() -> str:
    digest = hashlib.sha256()
    for path in sorted(Path(__file__).resolve().parent.glob("*.py")):
        if not path.name.startswith("test_"):
            digest.update(path.read_bytes())
    base = Path(os.environ.get("XDG_CACHE_HOME") or Path(tempfile.gettempdir()))
    return str(base / "pond-truth" / digest.hexdigest()[:16])


def loop(function):
    """Compile a function in nopython mode; numba's own cache does not notice edits in other files."""
    before = numba.config.CACHE_DIR
    numba.config.CACHE_DIR = _folder()
    try:
        return numba.njit(cache=True, nogil=True, error_model="numpy")(function)
    finally:
        numba.config.CACHE_DIR = before
