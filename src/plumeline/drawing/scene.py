"""A drawing as a list of shapes in millimetres of paper, and its SVG text.

The y axis points down, as in SVG. One scene serves the web page and the PDF alike.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal
from xml.sax.saxutils import escape, quoteattr

from plumeline.palette import INK, PAPER
from plumeline.twins import Twin

XY = tuple[float, float]
Path = tuple[XY, ...]
Anchor = Literal["start", "middle", "end"]

FONT = "Noto Serif"
NARROW = "ijltfrI.,:;'|!()-[] "
WIDE = "mwMWOQ—@%"


@dataclass(frozen=True)
class Area:
    """A filled shape of one or more rings, even-odd; ``fill`` may be "none"."""

    outlines: tuple[Path, ...]
    fill: str = "none"
    stroke: str = "none"
    stroke_mm: float = 0.25
    opacity_fraction: float = 1.0


@dataclass(frozen=True)
class Line:
    """An open line; ``dash`` in the words of SVG, empty for a whole one."""

    path: Path
    stroke: str = INK
    stroke_mm: float = 0.35
    dash: str = ""


@dataclass(frozen=True)
class Disc:
    """A circle."""

    x_mm: float
    y_mm: float
    radius_mm: float
    fill: str = PAPER
    stroke: str = INK
    stroke_mm: float = 0.35


@dataclass(frozen=True)
class Text:
    """A text on one line; ``plate`` is the colour of a rectangle behind it, empty for none.

    ``turn_deg`` turns it clockwise about its place.
    """

    x_mm: float
    y_mm: float
    words: str
    size_mm: float = 3.0
    anchor: Anchor = "start"
    bold: bool = False
    colour: str = INK
    plate: str = ""
    turn_deg: float = 0.0


@dataclass(frozen=True)
class Linked:
    """Shapes that lead to a place of the page; plain shapes where ``href`` is empty."""

    href: str
    label: str
    shapes: tuple[Shape, ...]


Shape = Area | Line | Disc | Text | Linked


@dataclass(frozen=True)
class Scene:
    """A drawing.

    Attributes:
        name: what it is of.
        width_mm, height_mm: its size on paper.
        description: what it shows, in one sentence.
        shapes: from back to front.
        twins: tables of what the shapes were made of.
    """

    name: str
    width_mm: float
    height_mm: float
    description: str
    shapes: tuple[Shape, ...]
    twins: tuple[Twin, ...] = ()


def sheet(width_mm: float, height_mm: float) -> Area:
    """Return the ground of a drawing, so that it reads alike on white paper and on a dark page."""
    corners = ((0.0, 0.0), (width_mm, 0.0), (width_mm, height_mm), (0.0, height_mm))
    return Area((corners,), PAPER)


def text_width_mm(words: str, size_mm: float, *, bold: bool = False) -> float:
    """Return about how wide a text is: by classes of letters, measured on the bundled font."""
    em = 0.0
    for mark in words:
        if mark in NARROW:
            em += 0.34
        elif mark in WIDE:
            em += 0.88
        elif mark.isupper():
            em += 0.68
        else:
            em += 0.57
    return em * size_mm * (1.08 if bold else 1.0)


def svg(scene: Scene) -> str:
    """Return a scene as SVG text; the same scene gives the same bytes."""
    # what leads somewhere is no picture to a screen reader, which would hide its links
    role = "group" if any(isinstance(shape, Linked) and shape.href for shape in scene.shapes) else "img"
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{number(scene.width_mm)}mm" '
        f'height="{number(scene.height_mm)}mm" viewBox="0 0 {number(scene.width_mm)} '
        f'{number(scene.height_mm)}" font-family="{FONT}, serif" role="{role}" '
        f"aria-label={quoteattr(scene.description)}>"
    )
    lines = [head, f"<title>{escape(scene.name)}</title>", f"<desc>{escape(scene.description)}</desc>"]
    for shape in scene.shapes:
        lines.extend(_written(shape))
    return "\n".join([*lines, "</svg>", ""])


def number(value: float) -> str:
    """Return a coordinate to a hundredth of a millimetre, without zeros at the end."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _points(path: Path) -> str:
    return " L".join(f"{number(x)} {number(y)}" for x, y in path)


def _written(shape: Shape) -> list[str]:
    if isinstance(shape, Linked):
        inside = [line for item in shape.shapes for line in _written(item)]
        head = f"<a href={quoteattr(shape.href)} aria-label={quoteattr(shape.label)}>"
        return [head, *inside, "</a>"] if shape.href else inside
    if isinstance(shape, Text):
        return _text(shape)
    if isinstance(shape, Disc):
        return [
            f'<circle cx="{number(shape.x_mm)}" cy="{number(shape.y_mm)}" r="{number(shape.radius_mm)}" '
            f'fill="{shape.fill}" stroke="{shape.stroke}" stroke-width="{number(shape.stroke_mm)}"/>'
        ]
    if isinstance(shape, Line):
        dash = f' stroke-dasharray="{shape.dash}"' if shape.dash else ""
        return [
            f'<path d="M{_points(shape.path)}" fill="none" stroke="{shape.stroke}" '
            f'stroke-width="{number(shape.stroke_mm)}" stroke-linejoin="round"{dash}/>'
        ]
    ways = " ".join(f"M{_points(ring)} Z" for ring in shape.outlines if len(ring) > 2)
    if not ways:
        return []
    stroke = "" if shape.stroke == "none" else f' stroke-width="{number(shape.stroke_mm)}"'
    clear = "" if shape.opacity_fraction >= 1.0 else f' fill-opacity="{number(shape.opacity_fraction)}"'
    return [
        f'<path d="{ways}" fill="{shape.fill}" fill-rule="evenodd" stroke="{shape.stroke}"{stroke}{clear} '
        'stroke-linejoin="round"/>'
    ]


def _text(shape: Text) -> list[str]:
    x, y, size = shape.x_mm, shape.y_mm, shape.size_mm
    lines: list[str] = []
    turn = f' transform="rotate({number(shape.turn_deg)} {number(x)} {number(y)})"' if shape.turn_deg else ""
    if shape.plate:
        wide = text_width_mm(shape.words, size, bold=shape.bold) + 0.3 * size
        left = x - {"start": 0.15 * size, "middle": wide / 2, "end": wide - 0.15 * size}[shape.anchor]
        lines.append(
            f'<rect x="{number(left)}" y="{number(y - 0.92 * size)}" width="{number(wide)}" '
            f'height="{number(1.22 * size)}" rx="{number(0.2 * size)}" fill="{shape.plate}"{turn}/>'
        )
    bold = ' font-weight="bold"' if shape.bold else ""
    lines.append(
        f'<text x="{number(x)}" y="{number(y)}" font-size="{number(size)}" text-anchor="{shape.anchor}" '
        f'fill="{shape.colour}"{bold}{turn}>{escape(shape.words)}</text>'
    )
    return lines
