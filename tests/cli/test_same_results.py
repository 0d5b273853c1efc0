"""No hidden order: the same inputs give the same results to the last bit, and results say what they rest on."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from datetime import date

from tests.cli.conftest import TEN_ANSWERS

import plumeline
from plumeline.demo import demo_folder
from plumeline.files.job_folder import load_job
from plumeline.files.plan_files import plan_json
from plumeline.job.digest import inputs_sha256

DEMO = str(demo_folder())


def test_what_was_computed_before_changes_no_bit(run, tmp_path):
    """A fresh process, and this one after another pond and other stages: the air line of the demo, byte for byte."""
    fresh = subprocess.run(
        [sys.executable, "-m", "plumeline", "air", DEMO, "--json"], capture_output=True, text=True, check=True
    )
    (tmp_path / "job.toml").write_text(TEN_ANSWERS)
    for words in (("air", str(tmp_path)), ("layout", DEMO), ("survey", str(tmp_path))):
        assert run(*words, "--json")[0] == 0
    code, out, _ = run("air", DEMO, "--json")
    assert code == 0
    assert out == fresh.stdout


def test_every_result_says_what_it_rests_on(run, small_plan, tmp_path):
    """Hash of the inputs and version, in each stage's document and in plan.json; another input, another hash."""
    found = json.loads(run("survey", DEMO, "--json")[1])
    assert found["made_by"] == f"plumeline {plumeline.__version__}"
    job = load_job(demo_folder())
    assert found["inputs_sha256"] == inputs_sha256(job.model_copy(update={"date": date(2026, 8, 11)}))
    assert json.loads(run("reading", DEMO, "--json")[1])["inputs_sha256"] == found["inputs_sha256"]
    folder = tmp_path / "elsewhere"
    shutil.copytree(demo_folder(), folder)
    assert json.loads(run("survey", str(folder), "--json")[1])["inputs_sha256"] == found["inputs_sha256"]
    rows = (folder / "soundings.csv").read_text()
    (folder / "soundings.csv").write_text(rows.replace("12.6", "12.5", 1))
    assert rows.count("12.6")
    assert json.loads(run("survey", str(folder), "--json")[1])["inputs_sha256"] != found["inputs_sha256"]
    plan = json.loads(plan_json(small_plan))
    assert plan["inputs_sha256"] == inputs_sha256(small_plan.job)
    assert plan["made_by"] == found["made_by"]
