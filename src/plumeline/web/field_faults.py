"""What is wrong with a form, field by field: told at the field, and once more at the top with a link to it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from plumeline.errors import InputError


@dataclass(frozen=True)
class FieldFault:
    """What is wrong in one field.

    Attributes:
        id: of the field on its page.
        label: what the field is called there.
        words: what is wrong and what would be right.
    """

    id: str
    label: str
    words: str


class FieldsError(InputError):
    """A form with faults in its fields; ``fields`` holds every one of them."""

    def __init__(self, fields: Iterable[FieldFault]) -> None:
        self.fields = tuple(fields)
        super().__init__(" ".join(f"{one.label}: {one.words}" for one in self.fields))


def told(error: InputError, id: str, label: str) -> FieldFault:
    """Return an error as the fault of one field, without the field's name before its words.

    Args:
        error: what was refused.
        id: of the field.
        label: what the field is called.
    """
    return FieldFault(id, label, str(error).removeprefix(f"{label}: "))


def fields_of(error: Exception) -> tuple[FieldFault, ...]:
    """Return the faults that an error places; none where it knows no field."""
    return error.fields if isinstance(error, FieldsError) else ()
