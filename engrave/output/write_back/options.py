"""How marks stand, and look, in a document that they are written into."""

from __future__ import annotations

from dataclasses import dataclass

from pedalsetter.analysis.errors import HouseStyleError
from pedalsetter.analysis.marks.marking import Diagram, Mark
from pedalsetter.analysis.marks.string_marks import StringMark
from pedalsetter.analysis.part import HarpPart, Notice
from pedalsetter.engrave.house_style import HouseStyle, style_for

__all__ = ["DEFAULT_OPTIONS", "WriteBackOptions", "WrittenBack", "options_of"]

_PLACES = ("above", "between", "below")


@dataclass(frozen=True, slots=True)
class WriteBackOptions:
    """Where marks stand, and how they look."""

    diagram_placement: str = "above"
    """``above`` or ``below`` the staff, or ``between`` it and the next lower one."""
    letter_placement: str = "above"
    """The same."""
    staff: int = 1
    """The staff that marks belong to; 1 is the upper one."""
    diagram_staff: int | None = None
    """The same for diagrams alone."""
    letter_staff: int | None = None
    """The same for letters alone."""
    style: HouseStyle | None = None
    """Whose wording, forms and fonts the marks have; None for the wording and forms of
    ``final-part`` in whatever font a program takes."""

    def __post_init__(self) -> None:
        for placement in (self.diagram_placement, self.letter_placement):
            if placement not in _PLACES:
                raise HouseStyleError(
                    f"a mark stands above or below its staff or between two, not '{placement}'"
                )
        for staff in (self.staff, self.diagram_staff, self.letter_staff):
            if staff is not None and staff < 1:
                raise HouseStyleError(f"staves are counted from 1, not {staff}")

    def staff_of(self, mark: Mark) -> int:
        """The staff that a mark belongs to."""
        if isinstance(mark, StringMark):
            return mark.staff
        own = self.diagram_staff if isinstance(mark, Diagram) else self.letter_staff
        return self.staff if own is None else own

    def placement_of(self, mark: Mark) -> str:
        """Where a mark stands."""
        if isinstance(mark, StringMark):
            return "above" if mark.above else "below"
        return self.diagram_placement if isinstance(mark, Diagram) else self.letter_placement

    def is_text(self, mark: Mark) -> bool:
        """Whether a mark is written as words."""
        strokes = self.style is None or self.style.diagram_form == "strokes"
        return not isinstance(mark, Diagram) or not strokes


DEFAULT_OPTIONS = WriteBackOptions()
"""All marks above the upper staff (common practice, no source)."""


def options_of(style: HouseStyle, part: HarpPart) -> WriteBackOptions:
    """How the marks of a part stand in its own file, so that they are as on the style's page."""
    style = style_for(style, part)
    staves = {"above": 1, "between": 1, "below": part.staves}
    return WriteBackOptions(
        diagram_placement=style.diagram_place,
        letter_placement=style.letter_place,
        diagram_staff=staves[style.diagram_place],
        letter_staff=staves[style.letter_place],
        style=style,
    )


@dataclass(frozen=True, slots=True)
class WrittenBack:
    """A document with its marks."""

    data: bytes
    """The whole file, of the same kind as the one that was read."""
    suffix: str
    """``.musicxml``, ``.mxl`` or ``.mei``: what a new file of this kind is called."""
    marks: int
    """How many diagrams, stacks of letters and names of strings were put in."""
    notices: tuple[Notice, ...] = ()
    """Marks that could not be put exactly where they belong."""
