"""What the office corrects of an item: an edit of it, held beside what the phone sent, with who and when."""

from __future__ import annotations

import json
import re
import uuid
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from plumeline.errors import Fault, InputError, JobFolderError
from plumeline.files.field_items import Body, FieldItem, ProfileBody, read_item
from plumeline.files.field_taking import field_rows
from plumeline.store.capture_list import OFFICE_DEVICE, CaptureList, ItemRow
from plumeline.store.captures import Captures, Received, State

ROW_FIELDS = ("depth", "temperature", "oxygen", "note")
FIELDS: dict[str, tuple[tuple[str, str], ...]] = {
    "profile": (("place", "where"), ("secchi", "Secchi depth")),
    "gauge": (("what", "which gauge"), ("pressure", "pressure"), ("flow", "air")),
    "sounding": (("depth", "depth"), ("muck", "muck"), ("position", "latitude, longitude in degrees")),
    "shore": (("what", "shore or island"), ("remark", "words")),
    "note": (("text", "words"),),
    "photo": (("caption", "what it shows"),),
}
PLACE = re.compile(r"\s*([+-]?\d{1,3}(?:\.\d+)?)\s*[,; ]\s*([+-]?\d{1,3}(?:\.\d+)?)\s*")


def typed_values(body: Body, kind: str) -> dict[str, tuple[str, str]]:
    """Return what was typed in an item: by the field's key its label and its text.

    Args:
        body: what the item holds.
        kind: of the item.
    """
    found: dict[str, tuple[str, str]] = {}
    for name, label in FIELDS[kind]:
        value = getattr(body, name)
        if name == "position":
            value = "" if value is None else f"{value.latitude_deg:.6f}, {value.longitude_deg:.6f}"
        found[name] = (label, value or "")
    if isinstance(body, ProfileBody):
        for number, row in enumerate(body.rows, start=1):
            for name in ROW_FIELDS:
                found[f"row {number}, {name}"] = (f"row {number}, {name}", getattr(row, name))
    return found


def changes(before: FieldItem, after: FieldItem) -> tuple[str, ...]:
    """Return in words what an edit changed of an item.

    Args:
        before: the item.
        after: its edit.
    """
    if before.kind != after.kind:
        return ()
    was, now = (typed_values(one.parsed, one.kind) for one in (before, after))
    keys = [*now, *(key for key in was if key not in now)]
    pairs = ((now.get(key) or was[key], was.get(key, ("", ""))[1], now.get(key, ("", ""))[1]) for key in keys)
    return tuple(
        f"{label}: was {old or 'empty'}, now {new or 'empty'}" for (label, _), old, new in pairs if old != new
    )


def corrected(
    row: ItemRow, first_at: datetime, values: Mapping[str, str], author: str, ports: tuple[str, ...] = ()
) -> bytes:
    """Return the bytes of an edit of an item; the same correction gives the same bytes.

    Args:
        row: the item.
        first_at: when the reading was made.
        values: the texts by key, as `typed_values` names them; a row of which all are empty is left out.
        author: who corrects.
        ports: the gauges of the pond's line; empty where they are not known.

    Raises:
        InputError: nothing is changed, or the item can't be corrected.
        JobFolderError: with every value that can't be read.
    """
    if row.state is State.ASIDE:
        raise InputError("it was set aside.", remedy="Bring it back first.")
    was = {key: text for key, (_, text) in typed_values(row.item.parsed, row.item.kind).items()}
    new = {key: values.get(key, text).strip() for key, text in was.items()}
    if new == {key: text.strip() for key, text in was.items()}:
        raise InputError("nothing was changed.", remedy="Change what is wrong, then send again.")
    said: dict[str, Any] = row.item.model_dump(mode="json") | {
        "device_id": OFFICE_DEVICE, "device_name": "the office", "author": author[:60],
        "supersedes": row.item.id, "made_at": first_at.isoformat(), "gps_at": None, "clock_skew_s": 0.0, "counter": 0,
        "base_number": None, "pond_id": row.pond_id,
    }  # fmt: skip
    said["body"] = _body(row.item, was, new)
    written = json.dumps({**said, "id": ""}, ensure_ascii=False, sort_keys=True)
    said["id"] = str(uuid.uuid5(uuid.UUID(row.item.id), row.sha256 + written))
    data = json.dumps(said, ensure_ascii=False).encode()
    field_rows(read_item(data), first_at, row.item.id, ports)
    return data


def _body(item: FieldItem, was: Mapping[str, str], new: Mapping[str, str]) -> dict[str, Any]:
    body: dict[str, Any] = item.parsed.model_dump(mode="json")
    for name, _ in FIELDS[item.kind]:
        if new[name] == was[name]:
            continue
        body[name] = _position(new[name]) if name == "position" else new[name]
    if isinstance(item.parsed, ProfileBody):
        rows = [
            {name: new[f"row {number}, {name}"] for name in ROW_FIELDS}
            for number in range(1, len(item.parsed.rows) + 1)
        ]
        body["rows"] = [one for one in rows if any(one.values())]
    return body


def _position(text: str) -> dict[str, Any] | None:
    if not text:
        return None
    found = PLACE.fullmatch(text)
    if not found:
        words = f"'{text[:60]}' is no latitude and longitude."
        fault = Fault("item", "latitude, longitude", words, "Write both in degrees: 35.86521, -79.56312.")
        raise JobFolderError((fault,), "the item")
    return {
        "latitude_deg": float(found[1]),
        "longitude_deg": float(found[2]),
        "accuracy_m": None,
        "how": "typed",
    }


def correct(
    captures: Captures, rows: CaptureList, sequence: int, values: Mapping[str, str], author: str,
    ports: tuple[str, ...] = (),
) -> Received:  # fmt: skip
    """Keep an edit of an item; what the phone sent stays beside it, to the byte.

    Args:
        captures: where items are kept.
        rows: the items.
        sequence: number of the item.
        values: as in `corrected`.
        author: who corrects.
        ports: as in `corrected`.

    Raises:
        NotThereError: no such item.
        InputError: as in `corrected`; nothing is kept.
    """
    row = rows.one(sequence)
    first = rows.root_of(row)[1]
    return captures.receive(corrected(row, first.made_at, values, author, ports))
