"""How full the pages are: measured on the engraved page, where each system's height is known.

A page is full when its systems, at their natural distance, take all the room between its head and
its foot. Less is stretched to the foot by moving systems apart; more is pressed together, down to
the least air between their outlines.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from pedalsetter.analysis.naming.wording import many
from pedalsetter.analysis.part import HarpPart
from pedalsetter.engrave.layout.geometry import Line, PageBoxes
from pedalsetter.engrave.layout.page_turns import turn_bars

__all__ = [
    "LAST_FULL",
    "LEAST_AIR",
    "LEAST_FULL",
    "LEAST_GAP",
    "NATURAL_GAP",
    "PageFill",
    "Room",
    "measured_fill",
    "room_of",
    "stack_heights",
]

LEAST_FULL = 0.75
"""How full every page but the last should be at least; none is stretched further."""

LAST_FULL = 0.60
"""How full the last of several pages should be at least."""

NATURAL_GAP = 13.0
"""Staff spaces from the lowest line of a system to the highest of the next, if nothing is there."""

LEAST_AIR = 2.0
"""Staff spaces between the outlines of two systems."""

LEAST_GAP = 4.0
"""Staff spaces between the staves of two systems, whatever stands there."""

_FOOT_AIR = 1.0


@dataclass(frozen=True, slots=True)
class PageFill:
    """The figures of one page."""

    page: int
    """Counted from 1."""
    systems: int
    fullness: float
    """Height of its systems at their natural distance, as a share of the room on the page."""
    printed: float
    """The same of what was printed: 1 where the page is filled to its foot."""
    turn: bool | None
    """Whether a hand is free to turn it; None where it need not be turned, as where two pages lie
    open side by side."""

    @property
    def stretch(self) -> float:
        """By which share of its natural height it was stretched; below 0 it was pressed."""
        return self.printed / self.fullness - 1

    def __str__(self) -> str:
        """As in ``page 1: 5 systems, 92 % full, a hand is free to turn``."""
        told = f"page {self.page}: {many(self.systems, 'system')}, {100 * self.fullness:.0f} % full"
        if self.turn is None:
            return told
        return f"{told}, {'a' if self.turn else 'no'} hand is free to turn"


@dataclass(frozen=True, slots=True)
class Room:
    """What pages hold, in staff spaces from the top of the first system to the last one's foot."""

    first: float
    """The first page, under its title."""
    later: float


def room_of(boxes: PageBoxes) -> Room:
    """The room of the first page and of the others."""
    first, last = boxes.pages[0], boxes.pages[-1]
    titles = [line.box.bottom for line in boxes.lines if line.page == 1 and not line.is_system]
    under = max([first.head, *titles]) + LEAST_AIR
    # The head of a part of one page stands for that of a second one, which has a number.
    return Room(first.foot - _FOOT_AIR - under, last.foot - _FOOT_AIR - last.head - LEAST_AIR)


def stack_heights(systems: Sequence[Line]) -> tuple[float, float, float]:
    """Least, natural and printed height of systems that stand on one page, in staff spaces."""
    own = systems[0].staff_top - systems[0].box.top
    own += sum(line.staff_bottom - line.staff_top for line in systems)
    own += systems[-1].box.bottom - systems[-1].staff_bottom
    gaps = [least_gap(line) for line in systems[:-1]]
    natural = sum(max(NATURAL_GAP, gap) for gap in gaps)
    return own + sum(gaps), own + natural, systems[-1].box.bottom - systems[0].box.top


def least_gap(line: Line) -> float:
    """From the lowest line of a system to the highest of the next one, at least."""
    return max(LEAST_GAP, (line.closest or 0.0) + LEAST_AIR)


def measured_fill(part: HarpPart, boxes: PageBoxes) -> tuple[PageFill, ...]:
    """The figures of every page that holds a system."""
    systems = [line for line in boxes.lines if line.is_system]
    if not systems:
        return ()
    room = room_of(boxes)
    free = turn_bars(part) if len(boxes.pages) > 2 else frozenset[int]()
    bars = {bar.start: bar.index for bar in part.bars if bar.length}
    found = []
    for page, lines in groupby(systems, key=lambda line: line.page):
        here = list(lines)
        _, natural, printed = stack_heights(here)
        height = room.first if page == 1 else room.later
        turned = not boxes.pages[page - 1].is_left and page < len(boxes.pages) > 2
        turn = bars.get(here[-1].end) in free if turned else None
        found.append(PageFill(page, len(here), natural / height, printed / height, turn))
    return tuple(found)
