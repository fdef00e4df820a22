"""How marks stand in a document that they are written into."""

from __future__ import annotations

from dataclasses import dataclass

from pedalsetter.analysis.errors import HouseStyleError
from pedalsetter.analysis.part import Notice

__all__ = ["DEFAULT_OPTIONS", "WriteBackOptions", "WrittenBack"]


@dataclass(frozen=True, slots=True)
class WriteBackOptions:
    """Where marks stand."""

    diagram_placement: str = "above"
    """``above`` or ``below`` the staff."""
    letter_placement: str = "above"
    """``above`` or ``below`` the staff."""
    staff: int = 1
    """The staff that marks belong to; 1 is the upper one."""

    def __post_init__(self) -> None:
        for placement in (self.diagram_placement, self.letter_placement):
            if placement not in ("above", "below"):
                raise HouseStyleError(f"a mark stands above or below its staff, not '{placement}'")
        if self.staff < 1:
            raise HouseStyleError(f"staves are counted from 1, not {self.staff}")


DEFAULT_OPTIONS = WriteBackOptions()
"""All marks above the upper staff (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class WrittenBack:
    """A document with its marks."""

    data: bytes
    """The whole file, of the same kind as the one that was read."""
    suffix: str
    """``.musicxml``, ``.mxl`` or ``.mei``: what a new file of this kind is called."""
    marks: int
    """How many diagrams and stacks of letters were put in."""
    notices: tuple[Notice, ...] = ()
    """Marks that could not be put exactly where they belong."""
