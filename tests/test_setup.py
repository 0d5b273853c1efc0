"""Set-up on a machine that has Python, make and coreutils, and nothing else."""

from __future__ import annotations

import importlib.util
import os
import shutil
import subprocess
import sys
import sysconfig
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).resolve().parent.parent
COREUTILS = ("cat", "chmod", "cp", "date", "dirname", "env", "expr", "ls", "mkdir", "mv", "rm", "tr", "uname")


def set_up_script() -> ModuleType:
    """Load scripts/setup_environment.py without running it."""
    spec = importlib.util.spec_from_file_location(
        "setup_environment", ROOT / "scripts" / "setup_environment.py"
    )
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture
def bare_path(tmp_path: Path) -> str:
    """Return a PATH that holds only python3, make and coreutils."""
    folder = tmp_path / "bin"
    folder.mkdir()
    for name in ("make", *COREUTILS):
        found = shutil.which(name)
        if found is None:
            pytest.skip(f"{name} is not on this machine")
        (folder / name).symlink_to(found)
    (folder / "python3").symlink_to(Path(sys.base_prefix) / "bin" / "python3")
    return str(folder)


def test_set_up_needs_only_python_make_and_coreutils(bare_path: str, tmp_path: Path) -> None:
    """`make setup` in an empty environment ends with a program that answers, no compiler or git in sight.

    The pinned packages are those of this environment, which were set up by the same command a moment ago from wheels
    alone (`--only-binary :all:`): pip finds each in its version and does not unpack 0.8 GB a second time.
    """
    venv = tmp_path / "venv"
    keep = {name: value for name, value in os.environ.items() if name.startswith(("PIP_", "SSL_"))}
    environment = {
        **keep,
        "PATH": bare_path,
        "HOME": os.environ.get("HOME", "/"),
        "PLUMELINE_VENV": str(venv),
        "PYTHONPATH": sysconfig.get_path("purelib"),
    }
    done = subprocess.run(
        [f"{bare_path}/make", "setup"], cwd=ROOT, env=environment, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    answer = subprocess.run(
        [str(venv / "bin" / "python"), "-m", "plumeline", "quick", "saturation", "--temperature", "20 degC", "--json"],
        cwd=tmp_path, env=environment, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert answer.returncode == 0, answer.stderr
    assert '"do_sat_mg_l": 9.09' in answer.stdout


def test_a_python_without_ensurepip_is_told_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where ensurepip is missing and nobody is root, one line says what to install."""
    script = set_up_script()
    monkeypatch.setitem(sys.modules, "ensurepip", None)
    monkeypatch.setattr(script.os, "geteuid", lambda: 1000)
    with pytest.raises(SystemExit, match="apt-get install python3-venv"):
        script.need_ensurepip()


def test_as_root_the_missing_part_is_installed(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where ensurepip is missing and apt-get is there, root installs python3-venv."""
    script = set_up_script()
    asked: list[list[str]] = []
    monkeypatch.setitem(sys.modules, "ensurepip", None)
    monkeypatch.setattr(script.os, "geteuid", lambda: 0)
    monkeypatch.setattr(script.shutil, "which", lambda _name: "/usr/bin/apt-get")
    monkeypatch.setattr(script.subprocess, "run", lambda command, **_: asked.append(command))
    script.need_ensurepip()
    assert asked[-1][-1] == "python3-venv"


def test_the_files_that_are_begun_first_exist() -> None:
    """A name in the order of the long files that leads nowhere would order nothing."""
    from tests.conftest import LONGEST_FIRST

    assert [name for name in LONGEST_FIRST if not (ROOT / "tests" / name).exists()] == []
