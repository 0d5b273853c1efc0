"""No sentence loses its end: a text that stands by itself in a function, after its docstring, is said to nobody."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

SOURCE = Path(__file__).resolve().parent.parent / "src" / "plumeline"


def lost(tree: ast.AST) -> Iterator[int]:
    """Yield the lines of expressions that are worked out and thrown away: texts and sums.

    A text written without an f may be the docstring of the name above it, at the top of a module or class; in the
    body of a function nothing reads it (Python language reference, 7.1 expression statements).
    """
    for node in ast.walk(tree):
        for index, statement in enumerate(getattr(node, "body", []) if isinstance(node, ast.stmt) else []):
            if not isinstance(statement, ast.Expr):
                continue
            plain = isinstance(statement.value, ast.Constant) and isinstance(statement.value.value, str)
            in_class = isinstance(node, ast.ClassDef)
            if isinstance(statement.value, ast.JoinedStr | ast.BinOp) or (
                plain and index > 0 and not in_class
            ):
                yield statement.lineno


def test_no_text_is_left_standing():
    """Two cautions once ended before their number, for want of a bracket."""
    found = [
        f"{path.relative_to(SOURCE)}:{line}"
        for path in sorted(SOURCE.rglob("*.py"))
        for line in lost(ast.parse(path.read_text(encoding="utf-8")))
    ]
    assert not found


def test_a_lost_end_is_found():
    """The check itself sees one."""
    assert list(lost(ast.parse('def f(x):\n    words = "a "\n    f"{x} b"\n    return words\n'))) == [3]
    assert list(lost(ast.parse('def f(x):\n    words = "a "\n    "b"\n    return words\n'))) == [3]
