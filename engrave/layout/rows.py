"""The rows in which pedal marks stand, and on which side of the staves each row is."""

from __future__ import annotations

from enum import Enum

from pedalsetter.engrave.house_style import HouseStyle

__all__ = ["Row", "row_place"]


class Row(Enum):
    """A row of marks, from top to bottom where several stand in one place.

    The value is the end of its name in the LilyPond source: ``rowOfLetters``.
    """

    OUTER_DIAGRAMS = "OuterDiagrams"
    """Diagrams that have no room between the staves."""
    DIAGRAMS = "Diagrams"
    SECOND_LETTERS = "SecondLetters"
    """Letters that have no room in the row of the others."""
    LETTERS = "Letters"
    OUTER_LETTERS = "OuterLetters"
    """Letters that have no room between the staves."""

    @property
    def holds_diagrams(self) -> bool:
        """Whether it is a row of diagrams."""
        return self in (Row.OUTER_DIAGRAMS, Row.DIAGRAMS)


def row_place(row: Row, style: HouseStyle) -> str:
    """``above``, ``between`` or ``below``.

    What finds no room between the staves: a diagram goes above both, a letter below both (common
    practice; E. Gould, Behind Bars, harp section, from memory).
    """
    if row is Row.OUTER_DIAGRAMS:
        return "above"
    if row is Row.OUTER_LETTERS:
        return "below"
    return style.diagram_place if row.holds_diagrams else style.letter_place
