"""One family of errors; each says what was given, what is wrong and the way out."""

from __future__ import annotations

from dataclasses import dataclass

from plumeline.pairs import unmarked


class PlumelineError(Exception):
    """Base of every error that a user may see.

    Attributes:
        message: what is wrong, with the value given and the limit.
        remedy: what would be right.
        place: the file, row, key or option at fault; empty when there is none.
        is_of_depth: whether the water is too deep for the air, as by a wrong sounding.
    """

    is_of_depth = False

    def __init__(self, message: str, *, remedy: str = "", place: str = "") -> None:
        super().__init__(unmarked(message))
        self.message = unmarked(message)
        self.remedy = unmarked(remedy)
        self.place = place

    def __str__(self) -> str:
        head = f"{self.place}: {self.message}" if self.place else self.message
        return f"{head} {self.remedy}".rstrip()


class UnitError(PlumelineError):
    """A value whose unit or spelling is not understood, or is of the wrong kind."""


class RangeError(PlumelineError):
    """A value outside the range in which it can be right, or a relation holds."""


class InputError(PlumelineError):
    """A file, key or row that can't be used."""


class ModelError(PlumelineError):
    """A computation that can't give an answer: no operating point, a state turned unphysical."""


class DepthError(ModelError):
    """Water too deep for the air: no compressor in question reaches it."""

    is_of_depth = True


@dataclass(frozen=True)
class Fault:
    """One fault found in a job folder: where, what is wrong, what would be right."""

    file: str
    where: str
    problem: str
    remedy: str

    def __str__(self) -> str:
        place = f"{self.file}, {self.where}" if self.where else self.file
        return unmarked(f"{place}: {self.problem} {self.remedy}").rstrip()


class JobFolderError(InputError):
    """A job folder, or a file beside it, with faults; ``faults`` holds every one of them."""

    def __init__(self, faults: tuple[Fault, ...], what: str = "the job folder") -> None:
        count = len(faults)
        lines = "\n".join(f"  - {fault}" for fault in faults)
        super().__init__(f"{what} has {count} fault{'s' if count != 1 else ''}:\n{lines}")
        self.faults = faults
