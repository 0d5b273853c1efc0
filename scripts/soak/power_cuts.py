"""Power cuts at random calls of the disk, under every write of the store: 10,000 in each journal."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from scripts.proof.pieces import Pieces, seconds_left
from scripts.soak.row import Row, none_of
from tests.every_write import WRITES
from tests.power import cuts, record, transactions_lost

TITLE = "The power is cut"
COUNT, QUICK, BLOCK = 10_000, 400, 100
MODES = (("truncate", "FULL"), ("wal", "FULL"), ("wal", "NORMAL"))
MUTANT_COUNT = 500


def study(work: Path, *, quick: bool) -> dict[str, Any]:
    """Cut in blocks of a hundred, each with its own seed; what would lose data is cut too, to see that it is seen."""
    pieces, undone = Pieces(work / "cuts.jsonl"), 0
    for journal, synchronous in MODES:
        count = (
            (QUICK if quick else COUNT)
            if synchronous == "FULL"
            else min(MUTANT_COUNT, QUICK if quick else COUNT)
        )
        recorded = None
        for block in range(count // BLOCK):
            key = f"{journal} {synchronous} {block}"
            if key in pieces:
                continue
            if seconds_left() < 10.0:
                undone += BLOCK
                continue
            recorded = recorded or record(journal, synchronous)
            found = cuts(recorded, BLOCK, seed=block)
            bad = [one for one in found if not one.kept]
            pieces.add(
                key,
                {
                    "mode": f"{journal} {synchronous}", "cuts": BLOCK, "calls": len(recorded.log),
                    "transactions": len(recorded.states) - 1, "twice": sum(one.twice for one in found),
                    "bad": len(bad), "unsound": sum(one.sound != "ok" for one in found),
                    "lost": sum(transactions_lost(one) for one in found), "example": str(bad[0]) if bad else "",
                },
            )  # fmt: skip
    return {"modes": _added(pieces), "undone": f"{undone} cuts" if undone else ""}


def _added(pieces: Pieces) -> dict[str, dict[str, Any]]:
    modes: dict[str, dict[str, Any]] = {}
    for piece in pieces:
        mode = modes.setdefault(piece["mode"], {"cuts": 0, "twice": 0, "bad": 0, "unsound": 0, "lost": 0})
        for name in mode:
            mode[name] += piece[name]
        mode["calls"], mode["transactions"] = piece["calls"], piece["transactions"]
    return modes


def rows(results: dict[str, Any]) -> list[Row]:
    """Return cuts and losses of each journal, and of the setting that must be seen to lose."""
    found = []
    for name, mode in results["modes"].items():
        words = f"{mode['cuts']} cuts, `{name.replace(' ', '` journal, synchronous `')}`"
        if name.endswith("FULL"):
            words += f" ({len(WRITES)} kinds of write, {mode['transactions']} transactions, {mode['calls']} calls of "
            words += "the disk; "
            words += f"{mode['twice']} cut again while the file was brought in order)"
            found.append(
                none_of(words, mode["bad"], "lose what was acknowledged, hold half a write, or are damaged")
            )
        else:
            share = mode["bad"] / mode["cuts"]
            text = f"{share:.0%} lose acknowledged transactions, {mode['lost']} in all; {mode['unsound']} damaged"
            found.append(Row(f"{words}: the setting that must be seen to lose", text, "> 50 %", share > 0.5))
    return found
