"""A drawing as PNG: drawn large and brought down, so that edges are smooth."""

from __future__ import annotations

from PIL import Image, ImageDraw

from pedalsetter.analysis.errors import OutputError
from pedalsetter.engrave.output.chart.lettering import font
from pedalsetter.engrave.output.chart.shapes import WHITE, Drawing, Line, Polygon, Ring, Shape
from pedalsetter.engrave.output.pages.raster import as_png

__all__ = ["drawing_png"]

_LARGER = 3
"""Each pixel is the mean of so many by so many."""


def drawing_png(drawing: Drawing, dpi: int = 150) -> bytes:
    """The drawing as a grey PNG; the same drawing gives the same bytes.

    Raises:
        OutputError: ``dpi`` is not from 20 to 600.
    """
    if not 20 <= dpi <= 600:
        raise OutputError(f"a chart can have 20 to 600 dots an inch, not {dpi}")
    scale = dpi / 25.4 * _LARGER
    size = (
        round(drawing.width * dpi / 25.4) * _LARGER,
        round(drawing.height * dpi / 25.4) * _LARGER,
    )
    picture = Image.new("L", size, WHITE)
    canvas = ImageDraw.Draw(picture)
    for _, shapes in drawing.groups:
        for shape in shapes:
            _draw(canvas, shape, scale)
    return as_png(picture.reduce(_LARGER), dpi)


def _draw(canvas: ImageDraw.ImageDraw, shape: Shape, scale: float) -> None:
    if isinstance(shape, Line):
        for points in _dashes(shape):
            corners = [(x * scale, y * scale) for x, y in points]
            canvas.polygon(corners, fill=shape.grey)
    elif isinstance(shape, Polygon):
        corners = [(x * scale, y * scale) for x, y in shape.points]
        if shape.fill is not None:
            canvas.polygon(corners, fill=shape.fill)
        if shape.outline:
            width = max(1, round(shape.outline * scale))
            canvas.line([*corners, *corners[:2]], fill=0, width=width, joint="curve")
    elif isinstance(shape, Ring):
        x, y = shape.centre
        outer = (shape.radius + shape.outline / 2) * scale
        box = (x * scale - outer, y * scale - outer, x * scale + outer, y * scale + outer)
        width = max(1, round(shape.outline * scale)) if shape.outline else 0
        canvas.ellipse(box, fill=shape.fill, outline=0 if width else None, width=width)
    else:
        x, y = shape.at
        letters = font(max(1, round(shape.size * scale)), shape.bold)
        anchor = {"start": "ls", "middle": "ms", "end": "rs"}[shape.anchor]
        canvas.text(
            (x * scale, y * scale), shape.text, fill=shape.grey, font=letters, anchor=anchor
        )


def _dashes(line: Line) -> list[tuple[tuple[float, float], ...]]:
    """The corners of each dash of an upright or level line, or of the whole line."""
    (x1, y1), (x2, y2) = line.start, line.end
    length = ((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5
    if not length:
        return []
    along = ((x2 - x1) / length, (y2 - y1) / length)
    half = line.width / 2
    across = (-along[1] * half, along[0] * half)
    pieces = [(0.0, length)]
    if line.dash:
        count = int(length / line.dash / 2) + 1
        pieces = [
            (2 * number * line.dash, min(length, (2 * number + 1) * line.dash))
            for number in range(count)
        ]
    found: list[tuple[tuple[float, float], ...]] = []
    for begin, end in pieces:
        (ax, ay), (bx, by) = ((x1 + along[0] * at, y1 + along[1] * at) for at in (begin, end))
        found.append(
            (
                (ax + across[0], ay + across[1]),
                (bx + across[0], by + across[1]),
                (bx - across[0], by - across[1]),
                (ax - across[0], ay - across[1]),
            )
        )
    return found
