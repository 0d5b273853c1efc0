"""The record as built into job.toml: behind what the contractor wrote, whose own lines stay as they are."""

from __future__ import annotations

import os
import re
import shutil
import tempfile
from datetime import date
from pathlib import Path
from typing import Any

from plumeline.errors import InputError
from plumeline.files.job_folder import check_job
from plumeline.files.toml_out import toml_section
from plumeline.files.toml_values import JOB_FILE
from plumeline.files.write_job import JOB_FILES
from plumeline.job.document import AsBuilt, Job

HEADER = "as_built.commissioned"
MARK = "# accepted at commissioning; written by plumeline commission"
_BLOCK = re.compile(
    rf"^(?:{re.escape(MARK)}\n)?\[{re.escape(HEADER)}\][^\n]*\n(?:(?:\w+ *=[^\n]*|  \{{[^\n]*|\]|)\n)*",
    re.MULTILINE,
)
"""A record as it is written here: its keys, the lines of its list, empty lines; a remark ends it."""


def write_as_built(folder: Path, built: AsBuilt, *, today: date, pond_needed: bool) -> None:
    """Put what was built, with its accepted gauges, into a folder's job.toml; all of it or nothing.

    The new text is read back, and must give the old job with the new record, before it takes the old one's place.

    Args:
        folder: the job folder.
        built: the record.
        today: the date of a job that names none.
        pond_needed: False where the air line alone was asked for.

    Raises:
        InputError: the new text would not read back as that.
        OSError: it can't be written.
    """
    path = Path(os.path.realpath(folder / JOB_FILE))
    old = check_job(folder, today=today, pond_needed=pond_needed).job
    if old is None:
        raise _refused()
    text = _with_record(path.read_bytes().decode("utf-8-sig"), built, whole=old.as_built is None)
    with tempfile.TemporaryDirectory(dir=path.parent, prefix=".writing-") as place:
        trial = Path(place)
        for name in JOB_FILES:
            if (folder / name).is_file() and name != JOB_FILE:
                shutil.copyfile(folder / name, trial / name)
        fresh = trial / JOB_FILE
        fresh.write_bytes(text.encode("utf-8"))
        again = check_job(trial, today=today, pond_needed=pond_needed).job
        if again is None or _but_name(again) != _but_name(old.model_copy(update={"as_built": built})):
            raise _refused()
        shutil.copymode(path, fresh)
        os.replace(fresh, path)


def _refused() -> InputError:
    return InputError(
        f"the record does not fit behind the [as_built] that {JOB_FILE} holds; nothing was written.",
        remedy="Write that part as a table [as_built] of its own, without the key commissioned, and accept again.",
        place=f"{JOB_FILE}, as_built",
    )


def _but_name(job: Job) -> dict[str, Any]:
    """Return a job without what may come from the name of its folder."""
    return {key: getattr(job, key) for key in Job.model_fields if key not in ("id", "name")}


def _with_record(text: str, built: AsBuilt, *, whole: bool) -> str:
    """Return the text of job.toml with the record at its end, in place of an older one, its line ends kept."""
    windows = "\r\n" in text
    text = _BLOCK.sub("", text.replace("\r\n", "\n").rstrip("\n") + "\n").rstrip("\n") + "\n"
    if whole:
        empty = {name for name in AsBuilt.model_fields if getattr(built, name) in ("", (), None)}
        text += "\n" + toml_section("as_built", built, frozenset(empty | {"commissioned"}))
    assert built.commissioned is not None
    text += f"\n{MARK}\n{toml_section(HEADER, built.commissioned)}"
    return text.replace("\n", "\r\n") if windows else text
