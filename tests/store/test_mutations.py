"""House rule 8 for store/: the changes that `make proof` draws are changes, and what is said of them is right."""

from __future__ import annotations

import ast
import tomllib

import pytest
from scripts.mutate_store import SURVIVORS, Reached, drawn, how_of
from scripts.proof.mutation_store import report, wilson
from scripts.store_changes import STORE, Change, Changed, all_changes, changes_of, nodes_of, owners

MODULE = """
LIMIT = 3
TABLE = Table("pond", Column("id", Integer, primary_key=True))

def f(seen, a, b: int = 7) -> list:
    '''Say 1 of 2.'''
    seen.append("called")
    if a and not b:
        raise ValueError("7 of 8")
    return [a < b, a == b, a + 1, f"{a}" + "x", LIMIT]
"""


def kinds(text, folder):
    path = folder / "made_up.py"
    path.write_text(text, encoding="utf-8")
    return changes_of(path)


def done(change, text=MODULE):
    """Return the function of the module with a change made."""
    tree = ast.parse(text.replace(text.split("\n")[2], ""))
    statement = dict(owners(tree))[change.owner]
    target = nodes_of(statement)[change.position][0]
    space = {}
    exec(
        compile(ast.fix_missing_locations(Changed(target, change.kind).visit(tree)), "made_up", "exec"), space
    )
    return space["f"]


def test_every_kind_of_change_is_found_and_nothing_else(tmp_path):
    """No table, no words, no signature and no docstring; each change once, with the lines that a test must reach."""
    found = {change.name.removeprefix("made_up."): change.lines for change in kinds(MODULE, tmp_path)}
    assert found == {
        "LIMIT: 3 to 4, no. 1": (2, 2),
        "f: seen.append() dropped, no. 1": (7, 7),
        "f: and to or, no. 1": (8, 8),
        "f: not taken away, no. 1": (8, 8),
        "f: raise dropped, no. 1": (9, 9),
        "f: < to >=, no. 1": (10, 10),
        "f: < to <=, no. 1": (10, 10),
        "f: == to !=, no. 1": (10, 10),
        "f: + to -, no. 1": (10, 10),
        "f: 1 to 2, no. 1": (10, 10),
    }


@pytest.mark.parametrize(
    ("kind", "given", "wanted"),
    [
        ("", (2, 2), [False, True, 3, "2x", 3]),
        ("< to >=", (2, 2), [True, True, 3, "2x", 3]),
        ("< to <=", (2, 2), [True, True, 3, "2x", 3]),
        ("< to <=", (3, 2), [False, False, 4, "3x", 3]),
        ("== to !=", (2, 2), [False, False, 3, "2x", 3]),
        ("+ to -", (2, 2), [False, True, 1, "2x", 3]),
        ("1 to 2", (2, 2), [False, True, 4, "2x", 3]),
        ("3 to 4", (2, 2), [False, True, 3, "2x", 4]),
        ("raise dropped", (2, 0), [False, False, 3, "2x", 3]),
        ("not taken away", (2, 0), [False, False, 3, "2x", 3]),
        ("seen.append() dropped", (2, 2), [False, True, 3, "2x", 3]),
    ],
)
def test_a_change_does_what_it_says(kind, given, wanted, tmp_path):
    """By hand: what the small function returns with each; only a dropped call leaves the list empty."""
    made = {change.kind: change for change in kinds(MODULE, tmp_path)}
    seen = []
    nothing = Change("made_up", "f", 0, "", "", (0, 0), (0, 0))
    assert done(made.get(kind, nothing))(seen, *given) == wanted
    assert seen == ([] if "dropped" in kind and "raise" not in kind else ["called"])


@pytest.mark.parametrize("kind", ["and to or", "not taken away"])
def test_a_turned_condition_raises_where_it_did_not(kind, tmp_path):
    """2 and 2: neither half holds both."""
    made = {change.kind: change for change in kinds(MODULE, tmp_path)}
    with pytest.raises(ValueError, match="7 of 8"):
        done(made[kind])([], 2, 2)


def test_the_tests_of_a_change_are_those_that_reach_it_the_rarest_first():
    """By line; who goes where few go in the function, then who reaches fewest; the time allowed is not gone over."""
    lines = {"gate": {1: ["wide", "narrow", "rare"], 2: ["wide", "narrow"], 3: ["rare"], 9: ["rare", "wide"]}}
    lines["gate"] |= {line: ["rare"] for line in range(20, 40)}
    reached = Reached(lines, {"wide": 20.0, "narrow": 4.0, "rare": 0.1})
    change = Change("gate", "Gate.alone", 0, "", "", (1, 1), (1, 4))
    assert reached.tests_of(change, reached.breadth) == ["rare", "narrow", "wide"]
    reached.seconds_s["narrow"] = 6.0
    assert reached.tests_of(change, reached.breadth) == ["rare", "narrow"]
    elsewhere = Change("gate", "Gate.alone", 0, "", "", (2, 2), (2, 2))
    assert reached.tests_of(elsewhere, reached.breadth) == ["narrow"]


def test_the_tests_of_a_constant_are_those_that_reach_its_name():
    """LAST of pruning.py is named in one line of a function."""
    text = (STORE / "pruning.py").read_text(encoding="utf-8").splitlines()
    number = next(n for n, line in enumerate(text, 1) if "[:LAST]" in line)
    reached = Reached(
        {"pruning": {number: ["here"], number - 1: ["here", "there"]}}, {"here": 1.0, "there": 1.0}
    )
    change = next(one for one in changes_of(STORE / "pruning.py") if one.owner == "LAST")
    assert reached.tests_of(change, reached.breadth) == ["here"]


def test_a_larger_draw_begins_with_the_smaller_and_names_are_unique():
    """So that a draw can be made larger later; another seed draws others."""
    assert drawn(50, 1)[:20] == drawn(20, 1)
    assert drawn(20, 2) != drawn(20, 1)
    names = [change.name for change in all_changes()]
    assert len(set(names)) == len(names) > 1000


def test_how_a_process_ended_is_told_from_its_status():
    """wait(2): the exit code stands in the high byte, the signal in the low one; 14 is SIGALRM, 11 SIGSEGV."""
    assert [how_of(status) for status in (0, 1 << 8, 77 << 8, 14, 11)] == [
        "survives", "noticed", "void", "hangs", "crashes",
    ]  # fmt: skip


def test_every_listed_survivor_is_a_change_that_exists():
    """The list holds no change of code that is gone, and no reason is empty."""
    rows = tomllib.loads(SURVIVORS.read_text(encoding="utf-8"))["survivor"]
    assert {row["change"] for row in rows} <= {change.name for change in all_changes()}
    assert all(row["reason"].strip() for row in rows)


@pytest.mark.parametrize(
    ("noticed", "count", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_the_interval_is_wilsons(noticed, count, low, high):
    """Newcombe 1998, Statistics in Medicine 17:857-872, table I, score method (from memory)."""
    assert wilson(noticed, count) == (pytest.approx(low, abs=6e-5), pytest.approx(high, abs=6e-5))


def test_the_page_says_that_it_is_a_sample_and_names_who_has_no_reason():
    """Counts, interval, both kinds of survivors."""
    ways = {"noticed": 15, "hangs": 2, "crashes": 1, "void": 1}
    survivors = [{"change": "gate.x: one", "reason": "alike"}, {"change": "gate.y: two", "reason": ""}]
    page = report({"tried": 21, "count": 20, "of": 1507, "late": 4, "ways": ways, "survivors": survivors})
    assert "A sample, not the whole: 21 of the 1,507" in page
    assert "**18 of 20** (90.0%" in page
    assert "69.9% to 97.2%" in page
    assert "before, 14 of 20 (70.0%" in page
    assert "- gate.x: one: alike" in page
    assert "- gate.y: two (no reason)" in page
