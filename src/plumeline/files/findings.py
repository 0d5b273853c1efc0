"""What a look through a job folder finds: faults, notices and what was understood."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass, field

from plumeline.errors import Fault
from plumeline.notices import Notice, Severity

SHOWN_ALIKE = 12
"""Faults of one kind in one file that are listed one by one; the rest is counted."""


@dataclass
class Findings:
    """A growing list of faults, notices and echoes; nothing here stops at the first fault."""

    faults: list[Fault] = field(default_factory=list)
    notices: list[Notice] = field(default_factory=list)
    echoes: list[str] = field(default_factory=list)
    meant: set[str] = field(default_factory=set)
    """Paths of keys that misspelt ones stand for, most likely: there, not empty."""
    _alike: dict[tuple[str, str], int] = field(default_factory=dict)

    def fault(self, file: str, where: str, problem: str, remedy: str, *, kind: str = "") -> None:
        """Add a fault; of one ``kind`` in one file only the first dozen are listed, the rest counted."""
        if kind:
            seen = self._alike.get((file, kind), 0) + 1
            self._alike[file, kind] = seen
            if seen > SHOWN_ALIKE:
                return
        self.faults.append(Fault(file, where, problem, remedy))

    def note(self, code: str, text: str) -> None:
        """Add a notice that informs."""
        self.notices.append(Notice(code, Severity.NOTE, text))

    def caution(self, code: str, text: str) -> None:
        """Add a notice that should change what is done."""
        self.notices.append(Notice(code, Severity.CAUTION, text))

    def echo(self, text: str) -> None:
        """Add one line on how a value with a unit was understood."""
        self.echoes.append(text)

    def all_faults(self) -> tuple[Fault, ...]:
        """Return every fault; one line at the end counts those of a kind that were not listed."""
        more = [
            Fault(file, "", f"{seen - SHOWN_ALIKE} more rows have the same fault ({kind}).", "")
            for (file, kind), seen in self._alike.items()
            if seen > SHOWN_ALIKE
        ]
        return (*self.faults, *more)


def near(word: str, known: Iterable[str]) -> str:
    """Return the known name most like ``word``, or an empty string."""
    names = {name.lower(): name for name in known}
    found = difflib.get_close_matches(word.strip().lower(), list(names), n=1, cutoff=0.7)
    return names[found[0]] if found else ""


def some(rows: Iterable[int], most: int = 6) -> str:
    """Return row numbers in words: ``rows 4, 9 and 3 more``."""
    numbers = list(rows)
    if len(numbers) == 1:
        return f"row {numbers[0]}"
    if len(numbers) <= most:
        return f"rows {', '.join(map(str, numbers[:-1]))} and {numbers[-1]}"
    return f"rows {', '.join(map(str, numbers[:most]))} and {len(numbers) - most} more"
