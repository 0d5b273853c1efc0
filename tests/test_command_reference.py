"""docs/commands.md says what the program does."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
SCRIPT = ROOT / "scripts" / "write_command_reference.py"
PAGE = ROOT / "docs" / "commands.md"


def test_the_reference_page_is_up_to_date():
    """The page in the repository equals what the script would write now."""
    done = subprocess.run([sys.executable, str(SCRIPT), "--check"], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize("question", ["saturation", "ammonia", "plume", "pipe", "volume", "mix"])
def test_every_quick_question_stands_on_the_page(question):
    """Each question of the truck has its own heading."""
    assert f"#### plumeline quick {question}\n" in PAGE.read_text(encoding="utf-8")
