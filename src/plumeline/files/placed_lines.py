"""Places of diffusers and manifold in job.toml, changed in their own lines; every other line and comment stays."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from plumeline.job.document import LocalPoint, Place

_HEAD = re.compile(r"^\s*(\[\[?)\s*([\w.\- \"']+?)\s*\]\]?\s*(#.*)?$")
_NAME = re.compile(r"""^\s*name\s*=\s*(["'])(?P<name>.*?)\1\s*(#.*)?$""")
_THROUGH = re.compile(r"^\s*branch_through\s*=\s*\[(?P<whole>.*\]\s*(#.*)?$)?")
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
    missing = set(diffusers) | ({""} if manifold is not None else set())
    led = dict(through or {})
    section, name = "", ""
    found: list[str] = []
    skipping = False
    for line in lines:
        if skipping:
            # the rest of a list that was written over several lines
            skipping = not line.strip().startswith("]")
            continue
        head = _HEAD.match(line)
        if head:
            section, name = head[1] + head[2], ""
        elif (named := _NAME.match(line)) and section == "[[air.diffusers":
            name = named["name"]
        elif section == "[[air.diffusers" and name in led and (listed := _THROUGH.match(line)):
            skipping = not listed["whole"]
            continue
        elif at := _PLACE.match(line):
            place = manifold if section == "[air" and at["key"] == "manifold" else None
            if section == "[[air.diffusers" and at["key"] == "place":
                place = diffusers.get(name)
            if place is not None:
                found.append(f"{at['lead']}{place_words(place)}{at['rest']}")
                missing.discard("" if at["key"] == "manifold" else name)
                if led.get(name) and at["key"] == "place":
                    found.append(f"branch_through = [{', '.join(place_words(one) for one in led[name])}]")
                continue
        found.append(line)
    return None if missing else end.join(found).encode()
