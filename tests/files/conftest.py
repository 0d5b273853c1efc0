"""A job folder of the ten answers, to spoil in one place at a time."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from plumeline.errors import Fault
from plumeline.files.job_folder import CheckReport, check_job

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

TODAY = date(2026, 8, 11)


class Folder:
    """A job folder under test."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.write("job.toml", TEN_ANSWERS)

    def write(self, name: str, text: str | bytes) -> Folder:
        """Write one file of the folder."""
        data = text.encode("utf-8") if isinstance(text, str) else text
        (self.path / name).write_bytes(data)
        return self

    def change(self, old: str, new: str) -> Folder:
        """Change job.toml in one place."""
        text = (self.path / "job.toml").read_text(encoding="utf-8")
        assert old in text
        return self.write("job.toml", text.replace(old, new, 1))

    def check(self) -> CheckReport:
        """Return what is found in the folder."""
        return check_job(self.path, today=TODAY)

    def fault(self) -> Fault:
        """Return the one fault of the folder."""
        faults = self.check().faults
        assert len(faults) == 1, [str(fault) for fault in faults]
        return faults[0]

    def notice(self, code: str) -> str:
        """Return the text of the one notice of this code in a folder without faults."""
        report = self.check()
        assert not report.faults, [str(fault) for fault in report.faults]
        found = [notice.said("si") for notice in report.notices if notice.code == code]
        assert len(found) == 1, report.notices
        return found[0]


@pytest.fixture
def folder(tmp_path: Path) -> Folder:
    """A folder whose job.toml holds the ten answers and nothing else."""
    return Folder(tmp_path)


@pytest.fixture
def square() -> Callable[..., str]:
    """An outline of a square about the site, as GeoJSON text; ``swap`` exchanges longitude and latitude."""

    def make(half_deg: float = 0.0004, *, swap: bool = False, lon: float = -79.5631) -> str:
        corners = [(-1, -1), (1, -1), (1, 1), (-1, 1), (-1, -1)]
        pairs = [[lon + half_deg * x, 35.8652 + half_deg * y] for x, y in corners]
        pairs = [pair[::-1] for pair in pairs] if swap else pairs
        return f'{{"type": "Polygon", "coordinates": [{pairs}]}}'

    return make
