"""How much room a house style leaves on its paper."""

from __future__ import annotations

from collections.abc import Mapping

from pedalsetter.engrave.house_style import HouseStyle

__all__ = ["PAPERS", "between_margins", "space_mm"]

PAPERS: Mapping[str, tuple[float, float]] = {
    "a4": (210.0, 297.0),
    "a3": (297.0, 420.0),
    "b4": (250.0, 353.0),
    "letter": (215.9, 279.4),
    "legal": (215.9, 355.6),
    "tabloid": (279.4, 431.8),
}
"""Width and height in millimetres of the papers of a house style; b4 is that of ISO."""


def space_mm(style: HouseStyle) -> float:
    """A staff space in millimetres; LilyPond's point is a 72.27th of an inch."""
    return style.staff_size_points / 4 / 72.27 * 25.4


def between_margins(style: HouseStyle) -> tuple[float, float]:
    """Width and height between the margins, in staff spaces."""
    width, height = PAPERS[style.paper_size]
    return (
        (width - style.margin_left_mm - style.margin_right_mm) / space_mm(style),
        (height - style.margin_top_mm - style.margin_bottom_mm) / space_mm(style),
    )
