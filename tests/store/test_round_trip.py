"""Import and export of a job folder lose nothing, over jobs of every kind."""

from __future__ import annotations

import tempfile
from datetime import UTC, datetime
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.files.test_round_trip import jobs

from plumeline.files.job_folder import load_job
from plumeline.files.write_job import job_files
from plumeline.store import Folder, open_store, read_folder, read_zip, write_zip

SLOW = settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
NAMES = st.sampled_from(["notes.txt", "photos/a.jpg", "photos/b/c.bin", "Größe.dat"])
EXTRAS = st.dictionaries(NAMES, st.binary(max_size=60), max_size=3)


def unpacked(folder: Folder, place: Path) -> Path:
    """Write a folder out as a person would unpack it."""
    for path, data in folder.files.items():
        (place / folder.name / path).parent.mkdir(parents=True, exist_ok=True)
        (place / folder.name / path).write_bytes(data)
    return place / folder.name


@SLOW
@given(first=jobs, second=jobs, extras=EXTRAS)
def test_what_is_imported_is_exported_to_the_byte_and_what_is_saved_to_the_value(first, second, extras):
    """The files as they came, the job as it was saved in every field, other files untouched by a save."""
    with tempfile.TemporaryDirectory() as scratch:
        place = Path(scratch)
        store = open_store(place / "a.sqlite3", clock=lambda: datetime(2026, 9, 1, tzinfo=UTC))
        files = {name: text.encode() for name, text in job_files(first).items()}
        folder = Folder("pond", {**files, **extras})
        kept = store.ponds.add(read_zip(write_zip(folder)), author="a", reason="b")
        assert kept.job == first
        assert kept.job.model_dump_json() == first.model_dump_json()
        out = read_zip(write_zip(store.ponds.folder(kept.pond_id)))
        assert out.files == folder.files
        saved = store.ponds.save_job(kept.pond_id, second, expected_number=1, author="a", reason="b")
        assert saved.job == second
        export = unpacked(read_zip(write_zip(store.ponds.folder(kept.pond_id))), place / "out")
        assert load_job(export) == second
        assert {name: data for name, data in read_folder(export).files.items() if name in extras} == extras
        assert store.ponds.folder(kept.pond_id, 1).files == folder.files
        store.close()
