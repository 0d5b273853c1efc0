"""What phones handed over, in words for a page."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

from plumeline.errors import PlumelineError
from plumeline.files.field_items import (
    Body,
    GaugeBody,
    NoteBody,
    PhotoBody,
    Position,
    ProfileBody,
    ShoreBody,
    SoundingBody,
)
from plumeline.files.field_taking import field_rows, says_unit
from plumeline.store.capture_list import OFFICE_DEVICE, DeviceRow, ItemRow
from plumeline.store.correcting import changes
from plumeline.store.taking_rows import in_words
from plumeline.units import both

OLD = timedelta(days=1)
VERY_OLD = timedelta(days=5)
ODD_SKEW_S = 120.0
KINDS = {
    "profile": "profile", "gauge": "gauge reading", "sounding": "sounding", "shore": "shore", "note": "note",
    "photo": "photo",
}  # fmt: skip


def age(past: timedelta) -> str:
    """Return how long ago something was, as people say it."""
    minutes = max(0, int(past.total_seconds() // 60))
    if minutes < 2:
        return "just now"
    if minutes < 120:
        return f"{minutes} min ago"
    hours = minutes // 60
    return f"{hours} h ago" if hours < 48 else f"{hours // 24} d ago"


def device_shown(row: DeviceRow, now: datetime) -> dict[str, Any]:
    """Return a phone: what it holds still, and how old that is.

    Args:
        row: the phone.
        now: the time.
    """
    waits = row.oldest_unsent_at is not None and bool(row.unsent_count)
    past = now - row.oldest_unsent_at if waits and row.oldest_unsent_at else timedelta(0)
    unsent = "it never said" if row.unsent_count is None else str(row.unsent_count)
    clock = "not measured yet"
    if row.skew_s is not None:
        off = abs(row.skew_s)
        side = "behind" if row.skew_s > 0 else "ahead"
        clock = "right" if off <= ODD_SKEW_S else f"{_span(off)} {side}"
    return {
        "id": row.id,
        "name": row.name or row.id[:8],
        "author": row.author,
        "last": age(now - row.last_contact_at),
        "unsent": unsent,
        "oldest": age(past) if waits else "",
        "grave": "danger" if past > VERY_OLD else "caution" if past > OLD else "",
        "clock": clock,
        "held": row.held_count,
        "undecided": row.open_count,
    }


def _span(seconds_s: float) -> str:
    if seconds_s < 7200:
        return f"{seconds_s / 60:.0f} min"
    return f"{seconds_s / 3600:.0f} h" if seconds_s < 172800 else f"{seconds_s / 86400:.0f} d"


def item_shown(
    row: ItemRow, now: datetime, others: Sequence[ItemRow] = (), ports: tuple[str, ...] = ()
) -> dict[str, Any]:
    """Return an item as a page shows it: as typed, and as understood.

    Args:
        row: the item.
        now: the time.
        others: items shown beside it, among them what it corrects and what corrects it.
        ports: the gauges of the pond's line; empty where they are not known.
    """
    heads, cells, words = _typed(row)
    understood, unread = _understood(row, ports)
    before = next((one for one in others if one.item.id == row.item.supersedes), None)
    later = [one.sequence_number for one in others if one.item.supersedes == row.item.id]
    return {
        "number": row.sequence_number,
        "kind": KINDS[row.item.kind],
        "made": f"{row.made_at:%Y-%m-%d %H:%M}",
        "zone": row.made_at.tzname() or "",
        "clock": row.clock_words,
        "came": age(now - row.server_at),
        "author": row.item.author,
        "server": f"{row.server_at:%Y-%m-%d %H:%M} UTC",
        "device": row.device_name or row.item.device_id[:8],
        "pond": row.pond_id,
        "pond_typed": row.item.pond_name_typed or "",
        "state": str(row.state),
        "words": row.words,
        "decided": "" if row.decided_at is None else f"{row.decided_at:%Y-%m-%d %H:%M} UTC",
        "decided_by": row.decided_by,
        "revision": row.taken_number,
        "path": row.taken_path,
        "supersedes": bool(row.item.supersedes),
        "by_office": row.item.device_id == OFFICE_DEVICE,
        "before": before.sequence_number if before else None,
        "changes": changes(before.item, row.item) if before else (),
        "later": later,
        "has_secchi": isinstance(row.item.parsed, ProfileBody) and bool(row.item.parsed.secchi.strip()),
        "heads": heads,
        "cells": cells,
        "lines": words,
        "shape": walk_shape(row.item.parsed),
        "understood": understood,
        "unread": unread if row.state not in ("taken",) else "",
        "photos": row.photos,
    }


def _understood(row: ItemRow, ports: tuple[str, ...]) -> tuple[tuple[str, ...], str]:
    try:
        return field_rows(row.item, row.made_at, row.item.id, ports).understood, ""
    except PlumelineError as error:
        return (), in_words(error)


def _typed(row: ItemRow) -> tuple[list[str], list[list[str]], list[str]]:
    """Return what was typed: a table's heading and rows, and lines of words."""
    body = row.item.parsed
    match body:
        case ProfileBody():
            units = body.units
            warm = "°F" if units.temperature == "degF" else "°C"
            heads = [f"depth, {units.depth}", f"temperature, {warm}", f"oxygen, {units.oxygen}", "note"]
            cells = [[one.depth, one.temperature, one.oxygen, one.note] for one in body.rows]
            lines = [f"at {body.place}" if body.place else ""]
            lines.append(f"Secchi depth: {_with_unit(body.secchi, units.depth)}" if body.secchi else "")
        case GaugeBody():
            heads, cells = [], []
            lines = [f"{body.what}: {_with_unit(body.pressure, body.unit)}"]
            lines.append(f"flow: {_with_unit(body.flow, body.flow_unit or '')}" if body.flow else "")
        case SoundingBody():
            heads, cells = [], []
            lines = [f"depth: {_with_unit(body.depth, body.unit)}"]
            lines.append(f"muck: {_with_unit(body.muck, body.unit)}" if body.muck else "")
            lines.append(f"staff gauge: {_with_unit(body.level, body.unit)}" if body.level else "")
        case ShoreBody():
            whose = "an island" if body.what == "island" else "the pond"
            heads, cells = [], []
            lines = [f"the shore of {whose}, {len(body.places.latitude_deg)} points", body.remark]
        case NoteBody():
            heads, cells, lines = [], [], [body.text]
        case PhotoBody():
            heads, cells, lines = [], [], [body.caption]
    place = None if isinstance(body, NoteBody | ShoreBody) else body.position
    lines.append(_place(place) if place else "")
    return heads, cells, [line for line in lines if line]


def walk_shape(body: Body) -> str:
    """Return a walk as points of a drawing 320 wide and 200 high, north up; empty for what is no walk.

    Args:
        body: what an item holds.
    """
    if not isinstance(body, ShoreBody):
        return ""
    lon, lat = body.places.longitude_deg, body.places.latitude_deg
    narrow = math.cos(math.radians(lat[0]))
    east, north = [(x - min(lon)) * narrow for x in lon], [y - min(lat) for y in lat]
    scale = min(300 / (max(east) or 1e-9), 180 / (max(north) or 1e-9))
    return " ".join(f"{10 + x * scale:.1f},{190 - y * scale:.1f}" for x, y in zip(east, north, strict=True))


def _with_unit(typed: str, unit: str) -> str:
    """Return a value as typed, with the form's unit where it has none of its own."""
    return typed if not typed.strip() or says_unit(typed) else f"{typed} {unit}".strip()


def _place(place: Position) -> str:
    text = f"{place.latitude_deg:.5f}, {place.longitude_deg:.5f}"
    if place.how == "typed":
        return f"{text} (typed)"
    return f"{text} (by satellite" + (f", within {place.accuracy_m:.0f} m)" if place.accuracy_m else ")")


def secchi_shown(depth_m: float | None, number: int, rows: Sequence[ItemRow]) -> list[tuple[str, str]]:
    """Return who says what of the Secchi depth, where undecided items say one; nothing else.

    Args:
        depth_m: the job's.
        number: of its revision.
        rows: the undecided items.
    """
    found = []
    for row in rows:
        body = row.item.parsed
        if isinstance(body, ProfileBody) and body.secchi.strip():
            who = row.item.author or row.device_name
            found.append((f"no. {row.sequence_number}, {who}, {row.made_at:%Y-%m-%d %H:%M}", body.secchi))
    if not found:
        return []
    return [(f"the job, revision {number}", "none" if depth_m is None else both(depth_m, "m")), *found]
