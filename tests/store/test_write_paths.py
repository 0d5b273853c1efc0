"""No write starts without transaction(), and every function that starts one is exercised by the tests of cuts."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest
from tests.every_write import WRITES, Clock, Watch, do, watched

import plumeline
from plumeline.store import open_store
from plumeline.store.schema import metadata

PACKAGE = Path(plumeline.__file__).parent
MODULES = sorted(PACKAGE.rglob("*.py"))
WRITING = re.compile(r"\s*(insert|update|delete|replace|create|drop|alter|vacuum|begin|reindex)\b", re.I)
BUILDERS = {"insert", "update", "delete", "put"}


def named(path):
    return path.relative_to(PACKAGE).as_posix()


def functions(tree):
    """Yield every function of a module with its qualified name."""

    def walk(node, before):
        for child in ast.iter_child_nodes(node):
            if isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef):
                yield f"{before}{child.name}", child
                yield from walk(child, f"{before}{child.name}.<locals>.")
            elif isinstance(child, ast.ClassDef):
                yield from walk(child, f"{before}{child.name}.")
            else:
                yield from walk(child, before)

    yield from walk(tree, "")


def calls(node):
    """Return the names of what is called in a function, those of functions within it left out."""
    for child in ast.iter_child_nodes(node):
        if isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef):
            continue
        if isinstance(child, ast.Call):
            yield child
        yield from calls(child)


def is_transaction(call):
    return isinstance(call.func, ast.Attribute) and call.func.attr == "transaction"


def writers():
    """Return the functions that open a transaction, but the one that defines it."""
    found = {}
    for path in MODULES:
        for name, node in functions(ast.parse(path.read_text(encoding="utf-8"))):
            if any(is_transaction(call) for call in calls(node)):
                found[f"{named(path)}:{name}"] = node
    return found


@pytest.fixture(scope="module")
def walked(tmp_path_factory):
    """Every write done once, on a file, and who wrote."""
    with watched(Watch()) as watch:
        store = open_store(tmp_path_factory.mktemp("walk") / "plumeline.sqlite3", clock=Clock())
        kept = {}
        for name, write in WRITES:
            do(store, kept, name, write)
        counts = {}
        with store.database.reading() as link:
            for table in metadata.tables:
                counts[table] = link.exec_driver_sql(f'SELECT count(*) FROM "{table}"').scalar()
        store.close()
    return watch.writers, counts


def test_every_function_that_opens_a_transaction_is_among_the_writes(walked):
    """What is not in tests/every_write.py is not cut, not failed, and not proven: add it to WRITES."""
    assert set(writers()) - walked[0] == set()


def test_every_table_gets_a_row_by_the_writes(walked):
    """A new table without a row here would be compared in vain."""
    assert {table for table, count in walked[1].items() if not count} == set()


def test_a_statement_that_writes_is_given_a_connection_that_may():
    """In each module: insert, update, delete stand in a transaction() or in a function that is handed its link."""
    wrong = []
    for path in MODULES:
        if not named(path).startswith(("store/", "web/")) or "migrations" in path.parts:
            continue
        for name, node in functions(ast.parse(path.read_text(encoding="utf-8"))):
            built = [
                call for call in calls(node) if isinstance(call.func, ast.Name) and call.func.id in BUILDERS
            ]
            handed = any(argument.arg == "link" for argument in node.args.args)
            if built and not handed and not any(is_transaction(call) for call in calls(node)):
                wrong.append(f"{named(path)}:{name}")
    assert wrong == []


def test_no_sql_that_writes_stands_in_a_string():
    """Plain SQL is for looking: what writes goes through the tables of schema.py. VACUUM INTO writes another file."""
    wrong = []
    for path in MODULES:
        if not named(path).startswith(("store/", "web/")) or "migrations" in path.parts:
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)):
                continue
            if node.func.attr not in {"execute", "executemany", "executescript", "exec_driver_sql", "text"}:
                continue
            texts = [
                one for one in ast.walk(node) if isinstance(one, ast.Constant) and isinstance(one.value, str)
            ]
            wrong += [f"{named(path)}: {one.value}" for one in texts if WRITING.match(one.value)]
    assert sorted(wrong) == [
        "store/backups.py: VACUUM INTO ?", "store/engine.py: BEGIN", "store/engine.py: BEGIN IMMEDIATE",
    ]  # fmt: skip


def test_nothing_slow_stands_inside_a_transaction():
    """No file is written, nothing rendered and no time slept while everybody else waits for the lock."""
    slow = {
        "sleep",
        "urlopen",
        "write_bytes",
        "write_text",
        "keep_file",
        "written_anew",
        "hash",
        "look_through",
        "_read",
    }
    wrong = []
    for name, node in writers().items():
        for block in ast.walk(node):
            if isinstance(block, ast.With) and any(
                isinstance(one.context_expr, ast.Call) and is_transaction(one.context_expr)
                for one in block.items
            ):
                called = [call.func for call in ast.walk(block) if isinstance(call, ast.Call)]
                names = {getattr(func, "attr", getattr(func, "id", "")) for func in called}
                wrong += [f"{name}: {one}" for one in names & slow]
    assert wrong == []
