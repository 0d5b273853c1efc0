"""How every kernel is compiled: cached on disk, without the interpreter's lock."""

from __future__ import annotations

import hashlib
import math
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
from numba.core.compiler import Compiler  # noqa: E402

# and again for a process in which somebody else loaded numba first
numba.config.CACHE_DIR = os.environ["NUMBA_CACHE_DIR"]  # type: ignore[attr-defined]


def kernel(function: Callable[P, R]) -> Callable[P, R]:
    """Compile ``function`` in nopython mode, cached and without the interpreter's lock."""
    return cast("Callable[P, R]", numba.njit(cache=True, nogil=True)(function))


class _Disjoint(Compiler):
    """numba's compiler, told that the arrays of one call share no memory."""

    def __init__(
        self,
        typingctx: Any,
        targetctx: Any,
        library: Any,
        args: Any,
        return_type: Any,
        flags: Any,
        locals: Any,
    ) -> None:
        flags.noalias = True
        super().__init__(typingctx, targetctx, library, args, return_type, flags, locals)  # type: ignore[no-untyped-call]


# a product and a sum may be one instruction; nothing is reordered and nothing assumed of NaN
LANE_OPTIONS: dict[str, Any] = {
    "cache": True,
    "nogil": True,
    "error_model": "numpy",
    "fastmath": {"contract"},
}


def vector_kernel(function: Callable[P, R]) -> Callable[P, R]:
    """Compile a kernel whose inner loops run over the members of a block and become vectors.

    **No two arrays of one call may overlap where either is written**: the compiler is told so, for it would
    otherwise have to prove it for each pair, and gives up. A division by zero gives infinity. The loops run over
    `column_index.LANES` members, a constant, so that no member is ever left to a scalar remainder: what a member
    comes to does not depend on how many stand beside it.
    """
    return cast("Callable[P, R]", numba.njit(pipeline_class=_Disjoint, **LANE_OPTIONS)(function))


def fast_kernel(function: Callable[P, R]) -> Callable[P, R]:
    """Compile like `kernel`, but a division by zero gives infinity and does not raise."""
    return cast("Callable[P, R]", numba.njit(cache=True, nogil=True, error_model="numpy")(function))


def inner_kernel(function: Callable[P, R]) -> Callable[P, R]:
    """Compile like `fast_kernel`, to be put whole into the kernels that call it.

    A tuple of arrays is handed on array by array, each with its shape and strides: for a function of a few numbers
    the handing costs more than the work.
    """
    return cast(
        "Callable[P, R]", numba.njit(cache=True, nogil=True, error_model="numpy", forceinline=True)(function)
    )


def merged_kernel(function: Callable[P, R]) -> Callable[P, R]:
    """Compile a function into each kernel that calls it, as if its lines stood there.

    What a kernel calls is optimised again with every caller above it, so a function that only calls others costs
    its whole subtree once more to compile.
    """
    return cast("Callable[P, R]", numba.njit(nogil=True, error_model="numpy", inline="always")(function))


def lane_function(function: Callable[P, R]) -> Callable[P, R]:
    """Compile a function of numbers that is to be inlined into the loops of vector kernels."""
    return cast("Callable[P, R]", numba.njit(forceinline=True, **LANE_OPTIONS)(function))


_compiled: dict[tuple[Callable[..., Any], bool], Callable[..., Any]] = {}


def _twin(relation: Callable[P, R], *, lanes: bool) -> Callable[P, R]:
    """Compile one science function together with the science functions that it calls.

    The science floor does not know numba, so its functions call each other as plain Python. Here each
    such name is bound to its own compiled twin; constants stay as they are. There is never a second copy
    of a relation's body.
    """
    if (relation, lanes) in _compiled:
        return cast("Callable[P, R]", _compiled[relation, lanes])
    plain = cast("types.FunctionType", relation)
    names: dict[str, Any] = dict(plain.__globals__)
    if lanes:
        from plumeline.kernels import lane_math

        names["math"] = lane_math
    for name in plain.__code__.co_names:
        used = plain.__globals__.get(name)
        if isinstance(used, types.FunctionType) and used.__module__.startswith("plumeline.science"):
            names[name] = _twin(used, lanes=lanes)
        elif lanes and used is not None and used is getattr(math, name, None):
            names[name] = getattr(lane_math, name, used)
    twin = types.FunctionType(plain.__code__, names, plain.__name__, plain.__defaults__, plain.__closure__)
    twin.__module__ = plain.__module__
    # numba's cache tells functions apart by this name and their code, which the two twins share
    twin.__qualname__ = plain.__qualname__ + ("_in_lanes" if lanes else "")
    twin.__doc__ = plain.__doc__
    made = lane_function(twin) if lanes else numba.njit(cache=True, nogil=True)(twin)
    _compiled[relation, lanes] = made
    return cast("Callable[P, R]", made)


def compiled(relation: Callable[P, R]) -> Callable[P, R]:
    """Compile one science function for numbers, one at a time."""
    return _twin(relation, lanes=False)


def in_lanes(relation: Callable[P, R]) -> Callable[P, R]:
    """Compile the same science function for the loops of vector kernels, with exp and log of `lane_math`."""
    return _twin(relation, lanes=True)
