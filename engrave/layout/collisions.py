"""How far printed things are from one another, and what stands where it must not.

All lengths are staff spaces, y runs down the page.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from pedalsetter.engrave.layout.geometry import AT_NOTES, Box, MarkBox, PageBoxes, Segment, Thing

__all__ = [
    "Nearness",
    "distance",
    "distance_to_thing",
    "nearnesses",
    "past_the_edge",
    "uneven_rows",
]

TOLERANCE = 0.001
"""Staff spaces below which two positions are the same; the report is rounded to 0.0001."""


@dataclass(frozen=True, slots=True)
class Nearness:
    """A mark and its distance to one other thing; a negative distance is an overlap."""

    mark: str
    other: str
    """The other mark's name, or LilyPond's word for the thing."""
    page: int
    distance: float
    box: Box
    """Of the other."""
    other_system: bool = False
    """Whether it belongs to another system."""
    line: int = 0
    """The line of the page on which it stands, from 0."""
    moment: Fraction | None = None
    """Where it begins, if it is a slur: quarters from the beginning of the score."""

    @property
    def is_overlap(self) -> bool:
        """Whether ink meets ink."""
        return self.distance < -TOLERANCE


def distance(one: Box, other: Box) -> float:
    """The gap between two boxes in the direction in which they are further apart.

    Negative where they overlap: the depth of the overlap.
    """
    across = max(one.left - other.right, other.left - one.right)
    upright = max(one.top - other.bottom, other.top - one.bottom)
    return max(across, upright)


def distance_to_thing(box: Box, thing: Thing) -> float:
    """As :func:`distance`; slurs, beams and the like count with their outline, not their box.

    Within the stretch that box and thing share, the highest point of the upper and the lowest
    point of the lower outline bound the thing.
    """
    plain = distance(box, thing.box)
    left, right = max(box.left, thing.box.left), min(box.right, thing.box.right)
    if not thing.upper or not thing.lower or left > right:
        return plain
    top = _extreme(thing.upper, left, right, min)
    bottom = _extreme(thing.lower, left, right, max)
    if top is None or bottom is None:
        return _to_nearest_piece(box, thing)
    return max(box.top - bottom, top - box.bottom)


def nearnesses(boxes: PageBoxes) -> Iterator[Nearness]:
    """Every mark with every thing and every other mark that was reported near it, once each."""
    for page in boxes.pages:
        marks = [mark for mark in boxes.marks if mark.page == page.number]
        for thing in boxes.things:
            if thing.page != page.number:
                continue
            for mark in marks:
                yield Nearness(
                    mark.name,
                    thing.kind,
                    page.number,
                    distance_to_thing(mark.ink, thing),
                    thing.box,
                    thing.line != mark.line,
                    thing.line,
                    thing.moment,
                )
        for index, mark in enumerate(marks):
            for other in marks[index + 1 :]:
                yield Nearness(
                    mark.name,
                    other.name,
                    page.number,
                    distance(mark.ink, other.ink),
                    other.ink,
                    other.line != mark.line,
                    other.line,
                )
        for line in boxes.lines:
            if line.page == page.number and not line.is_system:
                for mark in marks:
                    yield Nearness(
                        mark.name, "title", page.number, distance(mark.ink, line.box), line.box
                    )


def uneven_rows(boxes: PageBoxes) -> tuple[tuple[int, int, str], ...]:
    """(page, line, row) of every row of marks that has more than one baseline.

    Names of strings stand at their notes and in no row.
    """
    baselines: dict[tuple[int, int, str], list[float]] = {}
    for mark in boxes.marks:
        if mark.row == AT_NOTES:
            continue
        baselines.setdefault((mark.page, mark.line, mark.row), []).append(mark.baseline)
    return tuple(
        row for row, found in sorted(baselines.items()) if max(found) - min(found) > TOLERANCE
    )


def past_the_edge(boxes: PageBoxes) -> tuple[MarkBox, ...]:
    """The marks whose ink passes the end of their line, its beginning, or the paper."""
    lines = {(line.page, line.line): line for line in boxes.lines}
    pages = {page.number: page for page in boxes.pages}
    return tuple(
        mark
        for mark in boxes.marks
        if mark.ink.right > lines[mark.page, mark.line].right + TOLERANCE
        or mark.ink.left < 0
        or mark.ink.top < 0
        or mark.ink.bottom > pages[mark.page].height
    )


def _extreme(
    outline: Sequence[Segment], left: float, right: float, pick: Callable[[float, float], float]
) -> float | None:
    """The highest (``min``) or lowest (``max``) y of an outline from left to right."""
    found: float | None = None
    for x0, y0, x1, y1 in outline:
        start, end = max(min(x0, x1), left), min(max(x0, x1), right)
        if start > end:
            continue
        for x in (start, end):
            y = y0 if x1 == x0 else y0 + (y1 - y0) * (x - x0) / (x1 - x0)
            found = y if found is None else pick(found, y)
    return found


def _to_nearest_piece(box: Box, thing: Thing) -> float:
    """Where the outline has a gap at the box: the distance to the nearest piece beside it."""
    return min(distance(box, _around(piece)) for piece in _pieces(thing))


def _pieces(thing: Thing) -> Iterable[Segment]:
    return (*thing.upper, *thing.lower)


def _around(piece: Segment) -> Box:
    x0, y0, x1, y1 = piece
    return Box(min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1))
