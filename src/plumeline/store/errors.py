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
        expected_number: the revision that the change was made on.
        latest_number: the revision that stands now.
        author: who saved it.
    """

    def __init__(
        self, pond_id: str, expected_number: int, latest_number: int, author: str, saved_at: str
    ) -> None:
        super().__init__(
            f"this change was made on revision {expected_number}, but {author or 'somebody'} saved revision "
            f"{latest_number} at {saved_at}; nothing was overwritten.",
            remedy=f"Look at revision {latest_number}, then make the change again on it.",
            place=pond_id,
        )
        self.expected_number = expected_number
        self.latest_number = latest_number
        self.author = author


class DamagedError(StoreError):
    """Something that the database holds is not what was saved."""

    def __init__(self, what: str) -> None:
        super().__init__(
            f"the database is damaged: {what}; nothing was changed.",
            remedy="Stop the server and run: plumeline doctor. It names the last good backup.",
        )


class ReadOnlyError(StoreError):
    """The database is open for reading only, because it is damaged."""
