"""Where each mark came to stand: the engraver's boxes joined to the marks of the plan."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from pedalsetter.analysis.marks.marking import Mark
from pedalsetter.engrave.layout.geometry import Box, MarkBox, PageBoxes
from pedalsetter.engrave.layout.moments import PrintedMoment

__all__ = ["PlacedMark", "Placement", "place"]


@dataclass(frozen=True, slots=True)
class PlacedMark:
    """One mark of the plan and where it was printed."""

    name: str
    """Its name in the source (``d1``, ``c7``)."""
    mark: Mark
    page: int
    """Counted from 1."""
    system: int
    """Counted from 1 on each page."""
    box: Box
    """Its ink, in staff spaces from the top left corner of the paper."""
    baseline: float
    moment: PrintedMoment
    """As the engraver counted it."""


@dataclass(frozen=True, slots=True)
class Placement:
    """All marks on all pages."""

    pages: int
    systems: int
    marks: tuple[PlacedMark, ...]
    """By page, system and from left to right."""
    missing: tuple[tuple[str, Mark], ...]
    """Name and mark of what the plan has and no page shows."""
    boxes: PageBoxes
    """What the engraver reported."""


def place(marks: Mapping[str, Mark], boxes: PageBoxes) -> Placement:
    """Join the marks, by name, to the boxes in which they were printed."""
    systems = _system_numbers(boxes)
    printed = [box for box in boxes.marks if box.name in marks]
    placed = [_placed(box, marks[box.name], systems) for box in printed]
    found = {mark.name for mark in placed}
    return Placement(
        pages=len(boxes.pages),
        systems=len(systems),
        marks=tuple(sorted(placed, key=lambda m: (m.page, m.system, m.box.left, m.name))),
        missing=tuple((name, mark) for name, mark in marks.items() if name not in found),
        boxes=boxes,
    )


def _placed(box: MarkBox, mark: Mark, systems: Mapping[tuple[int, int], int]) -> PlacedMark:
    system = systems[box.page, box.line]
    moment = PrintedMoment(box.moment, box.grace)
    return PlacedMark(box.name, mark, box.page, system, box.ink, box.baseline, moment)


def _system_numbers(boxes: PageBoxes) -> dict[tuple[int, int], int]:
    """(page, line) of each system to its number on the page."""
    numbers: dict[tuple[int, int], int] = {}
    count: dict[int, int] = {}
    for line in boxes.lines:
        if line.is_system:
            count[line.page] = count.get(line.page, 0) + 1
            numbers[line.page, line.line] = count[line.page]
    return numbers
