"""Headers of a CSV file: which column each means and in which unit; near names for a misspelt one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from plumeline.files.findings import Findings, near
from plumeline.files.keys import same_kind, split_name
from plumeline.files.limits import Limits
from plumeline.units import SUFFIXES, split_header

NO_LIMITS = Limits()


@dataclass(frozen=True)
class Column:
    """A column that a file may have.

    Attributes:
        name: the field of the document, ending in its unit.
        required: the column must be there, and each cell filled unless ``blank_ok``.
        header: how docs/job-folder.md writes it, where that differs from ``name``.
        kind: number, or text (times are texts here).
        limits: what the document allows, in the unit of ``name``.
        other_names: further headers, whole or without unit, that mean the same.
        gauge: for pressures, whether they are over the air's.
        example: a right cell, for messages.
    """

    name: str
    required: bool = False
    blank_ok: bool = False
    kind: Literal["number", "text"] = "number"
    limits: Limits = NO_LIMITS
    heading: str = ""
    other_names: tuple[str, ...] = ()
    gauge: bool | None = True
    example: str = "3.5"
    remedy: str = ""

    @property
    def header(self) -> str:
        """How the documentation writes the header."""
        return self.heading or self.name

    @property
    def base(self) -> str:
        """The name without its unit."""
        return split_name(self.name)[0]

    @property
    def suffix(self) -> str:
        """The unit of the field; ``deg`` for longitude and latitude, empty for pure numbers."""
        return "deg" if self.name in ("lon", "lat") else split_name(self.name)[1]

    @property
    def unit_words(self) -> str:
        """The unit as it is written beside a number."""
        return SUFFIXES[self.suffix].spellings[0] if self.suffix not in ("", "fraction") else ""

    @property
    def limit_remedy(self) -> str:
        """What would be right for a value beyond the limits."""
        if self.remedy:
            return self.remedy
        span = f"from {self.limits.low:g} to {self.limits.high:g}"
        if self.limits.high == float("inf"):
            span = f"of at least {self.limits.low:g}"
        return f"Give a value {span} {self.unit_words}".rstrip() + "; check the unit and the sign."


@dataclass(frozen=True)
class Header:
    """One header of a file, understood: the column and the unit that bare numbers under it have."""

    column: Column
    written: str
    given: str
    unitless: bool = False
    """The column has a unit and the header names none: each cell must."""


def match_headers(
    file: str, heading: tuple[int, list[str]], columns: tuple[Column, ...], findings: Findings
) -> list[Header | None] | None:
    """Return what each header means (None: not used); None for all after a fault that hides a column."""
    row, cells = heading
    before = len(findings.faults)
    matched = [_match(cell, columns) for cell in cells]
    taken: dict[str, str] = {}
    for cell, header in zip(cells, matched, strict=True):
        if header is None:
            continue
        name = header.column.name
        if name in taken:
            problem = f"the columns {taken[name]} and {cell.strip()} mean the same."
            findings.fault(file, f"row {row}", problem, "Keep one of them.")
        taken[name] = cell.strip()
    missing = [column for column in columns if column.name not in taken]
    for cell, header in zip(cells, matched, strict=True):
        if header is None and cell.strip():
            missing = _unmatched(file, row, cell.strip(), missing, findings)
    for column in missing:
        if column.required:
            remedy = f"Add it; the heading is: {','.join(c.header for c in columns if c.required)}."
            findings.fault(file, f"row {row}", f"the column {column.header} is missing.", remedy)
    for cell, header in zip(cells, matched, strict=True):
        if header is not None and header.given not in (header.column.suffix, "pct") and not header.unitless:
            unit, field_unit = (SUFFIXES[s].spellings[0] for s in (header.given, header.column.suffix))
            findings.echo(f"{file}, {cell.strip()}: read as {unit}, kept as {field_unit}")
    return matched if len(findings.faults) == before else None


def _plain(cell: str) -> str:
    return "_".join(cell.strip().lower().replace("-", "_").split())


def _match(cell: str, columns: tuple[Column, ...]) -> Header | None:
    written = cell.strip()
    plain = _plain(written)
    for column in columns:
        names = {column.name, column.header, *column.other_names}
        if plain in {column.name, column.header} or (plain in names and split_name(plain)[1]):
            return Header(column, written, split_name(plain)[1] or column.suffix)
    base, suffix = split_header(written)
    for column in columns:
        bases = {column.base, split_name(column.header)[0], *(split_name(n)[0] for n in column.other_names)}
        if base not in bases:
            continue
        if not suffix:
            return Header(column, written, column.suffix, unitless=column.suffix not in ("", "deg"))
        if column.suffix and suffix in SUFFIXES and same_kind(suffix, column.suffix):
            return Header(column, written, suffix)
    return None


def _unmatched(file: str, row: int, written: str, missing: list[Column], findings: Findings) -> list[Column]:
    """Report a header that means nothing; return the columns that are still missing."""
    plain = _plain(written)
    base, suffix = split_header(written)
    for column in missing:
        if column.kind == "number" and (base == column.base or plain.startswith(f"{column.base}_")):
            unit = suffix or plain.removeprefix(f"{column.base}_")
            problem = f"the column {written} has a unit that can't be used here ({unit})."
            findings.fault(file, f"row {row}", problem, f"Call it {column.header}, or use {_units(column)}.")
            return [other for other in missing if other is not column]
    close = near(plain, [column.header for column in missing])
    if close:
        problem = f"the column {written} is not known."
        findings.fault(file, f"row {row}", problem, f"Did you mean {close}?")
        return [column for column in missing if column.header != close]
    findings.note("column-not-used", f"{file}: the column {written} is not used.")
    return missing


def _units(column: Column) -> str:
    kind = SUFFIXES[column.suffix].kind if column.suffix else ""
    others = [unit.suffix for unit in SUFFIXES.values() if unit.kind == kind and not unit.mark]
    return "one of " + ", ".join(f"{column.base}_{suffix}" for suffix in others[:5]) if others else "no unit"
