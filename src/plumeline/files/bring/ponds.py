"""Shores made of what files hold: islands found, twists mended, corners thinned; each change said in words."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, cast

import numpy as np

from plumeline.errors import InputError
from plumeline.files.bring.value import Area, Brought
from plumeline.units import plain, show

if TYPE_CHECKING:
    from shapely import Polygon

MOST_CORNERS = 2_000
"""More than any shore of a pond needs; an arc by hand every few metres round a large reservoir."""
FIRST_STEP_M = 0.05
SLIVER_FRACTION = 0.02
"""Loops smaller than this part of the whole are slips of the hand or of the receiver."""
MEETS_FRACTION = 0.1
"""The ends of a walk round a pond lie nearer to each other than this part of its length."""
_EARTH_M_DEG = 111_195.0


@dataclass(frozen=True, eq=False)
class Pond:
    """A shore that can be taken.

    Attributes:
        rings: the shore first, then islands; each of shape (n, 2), longitude and latitude, not closed.
        name: as the file has it.
        file: where it stands.
        area_m2: without its islands.
        middle: longitude and latitude.
        words: what was mended, thinned or assumed.
    """

    rings: tuple[np.ndarray, ...]
    name: str
    file: str
    area_m2: float
    middle: tuple[float, float]
    words: tuple[str, ...] = ()

    @property
    def said(self) -> str:
        """The pond in one line, to choose by."""
        name = f"'{self.name}'" if self.name else "without a name"
        islands = len(self.rings) - 1
        with_islands = f", {islands} island{'s' if islands != 1 else ''}" if islands else ""
        lon, lat = self.middle
        return f"{name}, {show(self.area_m2, 'm2')}{with_islands}, at {lat:.5f}, {lon:.5f} ({self.file})"


def ponds_of(files: Sequence[Brought]) -> tuple[Pond, ...]:
    """Return every pond that the polygons of files are, the largest first.

    Raises:
        InputError: a polygon crosses itself so that nobody can tell what is water.
    """
    found = [_pond(area, one.file) for one in files for area in one.areas]
    return tuple(sorted(_with_islands(found), key=lambda pond: -pond.area_m2))


def pond_walked(files: Sequence[Brought]) -> tuple[Pond, ...]:
    """Return the ponds that lines go round: those whose ends meet."""
    found = []
    for one in files:
        for line in one.lines:
            if len(line.places) < 3:
                continue
            flat = _flat(line.places, line.places[0])
            length_m = float(np.hypot(*np.diff(flat, axis=0).T).sum())
            gap_m = float(np.hypot(*(flat[-1] - flat[0])))
            if gap_m > max(MEETS_FRACTION * length_m, 3.0) or length_m < 10.0:
                continue
            pond = _pond(Area((line.places,), line.name, line.row), one.file)
            closed = f"the walk's ends lie {show(gap_m, 'm')} apart and were joined"
            found.append(replace(pond, words=(closed, *pond.words)))
    return tuple(sorted(found, key=lambda pond: -pond.area_m2))


def _flat(places: np.ndarray, middle: np.ndarray) -> np.ndarray:
    """Return places as metres east and north of one; good to a part in a thousand over a pond."""
    scale = np.array([_EARTH_M_DEG * np.cos(np.radians(middle[1])), _EARTH_M_DEG])
    found: np.ndarray = (places - middle) * scale
    return found


def _round(flat: np.ndarray, middle: np.ndarray) -> np.ndarray:
    scale = np.array([_EARTH_M_DEG * np.cos(np.radians(middle[1])), _EARTH_M_DEG])
    found: np.ndarray = flat / scale + middle
    return found


def _pond(area: Area, file: str) -> Pond:
    """Return the pond of one polygon, mended where that is sure."""
    from shapely import Polygon

    where = f"{file}, row {area.row}" if area.row else file
    for number, ring in enumerate(area.rings, start=1):
        different = len(set(map(tuple, ring.tolist())))
        if different < 3:
            raise InputError(
                f"ring {number} of the outline has {different} different points; 3 are needed.",
                remedy="Walk or draw the shore in one round.",
                place=where,
            )
    middle = area.rings[0].mean(axis=0)
    words: list[str] = []
    shape = Polygon(_flat(area.rings[0], middle), [_flat(ring, middle) for ring in area.rings[1:]])
    if not shape.is_valid:
        shape = _mended(shape, middle, where, words)
    if shape.area <= 0.0:
        raise InputError(
            "the outline encloses no area.", remedy="Walk or draw the shore in one round.", place=where
        )
    shape = _thinned(shape, words)
    if len(shape.exterior.coords) == 4 and not shape.interiors:
        words.append("the shore has only 3 corners: a triangle, hardly a pond's shape")
    rings = [np.asarray(ring.coords)[:-1] for ring in (shape.exterior, *shape.interiors)]
    lon, lat = (float(value) for value in middle)
    return Pond(
        tuple(_round(ring, middle) for ring in rings),
        area.name,
        file,
        float(shape.area),
        (lon, lat),
        tuple(words),
    )


def _mended(shape: Polygon, middle: np.ndarray, where: str, words: list[str]) -> Polygon:
    """Return a polygon that touches or crosses itself as one that does not, where only slivers go."""
    from shapely import make_valid
    from shapely.validation import explain_validity

    said = explain_validity(shape)
    whole = make_valid(shape)
    parts = [part for part in getattr(whole, "geoms", [whole]) if part.geom_type == "Polygon"]
    parts += [
        part
        for group in getattr(whole, "geoms", [])
        if group.geom_type == "MultiPolygon"
        for part in group.geoms
    ]
    total = sum(part.area for part in parts)
    spot = _spot(said, middle)
    if not parts or total <= 0.0:
        raise InputError(
            "the outline encloses no area.", remedy="Walk or draw the shore in one round.", place=where
        )
    best = cast("Polygon", max(parts, key=lambda part: part.area))
    if best.area < (1.0 - SLIVER_FRACTION) * total:
        sizes = ", ".join(show(part.area, "m2") for part in sorted(parts, key=lambda part: -part.area)[:3])
        raise InputError(
            f"the outline touches or crosses itself{spot}, and falls into parts of {sizes}.",
            remedy="Draw the shore in one round that does not cross itself; two ponds as two polygons.",
            place=where,
        )
    words.append(f"the outline touched or crossed itself{spot}; {len(parts) - 1} loops were cut off")
    return best


def _spot(said: str, middle: np.ndarray) -> str:
    found = re.search(r"\[(\S+) (\S+)\]", said)
    if found is None:
        return ""
    lon, lat = _round(np.array([float(found[1]), float(found[2])]), middle)
    return f" near {lat:.6f}, {lon:.6f}"


def _thinned(shape: Polygon, words: list[str]) -> Polygon:
    """Return a polygon with no more corners than are worked with, and say by how much the area changed."""
    count = sum(len(ring.coords) - 1 for ring in (shape.exterior, *shape.interiors))
    thin, step_m = shape, FIRST_STEP_M
    while sum(len(ring.coords) - 1 for ring in (thin.exterior, *thin.interiors)) > MOST_CORNERS:
        found = shape.simplify(step_m, preserve_topology=True)
        assert found.geom_type == "Polygon"
        thin = cast("Polygon", found)
        step_m *= 1.6
    if thin is not shape:
        left = sum(len(ring.coords) - 1 for ring in (thin.exterior, *thin.interiors))
        change = thin.area / shape.area - 1.0
        words.append(
            f"{plain(count, 0)} corners were thinned to {plain(left, 0)}, none moved by more than "
            f"{show(step_m / 1.6, 'm')}; the area "
            f"changed by {100 * change:+.3f} %"
        )
    return thin


def _with_islands(found: list[Pond]) -> list[Pond]:
    """Return the ponds with those that lie wholly inside another one made its islands."""
    from shapely import Polygon

    if len(found) < 2:
        return found
    order = sorted(found, key=lambda pond: -pond.area_m2)
    shapes = [Polygon(pond.rings[0], pond.rings[1:]) for pond in order]
    inside: dict[int, int] = {}
    for small in range(1, len(order)):
        for large in range(small):
            if large not in inside and shapes[large].contains(shapes[small]):
                inside[small] = large
                break
    kept = []
    for index, pond in enumerate(order):
        if index in inside:
            continue
        own = [order[small] for small, large in inside.items() if large == index]
        if own:
            lost_m2 = sum(item.area_m2 for item in own)
            names = ", ".join(f"'{item.name}'" if item.name else "one without a name" for item in own)
            pond = replace(
                pond,
                rings=(*pond.rings, *(item.rings[0] for item in own)),
                area_m2=pond.area_m2 - lost_m2,
                words=(*pond.words, f"polygons inside it were taken as islands: {names}"),
            )
        kept.append(pond)
    return kept


def one_pond(ponds: Sequence[Pond], asked: str) -> Pond:
    """Return the pond that is meant: the only one, else by its name or its number from 1.

    Args:
        ponds: all that there are.
        asked: name or number; empty where nobody said.

    Raises:
        InputError: there are several and nobody said which, or the one that was said is not there.
    """
    listed = "; ".join(f"{number}: {pond.said}" for number, pond in enumerate(ponds, start=1))
    if asked:
        named = [pond for pond in ponds if pond.name.casefold() == asked.strip().casefold()]
        if len(named) == 1:
            return named[0]
        if asked.strip().isdigit() and 1 <= int(asked) <= len(ponds):
            return ponds[int(asked) - 1]
        raise InputError(f"there is no pond '{asked[:60]}'.", remedy=f"There are {listed}.", place="--pond")
    if len(ponds) > 1:
        raise InputError(
            f"there are {len(ponds)} ponds: {listed}.",
            remedy="Say which one, by name or number.",
            place="--pond",
        )
    return ponds[0]
