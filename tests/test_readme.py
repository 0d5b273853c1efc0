"""README names every package of the requirements, stays short, and its pictures are there and small."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", ["run", "dev", "oracle"])
def test_every_package_is_named(name):
    """Those of requirements/*.in, by their own names."""
    lines = (ROOT / "requirements" / f"{name}.in").read_text().splitlines()
    packages = {line.strip() for line in lines if re.match(r"[A-Za-z]", line)}
    assert packages
    assert {package for package in packages if package.lower() not in README.lower()} == set()


def test_it_is_short_and_its_pictures_are_small():
    """120 lines; each picture under 150 kB, none left over."""
    assert len(README.splitlines()) <= 120
    pictures = re.findall(r"\]\((docs/images/[^)]+)\)", README)
    assert len(pictures) >= 3
    assert {ROOT / name for name in pictures} == set((ROOT / "docs" / "images").iterdir())
    for name in pictures:
        assert (ROOT / name).stat().st_size < 150_000, name
