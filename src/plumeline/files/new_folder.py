"""A new job folder to fill in: commented templates for every file."""

from __future__ import annotations

from datetime import date
from importlib import resources
from pathlib import Path

from plumeline.errors import InputError
from plumeline.files.toml_out import toml_text
from plumeline.files.toml_values import JOB_FILE
from plumeline.files.write_job import JOB_FILES, put_files

TEMPLATES = (
    "outline.geojson", "soundings.csv", "profiles.csv", "bottle.csv", "weather.csv", "readings.csv", "runs.csv",
    "route.csv", "equipment.csv",
)  # fmt: skip


def write_new(folder: Path, *, today: date | None = None) -> tuple[str, ...]:
    """Write a commented job folder and return the names of its files.

    Args:
        folder: made when it is not there; its name becomes the name of the job.
        today: written as the date of the job; left empty when None.

    Raises:
        InputError: when the folder holds one of the files already, or is a file. Nothing is overwritten.
    """
    folder = Path(folder)
    if folder.exists() and not folder.is_dir():
        raise InputError("is a file.", remedy="Name a folder to make.", place=str(folder))
    there = [name for name in JOB_FILES if (folder / name).exists()]
    if there:
        remedy = "Nothing was written. Choose another folder."
        raise InputError(f"{', '.join(there)} is there already.", remedy=remedy, place=str(folder))
    texts = {name: template(name) for name in (JOB_FILE, *TEMPLATES)}
    name = toml_text(folder.resolve().name)
    day = today.isoformat() if today else '""'
    texts[JOB_FILE] = (
        texts[JOB_FILE].replace('name = ""', f"name = {name}").replace('date = ""', f"date = {day}")
    )
    put_files(folder, texts)
    return tuple(texts)


def template(name: str) -> str:
    """Return a commented file to fill in, one of `TEMPLATES` or the job's own."""
    source = resources.files("plumeline.files").joinpath("templates", name)
    return source.read_text(encoding="utf-8")
