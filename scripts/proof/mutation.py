"""Does each number of the science matter to the published tests? Every change of scripts/mutate_science.py."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent.parent
TITLE = "Mutation of the science"
DRAWN_QUICK = 8
SEED = 1


def study(work: Path, *, quick: bool) -> dict[str, Any]:
    """Change each constant, sign and logarithm once (or, quick, a few of them) and count what is noticed."""
    kept = work / "outcome.json"
    if kept.is_file():
        return dict(json.loads(kept.read_text(encoding="utf-8")))
    command = [sys.executable, str(ROOT / "scripts" / "mutate_science.py"), "--jobs", "2"]
    command += ["--draw", str(DRAWN_QUICK), "--seed", str(SEED)] if quick else []
    ended = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    told = re.search(r"(\d+) of (\d+) noticed", ended.stdout)
    if told is None:
        raise RuntimeError(f"the mutation run told nothing:\n{ended.stdout}{ended.stderr}")
    survivors = re.findall(r"^survived \((.+?)\): (.+?) \(science/", ended.stdout, flags=re.M)
    results = {
        "noticed": int(told[1]),
        "count": int(told[2]),
        "survivors": [{"listed": mark == "listed", "change": name} for mark, name in survivors],
        "passed": ended.returncode == 0,
        "seeds": f"{SEED}, for the draw" if quick else "none: every change is made",
        "finished": f"{told[2]} changes",
    }
    kept.write_text(json.dumps(results), encoding="utf-8")
    return results


def report(results: dict[str, Any]) -> str:
    """Return the page: what was noticed, and each survivor."""
    noticed, count = results["noticed"], results["count"]
    unlisted = [item["change"] for item in results["survivors"] if not item["listed"]]
    lines = [
        f"Every numeric constant of `science/` is raised by a tenth, every plus and minus turned round, every "
        f"logarithm taken to the other base, one at a time. The published tests noticed **{noticed} of {count}** "
        f"changes ({noticed / count:.1%}; goal: at least 90 %).",
        "",
        f"Survivors with a reason in `docs/mutation-survivors.toml`: {len(results['survivors']) - len(unlisted)}. "
        f"Without one: {len(unlisted)}.",
        *(f"- {name}" for name in unlisted),
    ]
    return "\n".join(lines)
