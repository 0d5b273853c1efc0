"""Places of diffusers and manifold in job.toml, changed in their own lines; every other line and comment stays."""

from __future__ import annotations

import re
from collections.abc import Mapping

from plumeline.job.document import LocalPoint, Place

_HEAD = re.compile(r"^\s*(\[\[?)\s*([\w.\- \"']+?)\s*\]\]?\s*(#.*)?$")
_NAME = re.compile(r"""^\s*name\s*=\s*(["'])(?P<name>.*?)\1\s*(#.*)?$""")
_PLACE = re.compile(r"^(?P<lead>\s*(?P<key>place|manifold)\s*=\s*)\{[^}]*\}(?P<rest>\s*(#.*)?)$")


def lines_of(data: bytes) -> tuple[list[str], str] | None:
    """Return a file's lines and what ends them, None where it is no UTF-8."""
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        return None
    return split_lines(text)


def split_lines(text: str) -> tuple[list[str], str]:
    """Return the lines of a text, and what ends them."""
    end = "\r\n" if "\r\n" in text else "\n"
    return text.split(end), end


def place_words(place: Place) -> str:
    """Return a place as job.toml writes it: to a centimetre."""
    if isinstance(place, LocalPoint):
        return f"{{ x_m = {place.x_m:.2f}, y_m = {place.y_m:.2f} }}"
    return f"{{ longitude_deg = {place.longitude_deg:.7f}, latitude_deg = {place.latitude_deg:.7f} }}"


def with_places(data: bytes, manifold: Place | None, diffusers: Mapping[str, Place]) -> bytes | None:
    """Return job.toml with other places, or None where a line of them can't be found without doubt.

    Args:
        data: the file.
        manifold: its new place; None leaves it.
        diffusers: new places by name; others stay.
    """
    split = lines_of(data)
    if split is None:
        return None
    lines, end = split
    missing = set(diffusers) | ({""} if manifold is not None else set())
    section, name = "", ""
    for index, line in enumerate(lines):
        head = _HEAD.match(line)
        if head:
            section, name = head[1] + head[2], ""
        elif (named := _NAME.match(line)) and section == "[[air.diffusers":
            name = named["name"]
        elif found := _PLACE.match(line):
            place = manifold if section == "[air" and found["key"] == "manifold" else None
            if section == "[[air.diffusers" and found["key"] == "place":
                place = diffusers.get(name)
            if place is not None:
                lines[index] = f"{found['lead']}{place_words(place)}{found['rest']}"
                missing.discard("" if found["key"] == "manifold" else name)
    return None if missing else end.join(lines).encode()
