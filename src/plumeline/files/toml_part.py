"""job.toml: its tables and keys to parts of the document, with every fault."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ValidationError

from plumeline.files.bank_slope import read_bank_slope
from plumeline.files.findings import Findings, near
from plumeline.files.keys import find_key, names_of
from plumeline.files.ten_answers import read_short_reading, read_site_triple, read_volts_amps
from plumeline.files.text_in import read_text
from plumeline.files.toml_values import JOB_FILE, At, Missing, read_value
from plumeline.files.wall_in import read_wall
from plumeline.job.document import (
    FORMAT_VERSION,
    AirSystem,
    AsBuilt,
    AsDesigned,
    Attendance,
    Costs,
    Fish,
    Job,
    Pond,
    Power,
    Prices,
    Site,
    Trench,
    Wishes,
)

SECTIONS: dict[str, type[BaseModel]] = {
    "site": Site, "pond": Pond, "fish": Fish, "power": Power, "air": AirSystem, "trench": Trench,
    "prices": Prices, "costs": Costs, "wishes": Wishes,
    "attendance": Attendance, "as_designed": AsDesigned, "as_built": AsBuilt,
}  # fmt: skip
TOP_KEYS = ("format", "id", "name", "date", "seed")
NOT_IN_TOML = {
    "soundings": "soundings.csv",
    "observations": "profiles.csv",
    "weather": "weather.csv",
    "route": "route.csv",
    "equipment": "equipment.csv",
}
SHORT_FORMS = {"site": "latitude_longitude_elevation", "power": "volts_amps", "pond": "bank_slope"}
READERS = {"site": read_site_triple, "power": read_volts_amps, "pond": read_bank_slope}


@dataclass
class TomlPart:
    """What job.toml holds: fields of the document by section, and the short reading."""

    top: dict[str, Any] = field(default_factory=dict)
    sections: dict[str, dict[str, Any]] = field(default_factory=dict)
    reading: dict[str, Any] = field(default_factory=dict)
    faulty: set[str] = field(default_factory=set)
    """Paths (``pond.area``) that are there but at fault, so that they are not called empty as well."""


def read_toml(path: Path, findings: Findings) -> TomlPart | None:
    """Return what job.toml holds, or None when nothing of it can be read."""
    if not path.is_file():
        findings.fault(JOB_FILE, "", "is missing.", "Make a folder to fill in with: plumeline new FOLDER.")
        return None
    text = read_text(path, findings)
    if text is None:
        return None
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        _syntax_fault(str(error), text, findings)
        return None
    return _read_tables(raw, findings)


def _syntax_fault(message: str, text: str, findings: Findings) -> None:
    found = re.search(r"\(at line (\d+), column (\d+)\)", message)
    row = int(found[1]) if found else text.count("\n") + 1
    lines = text.split("\n")
    line = lines[row - 1].strip() if row <= len(lines) else ""
    remedy = 'Put a value that carries its unit in quotes: max_depth = "14 ft".'
    if line.count('"') % 2:
        remedy = "A quotation mark is missing; in a text with inches write 'single quotes' around it."
    findings.fault(
        JOB_FILE,
        f"row {row}",
        f"is not valid TOML: {message.split(' (at')[0].lower()}: {line[:60]}",
        remedy,
    )


def _read_tables(raw: dict[str, Any], findings: Findings) -> TomlPart:
    part = TomlPart()
    _check_format(raw.get("format"), findings)
    for name, value in raw.items():
        if name == "reading" and isinstance(value, dict):
            before = len(findings.faults)
            part.reading = read_short_reading(value, findings)
            part.faulty |= {fault.where for fault in findings.faults[before:]}
        elif name in SECTIONS and isinstance(value, dict):
            part.sections[name] = _read_section(name, value, part.faulty, findings)
        elif name in TOP_KEYS:
            _read_top(name, value, part, findings)
        else:
            _unknown_key(name, "", [*TOP_KEYS, *SECTIONS, "reading"], findings)
    return part


def _check_format(version: Any, findings: Findings) -> None:
    if version is None:
        text = f"{JOB_FILE} names no format; it is read as the present one."
        findings.note("format-assumed", text)
    elif version != FORMAT_VERSION or isinstance(version, bool):
        problem = f"{version!r} is a version that this program does not know."
        findings.fault(JOB_FILE, "format", problem, f"Write format = {FORMAT_VERSION} at the top.")


def _read_top(name: str, raw: Any, part: TomlPart, findings: Findings) -> None:
    if name == "format":
        return
    key = find_key(Job, name)
    assert key is not None
    value = read_value(Job.model_fields[name].annotation, raw, At(name, Job, key, findings), PartIn(findings))
    if value is Missing.FAULTY:
        part.faulty.add(name)
    elif not isinstance(value, Missing) and not (isinstance(value, str) and not value.strip()):
        part.top[name] = value


def _read_section(name: str, raw: dict[str, Any], faulty: set[str], findings: Findings) -> dict[str, Any]:
    raw = dict(raw)
    short = SHORT_FORMS.get(name)
    found: dict[str, Any] = {}
    if short in raw:
        value = raw.pop(short)
        if value not in ("", []):
            fields = READERS[name](value, findings)
            if fields is None:
                faulty.add(f"{name}.{short}")
            else:
                found.update(fields)
                if name == "site" and "elevation_m" not in fields:
                    faulty.add(f"{name}.{short}")
    before = len(findings.faults)
    extra = [short] if short else []
    found.update(read_fields(SECTIONS[name], raw, name, findings, taken=set(found), extra=extra))
    faulty |= {fault.where for fault in findings.faults[before:]}
    return found


def read_fields(
    model: type[BaseModel],
    raw: dict[str, Any],
    path: str,
    findings: Findings,
    *,
    taken: set[str] | None = None,
    extra: list[str] | None = None,
) -> dict[str, Any]:
    """Return the fields of one table that can be read; faults are added for the rest."""
    seen = set(taken or ())
    found: dict[str, Any] = {}
    for written, value in raw.items():
        key = find_key(model, written)
        here = f"{path}.{written}"
        if written in NOT_IN_TOML:
            findings.fault(
                JOB_FILE, here, "does not stand in job.toml.", f"Put it in {NOT_IN_TOML[written]}."
            )
        elif key is None:
            _unknown_key(written, path, [*names_of(model, NOT_IN_TOML), *(extra or [])], findings)
        elif key.field in seen:
            findings.fault(JOB_FILE, here, "is given twice.", f"Keep one of the forms of {key.base}.")
        else:
            at = At(here, model, key, findings)
            result = read_value(_annotation(model, key.field), value, at, PartIn(findings))
            if result is not Missing.EMPTY:
                seen.add(key.field)
            if not isinstance(result, Missing):
                found[key.field] = result
    return found


def _annotation(model: type[BaseModel], name: str) -> Any:
    return model.model_fields[name].annotation


@dataclass(frozen=True)
class PartIn:
    """Reads a nested table into a part of the document."""

    findings: Findings

    def __call__(self, model: type[BaseModel], raw: dict[str, Any] | str, path: str) -> Any:
        """Return the part, or ``Missing.FAULTY`` when something in it is wrong."""
        if isinstance(raw, str):
            return read_wall(raw, path, self.findings)
        before = len(self.findings.faults)
        found = read_fields(model, raw, path, self.findings)
        if len(self.findings.faults) > before:
            return Missing.FAULTY
        return build(model, found, path, self.findings)


def build(model: type[BaseModel], fields: dict[str, Any], path: str, findings: Findings) -> Any:
    """Return the part of the document made of ``fields``, or ``Missing.FAULTY`` with faults added."""
    try:
        return model(**fields)
    except ValidationError as error:
        for entry in error.errors():
            where = ".".join([path, *(str(step) for step in entry["loc"])]).strip(".")
            missing = entry["type"] == "missing"
            findings.fault(
                JOB_FILE,
                where,
                "is missing." if missing else f"{entry['input']!r}: {entry['msg'].lower()}.",
                "Add it." if missing else "Give a value within the limits of docs/job-folder.md.",
            )
        return Missing.FAULTY


def _unknown_key(written: str, path: str, known: list[str], findings: Findings) -> None:
    close = near(written, known)
    elsewhere = [name for name, model in SECTIONS.items() if name != path and find_key(model, written)]
    if close:
        findings.meant.add(f"{path}.{close}".strip("."))
        remedy = f'Did you mean "{close}"?'
    elif elsewhere:
        remedy = f"It belongs in [{elsewhere[0]}]."
    else:
        remedy = f"Known here: {', '.join(known)}."
    findings.fault(JOB_FILE, f"{path}.{written}".strip("."), "is not a known key.", remedy)
