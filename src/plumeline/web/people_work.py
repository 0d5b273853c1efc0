"""``plumeline people``: who may sign in once the server is open to the network."""

from __future__ import annotations

import argparse
from pathlib import Path

from plumeline.cli.commands import UsageError
from plumeline.cli.common import print_json
from plumeline.cli.tables import listing, paragraph
from plumeline.store import Store, open_store
from plumeline.store.people import Person, Role
from plumeline.store.store import default_path


def people(args: argparse.Namespace) -> int:
    """List people, put one down, give a new code, keep one out."""
    if args.action != "list" and not args.name:
        raise UsageError(
            f"people {args.action} needs a name.", remedy=f"plumeline people {args.action} 'A name'"
        )
    store = open_store(Path(args.database) if args.database else default_path())
    try:
        return _listed(store, args) if args.action == "list" else _changed(store, args)
    finally:
        store.close()


def state_of(person: Person) -> str:
    """Return in words whether a person may sign in."""
    if person.disabled:
        return "may not sign in"
    return "may sign in" if person.has_password else "has a code to use"


def _listed(store: Store, args: argparse.Namespace) -> int:
    found = store.people.all()
    if args.json:
        print_json({"people": [{"name": p.name, "role": p.role.value, "state": state_of(p)} for p in found]})
    elif found:
        print(listing([(p.name, f"{p.role.value}, {state_of(p)}") for p in found], title="People"))
    else:
        print("Nobody yet: plumeline people add 'A name' --role office")
    return 0


def _changed(store: Store, args: argparse.Namespace) -> int:
    if args.action == "disable":
        person = store.people.named(args.name)
        store.people.disable(person.id)
        print_json({"name": person.name, "state": "may not sign in"}) if args.json else print(
            paragraph(f"{person.name} may not sign in any more; sessions and codes of that name have ended.")
        )
        return 0
    if args.action == "add":
        code, name = store.people.add(args.name, Role(args.role)), " ".join(args.name.split())
    else:
        person = store.people.named(args.name)
        code, name = store.people.new_code(person.id), person.name
    if args.json:
        print_json({"name": name, "code": code})
    else:
        print(listing([("name", name), ("code", code)], title="Code to set a password"))
        print()
        print(
            paragraph(
                "It holds for 7 days, once, and is not shown again; it is typed at /welcome on the server."
            )
        )
    return 0
