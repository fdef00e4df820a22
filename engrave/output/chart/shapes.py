"""What a chart is made of: lines, filled shapes, rings and words, in millimetres on paper.

Origin: top left corner of the page, x to the right, y down. Grey is 0 (black) to
255 (white).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

__all__ = ["BLACK", "WHITE", "Drawing", "Line", "Polygon", "Ring", "Shape", "Words", "moved"]

BLACK = 0
WHITE = 255

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line with square ends."""

    start: Point
    end: Point
    width: float
    grey: int = BLACK
    dash: float = 0.0
    """Length of dashes and of the gaps between them; 0 draws the line whole."""


@dataclass(frozen=True, slots=True)
class Polygon:
    """A closed shape: filled, outlined, or both."""

    points: tuple[Point, ...]
    fill: int | None = BLACK
    outline: float = 0.0
    """Width of a black outline; 0 for none."""


@dataclass(frozen=True, slots=True)
class Ring:
    """A circle."""

    centre: Point
    radius: float
    fill: int | None = BLACK
    outline: float = 0.0
    """Width of a black outline; 0 for none."""


@dataclass(frozen=True, slots=True)
class Words:
    """One line of text, on its baseline."""

    at: Point
    text: str
    size: float
    """Height of the letters' em in millimetres."""
    anchor: str = "start"
    """``start``, ``middle`` or ``end``: what of the text stands at the point."""
    bold: bool = False
    grey: int = BLACK


Shape = Line | Polygon | Ring | Words


def moved(shape: Shape, right: float, down: float) -> Shape:
    """The shape so many millimetres further right and down."""

    def there(point: Point) -> Point:
        return point[0] + right, point[1] + down

    if isinstance(shape, Line):
        return replace(shape, start=there(shape.start), end=there(shape.end))
    if isinstance(shape, Polygon):
        return replace(shape, points=tuple(there(point) for point in shape.points))
    if isinstance(shape, Ring):
        return replace(shape, centre=there(shape.centre))
    return replace(shape, at=there(shape.at))


@dataclass(frozen=True, slots=True)
class Drawing:
    """One page."""

    width: float
    height: float
    groups: tuple[tuple[str, tuple[Shape, ...]], ...]
    """Shapes that belong together, in the order of drawing, with a sentence on what they show;
    an empty sentence where nothing need be said."""
    title: str = ""
