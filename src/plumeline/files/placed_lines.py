"""Places of diffusers and manifold in job.toml, changed in their own lines; every other line and comment stays."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from plumeline.files.toml_lines import statements
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


def with_places(
    data: bytes,
    manifold: Place | None,
    diffusers: Mapping[str, Place],
    through: Mapping[str, Sequence[Place]] | None = None,
) -> bytes | None:
    """Return job.toml with other places, or None where a line of them can't be found without doubt.

    Args:
        data: the file.
        manifold: its new place; None leaves it.
        diffusers: new places by name; others stay.
        through: places that lines are led through, by diffuser; none takes them out, and others stay.
    """
    split = lines_of(data)
    if split is None:
        return None
    lines, end = split
    there = statements(lines)
    if there is None:
        return None
    missing = set(diffusers) | ({""} if manifold is not None else set())
    led = dict(through or {})
    name, gone = "", set[int]()
    for one in there:
        listed = one.table == "[[air.diffusers"
        line = lines[one.first]
        if not one.key and _HEAD.match(line):
            name = ""
        elif one.key == "name" and listed and (named := _NAME.match(line)):
            name = named["name"]
        elif one.key == "branch_through" and listed and name in led:
            gone.update(range(one.first, one.last))
        elif at := _PLACE.match(line):
            place = manifold if one.table == "air" and at["key"] == "manifold" else None
            if listed and at["key"] == "place":
                place = diffusers.get(name)
            if place is not None:
                lines[one.first] = f"{at['lead']}{place_words(place)}{at['rest']}"
                missing.discard("" if at["key"] == "manifold" else name)
                if led.get(name) and at["key"] == "place":
                    bends = ", ".join(place_words(bend) for bend in led[name])
                    lines[one.first] += f"{end}branch_through = [{bends}]"
    return None if missing else end.join(line for row, line in enumerate(lines) if row not in gone).encode()
