"""Ponds and their revisions: each save is a new one, with who, when and why; none is ever changed."""

from __future__ import annotations

import hashlib
import json
import tempfile
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import ColumnElement, Connection, and_, func, insert, or_, select, update
from sqlalchemy.dialects.sqlite import insert as put

from plumeline.errors import InputError, JobFolderError
from plumeline.files.job_folder import CheckReport, check_job
from plumeline.files.observations import slug
from plumeline.files.write_job import JOB_FILES, job_files
from plumeline.job.document import Job
from plumeline.notices import Notice
from plumeline.store.engine import Database
from plumeline.store.errors import ConflictError, NotThereError
from plumeline.store.folder import Folder, checked
from plumeline.store.place_rows import keep_places, places_of_job
from plumeline.store.pond_rows import (
    SITE,
    PondRow,
    Revision,
    RevisionRow,
    notice_of,
    notice_row,
    pond_row,
    time_of,
)
from plumeline.store.read_back import as_saved, read_back
from plumeline.store.schema import binned_pond, blob, pond, revision, revision_file, sent_once, standing

Clock = Callable[[], datetime]
LONGEST_WORDS = 500


@dataclass(frozen=True)
class _Saving:
    """A revision about to be written."""

    job: Job
    files: Mapping[str, bytes]
    findings: str
    author: str
    reason: str


class Ponds:
    """The ponds of a database."""

    def __init__(self, database: Database, clock: Clock) -> None:
        self._database = database
        self._clock = clock

    def add(self, folder: Folder, *, author: str, reason: str, form_key: str = "") -> Revision:
        """Keep a job folder as a new pond.

        Args:
            folder: its files.
            author: who saves.
            reason: why.
            form_key: of the form that was sent; sent twice it makes one pond, and that one is returned.

        Raises:
            JobFolderError: with every fault of every file; nothing is kept.
        """
        saving = _read(folder.name, folder.files, self.today(), author, reason)
        with self._database.transaction() as link:
            key = _sent_key(form_key, saving.files)
            made = link.execute(select(sent_once.c.pond_id).where(sent_once.c.form_key == key)).scalar()
            if form_key and made is not None:
                there(link, made)
                return _revision(_row(link, made, 1))
            pond_id = _free_id(link, slug(saving.job.id) or "pond")
            row = {"id": pond_id, "name": saving.job.name, "latest_revision": 1, "folder_name": folder.name}
            link.execute(insert(pond).values(**row, created_at=self._stamp()))
            _write(link, pond_id, 1, saving, self._stamp())
            if form_key:
                link.execute(insert(sent_once).values(form_key=key, pond_id=pond_id))
        return self.revision(pond_id)

    def save_files(
        self, pond_id: str, files: Mapping[str, bytes], *, expected_number: int, author: str, reason: str,
        also: Callable[[Connection, int], None] | None = None,
    ) -> Revision:  # fmt: skip
        """Keep a folder's files as the next revision of a pond.

        Args:
            pond_id: the pond.
            files: every file of its folder by path.
            expected_number: the revision on which the change was made.
            author: who saves.
            reason: why.
            also: what is kept with the revision of that number, or not at all.

        Raises:
            ConflictError: the pond was saved in between.
            JobFolderError: with every fault of every file; nothing is kept.
        """
        name = self.folder(pond_id).name
        saving = _read(name, files, self.today(), author, reason)
        with self._database.transaction() as link:
            latest = there(link, pond_id)
            if latest != expected_number:
                row = _row(link, pond_id, latest)
                raise ConflictError(pond_id, expected_number, latest, row.author, row.saved_at)
            link.execute(
                update(pond)
                .where(pond.c.id == pond_id)
                .values(name=saving.job.name, latest_revision=latest + 1)
            )
            _write(link, pond_id, latest + 1, saving, self._stamp())
            if also is not None:
                also(link, latest + 1)
        return self.revision(pond_id, expected_number + 1)

    def save_job(self, pond_id: str, job: Job, *, expected_number: int, author: str, reason: str) -> Revision:
        """Keep a job document as the next revision; the other files of the folder stay as they are.

        Raises:
            ConflictError: the pond was saved in between.
            InputError: the folder of this job would not say the same job.
        """
        rest = {path: data for path, data in self.folder(pond_id).files.items() if path not in JOB_FILES}
        files = {**rest, **_checked_job_files(job, self.today())}
        return self.save_files(pond_id, files, expected_number=expected_number, author=author, reason=reason)

    def add_job(self, job: Job, *, author: str, reason: str) -> Revision:
        """Keep a job document as a new pond.

        Raises:
            InputError: the folder of this job would not say the same job.
        """
        files = _checked_job_files(job, self.today())
        return self.add(Folder(slug(job.id) or "pond", files), author=author, reason=reason)

    def revision(self, pond_id: str, number: int | None = None) -> Revision:
        """Return a revision, the latest when none is named.

        Raises:
            NotThereError: no such pond or revision.
        """
        with self._database.reading() as link:
            latest = there(link, pond_id)
            row = _row(link, pond_id, latest if number is None else number)
        return _revision(row)

    @read_back
    def revisions(self, pond_id: str) -> tuple[RevisionRow, ...]:
        """Return the revisions of a pond, the latest first."""
        columns = (revision.c.number, revision.c.saved_at, revision.c.author, revision.c.reason)
        with self._database.reading() as link:
            there(link, pond_id)
            found = link.execute(
                select(*columns).where(revision.c.pond_id == pond_id).order_by(revision.c.number.desc())
            ).all()
        return tuple(RevisionRow(row.number, time_of(row.saved_at), row.author, row.reason) for row in found)

    @read_back
    def folder(self, pond_id: str, number: int | None = None) -> Folder:
        """Return the files of a revision, as they were given to the byte.

        Raises:
            NotThereError: no such pond or revision.
        """
        with self._database.reading() as link:
            latest = there(link, pond_id)
            number = latest if number is None else number
            _row(link, pond_id, number)
            name = link.execute(select(pond.c.folder_name).where(pond.c.id == pond_id)).scalar_one()
            rows = link.execute(
                select(revision_file.c.path, blob.c.content, blob.c.sha256)
                .join(blob, blob.c.sha256 == revision_file.c.sha256)
                .where(revision_file.c.pond_id == pond_id, revision_file.c.number == number)
                .order_by(revision_file.c.path)
            ).all()
        for row in rows:
            as_saved(bytes(row.content), row.sha256, f"the file {row.path}")
        return Folder(name, {row.path: bytes(row.content) for row in rows})

    @read_back
    def rows(
        self, *, search: str = "", after: tuple[str, str] | None = None, most: int = 200
    ) -> tuple[PondRow, ...]:
        """Return ponds by name.

        Args:
            search: letters that the name holds.
            after: name and id of the last one seen.
            most: how many.
        """
        wanted: list[ColumnElement[bool]] = [not_binned()]
        if search:
            wanted.append(pond.c.name.icontains(search, autoescape=True))
        if after:
            wanted.append(or_(pond.c.name > after[0], and_(pond.c.name == after[0], pond.c.id > after[1])))
        now = and_(revision.c.pond_id == pond.c.id, revision.c.number == pond.c.latest_revision)
        against = and_(standing.c.pond_id == pond.c.id, standing.c.number == pond.c.latest_revision)
        columns = (
            pond.c.id, pond.c.name, revision.c.number, revision.c.saved_at, revision.c.last_reading_at,
            *(func.json_extract(revision.c.job, f"$.site.{name}").label(name) for name in SITE),
        )  # fmt: skip
        with self._database.reading() as link:
            found = link.execute(
                select(*columns, standing.c.warnings)
                .join(revision, now)
                .outerjoin(standing, against)
                .where(*wanted)
                .order_by(pond.c.name, pond.c.id)
                .limit(most)
            ).all()
        return tuple(pond_row(row) for row in found)

    @read_back
    def names(self, most: int, *, besides: Iterable[str] = ()) -> dict[str, str]:
        """Return the names of ponds by their ids, in the order of the names.

        Args:
            most: how many.
            besides: ids of ponds that are wanted in any case, where there are such.
        """
        wanted = select(pond.c.id, pond.c.name).where(not_binned()).order_by(pond.c.name, pond.c.id)
        with self._database.reading() as link:
            first = link.execute(wanted.limit(most)).all()
            more = set(besides) - {row.id for row in first}
            rest = link.execute(wanted.where(pond.c.id.in_(more))).all() if more else ()
        return {row.id: row.name for row in (*first, *rest)}

    def must_be_there(self, pond_id: str) -> None:
        """Look whether there is such a pond.

        Raises:
            NotThereError: there is none, or it is in the bin.
        """
        with self._database.reading() as link:
            there(link, pond_id)

    def count(self) -> int:
        """Return how many ponds there are."""
        with self._database.reading() as link:
            return int(link.execute(select(func.count()).select_from(pond).where(not_binned())).scalar_one())

    def not_looked_at(self, program: str) -> str | None:
        """Return a pond whose newest revision this program's version has not looked at, the last saved first."""
        now = and_(revision.c.pond_id == pond.c.id, revision.c.number == pond.c.latest_revision)
        seen = and_(
            standing.c.pond_id == pond.c.id,
            standing.c.number == pond.c.latest_revision,
            standing.c.program == program,
        )
        with self._database.reading() as link:
            found = link.execute(
                select(pond.c.id)
                .join(revision, now)
                .outerjoin(standing, seen)
                .where(not_binned(), standing.c.pond_id.is_(None))
                .order_by(revision.c.saved_at.desc())
                .limit(1)
            ).scalar_one_or_none()
        return None if found is None else str(found)

    def stands(self, pond_id: str, number: int, warnings: tuple[Notice, ...], program: str) -> None:
        """Keep what stands against a revision, for the list of ponds."""
        text = json.dumps([notice_row(notice) for notice in warnings], ensure_ascii=False)
        values = {"pond_id": pond_id, "number": number, "program": program, "warnings": text}
        with self._database.transaction() as link:
            link.execute(
                put(standing)
                .values(**values)
                .on_conflict_do_update(index_elements=["pond_id", "number"], set_=values)
            )

    def _stamp(self) -> str:
        return stamp(self._clock())

    def today(self) -> date:
        """Return the day where this machine stands: that of a job that names none."""
        return self._clock().astimezone().date()


def stamp(time: datetime) -> str:
    """Return a time as it is kept: UTC, so that its text sorts by time."""
    return time.astimezone(UTC).isoformat(timespec="microseconds")


def _sent_key(form_key: str, files: Mapping[str, bytes]) -> str:
    """Return the key of a form with what it held: sent again with other files it is another pond."""
    found = hashlib.sha256(form_key.encode())
    for path, data in sorted(files.items()):
        found.update(hashlib.sha256(path.encode()).digest() + hashlib.sha256(data).digest())
    return found.hexdigest()


@read_back
def _revision(row: Any) -> Revision:
    as_saved(row.job.encode(), row.job_sha256, f"revision {row.number} of {row.pond_id}")
    findings = json.loads(row.findings)
    notices = tuple(notice_of(item) for item in findings["notices"])
    return Revision(
        row.pond_id, row.number, time_of(row.saved_at), row.author, row.reason,
        Job.model_validate_json(row.job), notices, tuple(findings["understood"]),
    )  # fmt: skip


def keep_blob(link: Connection, data: bytes) -> str:
    """Keep a file's content once, and return its SHA-256."""
    found = hashlib.sha256(data).hexdigest()
    row = {"sha256": found, "size_bytes": len(data), "content": data}
    link.execute(put(blob).values(**row).on_conflict_do_nothing())
    return found


def _checked_job_files(job: Job, today: date) -> dict[str, bytes]:
    """Return the folder of a job, shown to say the same job."""
    files = {name: text.encode() for name, text in job_files(job).items()}
    _, again = look_through(Folder("pond", files), today)
    differ = [name for name in Job.model_fields if getattr(again, name) != getattr(job, name)]
    if differ:
        raise InputError(
            f"the job can't be kept as a folder without a change of: {', '.join(differ)}.",
            remedy="Give times with their offset, depths from the top down and weather hour by hour.",
        )
    return files


def look_at(folder: Folder, today: date) -> CheckReport:
    """Return all that a look through a folder finds: faults, notices, and how values were understood."""
    with tempfile.TemporaryDirectory(prefix="plumeline-") as place:
        here = Path(place) / folder.name
        for path, data in folder.files.items():
            (here / path).parent.mkdir(parents=True, exist_ok=True)
            (here / path).write_bytes(data)
        here.mkdir(exist_ok=True)
        return check_job(here, today=today)


def look_through(folder: Folder, today: date) -> tuple[CheckReport, Job]:
    """Return what a look through a folder without faults finds, and the job that it says.

    Raises:
        JobFolderError: with every fault of every file.
    """
    report = look_at(folder, today)
    if report.job is None:
        raise JobFolderError(report.faults)
    return report, report.job


def _read(name: str, files: Mapping[str, bytes], today: date, author: str, reason: str) -> _Saving:
    files = checked(files)
    report, job = look_through(Folder(name, files), today)
    findings = {"notices": [notice_row(n) for n in report.notices], "understood": list(report.echoes)}
    text = json.dumps(findings, ensure_ascii=False)
    return _Saving(job, files, text, author[:LONGEST_WORDS], reason[:LONGEST_WORDS])


def _write(link: Connection, pond_id: str, number: int, saving: _Saving, saved_at: str) -> None:
    job = saving.job.model_dump_json()
    readings = [item.time for item in saving.job.profiles]
    readings += [item.time for item in saving.job.oxygen_readings]
    link.execute(
        insert(revision).values(
            pond_id=pond_id,
            number=number,
            saved_at=saved_at,
            author=saving.author,
            reason=saving.reason,
            last_reading_at=stamp(max(readings)) if readings else None,
            job_sha256=hashlib.sha256(job.encode()).hexdigest(),
            findings=saving.findings,
            job=job,
        )
    )
    for path, data in saving.files.items():
        row = {"pond_id": pond_id, "number": number, "path": path, "sha256": keep_blob(link, data)}
        link.execute(insert(revision_file).values(**row))
    keep_places(link, pond_id, number, places_of_job(saving.job))


def not_binned() -> ColumnElement[bool]:
    """Return the condition that a pond was not taken away."""
    return pond.c.id.not_in(select(binned_pond.c.pond_id))


def there(link: Connection, pond_id: str) -> int:
    """Return the latest revision's number of a pond.

    Raises:
        NotThereError: there is no such pond, or it is in the bin.
    """
    wanted = select(pond.c.latest_revision).where(pond.c.id == pond_id, not_binned())
    found = link.execute(wanted).scalar_one_or_none()
    if found is None:
        raise NotThereError(
            f"there is no pond '{pond_id[:80]}'.", remedy="Look for it in the list of all ponds."
        )
    return int(found)


def _row(link: Connection, pond_id: str, number: int) -> Any:
    wanted = (revision.c.pond_id == pond_id, revision.c.number == number)
    found = link.execute(select(revision).where(*wanted)).one_or_none()
    if found is None:
        raise NotThereError(f"pond '{pond_id[:80]}' has no revision {number}.")
    return found


def _free_id(link: Connection, wanted: str) -> str:
    """Return the id wanted, or with a number behind it where a pond has it already."""
    wanted = wanted[:60]
    taken = set(
        link.execute(select(pond.c.id).where(pond.c.id.startswith(wanted, autoescape=True))).scalars()
    )
    return wanted if wanted not in taken else next(
        name for name in (f"{wanted}-{count}" for count in range(2, len(taken) + 3)) if name not in taken
    )  # fmt: skip
