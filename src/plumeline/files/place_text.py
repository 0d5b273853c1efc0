"""A place as it is typed, by degrees or by feet and metres, and a wall between two of them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from plumeline.errors import InputError, PlumelineError
from plumeline.files.bring.angles import angle_deg
from plumeline.files.limits import limits_of
from plumeline.job.document import LocalPoint, Place, Point
from plumeline.units import parse
from plumeline.units.showing import System, show

PLACE_TYPED = (
    "Write latitude, longitude (35.9101, -79.7203), or how far east and north, with units (120 ft, -40 ft)."
)
WALL_TYPED = "Write its start; its end; the depth at its foot: 35.9101, -79.7203; 35.9104, -79.7201; 3 ft."
WALL_PARTS = 3
_LAT_LON = (("latitude_deg", "NS"), ("longitude_deg", "EW"))


def degrees_of(part: Any, sides: str) -> float | None:
    """Return degrees, south and west below zero; None where it is no angle, or one to other sides.

    Args:
        part: such as 35.91, "35 54.6 N".
        sides: "NS" or "EW".
    """
    text = str(part).strip()
    if set(text.upper()) & (set("NSEW") - set(sides)):
        return None
    try:
        return parse(text, "deg")
    except PlumelineError:
        return angle_deg(text)


def place_of(text: str) -> Place:
    """Return a typed place: latitude and longitude, or east and north of the site's position.

    Raises:
        InputError: it is none, or lies beyond the Earth or 100 km.
    """
    parts = [part.strip() for part in text.split(",")]
    if len(parts) != 2:
        raise InputError(f"'{_short(text)}' is no place.", remedy=PLACE_TYPED)
    angles = [degrees_of(part, sides) for part, (_, sides) in zip(parts, _LAT_LON, strict=True)]
    if None in angles:
        return _by_lengths(parts, text)
    for (name, _), angle in zip(_LAT_LON, angles, strict=True):
        if angle is not None and (broken := limits_of(Point, name).broken_by(angle, "°")):
            raise InputError(
                f"'{_short(text)}': {name.removesuffix('_deg')}: {broken}",
                remedy="Latitude comes first, then longitude; feet and metres need their unit.",
            )
    return Point(latitude_deg=angles[0], longitude_deg=angles[1])


def _by_lengths(parts: list[str], text: str) -> LocalPoint:
    """Return a place by two lengths with their units."""
    try:
        x_m, y_m = (parse(part, "m") for part in parts)
        if any(_is_bare(part) for part in parts):
            raise InputError("a length has no unit.")
    except PlumelineError as error:
        raise InputError(f"'{_short(text)}' is no place.", remedy=PLACE_TYPED) from error
    for name, value_m in (("x_m", x_m), ("y_m", y_m)):
        if broken := limits_of(LocalPoint, name).broken_by(value_m, "m"):
            raise InputError(f"'{_short(text)}': {broken}", remedy="Check the unit.")
    return LocalPoint(x_m=x_m, y_m=y_m)


def _is_bare(text: str) -> bool:
    """Return whether a text is a number alone: it would be taken in metres, which nobody typed."""
    try:
        float(text)
    except ValueError:
        return False
    return True


def _short(text: str) -> str:
    words = " ".join(text.split())
    return words if len(words) <= 60 else f"{words[:60]}…"


def understood(place: Place) -> str:
    """Return how a place was understood, its sides in words, so that a wrong sign is seen."""
    if isinstance(place, LocalPoint):
        east, north = "east" if place.x_m >= 0.0 else "west", "north" if place.y_m >= 0.0 else "south"
        return f"{abs(place.x_m):.1f} m {east} and {abs(place.y_m):.1f} m {north} of the site's position"
    north, east = "N" if place.latitude_deg >= 0.0 else "S", "E" if place.longitude_deg >= 0.0 else "W"
    return f"{abs(place.latitude_deg):.6f}° {north}, {abs(place.longitude_deg):.6f}° {east}"


def typed_place(place: Place) -> str:
    """Return a place as it may be typed: to a centimetre."""
    if isinstance(place, LocalPoint):
        return f"{_plain(place.x_m, 2)} m, {_plain(place.y_m, 2)} m"
    return f"{_plain(place.latitude_deg, 7)}, {_plain(place.longitude_deg, 7)}"


def _plain(value: float, digits: int) -> str:
    return f"{value:.{digits}f}".rstrip("0").rstrip(".")


def place_shown(raw: Any, units: System) -> str:
    """Return a place of job.toml, a text or a table, as it may be typed; what is no place as it stands."""
    if not isinstance(raw, Mapping):
        return str(raw).strip()
    at = {str(name).partition("_")[0][:3]: value for name, value in raw.items()}
    if not all(isinstance(value, int | float) for value in at.values()):
        return str(raw)
    if {"lat", "lon"} <= at.keys():
        return f"{_plain(at['lat'], 7)}, {_plain(at['lon'], 7)}"
    if {"x", "y"} <= at.keys():
        return ", ".join(show(float(at[name]), "m", units, 1 if units == "us" else 2) for name in ("x", "y"))
    return str(raw)


def walls_typed(text: str) -> list[str]:
    """Return the walls of a text, each "start; end; depth": one a line, or several on one.

    A line that is not made of whole walls is one entry, to be told as it stands.
    """
    found: list[str] = []
    for line in text.replace("\r", "").split("\n"):
        parts = [part.strip() for part in line.strip().rstrip(";").split(";")]
        if parts == [""]:
            continue
        step = WALL_PARTS if len(parts) % WALL_PARTS == 0 else len(parts)
        found += ["; ".join(parts[at : at + step]) for at in range(0, len(parts), step)]
    return found
