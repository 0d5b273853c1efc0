"""docs/job-folder.md and the template name every key and column that is read."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

import pytest

from plumeline.files import equipment_in, observations, readings, route_in, soundings, weather_in
from plumeline.files.keys import split_name
from plumeline.job import document as d

PAGE = (Path(__file__).resolve().parents[2] / "docs" / "job-folder.md").read_text(encoding="utf-8")
TEMPLATE = resources.files("plumeline.files").joinpath("templates", "job.toml").read_text(encoding="utf-8")
PARTS = (
    d.Site, d.SiteFacts, d.Pond, d.Fish, d.Power, d.AirSystem, d.Compressor, d.CurvePoint, d.PipeSegment, d.Diffuser,
    d.Mark, d.Wishes, d.Cabinet, d.OldPipe, d.HoldTest, d.OpenEndTest, d.Trench,
    d.Attendance, d.Prices, d.Costs, d.AsDesigned, d.AsBuilt,
)  # fmt: skip
KEYS = sorted({split_name(name)[0] for part in PARTS for name in part.model_fields} - {"soundings"})
PROGRAM_ONLY = {
    "made_on",
    "notes",
    "commissioned",
    "outline",
    "latitude",
    "longitude",
    "available",
    "volts",
    "amps",
    "turnover",
}
COLUMNS = sorted(
    {
        column.header
        for columns in (
            soundings.COLUMNS, observations.PROFILE_COLUMNS, observations.BOTTLE_COLUMNS,
            observations.GAUGE_COLUMNS, weather_in.COLUMNS, readings.READING_COLUMNS, readings.RUN_COLUMNS,
            route_in.COLUMNS, equipment_in.COLUMNS,
        )
        for column in columns
    }
)  # fmt: skip


@pytest.mark.parametrize("key", KEYS)
def test_the_page_names_every_key(key):
    """A key that is read is documented."""
    words = (
        PAGE.replace("`", " ").replace(",", " ").replace("[", " ").replace("]", " ").replace(".", " ").split()
    )
    assert key in words or f"{key}_per_day" in words


@pytest.mark.parametrize("column", COLUMNS)
def test_the_page_names_every_column(column):
    """A column that is read is documented."""
    assert column in PAGE.replace("`", " ").replace(",", " ").replace(";", " ").split()


@pytest.mark.parametrize("key", [key for key in KEYS if key not in PROGRAM_ONLY])
def test_the_template_names_every_key_a_person_fills(key):
    """A key that a person may fill stands in the template."""
    assert key in TEMPLATE.replace("[", " ").replace("]", " ").replace(".", " ").replace("=", " ").split()
