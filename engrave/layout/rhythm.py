"""Letters that stretch the rhythm: two of one row so close in time that they push notes apart.

The engraver gives every letter its room in the line, and so a pair on neighbouring sixteenths may
double their distance. How wide they would be without is told by the other notes of the system:
steps of the same length that no pair of letters covers. Without this limit two notes of C. P. E.
Bach's h186 (bar 17) stand twice as far apart as others of their length, in the rag (bar 64) 1.6
times; with it the second letter goes up a row first.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Set
from dataclasses import replace
from fractions import Fraction
from itertools import groupby, pairwise
from operator import attrgetter
from statistics import median

from pedalsetter.analysis.part import HarpPart
from pedalsetter.engrave.house_style import HouseStyle
from pedalsetter.engrave.layout.adjustments import Adjustments
from pedalsetter.engrave.layout.geometry import Line, MarkBox, PageBoxes
from pedalsetter.engrave.layout.rows import Row, row_place

__all__ = ["MOST_STRETCH", "every_other", "less_stretched", "stretches"]

MOST_STRETCH = 0.4
"""By which share of their usual distance two notes may be pushed apart by letters over them."""

_TOUCHING = 0.3
"""Staff spaces between the air of two letters, below which they hold each other apart."""

_ROW = "pedal-letters"

Step = tuple[Fraction, Fraction, float]
"""From one moment with notes to the next, and how wide it is printed."""


def less_stretched(
    part: HarpPart, style: HouseStyle, boxes: PageBoxes, before: Adjustments
) -> Adjustments:
    """Letters that push notes too far apart go up a row; between the staves there is none."""
    if row_place(Row.LETTERS, style) == "between":
        return before
    wide = {name for name, share in stretches(part, boxes).items() if share > MOST_STRETCH}
    return replace(before, second_row=before.second_row | every_other(wide, boxes))


def stretches(part: HarpPart, boxes: PageBoxes) -> dict[str, float]:
    """Name of a letter to the share by which it and the one before it push their notes apart.

    Only letters of the lower row that touch are asked about, and only within a bar: what stands
    before a barline ends there. Where no other step of that length is printed nothing is told.
    """
    onsets = {event.onset for event in part.events}
    marks = [mark for mark in boxes.marks if mark.row == _ROW]
    rows = groupby(marks, key=attrgetter("page", "line"))
    pairs = {place: list(_touching(row)) for place, row in rows}
    steps = {
        (line.page, line.line): list(_steps(line, onsets)) for line in boxes.lines if line.columns
    }
    usual: dict[tuple[int, int], Mapping[Fraction, float]] = {
        place: _usual([(place, here)], pairs) for place, here in steps.items()
    }
    anywhere = _usual(steps.items(), pairs)
    found = {}
    for place, here in pairs.items():
        for one, other in here:
            inner = [s for s in steps.get(place, ()) if one.moment <= s[0] < other.moment]
            if not inner or inner[0][0] != one.moment or inner[-1][1] != other.moment:
                continue
            if any(one.moment < bar.start <= other.moment for bar in part.bars):
                continue
            own = [
                usual[place].get(end - start, anywhere.get(end - start)) for start, end, _ in inner
            ]
            natural = sum(width for width in own if width is not None)
            if None not in own and natural > 0:
                found[other.name] = sum(width for _, _, width in inner) / natural - 1
    return found


def every_other(names: Set[str], boxes: PageBoxes) -> frozenset[str]:
    """Of such letters every second one where several follow each other: the rest have room then."""
    found: set[str] = set()
    row = sorted(
        (mark for mark in boxes.marks if mark.row == _ROW),
        key=lambda mark: (mark.page, mark.line, mark.box.left),
    )
    for one, other in pairwise(row):
        if other.name in names and one.name not in found:
            found.add(other.name)
    return frozenset(found)


def _touching(row: Iterable[MarkBox]) -> Iterator[tuple[MarkBox, MarkBox]]:
    """Neighbours of a row whose air meets."""
    for one, other in pairwise(sorted(row, key=lambda mark: mark.box.left)):
        if other.box.left - one.box.right < _TOUCHING and not one.grace and not other.grace:
            yield one, other


def _steps(line: Line, onsets: set[Fraction]) -> Iterator[Step]:
    """The steps of a system from note to note; none over a barline, which takes room too."""
    barlines = {moment for moment, _ in line.barlines}
    for (start, left), (end, right) in pairwise(
        column for column in line.columns if column[0] in onsets
    ):
        if end not in barlines:
            yield start, end, right - left


def _usual(
    systems: Iterable[tuple[tuple[int, int], list[Step]]],
    pairs: Mapping[tuple[int, int], list[tuple[MarkBox, MarkBox]]],
) -> dict[Fraction, float]:
    """Length of a step to the width that it has where no two letters push."""
    found: dict[Fraction, list[float]] = {}
    for place, steps in systems:
        for start, end, width in steps:
            held = any(one.moment <= start < other.moment for one, other in pairs.get(place, ()))
            if not held:
                found.setdefault(end - start, []).append(width)
    return {length: median(widths) for length, widths in found.items()}
