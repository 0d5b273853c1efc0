"""Change the relations of science/ one small way at a time and see whether tests/published/ notice.

Every numeric constant is raised by a tenth, every plus and minus turned round, every log taken to the other
base, one at a time. A change that no published test notices is a survivor; each survivor must be listed, with
its reason, in docs/mutation-survivors.toml.

    python scripts/mutate_science.py --draw 30 --seed 1     # what CI runs
    python scripts/mutate_science.py --jobs 2               # all of them

Tests are collected once. Each change is made in the memory of a forked process: the code of one function is
swapped, then only those published tests run that name the relation, or one that calls it, those first that rest on
the fewest relations, and none after the first that fails. At the end every test that noticed something runs without
a change, and must pass. Exit 1 when fewer than nine in ten are noticed, or a survivor is not listed.
"""

from __future__ import annotations

import argparse
import ast
import contextlib
import io
import math
import os
import random
import re
import signal
import sys
import time
import tomllib
import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from types import FunctionType, ModuleType
from typing import BinaryIO

import pytest
from _pytest.runner import runtestprotocol

ROOT = Path(__file__).resolve().parent.parent
SCIENCE = ROOT / "src" / "plumeline" / "science"
PUBLISHED = ROOT / "tests" / "published"
SURVIVORS = ROOT / "docs" / "mutation-survivors.toml"
LEAST_CAUGHT = 0.9
TIME_OUT_S = 30


@dataclass(frozen=True)
class Mutant:
    """One change: where it is made, what is changed, and a name that survives moved lines."""

    module: str
    owner: str
    position: int
    name: str
    line: int


def is_number(node: ast.AST) -> bool:
    """Say whether a node is a numeric constant."""
    return isinstance(node, ast.Constant) and type(node.value) in (int, float)


def is_log(node: ast.AST) -> bool:
    """Say whether a node calls log or log10."""
    if not isinstance(node, ast.Call):
        return False
    called = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
    return called in ("log", "log10")


def kind_of(node: ast.AST) -> str:
    """Return how a node is changed, in words; empty where it is not."""
    if is_number(node):
        return f"{node.value!r} times 1.1"  # type: ignore[attr-defined]
    if isinstance(node, ast.BinOp | ast.AugAssign) and isinstance(node.op, ast.Add | ast.Sub):
        return "plus to minus" if isinstance(node.op, ast.Add) else "minus to plus"
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        return "sign dropped"
    return "other log" if is_log(node) else ""


def owners(tree: ast.Module) -> Iterator[tuple[str, ast.stmt]]:
    """Yield functions and module constants by name; the table of ranges is data and left out."""
    for node in tree.body:
        if isinstance(node, ast.FunctionDef):
            yield node.name, node
        elif isinstance(node, ast.Assign | ast.AnnAssign):
            target = node.targets[0] if isinstance(node, ast.Assign) else node.target
            if isinstance(target, ast.Name) and target.id != "RANGE":
                yield target.id, node


def body_nodes(statement: ast.stmt) -> list[ast.AST]:
    """Return the nodes of a statement in a fixed order, signatures left out."""
    parts = statement.body if isinstance(statement, ast.FunctionDef) else [statement]
    return [node for part in parts for node in ast.walk(part)]


def mutants_of(path: Path) -> list[Mutant]:
    """Return every change of one module."""
    found: list[Mutant] = []
    for owner, statement in owners(ast.parse(path.read_text(encoding="utf-8"))):
        seen: dict[str, int] = {}
        for position, node in enumerate(body_nodes(statement)):
            kind = kind_of(node)
            if not kind:
                continue
            seen[kind] = seen.get(kind, 0) + 1
            name = f"{path.stem}.{owner}: {kind}, no. {seen[kind]}"
            found.append(Mutant(path.stem, owner, position, name, getattr(node, "lineno", 0)))
    return found


def raised(node: ast.Constant, whole: bool) -> int | float:
    """Return a constant raised by a tenth; zero becomes a tenth, and a count the next whole number."""
    if whole:
        return int(node.value) + max(1, int(node.value) // 10)  # type: ignore[arg-type]
    return 0.1 if node.value == 0 else node.value * 1.1  # type: ignore[operator,return-value]


class Change(ast.NodeTransformer):
    """Changes one node."""

    def __init__(self, target: ast.AST) -> None:
        self.target = target
        self.counts: set[int] = set()

    def visit(self, node: ast.AST) -> ast.AST:
        """Change the node when it is the one, else go on downward."""
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "range":
            self.counts.update(id(argument) for argument in node.args)
        if isinstance(node, ast.Subscript):
            self.counts.add(id(node.slice))
        if node is not self.target:
            return self.generic_visit(node)
        if isinstance(node, ast.Constant):
            return ast.copy_location(ast.Constant(raised(node, id(node) in self.counts)), node)
        if isinstance(node, ast.BinOp | ast.AugAssign):
            node.op = ast.Sub() if isinstance(node.op, ast.Add) else ast.Add()
            return node
        if isinstance(node, ast.UnaryOp):
            return node.operand
        assert isinstance(node, ast.Call)
        called = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
        other = "_log10_for_log" if called == "log" else "_log_for_log10"
        node.func = ast.copy_location(ast.Name(other, ast.Load()), node.func)
        return node


def apply(mutant: Mutant, module: ModuleType) -> None:
    """Make one change in the memory of this process."""
    path = SCIENCE / f"{mutant.module}.py"
    tree = ast.parse(path.read_text(encoding="utf-8"))
    statement = dict(owners(tree))[mutant.owner]
    target = body_nodes(statement)[mutant.position]
    changed = ast.fix_missing_locations(Change(target).visit(tree))
    space = {"__name__": module.__name__, "_log10_for_log": math.log10, "_log_for_log10": math.log}
    exec(compile(changed, str(path), "exec"), space)
    added = {"_log10_for_log": math.log10, "_log_for_log10": math.log}
    vars(module).update(added)
    old, new = getattr(module, mutant.owner), space[mutant.owner]
    twins: dict[FunctionType, FunctionType] = getattr(
        sys.modules.get("plumeline.kernels.jit"), "_compiled", {}
    )
    if isinstance(statement, ast.FunctionDef):
        old.__code__ = new.__code__  # type: ignore[attr-defined]
        if old in twins:
            twins[old].__code__ = old.__code__
            twins[old].__globals__.update(added)
        return
    homes = (str(PUBLISHED), str(ROOT / "src" / "plumeline"))
    loaded = [
        other for other in sys.modules.values() if str(getattr(other, "__file__", "")).startswith(homes)
    ]
    spaces = [vars(other) for other in loaded]
    for names in [*spaces, *(twin.__globals__ for twin in twins.values())]:
        if names.get(mutant.owner) is old:
            names[mutant.owner] = new


def words(node: ast.AST) -> set[str]:
    """Return every name that a piece of code uses."""
    found = {item.id for item in ast.walk(node) if isinstance(item, ast.Name)}
    found |= {item.attr for item in ast.walk(node) if isinstance(item, ast.Attribute)}
    found |= {item.arg for item in ast.walk(node) if isinstance(item, ast.arg)}
    return found | {
        item.value
        for item in ast.walk(node)
        if isinstance(item, ast.Constant) and isinstance(item.value, str)
    }


def reach(used: dict[str, set[str]]) -> dict[str, set[str]]:
    """Return, for each name, all names that it uses directly or through others."""
    found = {name: set(names) for name, names in used.items()}
    grown = True
    while grown:
        grown = False
        for names in found.values():
            more = set().union(*(found[name] for name in names if name in found)) - names
            if more:
                names |= more
                grown = True
    return found


def tests_by_relation() -> dict[str, list[str]]:
    """Return, for every function and constant of science/, the published tests that rest on it.

    Those that rest on the fewest others stand first: a relation's own test is quick and notices most.
    """
    science: dict[str, set[str]] = {}
    for path in SCIENCE.glob("*.py"):
        for name, statement in owners(ast.parse(path.read_text(encoding="utf-8"))):
            science[name] = words(statement)
    below = reach(science)
    found: dict[str, list[tuple[int, str]]] = {name: [] for name in science}
    for path in sorted(PUBLISHED.glob("test_*.py")):
        local: dict[str, set[str]] = {}
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.FunctionDef):
                local[node.name] = words(node)
            elif isinstance(node, ast.Assign | ast.AnnAssign):
                for target in node.targets if isinstance(node, ast.Assign) else [node.target]:
                    local.update({name: words(node) for name in words(target)})
        for test, names in reach(local).items():
            if not test.startswith("test_"):
                continue
            direct = names & set(science)
            rests_on = direct.union(*(below[one] & set(science) for one in direct))
            for name in rests_on:
                found[name].append((len(rests_on), f"{path.relative_to(ROOT)}::{test}"))
    return {name: [test for _, test in sorted(tests)] for name, tests in found.items()}


class Forks:
    """A pytest plugin: collects once, then runs chosen tests in forked processes with one change each."""

    def __init__(self, mutants: list[Mutant], jobs: int) -> None:
        self.mutants = mutants
        self.jobs = jobs
        self.caught: list[Mutant] = []
        self.survived: list[Mutant] = []
        self.sound = False
        self.items: dict[str, list[pytest.Item]] = {}

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Run every change; stands in for pytest's own loop."""
        for item in session.items:
            self.items.setdefault(item.nodeid.split("[", 1)[0], []).append(item)
        told_by = self.run(tests_by_relation())
        child, told = self.fork(None, sorted(told_by), 600)
        told.close()
        self.sound = not noticed(os.waitpid(child, 0)[1])
        return True

    def run(self, rests: dict[str, list[str]]) -> set[str]:
        """Fork for every change whose relation a test rests on; return the tests that noticed one."""
        told_by = set[str]()
        self.survived += [mutant for mutant in self.mutants if not rests[mutant.owner]]
        waiting = [mutant for mutant in self.mutants if rests[mutant.owner]]
        running: dict[int, tuple[Mutant, BinaryIO]] = {}
        while waiting or running:
            while waiting and len(running) < self.jobs:
                mutant = waiting.pop(0)
                child, told = self.fork(mutant, rests[mutant.owner], TIME_OUT_S)
                running[child] = mutant, told
            child, status = os.wait()
            mutant, told = running.pop(child)
            begun = told.read().split()
            told.close()
            if noticed(status) and begun:
                told_by.add(rests[mutant.owner][int(begun[-1])])
            (self.caught if noticed(status) else self.survived).append(mutant)
        return told_by

    def fork(self, mutant: Mutant | None, tests: list[str], seconds: int) -> tuple[int, BinaryIO]:
        """Start a process that makes one change and runs some tests.

        Returns its id, and a pipe that tells the number of each test that it began.
        """
        told, tell = os.pipe()
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", DeprecationWarning)  # of forking beside sleeping threads
            child = os.fork()
        if child:
            os.close(tell)
            return child, os.fdopen(told, "rb")
        signal.alarm(seconds)
        status = 1
        try:
            if mutant is not None:
                apply(mutant, sys.modules[f"plumeline.science.{mutant.module}"])
            failed = next((report for report in self.reports(tests, tell) if report.failed), None)
            if failed is None:
                status = 0
            elif mutant is None:
                print(f"{failed.nodeid} fails as things stand", file=sys.__stderr__, flush=True)
        finally:
            os._exit(status)  # a change that does not even load is noticed

    def reports(self, tests: list[str], tell: int) -> Iterator[pytest.TestReport]:
        """Run tests one after another, and tell the number of each when it begins."""
        for number, test in enumerate(tests):
            os.write(tell, f"{number} ".encode())
            for item in self.items[test]:
                yield from runtestprotocol(item, log=False)


def noticed(status: int) -> bool:
    """Say whether a process ended in a way that a failed test, a crash or an endless loop would cause."""
    return not (os.WIFEXITED(status) and os.WEXITSTATUS(status) == 0)


def listed() -> set[str]:
    """Return the names of the survivors that are listed with a reason."""
    if not SURVIVORS.is_file():
        return set()
    rows = tomllib.loads(SURVIVORS.read_text(encoding="utf-8")).get("survivor", [])
    return {row["change"] for row in rows if row.get("reason", "").strip()}


def main() -> int:
    """Draw or take all changes, run them and report."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n", 1)[0])
    parser.add_argument("--draw", type=int, help="how many changes to draw; all when left out")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--only", default="", help="regular expression that the change's name must match")
    given = parser.parse_args()
    os.chdir(ROOT)
    os.environ["NUMBA_DISABLE_JIT"] = "1"  # before numba is loaded: kernels then run as plain Python
    mutants = [mutant for path in sorted(SCIENCE.glob("*.py")) for mutant in mutants_of(path)]
    mutants = [mutant for mutant in mutants if re.search(given.only, mutant.name)]
    if given.draw is not None:
        mutants = random.Random(given.seed).sample(mutants, min(given.draw, len(mutants)))
    started = time.perf_counter()
    forks = Forks(mutants, given.jobs)
    arguments = ["-q", "-s", "--no-header", "--no-summary", "-p", "no:cacheprovider", str(PUBLISHED)]
    with contextlib.redirect_stdout(io.StringIO()):
        pytest.main(arguments, plugins=[forks])
    if not forks.sound:
        print("the published tests do not pass as things stand; nothing can be told", file=sys.stderr)
        return 2
    caught, survived = forks.caught, forks.survived
    known = listed()
    for mutant in sorted(survived, key=lambda one: (one.module, one.line)):
        mark = "listed" if mutant.name in known else "NOT LISTED"
        print(f"survived ({mark}): {mutant.name} (science/{mutant.module}.py:{mutant.line})")
    share = len(caught) / len(mutants)
    print(f"{len(caught)} of {len(mutants)} noticed ({share:.1%}), {time.perf_counter() - started:.0f} s")
    return int(share < LEAST_CAUGHT or any(mutant.name not in known for mutant in survived))


if __name__ == "__main__":
    sys.exit(main())
