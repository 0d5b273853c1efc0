"""Does each line of store/ matter to its tests? A draw of the changes of scripts/store_changes.py."""

from __future__ import annotations

import math
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

from scripts.mutate_store import QUICK_MODULES, drawn, listed, once_survived
from scripts.proof.pieces import Pieces, seconds_left
from scripts.store_changes import all_changes

ROOT = Path(__file__).resolve().parent.parent.parent
TITLE = "Mutation of the store"
DRAWN, DRAWN_QUICK = 150, 5
SEED = 1
LEFT_S = 30.0
"""So long before the time is up no change is begun any more."""


def wilson(noticed: int, count: int) -> tuple[float, float]:
    """Return the 95 % interval of a share by Wilson's score.

    Source: Wilson, E. B. 1927. Probable inference, the law of succession, and statistical inference. Journal of the
    American Statistical Association 22:209-212.
    """
    z = 1.959964
    share, wide = noticed / count, z * z / count
    middle = (share + wide / 2.0) / (1.0 + wide)
    half = z * math.sqrt(share * (1.0 - share) / count + wide / (4.0 * count)) / (1.0 + wide)
    return max(0.0, middle - half), min(1.0, middle + half)


def study(work: Path, *, quick: bool) -> dict[str, Any]:
    """Try drawn changes until the time is up (or, quick, a few of two small modules) and count what is noticed."""
    command = [sys.executable, "-m", "scripts.mutate_store", "--work", str(work), "--seed", str(SEED)]
    command += ["--draw", str(DRAWN_QUICK), "--quick"] if quick else ["--draw", str(DRAWN), "--jobs", "2"]
    if math.isfinite(seconds_left()):
        command += ["--seconds", f"{max(0.0, seconds_left() - LEFT_S):.0f}"]
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join([str(ROOT), os.environ.get("PYTHONPATH", "")])}
    ended = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True, check=False)
    if ended.returncode not in (0, 1):
        raise RuntimeError(f"the mutation run told nothing:\n{ended.stdout}{ended.stderr}")
    return gather(work, quick=quick)


def gather(work: Path, *, quick: bool = False) -> dict[str, Any]:
    """Return what is known of the drawn changes: what was tried before and is not among them is left out."""
    kept = Pieces(work / "pieces.jsonl")
    draw = drawn(DRAWN_QUICK, SEED, QUICK_MODULES) if quick else drawn(DRAWN, SEED)
    pieces = [kept[change.name] for change in draw if change.name in kept]
    known = listed()
    ways = {
        how: sum(piece["how"] == how for piece in pieces) for how in ("noticed", "hangs", "crashes", "void")
    }
    survivors = sorted(piece["key"] for piece in pieces if piece["how"] == "survives")
    return {
        "tried": len(pieces), "count": len(pieces) - ways["void"], "ways": ways, "of": len(all_changes()),
        "survivors": [{"change": name, "reason": known.get(name, "")} for name in survivors],
        "late": len(once_survived(work) & {str(piece["key"]) for piece in pieces if piece["how"] != "survives"}),
        "undone": len(draw) - len(pieces),
        "seeds": f"{SEED}, for the draw", "finished": f"{len(pieces)} of {len(draw)} drawn changes",
    }  # fmt: skip


def report(results: dict[str, Any]) -> str:
    """Return the page: what was noticed of how many, how far that can be trusted, and each survivor."""
    count, ways = results["count"], results["ways"]
    noticed = count - len(results["survivors"])
    low, high = wilson(noticed, count)
    late = results["late"]
    before = wilson(noticed - late, count)
    unlisted = [item["change"] for item in results["survivors"] if not item["reason"]]
    told = [item for item in results["survivors"] if item["reason"]]
    lines = [
        f"A sample, not the whole: {results['tried']} of the {results['of']:,} changes that `scripts/store_changes.py` "
        f"makes of `store/` were drawn by seed and tried, one at a time. The tests noticed **{noticed} of {count}** "
        f"({noticed / count:.1%}; 95 % interval by Wilson's score {low:.1%} to {high:.1%}; goal: at "
        f"least 90 %).",
        "",
        f"Of these {late} had passed by unseen until tests were written for them: before, {noticed - late} of {count} "
        f"({(noticed - late) / count:.1%}, interval {before[0]:.1%} to {before[1]:.1%}) were noticed. A sample that "
        "tests were written for is no fair one any more: of the whole the figure before tells, or another seed.",
        "",
        f"By a test that failed {ways['noticed']}, by one that never ended {ways['hangs']}, by a crash "
        f"{ways['crashes']}. Changes that are no program, not counted: {ways['void']}. Run were the tests of "
        "`tests/store/` and a few of `tests/web/` that reach the changed line, 25 s of a core at most for each change, "
        "without those that kill processes, cut the power or let the disk fail.",
        "",
        f"Survivors with a reason in `docs/mutation-survivors-store.toml`: {len(told)}. Without one: {len(unlisted)}.",
        *(f"- {item['change']}: {item['reason']}" for item in told),
        *(f"- {name} (no reason)" for name in unlisted),
    ]
    return "\n".join(lines)
