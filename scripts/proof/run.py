"""Run the studies that show the plan to be true, and write docs/proof/ anew.

    python -m scripts.proof.run                     # all of them, two hours at most, goes on where it stood
    python -m scripts.proof.run --quick             # a small form of each, three minutes at most
    python -m scripts.proof.run --only robustness --budget-min 60

A study is a module of scripts/proof/ with `study(work, *, quick) -> dict` and `report(results) -> str`. It
keeps what it has finished in `work` (pieces.py) and is called again with the same folder until it returns. With
`gather(work) -> dict` it can be reported although its time was up. Its results may name `seeds`, `finished`
(counts in words) and `undone` (how many pieces it left when its time was up); the plots are the SVG files that
it leaves in `work`. Each study runs in a process of its own, ended when its time is up. Work done on other
sources is thrown away, so that no page mixes two programs (with --keep it is kept, and the page names both).
"""

from __future__ import annotations

import argparse
import contextlib
import hashlib
import importlib
import json
import os
import shutil
import signal
import subprocess
import sys
import time
import traceback
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from scripts.proof.pages import ROOT, Outcome, write
from scripts.proof.pieces import DEADLINE

FULL_MIN = 120.0
QUICK_MIN = 3.0


@dataclass(frozen=True)
class Study:
    """One study: its name, its module, its minutes of the full time (what one leaves over goes to the next)."""

    name: str
    module: str
    minutes: float


STUDIES = (
    Study("mutation", "scripts.proof.mutation", 6.0),
    Study("mutation_store", "scripts.proof.mutation_store", 15.0),
    Study("metamorphic", "scripts.proof.metamorphic", 8.0),
    Study("bluegreens", "scripts.proof.bluegreens", 4.0),
    Study("faults", "scripts.proof.faults", 10.0),
    Study("numbers", "scripts.proof.numbers", 14.0),
    Study("real_water", "scripts.proof.real_water", 10.0),
    Study("calibration", "scripts.proof.calibration", 18.0),
    Study("robustness", "scripts.proof.robustness", 50.0),
)


def sources_digest() -> str:
    """Return the hash of everything that a study's figures can depend on."""
    digest = hashlib.sha256()
    for folder in ("src/plumeline", "scripts/proof", "tests/truth"):
        for path in sorted((ROOT / folder).rglob("*")):
            if path.suffix in (".py", ".csv", ".toml") and path.is_file():
                digest.update(path.relative_to(ROOT).as_posix().encode())
                digest.update(path.read_bytes())
    return digest.hexdigest()[:12]


def stopped_early(results: dict[str, Any]) -> bool:
    """Return whether a study says of itself that it left pieces undone."""
    return int(results.get("undone", 0)) > 0


def child(name: str, module: str, work: Path, quick: bool) -> int:
    """Run one study in this process and leave its results, or its error, in its folder."""
    try:
        results = importlib.import_module(module).study(work, quick=quick)
    except Exception:
        (work / "error.txt").write_text(traceback.format_exc(), encoding="utf-8")
        traceback.print_exc()
        return 1
    if not quick and stopped_early(results):
        # what is finished lies in its pieces; with a results.json the next sitting would not go on
        print(f"{name}: stopped by the time", file=sys.stderr, flush=True)
        return 0
    (work / "results.json").write_text(json.dumps(results), encoding="utf-8")
    print(f"{name}: done", file=sys.stderr, flush=True)
    return 0


def _end(process: subprocess.Popen[bytes]) -> None:
    """End a study and everything that it started: it leads a process group of its own."""
    for sent, patience_s in ((signal.SIGTERM, 5.0), (signal.SIGKILL, 5.0)):
        with contextlib.suppress(ProcessLookupError):
            os.killpg(process.pid, sent)
        with contextlib.suppress(subprocess.TimeoutExpired):
            process.wait(patience_s)
            return


def _read_state(work: Path) -> dict[str, Any]:
    """Return what is known of the sittings so far: sources, wall time, count."""
    kept = work / "state.json"
    return dict(json.loads(kept.read_text(encoding="utf-8"))) if kept.is_file() else {}


def _state_of(work: Path, digest: str, keep: bool) -> dict[str, Any]:
    """Return the sittings so far; work of other sources is thrown away, or kept and named."""
    state = _read_state(work)
    if state and (keep or state["sources"] == digest):
        if not str(state["sources"]).endswith(digest):
            state["sources"] = f"{state['sources']}, {digest}"
        return state
    shutil.rmtree(work, ignore_errors=True)
    work.mkdir(parents=True, exist_ok=True)
    return {"sources": digest, "wall_s": 0.0, "sittings": 0}


def _sit(study: Study, work: Path, quick: bool, seconds_s: float) -> float:
    """Run a study for at most so long; return the time it took [s]."""
    (work / "error.txt").unlink(missing_ok=True)
    command = [sys.executable, "-m", "scripts.proof.run", "--child", study.name, study.module, str(work)]
    command += ["--quick"] if quick else []
    begun = time.monotonic()
    environment = {**os.environ, DEADLINE: str(time.time() + seconds_s)}
    process = subprocess.Popen(command, cwd=ROOT, env=environment, start_new_session=True)
    try:
        process.wait(seconds_s)
    except subprocess.TimeoutExpired:
        pass
    finally:
        if process.poll() is None:
            _end(process)
    return time.monotonic() - begun


def _outcome(study: Study, work: Path, state: dict[str, Any]) -> Outcome:
    """Return what became of a study, from what lies in its folder."""
    module = importlib.import_module(study.module)
    title = str(getattr(module, "TITLE", study.name.replace("_", " ").capitalize()))
    told = (float(state["wall_s"]), int(state["sittings"]), str(state["sources"]))
    kept = work / "results.json"
    failed = work / "error.txt"
    if kept.is_file():
        results, words = json.loads(kept.read_text(encoding="utf-8")), "whole"
    elif failed.is_file():
        last = failed.read_text(encoding="utf-8").strip().splitlines()[-1]
        return Outcome(study.name, title, "failed", {}, f"The study ended with an error: `{last}`", *told)
    else:
        gather = getattr(module, "gather", None)
        results, words = (gather(work) if gather is not None else {}), "partial"
        if not results:
            lines = sum(len(path.read_text().splitlines()) for path in work.glob("*.jsonl"))
            results = {"finished": f"{lines} pieces"}
            text = (
                f"The time was up after {lines} finished pieces; run the command again to go on from there."
            )
            return Outcome(study.name, title, words, results, text, *told)
    try:
        body = str(module.report(results))
    except Exception as error:
        words, body = "failed", f"The report could not be written: `{type(error).__name__}: {error}`"
    return Outcome(study.name, title, words, results, body, *told)


@dataclass(frozen=True)
class Order:
    """How a proof is to be run.

    Attributes:
        work: folder of the work, one folder a study.
        out: folder of the pages.
        command: the command to print.
        quick: the small form of each study.
        budget_min: wall time allowed for all of them [min].
        only: names of the studies to run; the others are shown as they stand. All when empty.
        keep: go on with work of other sources.
    """

    work: Path
    out: Path
    command: str
    quick: bool = False
    budget_min: float = FULL_MIN
    only: tuple[str, ...] = ()
    keep: bool = False


def _without_running(study: Study, order: Order) -> Outcome | None:
    """Return the outcome of a study that is not there, or not asked for; None when it is to be run."""
    title = study.name.replace("_", " ").capitalize()
    try:
        importlib.import_module(study.module)
    except ModuleNotFoundError as error:
        if error.name is None or not study.module.startswith(error.name):
            raise
        return Outcome(study.name, title, "missing", {}, "", 0.0, 0, "")
    if not order.only or study.name in order.only:
        return None
    state = _read_state(order.work / study.name)
    if state:
        return _outcome(study, order.work / study.name, state)
    word = "older" if (order.out / f"{study.name}.md").is_file() else "missing"
    return Outcome(study.name, title, word, {}, "", 0.0, 0, "")


def run(studies: tuple[Study, ...], order: Order) -> list[Outcome]:
    """Run studies within a time, write their pages, and return what became of each; small forms two at a time."""
    if order.quick:
        return _run_quick(studies, order)
    begun = time.monotonic()
    digest = sources_digest()
    asked = [study for study in studies if not order.only or study.name in order.only]
    whole = sum(study.minutes for study in asked)
    outcomes: dict[str, Outcome] = {}
    for study in studies:
        other = _without_running(study, order)
        if other is not None:
            outcomes[study.name] = other
    promised_min = 0.0
    for study in asked:
        promised_min += order.budget_min * study.minutes / whole
        if study.name in outcomes:
            continue
        outcomes[study.name] = _sat(study, order, digest, 60.0 * promised_min - (time.monotonic() - begun))
        # pages as soon as there are any: the next study may be stopped by hand
        there = [outcomes[item.name] for item in studies if item.name in outcomes]
        write(order.out, order.work, there, order.command, order.budget_min)
    return [outcomes[study.name] for study in studies]


def _sat(study: Study, order: Order, digest: str, left_s: float) -> Outcome:
    """Let a study go on for at most so long where it is not done, and return what became of it."""
    folder = order.work / study.name
    state = _state_of(folder, digest, order.keep)
    if not (folder / "results.json").is_file() and left_s > 1.0:
        print(f"{study.name}: at most {left_s / 60.0:.1f} min", file=sys.stderr, flush=True)
        state["sittings"] += 1
        state["wall_s"] += _sit(study, folder, order.quick, left_s)
    (folder / "state.json").write_text(json.dumps(state), encoding="utf-8")
    found = _outcome(study, folder, state)
    print(f"{study.name}: {found.state}", file=sys.stderr, flush=True)
    return found


def _run_quick(studies: tuple[Study, ...], order: Order) -> list[Outcome]:
    """Run the small forms on two cores, the one that would take longest first; all are of about one size."""
    begun, digest = time.monotonic(), sources_digest()

    def done(study: Study) -> Outcome:
        other = _without_running(study, order)
        if other is not None:
            return other
        return _sat(study, order, digest, 60.0 * order.budget_min - (time.monotonic() - begun))

    with ThreadPoolExecutor(2) as lanes:
        longest_first = sorted(studies, key=lambda study: -study.minutes)
        found = dict(
            zip((study.name for study in longest_first), lanes.map(done, longest_first), strict=True)
        )
    outcomes = [found[study.name] for study in studies]
    write(order.out, order.work, outcomes, order.command, order.budget_min)
    return outcomes


def main(arguments: list[str] | None = None) -> int:
    """Read the command line, run, and return 1 where a study failed."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n", 1)[0])
    parser.add_argument("--quick", action="store_true", help="a small form of each, three minutes at most")
    parser.add_argument("--only", action="append", default=[], help="run this study; may be given again")
    parser.add_argument("--budget-min", type=float, help="wall time allowed for all of them")
    parser.add_argument("--work", type=Path, help="folder of the work, under build/ when left out")
    parser.add_argument("--out", type=Path, help="folder of the pages")
    parser.add_argument("--fresh", action="store_true", help="throw finished work away first")
    parser.add_argument("--keep", action="store_true", help="go on with work of other sources, and say so")
    parser.add_argument("--child", nargs=3, metavar=("NAME", "MODULE", "WORK"), help=argparse.SUPPRESS)
    given = parser.parse_args(arguments)
    if given.child:
        return child(given.child[0], given.child[1], Path(given.child[2]), given.quick)
    unknown = set(given.only) - {study.name for study in STUDIES}
    if unknown:
        parser.error(f"no study {', '.join(sorted(unknown))}; there are {', '.join(s.name for s in STUDIES)}")
    build = ROOT / "build"
    work = (given.work or build / ("proof-quick" if given.quick else "proof")).resolve()
    if given.fresh:
        for study in STUDIES:
            if not given.only or study.name in given.only:
                shutil.rmtree(work / study.name, ignore_errors=True)
    # the quick form is a check that everything runs; its small figures do not replace the pages of the docs
    out = given.out or (work / "pages" if given.quick else ROOT / "docs" / "proof")
    budget_min = given.budget_min or (QUICK_MIN if given.quick else FULL_MIN)
    command = "python -m scripts.proof.run" + (" --quick" if given.quick else "")
    order = Order(work, out, command, given.quick, budget_min, tuple(given.only), given.keep)
    outcomes = run(STUDIES, order)
    return int(any(outcome.state == "failed" for outcome in outcomes))


if __name__ == "__main__":
    sys.exit(main())
