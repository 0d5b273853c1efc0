"""Change the code of store/ one small way at a time and see whether its tests notice.

    python -m scripts.mutate_store --draw 200 --seed 1 --jobs 2 --work build/mutate-store
    python -m scripts.mutate_store --only '^gate\\.' --work build/mutate-store     # one module

scripts/store_changes.py says what is changed. The tests are collected once and run once as things stand, to see which
lines each of them reaches; that is kept in the folder of the work until a source or a test changes. Each change is
made in the memory of a forked process, which runs the tests that reach the changed lines, those first that go where
few go, and none after the first that fails, hangs or crashes. The tests of one change take so many seconds of a core
at most (MOST_S): a survivor of a line that nearly every test reaches has not met all of them.

Each test that noticed something must pass alone without a change; where it does not, it is left out and its changes
are tried again. What is known of a change is kept; a survivor is tried again once the tests have changed. Left out
are the tests that kill processes, cut the power or let the disk fail, which take minutes.
"""

from __future__ import annotations

import argparse
import contextlib
import hashlib
import io
import json
import os
import re
import shutil
import signal
import sys
import time
import tomllib
import warnings
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from _pytest.runner import runtestprotocol
from scripts.proof.pieces import Pieces
from scripts.store_changes import ROOT, STORE, Change, all_changes, apply

SURVIVORS = ROOT / "docs" / "mutation-survivors-store.toml"
TESTS = (
    "tests/store", "tests/web/test_bin.py", "tests/web/test_capture_api.py", "tests/web/test_capture_correct.py",
    "tests/web/test_doors.py", "tests/web/test_hourly.py",
)  # fmt: skip
TOO_LONG = (
    "test_crash.py",
    "test_power_cut.py",
    "test_io_errors.py",
    "test_hand_over.py",
    "test_round_trip.py",
)
QUICK_TESTS = ("tests/store/test_places.py", "tests/store/test_folder_files.py")
QUICK_MODULES = r"^(places|folder)\."
MOST_S = 25.0
HANGS_S = 20
"""Beyond this, and twenty times what it takes as things stand, a test waits for what never comes."""
VOID = 77


@dataclass
class Reached:
    """What each test reaches of store/ as things stand.

    Attributes:
        lines: tests that run a line, by module and line.
        seconds_s: time that each took of a core [s].
        breadth: how many lines each runs.
        failed: tests that fail as things stand.
        unfit: tests that fail when they are run alone, and so can tell nothing.
    """

    lines: dict[str, dict[int, list[str]]] = field(default_factory=dict)
    seconds_s: dict[str, float] = field(default_factory=dict)
    failed: list[str] = field(default_factory=list)
    unfit: set[str] = field(default_factory=set)

    @property
    def breadth(self) -> dict[str, int]:
        """How many lines each test runs."""
        found: dict[str, int] = {}
        for by_line in self.lines.values():
            for tests in by_line.values():
                for test in tests:
                    found[test] = found.get(test, 0) + 1
        return found

    def tests_of(self, change: Change, breadth: dict[str, int]) -> list[str]:
        """Return the tests to run for a change within their time, those first that go where few go in its function.

        Of those alike in that, the test comes first that reaches the fewest lines of store/.
        """
        by_line = self.lines.get(change.module, {})
        first, last = change.lines
        found = {test for line in range(first, last + 1) for test in by_line.get(line, ())}
        if not found and "." not in change.owner:
            found = self._users_of(change.owner)
        found -= self.unfit
        company = {test: len(self.seconds_s) for test in found}
        for line in range(change.owner_lines[0], change.owner_lines[1] + 1):
            there = by_line.get(line, ())
            for test in found.intersection(there):
                company[test] = min(company[test], len(there))
        chosen: list[str] = []
        spent_s = 0.0
        for test in sorted(found, key=lambda one: (company[one], breadth[one], one)):
            spent_s += self.seconds_s[test]
            if chosen and spent_s > MOST_S:
                break
            chosen.append(test)
        return chosen

    def _users_of(self, name: str) -> set[str]:
        """Return the tests that run a line which names a constant."""
        word = re.compile(rf"\b{re.escape(name)}\b")
        found: set[str] = set()
        for module, by_line in self.lines.items():
            text = (STORE / f"{module}.py").read_text(encoding="utf-8").splitlines()
            for number, tests in by_line.items():
                if number <= len(text) and word.search(text[number - 1]):
                    found |= set(tests)
        return found


def digest_of(paths: list[Path]) -> str:
    """Return the hash of files."""
    sha = hashlib.sha256()
    for path in paths:
        sha.update(path.relative_to(ROOT).as_posix().encode())
        sha.update(path.read_bytes())
    return sha.hexdigest()[:12]


def test_files(names: tuple[str, ...]) -> list[Path]:
    """Return the files of the tests that are run, and what they share."""
    found = list((ROOT / "tests").glob("*.py"))
    for name in names:
        path = ROOT / name
        found += path.glob("*.py") if path.is_dir() else [path, path.parent / "conftest.py"]
    return sorted({path for path in found if path.is_file()})


class Forks:
    """A pytest plugin: collects once, sees what each test reaches, then forks for each change."""

    def __init__(self, changes: list[Change], pieces: Pieces, jobs: int, until_s: float, kept: Path) -> None:
        self.changes = changes
        self.waiting = [one for one in changes if one.name not in pieces]
        self.pieces = pieces
        self.jobs = jobs
        self.until_s = until_s
        self.kept = kept
        self.items: dict[str, pytest.Item] = {}
        self.reached = Reached()

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Run every change; stands in for pytest's own loop."""
        self.items = {item.nodeid: item for item in session.items}
        # whoever asks first clears the folder of the tests: not a process beside which another one runs
        session.config._tmp_path_factory.getbasetemp()  # type: ignore[attr-defined]
        if not self.kept.is_file():
            self._wait(self._fork(self._look))
        told = json.loads(self.kept.read_text(encoding="utf-8"))
        lines = {
            module: {int(line): tests for line, tests in found.items()}
            for module, found in told["lines"].items()
        }
        self.reached = Reached(lines, told["seconds_s"], told["failed"])
        while self.waiting and not self.reached.failed:
            self._try_all()
            self._alone()
        return True

    def _try_all(self) -> None:
        breadth = self.reached.breadth
        tests = {change.name: self.reached.tests_of(change, breadth) for change in self.waiting}
        by_name = {change.name: change for change in self.waiting}
        begun = {name: lambda name=name: self._try(by_name[name], tests[name]) for name in by_name}
        for name, child, status in self._each(begun, self.until_s):
            told = {"how": how_of(status), "tests": len(tests[name]), "line": by_name[name].lines[0]}
            self.pieces.add(name, {**told, "by": self._begun_last(child)})
            print(f"{told['how']}: {name}", file=sys.__stderr__, flush=True)

    def _alone(self) -> None:
        """Run each test that noticed a change once more, alone and without one; changes told by an unfit one wait."""
        sound_file = self.kept.with_name("sound.json")
        sound = set(json.loads(sound_file.read_text(encoding="utf-8"))) if sound_file.is_file() else set()
        by = {str(piece["by"]) for piece in self.pieces if piece["how"] not in ("survives", "void")}
        left = sorted(by & set(self.items) - sound)
        works = {test: lambda test=test: self._as_it_stands(test) for test in left}
        statuses = {test: status for test, _, status in self._each(works, float("inf"))}
        sound |= {test for test, status in statuses.items() if not status}
        sound_file.write_text(json.dumps(sorted(sound)), encoding="utf-8")
        self.reached.unfit |= set(statuses) - sound
        told = {str(piece["key"]) for piece in self.pieces if piece["by"] in self.reached.unfit}
        for name in told:
            self.pieces.drop(name)
        self.waiting = [change for change in self.changes if change.name in told]

    def _as_it_stands(self, test: str) -> int:
        signal.alarm(10 * HANGS_S)
        return int(any(report.failed for _, reports in self._run([test]) for report in reports))

    def _each(self, works: dict[str, Callable[[], int]], until_s: float) -> Iterator[tuple[str, int, int]]:
        """Do works in processes of their own, some at a time; give the name, process and status of each that ends."""
        waiting, running = list(works), dict[int, str]()
        while waiting or running:
            while waiting and len(running) < self.jobs and time.time() < until_s:
                name = waiting.pop(0)
                running[self._fork(works[name])] = name
            if not running:
                return
            child, status = os.wait()
            with contextlib.suppress(ProcessLookupError):
                os.killpg(child, signal.SIGKILL)
            yield running.pop(child), child, status

    def _begun_last(self, child: int) -> str:
        """Return the test that a process began last: the one that noticed."""
        path = self.kept.parent / f"begun-{child}"
        test = path.read_text(encoding="utf-8") if path.is_file() else ""
        path.unlink(missing_ok=True)
        return test

    def _fork(self, work: Callable[[], int]) -> int:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", DeprecationWarning)  # of forking beside sleeping threads
            child = os.fork()
        if child:
            return child
        os.setpgid(0, 0)
        status = 1
        try:
            status = work()
        finally:
            os._exit(status)  # a change that does not even load is noticed

    def _wait(self, child: int) -> None:
        if os.waitpid(child, 0)[1]:
            raise RuntimeError("the tests could not be looked at as things stand")

    def _look(self) -> int:
        """Run each test once and keep which lines of store/ it reached."""
        import coverage

        watch = coverage.Coverage(data_file=None, branch=False, include=[f"{STORE}/*.py"], config_file=False)
        seconds_s, failed = {}, []
        watch.start()
        for test, reports in self._run(list(self.items)):
            watch.switch_context(test)
            began_s = time.process_time()
            if any(report.failed for report in reports):
                failed.append(test)
            seconds_s[test] = time.process_time() - began_s
        watch.stop()
        data = watch.get_data()
        lines = {}
        for name in data.measured_files():
            reached = data.contexts_by_lineno(name).items()
            lines[Path(name).stem] = {line: [one for one in tests if one] for line, tests in reached}
        told = {"lines": lines, "seconds_s": seconds_s, "failed": failed}
        self.kept.write_text(json.dumps(told), encoding="utf-8")
        return 0

    def _try(self, change: Change, tests: list[str]) -> int:
        """Make a change and run tests until one fails; return how the process is to end."""
        try:
            apply(change)
        except (LookupError, ValueError):
            return VOID
        for test, reports in self._run(tests):
            (self.kept.parent / f"begun-{os.getpid()}").write_text(test, encoding="utf-8")
            signal.alarm(HANGS_S + int(20.0 * self.reached.seconds_s[test]))
            if any(report.failed for report in reports):
                return 1
        return 0

    def _run(self, tests: list[str]) -> Iterator[tuple[str, Iterator[pytest.TestReport]]]:
        """Give each test with its reports, which run it when they are asked for; what tests share is kept between."""
        items = [self.items[test] for test in tests]
        for item, following in zip(items, [*items[1:], None], strict=True):
            yield item.nodeid, iter_reports(item, following)


def iter_reports(item: pytest.Item, following: pytest.Item | None) -> Iterator[pytest.TestReport]:
    """Run one test when the first report is asked for."""
    yield from runtestprotocol(item, log=False, nextitem=following)


def how_of(status: int) -> str:
    """Return in a word how a process with a change ended."""
    if os.WIFSIGNALED(status):
        return "hangs" if os.WTERMSIG(status) == signal.SIGALRM else "crashes"
    return {0: "survives", VOID: "void"}.get(os.WEXITSTATUS(status), "noticed")


def listed() -> dict[str, str]:
    """Return the survivors that are listed, with their reasons."""
    if not SURVIVORS.is_file():
        return {}
    rows = tomllib.loads(SURVIVORS.read_text(encoding="utf-8")).get("survivor", [])
    return {row["change"]: row["reason"] for row in rows if row.get("reason", "").strip()}


def drawn(count: int | None, seed: int, only: str = "") -> list[Change]:
    """Return the changes to try, in an order by chance; a larger draw begins with the smaller.

    The place of each hangs on its own name alone, so that a draw stays much the same when the code changes.
    """

    def place(change: Change) -> str:
        return hashlib.sha256(f"{seed} {change.name}".encode()).hexdigest()

    found = sorted((change for change in all_changes() if re.search(only, change.name)), key=place)
    return found if count is None else found[:count]


def run(changes: list[Change], tests: tuple[str, ...], work: Path, jobs: int, until_s: float) -> list[str]:
    """Try what is not known yet, and survivors anew where the tests have changed; return tests that fail as it is."""
    work.mkdir(parents=True, exist_ok=True)
    digest = digest_of([*sorted(STORE.glob("*.py")), *test_files(tests)])
    kept = work / f"reached-{digest}.json"
    if not kept.is_file():
        for old in work.glob("reached-*.json"):
            old.unlink()
        (work / "sound.json").unlink(missing_ok=True)
        forget_survivors(work / "pieces.jsonl")
    pieces = Pieces(work / "pieces.jsonl")
    forks = Forks(changes, pieces, jobs, until_s, kept)
    left_out = [f"--ignore={ROOT / 'tests' / 'store' / name}" for name in TOO_LONG]
    scratch = work / "scratch"
    arguments = ["-q", "-s", "--no-header", "--no-summary", "-p", "no:cacheprovider", f"--basetemp={scratch}"]
    arguments += ["-o", "tmp_path_retention_policy=none", *left_out, *(str(ROOT / name) for name in tests)]
    with contextlib.redirect_stdout(io.StringIO()):
        pytest.main(arguments, plugins=[forks])
    shutil.rmtree(scratch, ignore_errors=True)
    return forks.reached.failed


def forget_survivors(path: Path) -> None:
    """Take away what survived other tests, as these may notice it; that it once survived stays known."""
    if not path.is_file():
        return
    pieces = Pieces(path)
    gone = {str(piece["key"]) for piece in pieces if piece["how"] == "survives"}
    for name in gone:
        pieces.drop(name)
    path.with_name("once.json").write_text(
        json.dumps(sorted(gone | once_survived(path.parent))), encoding="utf-8"
    )


def once_survived(work: Path) -> set[str]:
    """Return the changes that survived the tests of an earlier sitting."""
    path = work / "once.json"
    return set(json.loads(path.read_text(encoding="utf-8"))) if path.is_file() else set()


def main() -> int:
    """Draw changes, try them and report; 1 where a survivor is not listed with its reason."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n", 1)[0])
    parser.add_argument("--draw", type=int, help="how many changes to draw; all when left out")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--only", default="", help="regular expression that the change's name must match")
    parser.add_argument("--quick", action="store_true", help="two small modules and their own tests")
    parser.add_argument("--work", type=Path, required=True, help="folder of what is known already")
    parser.add_argument("--seconds", type=float, default=float("inf"), help="begin none after so long")
    given = parser.parse_args()
    os.chdir(ROOT)
    os.environ["CI"] = "true"  # drawn examples are then the same each time
    changes = drawn(given.draw, given.seed, QUICK_MODULES if given.quick else given.only)
    tests = QUICK_TESTS if given.quick else TESTS
    failed = run(changes, tests, given.work.resolve(), given.jobs, time.time() + given.seconds)
    if failed:
        print(f"fails as things stand: {', '.join(failed)}", file=sys.stderr)
        return 2
    pieces, known = Pieces(given.work / "pieces.jsonl"), listed()
    tried = [one for one in changes if one.name in pieces and pieces[one.name]["how"] != "void"]
    survived = [one for one in tried if pieces[one.name]["how"] == "survives"]
    for one in survived:
        mark = "listed" if one.name in known else "NOT LISTED"
        print(f"survived ({mark}): {one.name} (store/{one.module}.py:{one.lines[0]})")
    print(f"{len(tried) - len(survived)} of {len(tried)} noticed")
    return int(any(one.name not in known for one in survived))


if __name__ == "__main__":
    sys.exit(main())
