"""House rule 8: small changes of the relations are noticed by tests/published/ alone."""

import importlib.util
import os
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SCRIPT = ROOT / "scripts" / "mutate_science.py"


@pytest.mark.skipif(not hasattr(os, "fork"), reason="the script forks")
def test_fifteen_drawn_changes_are_noticed():
    """Nine in ten of 15 changes drawn by seed are noticed, each survivor is listed with its reason; all: make proof."""
    done = subprocess.run(
        [sys.executable, str(SCRIPT), "--draw", "15", "--seed", "1"],
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.fixture(scope="module")
def script():
    """Return the script as a module."""
    spec = importlib.util.spec_from_file_location("mutate_science", SCRIPT)
    module = importlib.util.module_from_spec(spec)
    sys.modules["mutate_science"] = module
    spec.loader.exec_module(module)
    return module


def test_every_listed_survivor_is_a_change_that_exists(script):
    """The list holds no change of code that is gone, and no reason is empty."""
    rows = tomllib.loads((ROOT / "docs" / "mutation-survivors.toml").read_text(encoding="utf-8"))["survivor"]
    known = {mutant.name for path in script.SCIENCE.glob("*.py") for mutant in script.mutants_of(path)}
    assert {row["change"] for row in rows} <= known
    assert all(row["reason"].strip() for row in rows)


def test_every_relation_has_a_published_test(script):
    """No function or constant of science/ is without a test in tests/published/."""
    assert [name for name, tests in script.tests_by_relation().items() if not tests] == []
