"""Every call of the disk fails, of every write of the store, in three ways and both journals."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from scripts.proof.pieces import Pieces, seconds_left
from scripts.soak.row import Row, none_of
from tests.io_errors import KINDS, Bench

TITLE = "The disk fails"
JOURNALS = ("truncate", "wal")
QUICK_STEP = 12


def study(work: Path, *, quick: bool) -> dict[str, Any]:
    """Let call 1, 2, 3 … of each write fail, until the write needs no more."""
    pieces, undone = Pieces(work / "calls.jsonl"), 0
    for journal in JOURNALS:
        bench = None
        for number in range(1000):
            if bench is not None and number >= len(bench.befores):
                break
            missing = [kind for kind in KINDS if f"{journal} {number} {kind}" not in pieces]
            if bench is None and not missing:
                continue
            bench = bench or Bench(work, journal)
            if number >= len(bench.befores):
                break
            for kind in missing:
                if seconds_left() < 60.0:
                    undone += 1
                    continue
                calls, refused, wrong = bench.all_calls(
                    bench.befores[number], kind, step=QUICK_STEP if quick else 1
                )
                values = {
                    "journal": journal,
                    "kind": kind,
                    "calls": calls,
                    "refused": refused,
                    "wrong": wrong,
                }
                pieces.add(f"{journal} {number} {kind}", {"write": bench.befores[number].name, **values})
        if bench is not None:
            bench.close()
    return {
        "found": [dict(piece) for piece in pieces],
        "undone": f"{undone} writes" if undone else "",
        "quick": quick,
    }


def rows(results: dict[str, Any]) -> list[Row]:
    """Return failed calls and what they led to, by kind and journal."""
    found = []
    for journal in JOURNALS:
        for kind in KINDS:
            mine = [one for one in results["found"] if (one["journal"], one["kind"]) == (journal, kind)]
            if not mine:
                continue
            calls = sum(one["calls"] for one in mine)
            wrong = [text for one in mine for text in one["wrong"]]
            step = f", every {QUICK_STEP}th of them" if results["quick"] else ""
            words = f"{kind}: {calls} calls of {len(mine)} writes{step}, `{journal}` journal, "
            words += f"{sum(one['refused'] for one in mine)} of them refused the write in words"
            found.append(
                none_of(
                    words,
                    len(wrong),
                    "in between, without words, or not to be done again",
                )
            )
    return found
