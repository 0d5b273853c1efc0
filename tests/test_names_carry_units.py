"""Every number's name carries its unit: a walk through the syntax trees of the package (house rule 2).

Looked at: parameters of functions and fields of classes whose annotation is a number, a tuple, list or array
of numbers. A name passes when it ends in a unit, in a word for a pure number, or is a count or an index from
the short lists below. Single letters of printed equations are for locals, which are not looked at.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from plumeline.units import SUFFIXES

SOURCE = Path(__file__).resolve().parent.parent / "src" / "plumeline"

COMPOSED = {
    "1_s", "1_s2", "1_m", "s2", "pa_s", "pa_m", "m2_s", "m2_s2", "m2_s3", "m3_s2", "m4_s3", "m_s2", "m3_d", "m6",
    "kg_m4", "kg_m2", "kg_d", "kg_h", "kg_m2_s", "kg_mol", "kg_mol_m3", "mol", "mol_s", "mol_kg", "mol_m3",
    "mol_l", "umol_l", "mmol_l", "meq_l", "mol_m2_s", "umol_m2_s", "mol_m3_bar", "mol_m3_pa", "g_mol",
    "g_m2", "g_m2_d", "g_m2_s", "g_m3_d", "g_m3_s", "mg_m3", "mg_l_d", "mg_l_h", "mg_l_s", "mg_mg_h",
    "l_mg", "j", "j_m2", "j_m3", "j_kg", "j_kg_k", "j_m3_k", "j_mol_k", "w_k", "w_m_k", "w_m2_k", "m_k_w",
    "m2_k_w", "m_k", "k_m", "degc_m", "hz", "rad", "kwh", "kwh_d", "n_m2", "m3_per_m", "per_kg",
    "xy", "m4", "pa2", "ohm_per_m", "bytes", "px",
}  # fmt: skip
WORDS = {"volts", "amps", "hour", "hours", "minutes", "days", "years", "money"}
"""Units spelled out."""
PURE = {"fraction", "efficiency", "probability", "number", "risk", "share"}
UNITS = set(SUFFIXES) | COMPOSED | PURE | WORDS

COUNTS = {
    "count", "counts", "members", "failures", "row", "rows", "index", "indices", "seed", "format_version",
    "digits", "column", "columns", "layer", "layers", "member", "step", "steps", "day", "start", "stop",
    "first", "last", "i", "j", "k", "n", "width", "widths", "level", "page", "pages", "year", "month",
    "attempts", "draws", "trials", "order", "parent", "law", "limit", "most", "chunk", "chain", "substeps",
    "candidates", "tries", "tried", "lane", "top", "bottom", "plumes", "segment", "diffusers", "variable", "begin",
    "bound", "rung", "visits", "end", "orders", "weekdays", "pilots", "item", "piece", "pieces", "node", "outlet",
    "fittings", "leaks",
}  # fmt: skip
"""Counts, indices and labels: whole numbers whose name begins or ends in one of these."""
ALONE = {"ph", "lon", "lat", "x", "y", "xy", "places", "rings"}
"""Names that are their own unit, and coordinates: metres in a plane, or degrees."""

ANY_UNIT = {
    "value", "values", "low", "middle", "high", "mode", "mean", "se", "weight", "probability", "power",
    "spread", "slope", "at", "f_low", "f_high", "f_x", "h", "lower", "upper", "pivot", "side", "part",
    "parts", "bad", "numbers", "pairs", "entry", "entries", "heading", "arguments", "losses", "law", "read",
    "median", "p05", "p95", "carried", "total", "under", "above", "previous", "amount", "gain", "flux", "ahead",
    "meter", "place", "own", "model", "least", "log_weight",
}  # fmt: skip
"""Parameters and fields of helpers for numbers of any unit: quantiles, root finders, tables, limits."""

MIXED = {
    "state", "parameters", "weather", "books", "record", "records", "snapshots", "trace", "ambient",
    "setting", "around", "withdrawn", "limits", "out", "solubility", "draws", "grid", "rates", "factors",
    "pool", "face", "fluxes", "heat_factors", "mass_factors",
    "scores", "seen", "root", "basis", "centre", "distance", "before", "after", "lasting", "quantities", "off", "noise",
}  # fmt: skip
"""Arrays whose columns have a unit each, named by the constants of their module."""

MASKS = {
    "inside",
    "free",
    "covers",
    "lost",
    "other_lost",
    "on",
    "used",
    "censored",
    "wanted",
    "live",
    "closed",
    "walled",
}
"""Arrays of yes and no."""

EXCEPT = {
    "oxygen_transfer_efficiency_to_surface": "a JSON key that was agreed on",
    "days_to_complete": "the unit stands first",
    "counter": "a key of the items that phones send",
    "sequence": "a key of the capture API: a place in an order",
    "have": "a key of the capture API: numbers of parts",
    "format": "a key of files: the number of their version",
    "effective_members": "a count of members that need not be whole",
}

NUMBERS = {"float", "Fraction", "NotNegative", "Positive", "float64"}
WHOLE = {"int", "int64", "Indices"}
ARRAYS = {"ndarray", "NDArray", "Array", "ArrayLike", "Floats", "FloatArray"}
OPAQUE = {"Callable", "dict", "Mapping", "MutableMapping", "Literal", "type", "Iterator", "Iterable"}
"""What is inside these is not the unit of the name: functions, tables by key, words."""

OUTSIDE = {
    "units": "numbers of any unit, whose suffix is another argument",
    "cli/common.py": "limits of an option, in the unit that its suffix argument names",
}


OPEN: dict[str, set[str]] = {
    "files/suspicions.py": {"deepest", "depth"},
    "stages/plume/lift.py": {"air"},
    "stages/reading/debt.py": {"demands"},
    "stages/reading/slices.py": {"limit"},
}
"""Names still to be mended; an entry that is no longer needed fails the test."""


def names_in(node: ast.expr | None) -> set[str]:
    """Return the names of types in an annotation, without those inside functions and tables by key."""
    if node is None:
        return set()
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return names_in(ast.parse(node.value, mode="eval").body)
    if isinstance(node, ast.Name):
        return {node.id}
    if isinstance(node, ast.Attribute):
        return {node.attr}
    if isinstance(node, ast.BinOp):
        return names_in(node.left) | names_in(node.right)
    if isinstance(node, ast.Subscript):
        head = names_in(node.value)
        return head if head & OPAQUE else head | names_in(node.slice)
    if isinstance(node, ast.Tuple | ast.List):
        return set().union(*(names_in(part) for part in node.elts))
    return set()


def carries_unit(name: str, kinds: set[str], *, private: bool) -> bool:
    """Return whether the name of a number says its unit, or that it needs none."""
    pieces = name.strip("_").split("_")
    endings = {"_".join(pieces[start:]) for start in range(len(pieces))}
    if endings & (COMPOSED | PURE | WORDS) or (endings - {"_".join(pieces)}) & UNITS:
        return True
    if name in ALONE | ANY_UNIT | MIXED | MASKS or name in EXCEPT:
        return True
    whole = not kinds & NUMBERS
    if whole and {pieces[0], pieces[-1]} & COUNTS:
        return True
    return private and bool(kinds & ARRAYS)


def numbers_of(tree: ast.Module) -> Iterator[tuple[int, str, set[str], bool]]:
    """Yield line, name, types and privacy of every parameter and field that is a number."""
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            args = node.args
            found = [*args.posonlyargs, *args.args, *args.kwonlyargs]
            found += [arg for arg in (args.vararg, args.kwarg) if arg]
            items = [(arg.lineno, arg.arg, arg.annotation) for arg in found]
        elif isinstance(node, ast.ClassDef):
            fields = [item for item in node.body if isinstance(item, ast.AnnAssign)]
            items = [
                (item.lineno, item.target.id, item.annotation)
                for item in fields
                if isinstance(item.target, ast.Name)
            ]
        else:
            continue
        for line, name, annotation in items:
            kinds = names_in(annotation)
            if kinds & (NUMBERS | WHOLE | ARRAYS):
                yield line, name, kinds, node.name.startswith("_")


def bare_names(source: str) -> list[tuple[int, str]]:
    """Return line and name of every number without a unit."""
    found = numbers_of(ast.parse(source))
    return [
        (line, name) for line, name, kinds, private in found if not carries_unit(name, kinds, private=private)
    ]


def modules() -> list[str]:
    """Return the modules to look at, relative to the package."""
    found = sorted(path.relative_to(SOURCE).as_posix() for path in SOURCE.rglob("*.py"))
    return [name for name in found if not any(name.startswith(part) for part in OUTSIDE)]


@pytest.mark.parametrize("module", modules())
def test_every_number_carries_its_unit(module):
    """No parameter or field that is a number goes without a unit in its name."""
    found = bare_names((SOURCE / module).read_text(encoding="utf-8"))
    allowed = OPEN.get(module, set())
    bare = [f"{module}:{line} {name}" for line, name in found if name not in allowed]
    assert not bare, "numbers without a unit in their name:\n" + "\n".join(bare)
    assert allowed <= {name for _, name in found}, "mended: take it out of OPEN"


@pytest.mark.parametrize(
    ("source", "bare"),
    [
        ("def f(depth: float): ...", ["depth"]),
        ("def f(depth_m: float, flow: float | None = None): ...", ["flow"]),
        ("class A:\n    depth: tuple[float, ...]\n    name: str\n", ["depth"]),
        ("def f(profile: npt.NDArray[np.float64], *, ph: float): ...", ["profile"]),
        ("def _f(profile: npt.NDArray[np.float64], speed: float): ...", ["speed"]),
        ("def f(law: Callable[[float], float], table: dict[str, float]): ...", []),
        ("class A:\n    do_mg_l: Fraction = 0.0\n    count: int = 1\n    k600_m_s: 'float'\n", []),
        ("def f(count: float, members: int, pressure: int): ...", ["count", "pressure"]),
    ],
)
def test_the_walk_sees_bare_numbers(source, bare):
    """A bare number is found where there is one, and only there."""
    assert [name for _, name in bare_names(source)] == bare
