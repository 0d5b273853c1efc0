"""How every kernel is compiled: cached on disk, without the interpreter's lock."""

from __future__ import annotations

import hashlib
import os
import tempfile
import types
from collections.abc import Callable
from pathlib import Path
from typing import Any, ParamSpec, TypeVar, cast

P = ParamSpec("P")
R = TypeVar("R")


def _source_digest() -> str:
    """Return a hash of science/ and kernels/: numba's own cache does not notice edits in other files."""
    package = Path(__file__).resolve().parent.parent
    digest = hashlib.sha256()
    for folder in ("science", "kernels"):
        for path in sorted((package / folder).glob("*.py")):
            digest.update(path.name.encode())
            digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def _cache_folder() -> Path:
    """Return a writable folder for compiled kernels, keyed by the sources they came from."""
    base = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    folder = base / "plumeline" / _source_digest()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if os.access(folder, os.W_OK):
            return folder
    except OSError:
        pass
    return (
        Path(tempfile.gettempdir())
        / f"plumeline-{os.getuid() if hasattr(os, 'getuid') else 0}"
        / _source_digest()
    )


os.environ["NUMBA_CACHE_DIR"] = str(_cache_folder())

import numba  # noqa: E402  (the cache folder must be named before numba is loaded)

# and again for a process in which somebody else loaded numba first
numba.config.CACHE_DIR = os.environ["NUMBA_CACHE_DIR"]  # type: ignore[attr-defined]


def kernel(function: Callable[P, R]) -> Callable[P, R]:
    """Compile ``function`` in nopython mode, cached and without the interpreter's lock."""
    return cast("Callable[P, R]", numba.njit(cache=True, nogil=True)(function))


def fast_kernel(function: Callable[P, R]) -> Callable[P, R]:
    """Compile like `kernel`, but a division by zero gives infinity, so that loops over members can be vectors.

    Not with fastmath: it gained 6 % here, and let a member's last bits depend on how many stood beside it.
    """
    return cast("Callable[P, R]", numba.njit(cache=True, nogil=True, error_model="numpy")(function))


_compiled: dict[Callable[..., Any], Callable[..., Any]] = {}


def compiled(relation: Callable[P, R]) -> Callable[P, R]:
    """Compile one science function together with the science functions that it calls.

    The science floor does not know numba, so its functions call each other as plain Python. Here each
    such name is bound to its own compiled twin; constants stay as they are. There is never a second copy
    of a relation's body.
    """
    if relation in _compiled:
        return cast("Callable[P, R]", _compiled[relation])
    plain = cast("types.FunctionType", relation)
    names: dict[str, Any] = dict(plain.__globals__)
    for name in plain.__code__.co_names:
        used = plain.__globals__.get(name)
        if isinstance(used, types.FunctionType) and used.__module__.startswith("plumeline.science"):
            names[name] = compiled(used)
    twin = types.FunctionType(plain.__code__, names, plain.__name__, plain.__defaults__, plain.__closure__)
    twin.__module__ = plain.__module__
    twin.__qualname__ = plain.__qualname__
    twin.__doc__ = plain.__doc__
    _compiled[relation] = numba.njit(cache=True, nogil=True)(twin)
    return cast("Callable[P, R]", _compiled[relation])
