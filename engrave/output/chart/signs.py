"""Flat, natural and sharp as shapes, so that no font need have them."""

from __future__ import annotations

from pedalsetter.analysis.instrument.harp import Position
from pedalsetter.engrave.output.chart.shapes import Polygon

__all__ = ["SIGN_WIDTH", "sign_shapes"]

SIGN_WIDTH = 0.74
"""Width of the widest sign, as a part of its height."""

Point = tuple[float, float]
_STEPS = 8
"""Straight pieces to a curve: smooth at the size of a chart."""


def _curve(a: Point, b: Point, c: Point, d: Point) -> tuple[Point, ...]:
    """Points of a cubic Bézier curve from ``a`` to ``d``, ``a`` itself left out."""
    found = []
    for step in range(1, _STEPS + 1):
        t = step / _STEPS
        weights = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t**2 * (1 - t), t**3)
        x, y = (
            sum(w * point[axis] for w, point in zip(weights, (a, b, c, d), strict=True))
            for axis in (0, 1)
        )
        found.append((x, y))
    return tuple(found)


def _upright(x: float, top: float, bottom: float, width: float = 0.09) -> tuple[Point, ...]:
    half = width / 2
    return ((x - half, top), (x + half, top), (x + half, bottom), (x - half, bottom))


def _slanting(left: float, right: float, middle: float, rise: float) -> tuple[Point, ...]:
    high, thick = rise / 2, 0.075
    return (
        (left, middle + high - thick),
        (right, middle - high - thick),
        (right, middle - high + thick),
        (left, middle + high + thick),
    )


_BOWL = (
    (-0.19, -0.04),
    *_curve((-0.19, -0.04), (-0.02, -0.25), (0.31, -0.24), (0.29, 0.02)),
    *_curve((0.29, 0.02), (0.27, 0.2), (-0.02, 0.36), (-0.19, 0.5)),
    (-0.13, 0.31),
    *_curve((-0.13, 0.31), (0.02, 0.22), (0.13, 0.1), (0.13, -0.01)),
    *_curve((0.13, -0.01), (0.12, -0.15), (-0.05, -0.08), (-0.13, 0.06)),
)

_SIGNS: dict[Position, tuple[tuple[Point, ...], ...]] = {
    Position.FLAT: (_upright(-0.19, -0.58, 0.48), _BOWL),
    Position.NATURAL: (
        _upright(-0.19, -0.56, 0.3),
        _upright(0.19, -0.3, 0.56),
        _slanting(-0.22, 0.22, -0.2, 0.12),
        _slanting(-0.22, 0.22, 0.2, 0.12),
    ),
    Position.SHARP: (
        _upright(-0.15, -0.46, 0.52),
        _upright(0.15, -0.52, 0.46),
        _slanting(-0.36, 0.36, -0.18, 0.16),
        _slanting(-0.36, 0.36, 0.18, 0.16),
    ),
}
"""Each sign round its middle, one unit high, y down."""


def sign_shapes(position: Position, centre: Point, height: float) -> tuple[Polygon, ...]:
    """The sign of a position, ``height`` high round ``centre``."""
    x, y = centre
    return tuple(
        Polygon(tuple((x + height * a, y + height * b) for a, b in piece))
        for piece in _SIGNS[position]
    )
