"""The long forms of the tests of kills, cuts, faults and hand-overs, and their page docs/proof/soak.md.

    python -m scripts.soak.run                      # all of them, some hours; goes on where it was stopped
    python -m scripts.soak.run --quick              # a small form of each, a few minutes; the page stays as it is
    python -m scripts.soak.run --only power_cuts --budget-min 10

A study is a module of scripts/soak/ with a `TITLE`, `study(work, *, quick) -> dict` and
`rows(results) -> list[Row]`. It keeps what it has finished in `work` (scripts/proof/pieces.py), looks at
`seconds_left()`, and names in `undone` what it left when its time was up; it is then called again with the same
folder. What went wrong raises: a study whose limit does not hold is no study that ends. Add it to STUDIES.
"""

from __future__ import annotations

import argparse
import hashlib
import importlib
import json
import os
import shutil
import sqlite3
import subprocess
import sys
import time
import traceback
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from scripts.proof.pages import ROOT, duration, machine, scrubbed
from scripts.proof.pieces import DEADLINE
from scripts.soak.row import Row

PAGE = ROOT / "docs" / "proof" / "soak.md"
FULL_MIN, QUICK_MIN = 385.0, 10.0


@dataclass(frozen=True)
class Study:
    """One study: its module, and its minutes of the full time."""

    name: str
    minutes: float


STUDIES = (
    Study("power_cuts", 10.0),
    Study("io_errors", 20.0),
    Study("byte_flips", 25.0),
    Study("clients", 15.0),
    Study("gigabyte", 5.0),
    Study("capture_steps", 15.0),
    Study("capture_photos", 15.0),
    Study("capture_kills", 30.0),
    Study("server_kills", 90.0),
    Study("phone_kills", 100.0),
    Study("api_examples", 45.0),
)


def sources_digest() -> str:
    """Return the hash of the package and of everything the studies run."""
    digest = hashlib.sha256()
    for folder, pattern in (("src/plumeline", "**/*"), ("scripts/soak", "*.py"), ("tests", "*.py")):
        for path in sorted((ROOT / folder).glob(pattern)):
            if path.suffix in (".py", ".csv", ".toml", ".html", ".js") and path.is_file():
                digest.update(path.relative_to(ROOT).as_posix().encode())
                digest.update(path.read_bytes())
    return digest.hexdigest()[:12]


def child(name: str, work: Path, quick: bool) -> int:
    """Run one study in this process and leave its results, or its error, in its folder."""
    try:
        results = importlib.import_module(f"scripts.soak.{name}").study(work, quick=quick)
    except Exception:
        (work / "error.txt").write_text(traceback.format_exc(), encoding="utf-8")
        traceback.print_exc()
        return 1
    (work / "results.json").write_text(json.dumps(results), encoding="utf-8")
    return 0


def sit(study: Study, work: Path, quick: bool, seconds_s: float) -> dict[str, Any]:
    """Run a study for about so long in a process of its own; return what is known of it.

    Work on other sources counts as well: what was counted is added up, and the page names all sources.
    """
    kept = work / "state.json"
    state = json.loads(kept.read_text(encoding="utf-8")) if kept.is_file() else {"wall_s": 0.0, "sources": []}
    done = work / "results.json"
    whole = done.is_file() and not json.loads(done.read_text(encoding="utf-8")).get("undone")
    if whole and sources_digest() in state["sources"]:
        return state
    work.mkdir(parents=True, exist_ok=True)
    (work / "error.txt").unlink(missing_ok=True)
    command = [sys.executable, "-m", "scripts.soak.run", "--child", study.name, str(work)]
    command += ["--quick"] if quick else []
    environment = {**os.environ, DEADLINE: str(time.time() + seconds_s)}
    begun = time.monotonic()
    subprocess.run(command, cwd=ROOT, env=environment, check=False)
    state["wall_s"] += time.monotonic() - begun
    state["sources"] = sorted({*state["sources"], sources_digest()})
    kept.write_text(json.dumps(state), encoding="utf-8")
    return dict(state)


def part(study: Study, work: Path) -> tuple[list[str], bool]:
    """Return a study's part of the page, and whether it failed."""
    module = importlib.import_module(f"scripts.soak.{study.name}")
    lines = [f"## {module.TITLE}", ""]
    failed = work / "error.txt"
    if failed.is_file():
        last = failed.read_text(encoding="utf-8").strip().splitlines()[-1]
        return [*lines, f"**FAILED**: `{last[:500]}`", ""], True
    done = work / "results.json"
    if not done.is_file():
        return [*lines, "Not run yet.", ""], False
    results = json.loads(done.read_text(encoding="utf-8"))
    rows: list[Row] = module.rows(results)
    lines += ["| what | found | limit | |", "|---|---|---|---|"]
    lines += [f"| {row.what} | {row.found} | {row.limit} | {row.verdict} |" for row in rows]
    if results.get("undone"):
        lines += ["", f"Partial: {results['undone']} left when the time was up; the command goes on there."]
    state = json.loads((work / "state.json").read_text(encoding="utf-8"))
    times = f"Wall time {duration(state['wall_s'])}; sources {', '.join(state['sources'])}."
    return [*lines, "", times, ""], any(row.held is False for row in rows)


def write(page: Path, work: Path, command: str) -> bool:
    """Write the page from what lies in the folders of the studies; return whether one failed."""
    import apsw

    lines = ["# Soak", "", "The long forms of what the test run does in short. Regenerated by the command below; "
             "nothing here is written by hand. Limits come from the issue and its specification.", ""]  # fmt: skip
    failed = False
    for study in STUDIES:
        text, bad = part(study, work / study.name)
        lines += text
        failed = failed or bad
    lines += ["## How this page was made", "", f"- Command: `{command}`", f"- Machine: {machine()}"]
    lines += [
        f"- SQLite: {sqlite3.sqlite_version} in Python, {apsw.sqlite_lib_version()} under the simulated disk"
    ]
    page.parent.mkdir(parents=True, exist_ok=True)
    page.write_text(scrubbed("\n".join(lines) + "\n"), encoding="utf-8")
    return failed


def main(arguments: list[str] | None = None) -> int:
    """Read the command line, run, and return 1 where a study failed or a limit does not hold."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n", 1)[0])
    parser.add_argument("--quick", action="store_true", help="a small form of each, a few minutes")
    parser.add_argument("--only", action="append", default=[], choices=[one.name for one in STUDIES])
    parser.add_argument("--budget-min", type=float, help="wall time allowed for all of them")
    parser.add_argument("--fresh", action="store_true", help="throw finished work away first")
    parser.add_argument("--child", nargs=2, metavar=("NAME", "WORK"), help=argparse.SUPPRESS)
    given = parser.parse_args(arguments)
    if given.child:
        return child(given.child[0], Path(given.child[1]), given.quick)
    work = ROOT / "build" / ("soak-quick" if given.quick else "soak")
    asked = [study for study in STUDIES if not given.only or study.name in given.only]
    share_s = 60.0 * (given.budget_min or (QUICK_MIN if given.quick else FULL_MIN))
    share_s /= sum(study.minutes for study in asked)
    page = work / "soak.md" if given.quick else PAGE
    failed = False
    for study in asked:
        if given.fresh or given.quick:
            shutil.rmtree(work / study.name, ignore_errors=True)
        print(
            f"{study.name}: about {share_s * study.minutes / 60.0:.1f} min at most",
            file=sys.stderr,
            flush=True,
        )
        sit(study, work / study.name, given.quick, share_s * study.minutes)
        failed = write(page, work, "python -m scripts.soak.run")
    print(page, flush=True)
    return int(failed)


if __name__ == "__main__":
    sys.exit(main())
