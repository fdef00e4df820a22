"""Staves that are left out of systems in which they rest: what a page without them must show.

The report numbers the staves of a system as they stand there. Where some are hidden these are no
longer those of the part, so that the count of the music could not be made: each staff gets its own
number back, and the rests of hidden ones are not asked for. Which are hidden is told by the part
alone; were the page to hide another one, its notes would be missed in the count.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence, Set
from dataclasses import replace
from fractions import Fraction

from pedalsetter.analysis.part import HarpPart
from pedalsetter.engrave.layout.geometry import Line, PageBoxes

__all__ = ["as_shown"]


def as_shown(part: HarpPart, boxes: PageBoxes, hiding: Set[int]) -> tuple[HarpPart, PageBoxes]:
    """The part without the rests of hidden staves, and the report with the part's own staves.

    ``hiding`` are the staves, from 1, that are hidden in systems after the first in which they
    have no note. Takes time in proportion to the events and to systems times staves.
    """
    systems = [line for line in boxes.lines if line.is_system]
    sounding = {
        (_system_of(systems, event.onset), event.staff) for event in part.events if event.heads
    }
    shown = [
        [
            staff
            for staff in range(1, part.staves + 1)
            if index == 0 or staff not in hiding or (index, staff) in sounding
        ]
        for index in range(len(systems))
    ]
    own = {(line.page, line.line): staves for line, staves in zip(systems, shown, strict=True)}

    def number(page: int, line: int, staff: int) -> int:
        """A staff of the page among those of the part; 0, none, and one too many stay."""
        staves = own.get((page, line), [])
        return staves[staff - 1] if 0 < staff <= len(staves) else staff

    events = tuple(
        event
        for event in part.events
        if event.heads or event.spanners or event.staff in shown[_system_of(systems, event.onset)]
    )
    counts = (replace(c, staff=number(c.page, c.line, c.staff)) for c in boxes.counts)
    contacts = (replace(c, staff=number(c.page, c.line, c.staff)) for c in boxes.contacts)
    return replace(part, events=events), replace(
        boxes, counts=tuple(counts), contacts=tuple(contacts)
    )


def _system_of(systems: Sequence[Line], onset: Fraction) -> int:
    """The index of the system that shows a moment; that of a line break is the next one's."""
    return max(bisect_right(systems, onset, key=lambda system: system.start) - 1, 0)
