"""The rows in which pedal marks stand, and on which side of the staves each row is."""

from __future__ import annotations

from enum import Enum

from pedalsetter.engrave.house_style import HouseStyle

__all__ = ["Row", "row_of_names", "row_place"]


class Row(Enum):
    """A row of marks, from top to bottom where several stand in one place.

    The value is the end of its name in the LilyPond source: ``rowOfLetters``.
    """

    LOWER_NAMES = "LowerNames"
    """Names of strings that have no room at the notes of the lower staff; next to it."""
    OUTER_DIAGRAMS = "OuterDiagrams"
    """Diagrams that have no room between the staves."""
    DIAGRAMS = "Diagrams"
    SECOND_LETTERS = "SecondLetters"
    """Letters that have no room in the row of the others."""
    LETTERS = "Letters"
    OUTER_LETTERS = "OuterLetters"
    """Letters that have no room between the staves."""
    UPPER_NAMES = "UpperNames"
    """Names of strings that have no room at the notes of the upper staff; next to it."""

    @property
    def holds_diagrams(self) -> bool:
        """Whether it is a row of diagrams."""
        return self in (Row.OUTER_DIAGRAMS, Row.DIAGRAMS)

    @property
    def holds_names(self) -> bool:
        """Whether it is a row of names of strings."""
        return self in (Row.UPPER_NAMES, Row.LOWER_NAMES)


def row_place(row: Row, style: HouseStyle) -> str:
    """``above``, ``between`` or ``below``.

    What finds no room between the staves: a diagram goes above both, a letter below both (common
    practice; E. Gould, Behind Bars, harp section, from memory).
    """
    if row in (Row.OUTER_DIAGRAMS, Row.UPPER_NAMES):
        return "above"
    if row in (Row.OUTER_LETTERS, Row.LOWER_NAMES):
        return "below"
    return style.diagram_place if row.holds_diagrams else style.letter_place


def row_of_names(staff: int, staves: int) -> Row | None:
    """The row for names of strings of one of the staves of the harp; None between two others."""
    if staff == 1:
        return Row.UPPER_NAMES
    return Row.LOWER_NAMES if staff == staves else None
