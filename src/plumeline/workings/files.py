"""Where a value of the job stands: the file, the field or row, and how it was understood."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from plumeline.job.document import Job
from plumeline.workings.value import Value, given, plain_constant


@dataclass(frozen=True)
class Files:
    """The job and how its values were understood.

    Attributes:
        job: the job.
        echoes: "field: text = what was understood", one a value with a unit.
    """

    job: Job
    echoes: Sequence[str]

    def words(self, field: str) -> str:
        """Return where a field stands and how it was understood."""
        found = [echo.partition(": ")[2] for echo in self.echoes if echo.startswith(f"{field}: ")]
        return f"job.toml, {field}" + (f": {'; '.join(found)}" if found else "")

    def field(self, name: str, number: float, suffix: str, field: str, **more: object) -> Value:
        """Return a value of a field of job.toml."""
        return given(name, number, suffix, self.words(field), **more)


def number(name: str, value: float, **more: object) -> Value:
    """Return a bare number that is the same for every pond."""
    return plain_constant(name, value, "", str(more.pop("source", "")), **more)
