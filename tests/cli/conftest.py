"""Job folders and a way to run commands, shared by the tests of the shell."""

from __future__ import annotations

import json
from collections.abc import Callable
from functools import partial
from pathlib import Path

import pytest
from tests.cli.field import HEAD

from plumeline.cli import main

TEN_ANSWERS = """\
format = 1
name = "Test pond"
date = 2026-08-11

[site]
latitude_longitude_elevation = "35.8652, -79.5631, 680 ft"
time_zone = "America/New_York"

[pond]
area = "1.6 acre"
max_depth = "14 ft"
secchi_depth = "2 ft"

[reading]
surface = "84 degF, 7.5 mg/L"
bottom = "64 degF, 0.1 mg/L"
smell = "strong"

[air]
route_length = "430 ft"
rise = "12 ft"

[power]
volts_amps = "120 V, 20 A"

[fish]
species = ["bluegill"]
"""
"""Every answer that a first plan needs; the values are made up."""

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture(name="run")
def _run(capsys) -> Run:
    """Return a function that runs a command and gives its exit code, stdout and stderr."""

    def run(*words: str) -> tuple[int, str, str]:
        code = main(list(words))
        seen = capsys.readouterr()
        return code, seen.out, seen.err

    return run


@pytest.fixture(scope="module", name="heard")
def _heard() -> dict[tuple[str, ...], tuple[int, str, str]]:
    """Return what commands about the demo answered in this file's tests."""
    return {}


@pytest.fixture(name="once")
def _once(run, heard) -> Run:
    """Return a function like `run` that runs a command about the demo, which nothing changes, the first time only."""

    def once(*words: str) -> tuple[int, str, str]:
        if words not in heard:
            heard[words] = run(*words)
        return heard[words]

    return once


@pytest.fixture(name="ten")
def _ten(tmp_path) -> Path:
    """Return a job folder that holds the ten answers and nothing else."""
    folder = tmp_path / "ten"
    folder.mkdir()
    (folder / "job.toml").write_text(TEN_ANSWERS, encoding="utf-8")
    return folder


@pytest.fixture(name="small")
def _small(monkeypatch) -> None:
    """Make the start-up search small: two schedules, two dozen ponds; the work is the same."""
    from plumeline.stages import plan
    from plumeline.stages.startup import known, schedule, stage

    def two(days: int, *_: object) -> tuple[schedule.Schedule, ...]:
        return (schedule.growing(30, 2.0, 15.0, days), schedule.steady(60, 2, 15.0))

    monkeypatch.setattr(plan, "startup", partial(stage.startup, search_members=16, fresh_members=24))
    monkeypatch.setattr(known, "draw_ensemble", partial(known.draw_ensemble, most_tries=64))
    monkeypatch.setattr(known, "LONGEST_HORIZON_D", 6)
    monkeypatch.setattr(stage, "candidates", two)


@pytest.fixture(name="pond")
def _pond(ten) -> Path:
    """Return the ten answers with the reading taken out: each test brings its own profile."""
    path = ten / "job.toml"
    text = path.read_text(encoding="utf-8")
    begin, end = text.index("[reading]"), text.index("[air]")
    path.write_text(text[:begin] + text[end:], encoding="utf-8")
    return ten


@pytest.fixture(name="told")
def _told(run, pond):
    """Return a function that writes the profile, runs a command with --json and gives its document."""

    def told(command, profile, *words, date="2026-08-11", code=0):
        (pond / "profiles.csv").write_text(HEAD + profile, encoding="utf-8")
        done, out, err = run(*command.split(), str(pond), "--date", date, "--json", *words)
        assert done == code, err
        assert "Traceback" not in err
        return json.loads(out) if code == 0 else err

    return told
