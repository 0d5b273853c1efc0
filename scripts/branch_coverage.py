"""Name the branches of store/ and science/ that no test takes.

    python -m scripts.branch_coverage                # all; the tests of both, about ten minutes on a free core
    python -m scripts.branch_coverage --only store   # one of them

Each branch that no test takes must stand, with its reason, in docs/branches-not-taken.toml; exit 1 where one does
not. A branch is named by module, function and the words of the two lines, so that it survives moved lines. Left out
are the tests that kill processes, cut the power or let the disk fail: another process's branches are not seen anyhow.
"""

from __future__ import annotations

import argparse
import ast
import os
import sys
import tomllib
from pathlib import Path

import pytest
from scripts.mutate_store import TESTS, TOO_LONG
from scripts.store_changes import ROOT

TABLE = ROOT / "docs" / "branches-not-taken.toml"
PACKAGE = ROOT / "src" / "plumeline"
MORE = (
    "tests/web/test_capture_pages.py", "tests/web/test_guessing.py", "tests/web/test_trouble.py",
    "tests/web/test_left_out.py", "tests/web/test_recent.py",
)  # fmt: skip
WHOLE = {
    "store": (*TESTS, *MORE),
    "science": ("tests/science", "tests/published", "tests/stages/test_gas_pressure.py"),
}
LEFT_OUT = (*(f"tests/store/{name}" for name in TOO_LONG), "tests/science/test_mutations.py",
            "tests/published/test_synthetic_surveys.py")  # fmt: skip


def function_at(tree: ast.Module, line: int) -> str:
    """Return the qualified name of the innermost function or class that a line stands in; empty outside of any."""
    names: list[str] = []
    body: list[ast.stmt] = tree.body
    while True:
        inside = [
            one
            for one in body
            if isinstance(one, ast.FunctionDef | ast.ClassDef) and one.lineno <= line <= (one.end_lineno or 0)
        ]
        if not inside:
            return ".".join(names)
        names.append(inside[0].name)
        body = inside[0].body


def name_of(path: Path, start: int, end: int) -> str:
    """Return the name of a branch from a line to another, or, where that is negative, out of the function."""
    text = path.read_text(encoding="utf-8")
    lines = text.splitlines()
    to = lines[end - 1].strip() if end > 0 else "the end"
    place = f"{path.parent.name}/{path.stem}.{function_at(ast.parse(text), start)}"
    return f"{place}: {lines[start - 1].strip()} -> {to}"


def missing(tests: tuple[str, ...], folder: Path) -> tuple[list[str], int]:
    """Run tests and return the branches of a folder's modules that none takes, and how many there are in all."""
    import coverage

    watch = coverage.Coverage(data_file=None, branch=True, include=[f"{folder}/*.py"], config_file=False)
    left_out = [f"--ignore={ROOT / name}" for name in LEFT_OUT]
    watch.start()
    told = pytest.main(["-q", "-p", "no:cacheprovider", *left_out, *(str(ROOT / name) for name in tests)])
    watch.stop()
    if told:
        print("some tests do not pass: what they would take is counted as not taken", file=sys.stderr)
    found, count = [], 0
    for path in sorted(folder.glob("*.py")):
        analysis = watch._analyze(str(path))
        count += analysis.numbers.n_branches
        arcs = analysis.missing_branch_arcs()
        found += [name_of(path, start, end) for start, ends in arcs.items() for end in ends]
    return found, count


def main() -> int:
    """Run the tests, and print each branch that none takes."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n", 1)[0])
    parser.add_argument("--only", choices=sorted(WHOLE), help="this folder alone")
    given = parser.parse_args()
    os.chdir(ROOT)
    os.environ["CI"] = "true"  # drawn examples are then the same each time
    rows = tomllib.loads(TABLE.read_text(encoding="utf-8"))["branch"] if TABLE.is_file() else []
    reasons = {row["branch"] for row in rows if row["reason"].strip()}
    unlisted = 0
    for name in [given.only] if given.only else sorted(WHOLE):
        found, count = missing(WHOLE[name], PACKAGE / name)
        for branch in found:
            mark = "listed" if branch in reasons else "NOT LISTED"
            unlisted += branch not in reasons
            print(f"not taken ({mark}): {branch}")
        print(f"{name}: {count - len(found)} of {count} branches taken")
    return int(unlisted > 0)


if __name__ == "__main__":
    sys.exit(main())
