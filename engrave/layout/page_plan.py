"""Which bars begin systems and pages, chosen from what was measured on the pages before.

LilyPond divides pages by heights that it guesses before a system is set, and guesses too much where
rows of marks stand above the staves. Once a part is engraved its heights and the widths of its bars
are known, so that systems and pages can be chosen by measure: every page about equally full, none
but the last emptier than :data:`~pedalsetter.engrave.layout.page_fill.LEAST_FULL`, the last one not
emptier than :data:`~pedalsetter.engrave.layout.page_fill.LAST_FULL`, right-hand pages ending where
a hand is free. What is chosen is engraved and measured in its turn.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from math import inf
from statistics import fmean

from pedalsetter.engrave.layout.geometry import Line, PageBoxes
from pedalsetter.engrave.layout.page_fill import (
    LAST_FULL,
    LEAST_AIR,
    LEAST_FULL,
    LEAST_GAP,
    NATURAL_GAP,
    Room,
    least_gap,
    room_of,
)

__all__ = [
    "BROKEN",
    "LOOSEST",
    "TIGHTEST",
    "Breaks",
    "MeasuredPart",
    "best_breaks",
    "measured_part",
    "present_breaks",
]

TIGHT = 0.15
"""Share by which a line is wider or narrower than natural for a price of 1."""

UNEVEN = 0.15
"""Share of a page that is empty for a price of 1."""

PRESSED = 4.0
"""Price of a page whose systems stand as near as they may."""

_GIVE = 0.85
"""How much of the room between systems may go, so that what is guessed may be a little wrong."""

PAGE = 5.0
"""Price of each page."""

NO_HAND = 8.0
"""Price of a right-hand page that ends where no hand is free."""

BROKEN = 1000.0
"""Price of a page that is emptier than it may be; what is missing counts again as much."""

TIGHTEST = 1.27
"""A line of several bars may be as narrow as this for its natural width, as a share of it …"""

LOOSEST = 0.6
"""… and, unless it is the last, as wide as this."""


@dataclass(frozen=True, slots=True)
class Breaks:
    """Where systems and pages begin, as places in the list of measured bars, and what it costs."""

    systems: tuple[int, ...]
    pages: tuple[int, ...]
    last_full: float
    """How full the last page is expected to be."""
    cost: float
    turns_lacking: int = 0
    """Right-hand pages that end where no hand is free; not counted in what is only planned."""


@dataclass(frozen=True)
class MeasuredPart:
    """The bars between which systems and pages may begin, as they were engraved."""

    bars: tuple[int, ...]
    """Index in the part of each; where there is no barline, as in gathered rests, none begins."""
    ends: tuple[float, ...]
    """Widths of all bars before each, and of all, in staff spaces."""
    prefix: float
    """What clef and key take at the head of a system."""
    width: float
    """Of a line."""
    systems: tuple[tuple[int, int, Line], ...]
    """First bar, first bar after it, and the system as it was engraved."""
    room: Room
    turns: frozenset[int] = frozenset()
    """Places in ``bars`` before which a page may be turned; empty where that does not matter."""

    refused: frozenset[tuple[int, int]] = frozenset()
    """First bar and first bar after it of systems that are too narrow for what stands in them, and
    so is any that holds one of them."""

    forced: frozenset[int] = frozenset()
    """Places in ``bars`` at which a system begins whatever else is chosen: those of movements."""

    begins_left: bool = False
    """Whether the first page lies on the left."""

    def scaled(self, size: float) -> MeasuredPart:
        """The same at another staff size, as a share of the present one."""
        room = Room(self.room.first / size, self.room.later / size)
        return replace(self, width=self.width / size, room=room)


def measured_part(
    boxes: PageBoxes,
    bars: Mapping[Fraction, int],
    turns: frozenset[int],
    widths: MeasuredPart | None = None,
) -> MeasuredPart | None:
    """What the engraved pages tell; None where a system begins within a bar.

    ``bars`` maps the moments at which bars begin to their indices, ``turns`` are indices of bars.
    ``widths`` is an earlier measure of the same bars, whose widths hold: later ones are those of
    lines that were pressed or stretched on purpose.
    """
    systems = [line for line in boxes.lines if line.is_system]
    if any(line.start not in bars for line in systems):
        return None
    found: list[int] = []
    ends = [0.0]
    lines = []
    for line in systems:
        inner = [(moment, x) for moment, x in line.barlines if moment in bars]
        first, before = len(found), ends[-1]
        found += [bars[line.start], *(bars[moment] for moment, _ in inner)]
        ends += [before + x - line.music_left for x in (*(x for _, x in inner), line.right)]
        lines.append((first, len(found), line))
    if widths is not None and widths.bars != tuple(found):
        return None
    left = min(line.box.left for line in systems)
    return MeasuredPart(
        tuple(found),
        tuple(ends) if widths is None else widths.ends,
        fmean(line.music_left - left for line in systems) if widths is None else widths.prefix,
        systems[0].right - left,
        tuple(lines),
        room_of(boxes),
        frozenset(place for place, bar in enumerate(found) if bar in turns),
        begins_left=boxes.pages[0].is_left,
    )


def present_breaks(
    part: MeasuredPart, others: tuple[Sequence[int], Sequence[int]] | None = None
) -> Breaks:
    """The breaks as they were engraved, or ``others`` (systems and pages), and what they cost."""
    if others is None:
        systems = [start for start, _, _ in part.systems]
        pages = [
            here[0]
            for place, here in enumerate(part.systems)
            if place == 0 or here[2].page != part.systems[place - 1][2].page
        ]
    else:
        systems, pages = list(others[0]), list(others[1])
    heights = _Heights(part)
    lines = list(pairwise([*systems, len(part.bars)]))
    cost = sum(_line_cost(part, *line) for line in lines)
    full = 0.0
    lacking = 0
    for number, (start, end) in enumerate(pairwise([*pages, len(part.bars)]), 1):
        height = heights.of([line for line in lines if start <= line[0] < end])
        last = number == len(pages)
        room = part.room.first if number == 1 else part.room.later
        cost += _page_cost(height, room, last=last, only=len(pages) == 1, engraved=others is None)
        if not last and len(pages) > 2:
            cost += _turn_cost(part, end, number)
            lacking += _turn_cost(part, end, number) > 0
        full = height.natural / room
    return Breaks(tuple(systems), tuple(pages), full, cost, lacking)


def best_breaks(part: MeasuredPart, *, lines_stay: bool = False) -> Breaks | None:
    """The breaks that cost least by what was measured; None if no page can hold a system.

    ``lines_stay`` keeps every system as it is. Of several ways from the head of a page to the same
    bar in as many systems, the one with the cheapest lines is followed. Cost: linear in the bars,
    times the ways in which a page can be filled.
    """
    found = [_Search(part, lines_stay, most).best() for most in (2, 999)]
    return min((one for one in found if one is not None), key=lambda one: one.cost, default=None)


@dataclass(frozen=True, slots=True)
class _Height:
    """Of systems on one page, in staff spaces."""

    least: float
    natural: float


class _Heights:
    """How high systems will be: those that were engraved as measured, others by what they join."""

    def __init__(self, part: MeasuredPart) -> None:
        self._part = part
        self._known: dict[tuple[int, int], tuple[float, float, float]] = {}
        self._line = {(start, end): line for start, end, line in part.systems}
        pairs = [
            (above.box.bottom - above.staff_bottom)
            + (below.staff_top - below.box.top)
            - (above.closest or 0.0)
            for (_, _, above), (_, _, below) in pairwise(part.systems)
        ]
        # Outlines reach into one another, so that two systems stand nearer than their boxes allow.
        self._interlock = fmean(pairs) if pairs else 0.0

    def of(self, lines: Sequence[tuple[int, int]]) -> _Height:
        """The height of such systems, one under the other."""
        height = _Height(0.0, 0.0)
        for place, line in enumerate(lines):
            height = self.with_one(height, lines[:place], line)
        return height

    def with_one(
        self, height: _Height, lines: Sequence[tuple[int, int]], line: tuple[int, int]
    ) -> _Height:
        """The height of ``lines``, and of one more under them."""
        above, inner, below = self.parts(*line)
        if not lines:
            return _Height(above + inner + below, above + inner + below)
        gap = self.gap(lines[-1], line)
        more = inner + below - self.parts(*lines[-1])[2]
        natural = height.natural + max(NATURAL_GAP, gap) + more
        return _Height(height.least + gap + more, natural)

    def gap(self, above: tuple[int, int], below: tuple[int, int]) -> float:
        """The least distance between two systems, from staff line to staff line."""
        if above in self._line and below in self._line:
            return least_gap(self._line[above])
        near = self.parts(*above)[2] + self.parts(*below)[0] - self._interlock
        return max(LEAST_GAP, near + LEAST_AIR)

    def parts(self, start: int, end: int) -> tuple[float, float, float]:
        """Above the staves, from line to line, and below, of a system from bar to bar."""
        key = (start, end)
        if key not in self._known:
            shares = [
                (min(end, stop) - max(start, first), line)
                for first, stop, line in self._part.systems
                if first < end and stop > start
            ]
            bars = sum(share for share, _ in shares)
            sizes = [
                (
                    line.staff_top - line.box.top,
                    line.staff_bottom - line.staff_top,
                    line.box.bottom - line.staff_bottom,
                )
                for _, line in shares
            ]
            # What is high may stand in the part that goes elsewhere.
            means = [
                sum(share * size[side] for (share, _), size in zip(shares, sizes, strict=True))
                / bars
                for side in range(3)
            ]
            above, inner, below = (
                (2 * mean + max(size[side] for size in sizes)) / 3
                for side, mean in enumerate(means)
            )
            self._known[key] = (above, inner, below)
        return self._known[key]


def _line_cost(part: MeasuredPart, start: int, end: int) -> float:
    if any(start <= first and stop <= end for first, stop in part.refused):
        return BROKEN
    share = (part.ends[end] - part.ends[start] + part.prefix) / part.width
    cost = ((share - 1) / TIGHT) ** 2
    ends = end == len(part.bars) or end in part.forced
    if ends and share < LOOSEST:
        # One bar drawn out over a whole line is worse than a page that is less full.
        return 4.0 + 2 * BROKEN * (LOOSEST - share)
    return min(cost, 4.0) if ends and share < 1 else cost


def _page_cost(
    height: _Height, room: float, *, last: bool, only: bool, engraved: bool = False
) -> float:
    """What a page costs; one that was ``engraved`` so holds what it holds."""
    full = height.natural / room
    if full > 1:
        give = _GIVE * (height.natural - height.least)
        pressed = (height.natural - room) / give if give > 0 else inf
        pressed = min(pressed, 1.0) if engraved else pressed
        return PAGE + (PRESSED * pressed**2 if pressed <= 1 else 10 * BROKEN * pressed)
    least = LAST_FULL if last else LEAST_FULL
    if only or full >= least:
        return PAGE + (0.0 if only else ((1 - full) / UNEVEN) ** 2 / (6 if last else 1))
    return PAGE + BROKEN * (1 + least - full)


def _turn_cost(part: MeasuredPart, following: int, page: int) -> float:
    is_right = bool(page % 2) != part.begins_left
    return NO_HAND if part.turns and is_right and following not in part.turns else 0.0


@dataclass(frozen=True, slots=True)
class _Way:
    """Lines of one page from bar to bar."""

    price: float
    lines: tuple[tuple[int, int], ...]
    height: _Height


class _Search:
    """The cheapest way through all bars, page by page."""

    def __init__(self, part: MeasuredPart, lines_stay: bool, most_pages: int) -> None:
        self._part = part
        self._heights = _Heights(part)
        self._stay = {start: end for start, end, _ in part.systems} if lines_stay else None
        self._most = most_pages
        self._pages: dict[tuple[int, bool], list[_Way]] = {}

    def best(self) -> Breaks | None:
        """The cheapest breaks."""
        end = len(self._part.bars)
        # (bar, page) to price, lines and pages until there; a page past the second is one of two
        # kinds, left or right.
        known: dict[tuple[int, int], tuple[float, tuple[tuple[int, int], ...], tuple[int, ...]]]
        known = {(0, 1): (0.0, (), ())}
        results: list[tuple[float, tuple[tuple[int, int], ...], tuple[int, ...], float]] = []
        for start in range(end):
            for page in range(1, 4 if self._most > 2 else 3):
                if (start, page) not in known:
                    continue
                price, lines, pages = known[start, page]
                room = self._part.room.first if page == 1 else self._part.room.later
                for way in self._ways(start, first=page == 1):
                    stop = way.lines[-1][1]
                    last = stop == end
                    height = way.height
                    total = (
                        price
                        + way.price
                        + _page_cost(height, room, last=last, only=last and page == 1)
                    )
                    if last:
                        full = height.natural / room
                        results.append((total, (*lines, *way.lines), (*pages, start), full))
                        continue
                    if self._most > 2:
                        total += _turn_cost(self._part, stop, page)
                    elif page == 2:
                        continue
                    key = (stop, 2 if page in (1, 3) else 3)
                    if key not in known or total < known[key][0]:
                        known[key] = (total, (*lines, *way.lines), (*pages, start))
        if not results:
            return None
        total, lines, pages, full = min(results)
        return Breaks(tuple(line[0] for line in lines), pages, full, total)

    def _ways(self, start: int, *, first: bool) -> list[_Way]:
        """Lines from a bar to each bar at which the page could end."""
        key = (start, first)
        if key not in self._pages:
            room = self._part.room.first if first else self._part.room.later
            level = {start: _Way(0.0, (), _Height(0.0, 0.0))}
            found: list[_Way] = []
            while level:
                following: dict[int, _Way] = {}
                for bar, way in level.items():
                    for stop, cost in self._lines(bar):
                        price = way.price + cost
                        if stop in following and following[stop].price <= price:
                            continue
                        line = (bar, stop)
                        height = self._heights.with_one(way.height, way.lines, line)
                        if not way.lines or height.least <= room:
                            following[stop] = _Way(price, (*way.lines, line), height)
                found += following.values()
                level = following
            self._pages[key] = found
        return self._pages[key]

    def _lines(self, start: int) -> Iterator[tuple[int, float]]:
        """Where a line from a bar may end, and its price."""
        part = self._part
        end = len(part.bars)
        if self._stay is not None:
            if start in self._stay:
                yield self._stay[start], 0.0
            return
        for stop in range(start + 1, end + 1):
            if any(start < place < stop for place in part.forced):
                return
            share = (part.ends[stop] - part.ends[start] + part.prefix) / part.width
            if share > TIGHTEST and stop > start + 1:
                return
            if (
                share >= LOOSEST
                or stop == end
                or part.ends[stop + 1] - part.ends[start] > (TIGHTEST * part.width)
            ):
                yield stop, _line_cost(part, start, stop)
