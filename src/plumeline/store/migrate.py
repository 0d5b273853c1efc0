"""Bringing a database to the tables of this version, by Alembic; its steps ship inside the package."""

from __future__ import annotations

from functools import cache
from importlib import resources

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection

from plumeline.store.engine import Database
from plumeline.store.errors import StoreError


def _config() -> Config:
    found = Config()
    place = str(resources.files("plumeline.store").joinpath("migrations"))
    found.set_main_option("script_location", place.replace("%", "%%"))
    found.set_main_option("path_separator", "os")
    return found


@cache
def newest() -> str:
    """Return the step that this version of the program ends at."""
    head = ScriptDirectory.from_config(_config()).get_current_head()
    if head is None:
        raise StoreError("the program has no tables to make.", remedy="Install it again.")
    return head


@cache
def known() -> frozenset[str]:
    """Return every step that this version knows."""
    return frozenset(step.revision for step in ScriptDirectory.from_config(_config()).walk_revisions())


def step_of(link: Connection) -> str | None:
    """Return the step that a database stands at; None before the first."""
    return MigrationContext.configure(link).get_current_revision()


def upgrade(database: Database) -> None:
    """Bring a database to the newest step, all of it or none.

    Raises:
        StoreError: a newer version of the program made it.
    """
    with database.reading() as link:
        step = step_of(link)
    if step == newest():
        return
    if step is not None and step not in known():
        raise StoreError(
            f"a newer version of Plumeline made this database (its step {step} is not known here).",
            remedy="Install that version or a later one; nothing was changed.",
            place=str(database.path),
        )
    with database.transaction() as link:
        config = _config()
        config.attributes["connection"] = link
        command.upgrade(config, "head")
