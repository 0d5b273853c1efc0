"""What can go wrong with stored ponds, in words."""

from __future__ import annotations

from plumeline.errors import PlumelineError


class StoreError(PlumelineError):
    """The database can't be used as it stands."""


class NotThereError(PlumelineError):
    """A pond, a revision or a run that the database does not hold."""


class ConflictError(PlumelineError):
    """Somebody saved the pond in between; nothing of either is lost.

    Attributes:
        expected: the revision that the change was made on.
        latest: the revision that stands now.
        author: who saved it.
    """

    def __init__(self, pond_id: str, expected: int, latest: int, author: str, saved_at: str) -> None:
        super().__init__(
            f"this change was made on revision {expected}, but {author or 'somebody'} saved revision {latest} "
            f"at {saved_at}; nothing was overwritten.",
            remedy=f"Look at revision {latest}, then make the change again on it.",
            place=pond_id,
        )
        self.expected = expected
        self.latest = latest
        self.author = author


class ReadOnlyError(StoreError):
    """The database is open for reading only, because it is damaged."""
