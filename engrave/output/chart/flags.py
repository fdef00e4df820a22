"""Numbered flags for findings: the form of a flag, not its colour, tells how grave it is."""

from __future__ import annotations

from pedalsetter.analysis.pedal_plan import Severity
from pedalsetter.engrave.output.chart.lettering import text_width
from pedalsetter.engrave.output.chart.shapes import BLACK, WHITE, Polygon, Shape, Words

__all__ = ["FLAG_HEIGHT", "flag_shapes", "flag_width"]

FLAG_HEIGHT = 3.3
_SIZE = 2.3
_AIR = 0.75


def flag_width(number: int) -> float:
    """Width of a flag in millimetres."""
    return text_width(str(number), _SIZE, bold=True) + 2 * _AIR + 0.5


def flag_shapes(number: int, severity: Severity, left: float, top: float) -> tuple[Shape, ...]:
    """A flag with its upper left corner at a point.

    What cannot be played is a black box with a white number; risky a framed box; uncomfortable a
    frame that is cut to a point at both ends.
    """
    right, bottom, middle = left + flag_width(number), top + FLAG_HEIGHT, top + FLAG_HEIGHT / 2
    corners: tuple[tuple[float, float], ...] = (
        *((left, top), (right, top), (right, bottom), (left, bottom)),
    )
    black = severity is Severity.UNPLAYABLE
    if severity in (Severity.UNCOMFORTABLE, Severity.REMARK):
        cut = 0.7
        corners = (
            (left + cut, top),
            (right - cut, top),
            (right, middle),
            (right - cut, bottom),
            (left + cut, bottom),
            (left, middle),
        )
    box = Polygon(corners, fill=BLACK if black else WHITE, outline=0.25)
    words = Words(
        ((left + right) / 2, middle + _SIZE * 0.36),
        str(number),
        _SIZE,
        anchor="middle",
        bold=True,
        grey=WHITE if black else BLACK,
    )
    return box, words
