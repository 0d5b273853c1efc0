"""Small changes of the code of store/, one at a time: what could be changed, and how it is done in memory.

A comparison is turned, or its bound moved; `and` and `or` are swapped, a `not` is taken away, a condition turned;
a statement that is a call (a deletion, a save) or a `raise` is dropped; a count is raised by one, True and False and
plus and minus are swapped. Words, annotations, signatures and tables are left alone: the tables of a database are
made by its migrations.
"""

from __future__ import annotations

import ast
import gc
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from types import CodeType, FunctionType

ROOT = Path(__file__).resolve().parent.parent
STORE = ROOT / "src" / "plumeline" / "store"
TURNED: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Eq: ast.NotEq, ast.NotEq: ast.Eq, ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn,
    ast.NotIn: ast.In, ast.Lt: ast.GtE, ast.GtE: ast.Lt, ast.Gt: ast.LtE, ast.LtE: ast.Gt,
}  # fmt: skip
MOVED: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt,
}  # fmt: skip
SIGNS = {
    ast.Eq: "==", ast.NotEq: "!=", ast.Is: "is", ast.IsNot: "is not", ast.In: "in", ast.NotIn: "not in",
    ast.Lt: "<", ast.LtE: "<=", ast.Gt: ">", ast.GtE: ">=",
}  # fmt: skip
SAYING = ast.Compare | ast.BoolOp | ast.UnaryOp | ast.Constant


@dataclass(frozen=True)
class Change:
    """One change: where it is made, what is changed, and a name that survives moved lines.

    Attributes:
        module: of store/.
        owner: qualified name of the function, or name of the constant, in which it is made.
        position: number of the changed node in the owner.
        kind: how it is changed, in words.
        name: of the change.
        lines: the lines of which a test must run one to notice it, first and last.
        owner_lines: the lines of the function or constant, first and last.
    """

    module: str
    owner: str
    position: int
    kind: str
    name: str
    lines: tuple[int, int]
    owner_lines: tuple[int, int]


def kinds_of(node: ast.AST) -> list[str]:
    """Return every way in which a node is changed, in words."""
    found: list[str] = []
    if isinstance(node, ast.Compare) and len(node.ops) == 1:
        op = type(node.ops[0])
        found += [f"{SIGNS[op]} to {SIGNS[table[op]]}" for table in (TURNED, MOVED) if op in table]
    elif isinstance(node, ast.BoolOp):
        found.append("and to or" if isinstance(node.op, ast.And) else "or to and")
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
        found.append("not taken away")
    elif isinstance(node, ast.If | ast.IfExp | ast.While) and not isinstance(node.test, SAYING):
        found.append("condition turned")
    elif isinstance(node, ast.Expr) and isinstance(node.value, ast.Call):
        found.append(f"{ast.unparse(node.value.func).splitlines()[0][:40]}() dropped")
    elif isinstance(node, ast.Raise):
        found.append("raise dropped")
    elif isinstance(node, ast.Constant) and isinstance(node.value, bool):
        found.append(f"{node.value} to {not node.value}")
    elif isinstance(node, ast.Constant) and isinstance(node.value, int):
        found.append(f"{node.value} to {node.value + 1}")
    elif isinstance(node, ast.BinOp | ast.AugAssign) and isinstance(node.op, ast.Add | ast.Sub):
        found += [] if _of_words(node) else ["+ to -" if isinstance(node.op, ast.Add) else "- to +"]
    return found


def _of_words(node: ast.BinOp | ast.AugAssign) -> bool:
    """Say whether texts or lists are put together: a minus between them is no program."""
    sides = (node.left, node.right) if isinstance(node, ast.BinOp) else (node.value,)
    joined = ast.JoinedStr | ast.List | ast.Tuple | ast.ListComp
    return any(isinstance(one, joined) or getattr(one, "value", 0).__class__ in (str, bytes) for one in sides)


class Changed(ast.NodeTransformer):
    """Changes one node in one way."""

    def __init__(self, target: ast.AST, kind: str) -> None:
        self.target = target
        self.kind = kind

    def visit(self, node: ast.AST) -> ast.AST:
        """Change the node when it is the one, else go on downward."""
        if node is not self.target:
            return self.generic_visit(node)
        if isinstance(node, ast.Compare):
            op = type(node.ops[0])
            table = TURNED if self.kind == f"{SIGNS[op]} to {SIGNS[TURNED[op]]}" else MOVED
            node.ops = [table[op]()]
        elif isinstance(node, ast.BoolOp):
            node.op = ast.Or() if isinstance(node.op, ast.And) else ast.And()
        elif isinstance(node, ast.UnaryOp):
            return node.operand
        elif isinstance(node, ast.If | ast.IfExp | ast.While):
            node.test = ast.copy_location(ast.UnaryOp(ast.Not(), node.test), node.test)
        elif isinstance(node, ast.Expr | ast.Raise):
            return ast.copy_location(ast.Pass(), node)
        elif isinstance(node, ast.Constant):
            node.value = not node.value if isinstance(node.value, bool) else node.value + 1  # type: ignore[operator]
        elif isinstance(node, ast.BinOp | ast.AugAssign):
            node.op = ast.Sub() if isinstance(node.op, ast.Add) else ast.Add()
        return node


def owners(tree: ast.Module) -> Iterator[tuple[str, ast.stmt]]:
    """Yield functions, methods and module constants by name; tables of the database are left out."""
    for node in tree.body:
        if isinstance(node, ast.FunctionDef):
            yield node.name, node
        elif isinstance(node, ast.ClassDef):
            yield from (
                (f"{node.name}.{one.name}", one) for one in node.body if isinstance(one, ast.FunctionDef)
            )
        elif isinstance(node, ast.Assign | ast.AnnAssign) and node.value is not None:
            target = node.targets[0] if isinstance(node, ast.Assign) else node.target
            if (
                isinstance(target, ast.Name)
                and getattr(getattr(node.value, "func", None), "id", "") != "Table"
            ):
                yield target.id, node


def nodes_of(statement: ast.stmt) -> list[tuple[ast.AST, tuple[int, int]]]:
    """Return the nodes of an owner in a fixed order, each with the lines of the statement's part that it stands in."""
    found: list[tuple[ast.AST, tuple[int, int]]] = []

    def walk(node: ast.AST, lines: tuple[int, int]) -> None:
        if isinstance(node, ast.stmt):
            body = getattr(node, "body", None)
            last = max(node.lineno, body[0].lineno - 1) if body else node.end_lineno or node.lineno
            lines = node.lineno, last
        found.append((node, lines))
        for child in ast.iter_child_nodes(node):
            walk(child, lines)

    if isinstance(statement, ast.FunctionDef):
        for part in statement.body:
            walk(part, (part.lineno, part.lineno))
    elif isinstance(statement, ast.Assign | ast.AnnAssign) and statement.value is not None:
        walk(statement.value, (statement.lineno, statement.end_lineno or statement.lineno))
    return found


def changes_of(path: Path) -> list[Change]:
    """Return every change of one module."""
    found: list[Change] = []
    for owner, statement in owners(ast.parse(path.read_text(encoding="utf-8"))):
        seen: dict[str, int] = {}
        for position, (node, lines) in enumerate(nodes_of(statement)):
            for kind in kinds_of(node):
                seen[kind] = seen.get(kind, 0) + 1
                name = f"{path.stem}.{owner}: {kind}, no. {seen[kind]}"
                whole = statement.lineno, statement.end_lineno or statement.lineno
                found.append(Change(path.stem, owner, position, kind, name, lines, whole))
    return found


def all_changes() -> list[Change]:
    """Return every change of store/, its migrations left out: they are done and never changed again."""
    return [change for path in sorted(STORE.glob("*.py")) for change in changes_of(path)]


def code_of(whole: CodeType, owner: str) -> CodeType:
    """Return the code of a function out of that of its module."""
    for one in whole.co_consts:
        if isinstance(one, CodeType):
            if one.co_qualname == owner:
                return one
            if owner.startswith(f"{one.co_qualname}."):
                return code_of(one, owner)
    raise LookupError(owner)


def apply(change: Change) -> None:
    """Make one change in the memory of this process, wherever the function or constant is held.

    Raises:
        LookupError: no function with that code is held.
        ValueError: the changed code uses other names of functions around it.
    """
    path = STORE / f"{change.module}.py"
    tree = ast.parse(path.read_text(encoding="utf-8"))
    statement = dict(owners(tree))[change.owner]
    target = nodes_of(statement)[change.position][0]
    ast.fix_missing_locations(Changed(target, change.kind).visit(tree))
    if not isinstance(statement, ast.FunctionDef):
        _set_constant(change, statement, path)
        return
    new = code_of(compile(tree, str(path), "exec"), change.owner)
    held = [
        one
        for one in gc.get_objects()
        if isinstance(one, FunctionType)
        and one.__code__.co_qualname == change.owner
        and Path(one.__code__.co_filename).resolve() == path
    ]
    if not held:
        raise LookupError(change.name)
    for one in held:
        one.__code__ = new


def _set_constant(change: Change, statement: ast.stmt, path: Path) -> None:
    """Work a module constant out anew, and set it in each module that took it over by its name."""
    module = sys.modules[f"plumeline.store.{change.module}"]
    space = dict(vars(module))
    exec(compile(ast.Module([statement], []), str(path), "exec"), space)
    old = vars(module)[change.owner]
    for other in list(sys.modules.values()):
        if other.__name__.startswith(("plumeline.", "tests.")) and vars(other).get(change.owner) is old:
            setattr(other, change.owner, space[change.owner])
