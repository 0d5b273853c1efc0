"""readings.csv and runs.csv: what was read on the visits, and what air has run."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path

from plumeline.errors import InputError
from plumeline.files.findings import Findings, near, some
from plumeline.files.headers import Column
from plumeline.files.limits import limits_of
from plumeline.files.observations import PROFILE_COLUMNS, Seen, points_of, slug, stamp_id
from plumeline.files.tables import Table, read_table
from plumeline.files.times import Clock
from plumeline.job.document import AirRun, OxygenReading, Profile, When

READINGS, RUNS = "readings.csv", "runs.csv"
LATEST_D = 60
"""Days after the job's date beyond which a reading is of another year."""
USUAL_HOURS_H = {When.DAWN: (3, 10), When.DUSK: (15, 23)}

READING_COLUMNS = (
    *(replace(c, required=False) if c.name == "temperature_degc" else c for c in PROFILE_COLUMNS),
    Column("when", kind="text", example="dawn"),
    Column("meter", kind="text", example="A"),
)
RUN_COLUMNS = (
    Column("start", required=True, kind="text", example="2026-08-12T10:00", other_names=("time", "started")),
    Column("minutes", required=True, example="30", limits=limits_of(AirRun, "minutes")),
    Column("diffusers", kind="text", example="A+B"),
)


def read_readings(path: Path, clock: Clock, findings: Findings) -> list[Seen]:
    """Return the readings of the file: profiles, of one depth too, and oxygen alone."""
    table = read_table(path, READING_COLUMNS, findings)
    if table is None:
        return []
    casts: dict[tuple[datetime, str, str, str], list[int]] = {}
    times = rising_times(table, "time", clock, findings)
    _say_order(table, times, findings)
    for index, time in enumerate(times):
        if time is not None:
            name, meter, said = (table.text(column, index) for column in ("id", "meter", "when"))
            casts.setdefault((time, name, meter, said), []).append(index)
    found = []
    for (time, name, meter, said), indices in casts.items():
        when = _when(table, indices[0], said, findings)
        item = _reading(table, indices, time, name, meter, when, findings)
        if item is not None:
            first = indices[0]
            found.append(Seen(path.name, table.rows[first], table.number("entry", first), item))
            _check_clock(item, when, table.rows[first], path.name, findings)
    return found


def reading_id(time: datetime, meter: str | None) -> str:
    """Return the id of a reading of the visits where the file names none."""
    return stamp_id("reading", time) + (f"-{slug(meter)}" if meter else "")


def rising_times(table: Table, column: str, clock: Clock, findings: Findings) -> list[datetime | None]:
    """Return each row's time; an hour that came twice is the second where the rows before it ask for that."""
    found: list[datetime | None] = []
    last: datetime | None = None
    text_before = ""
    for row, text in zip(table.rows, table.texts[column], strict=True):
        if text == text_before:  # another depth of the same reading
            found.append(last)
            continue
        try:
            last = clock.read(text, last)
            found.append(last)
            text_before = text
        except InputError as error:
            where = f"row {row}, {column}"
            findings.fault(table.name, where, error.message, error.remedy, kind="time")
            found.append(None)
    return found


def _say_order(table: Table, times: Sequence[datetime | None], findings: Findings) -> None:
    """Note rows that stand before an earlier one."""
    back: list[int] = []
    latest: datetime | None = None
    for row, time in zip(table.rows, times, strict=True):
        if time is None:
            continue
        if latest is not None and time < latest:
            back.append(row)
        latest = time if latest is None else max(latest, time)
    if back:
        findings.note(
            "readings-unordered",
            f"{table.name}, {some(back)}: earlier than a row above; put in order of time. Check the dates.",
        )


def _when(table: Table, index: int, said: str, findings: Findings) -> When | None:
    plain = "-".join(re.split(r"[\s_-]+", said.strip().lower()))
    plain = {"shutoff": "shut-off"}.get(plain, plain)
    if not plain:
        return None
    if plain in list(When):
        return When(plain)
    close = near(plain, list(When))
    remedy = f"Did you mean {close}? " if close else ""
    words = f"{', '.join(list(When)[:-1])} or {list(When)[-1]}"
    findings.fault(
        table.name, f"row {table.rows[index]}, when", f"{said!r} is not a part of the run day.",
        f"{remedy}Write {words}, or leave it empty.", kind="when",
    )  # fmt: skip
    return None


def _reading(
    table: Table, indices: list[int], time: datetime, name: str, meter: str, when: When | None,
    findings: Findings,
) -> Profile | OxygenReading | None:  # fmt: skip
    """Return one cast, or None after a fault."""
    warm = [table.number("temperature_degc", index) is not None for index in indices]
    ident = name or reading_id(time, meter)
    if any(warm) and not all(warm):
        row = table.rows[indices[warm.index(False)]]
        remedy = "Fill it, or remove the row; oxygen alone, without any temperature, can have its own time."
        findings.fault(table.name, f"row {row}, temperature_degc", "has no value.", remedy)
        return None
    if all(warm):
        points = points_of(table, indices, findings, one_depth_ok=True)
        if not points:
            return None
        if len(points) == 1:
            findings.note(
                "reading-one-depth",
                f"{table.name}, row {table.rows[indices[0]]}: read at {points[0].depth_m:g} m alone; it tells of "
                "the water there, and nothing of the layers.",
            )
        return Profile(id=ident, time=time, points=tuple(points), when=when, meter=meter or None)
    found: dict[float, float] = {}
    for index in sorted(indices, key=lambda place: table.numbers["depth_m"][place] or 0.0):
        depth, oxygen = table.numbers["depth_m"][index] or 0.0, table.numbers["do_mg_l"][index] or 0.0
        if found.setdefault(depth, oxygen) != oxygen:
            problem = f"the depth {depth:g} m was given with other values at the same time."
            remedy = "Keep one reading a depth; give a second cast its own time, or name its meter."
            findings.fault(table.name, f"row {table.rows[index]}", problem, remedy)
            return None
    return OxygenReading(
        id=ident, time=time, depth_m=tuple(found), do_mg_l=tuple(found.values()), when=when,
        meter=meter or None,
    )  # fmt: skip


def _check_clock(
    item: Profile | OxygenReading, when: When | None, row: int, file: str, findings: Findings
) -> None:
    if when not in USUAL_HOURS_H:
        return
    low, high = USUAL_HOURS_H[when]
    if not low <= item.time.hour < high:
        findings.caution(
            "when-differs",
            f"{file}, row {row}: {when.value} at {item.time:%H:%M} is outside {low:02d}:00 to {high:02d}:00; the "
            "time counts. Check it, and the word.",
        )


def read_runs(
    path: Path, clock: Clock, diffusers: Sequence[str], findings: Findings
) -> list[tuple[int, AirRun]]:
    """Return the runs of the file with their rows, in order of time.

    Args:
        path: the file.
        clock: the site's.
        diffusers: names of the diffusers, or none where they are not known yet.
        findings: faults and notices are added.
    """
    table = read_table(path, RUN_COLUMNS, findings)
    if table is None:
        return []
    found: list[tuple[int, AirRun]] = []
    times = rising_times(table, "start", clock, findings)
    _say_order(table, times, findings)
    for index, start in enumerate(times):
        minutes = table.number("minutes", index)
        names = _names(table, index, diffusers, findings)
        if start is not None and minutes is not None and names is not None:
            found.append((table.rows[index], AirRun(start=start, minutes=minutes, diffusers=names)))
    found.sort(key=lambda item: item[1].start)
    _check_overlap(table.name, found, findings)
    return found


def _names(
    table: Table, index: int, known: Sequence[str], findings: Findings
) -> tuple[str, ...] | None:  # fmt: skip
    """Return the diffusers of a run, () for all; None after a fault."""
    cell = table.text("diffusers", index)
    names = tuple(dict.fromkeys(name for name in (part.strip() for part in re.split("[;+]", cell)) if name))
    if not names or (len(names) == 1 and names[0].lower() == "all"):
        return ()
    strange = [name for name in names if known and name not in known]
    if not strange:
        return names
    close = near(strange[0], known)
    remedy = f"Did you mean {close}? " if close else ""
    findings.fault(
        table.name, f"row {table.rows[index]}, diffusers", f"there is no diffuser {strange[0]!r}.",
        f"{remedy}Write names joined by +: {'+'.join(known)}; or leave it empty for all.", kind="diffusers",
    )  # fmt: skip
    return None


def _check_overlap(file: str, rows: list[tuple[int, AirRun]], findings: Findings) -> None:
    ends: list[tuple[int, datetime, tuple[str, ...]]] = []
    for row, run in rows:
        for other, end, names in ends:
            shared = not names or not run.diffusers or set(names) & set(run.diffusers)
            if run.start < end and shared:
                problem = f"starts before the run of row {other} ended ({end:%Y-%m-%dT%H:%M})."
                findings.fault(
                    file, f"row {row}", problem, "Correct the start or the minutes; keep one row a run."
                )
                break
        ends.append((row, run.start + timedelta(minutes=run.minutes), run.diffusers))


def check_times(
    named: Sequence[tuple[str, datetime]], file: str, day: date | None, today: date | None, findings: Findings
) -> None:
    """Add a fault for what lies far past the job's date and a caution for what lies in the future.

    Args:
        named: rows in words and their times.
        file: the file's name.
        day: date of the job.
        today: today's date where it is known.
        findings: added to.
    """
    for where, time in named:
        if day is not None and time.date() > day + timedelta(days=LATEST_D):
            problem = (
                f"{time.date().isoformat()} is {(time.date() - day).days} d after the job's date ({day})."
            )
            findings.fault(file, where, problem, "Check the year, and the date in job.toml.", kind="late")
    ahead = [where for where, time in named if today is not None and time.date() > today]
    if ahead:
        findings.caution(
            "reading-future",
            f"{file}, {ahead[0]}{f' and {len(ahead) - 1} more' if len(ahead) > 1 else ''}: later than today "
            f"({today}); nobody can have read it yet. Check the dates.",
        )
