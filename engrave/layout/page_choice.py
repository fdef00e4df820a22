"""What the next engraving should have for systems, pages and staff size, by the one before it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from pedalsetter.analysis.part import HarpPart
from pedalsetter.engrave.house_style import HouseStyle
from pedalsetter.engrave.layout.adjustments import Adjustments
from pedalsetter.engrave.layout.contacts import systems_with_contacts
from pedalsetter.engrave.layout.geometry import PageBoxes
from pedalsetter.engrave.layout.page_fill import LEAST_FULL
from pedalsetter.engrave.layout.page_plan import (
    BROKEN,
    Breaks,
    MeasuredPart,
    best_breaks,
    measured_part,
    present_breaks,
)
from pedalsetter.engrave.layout.page_turns import turn_bars

__all__ = ["FEW_PAGES", "MOST_CHOICES", "PageChoice"]

MOST_CHOICES = 3
"""How often pages are divided anew: once by the first measure, then by what came of it."""

_GAIN = 0.75
"""What a page must gain on the mean before all is engraved again."""

_LEAST_GAIN = 3.0

_SMALLER = 0.02
"""By which share a staff is smaller for a price of 1 a page."""

FEW_PAGES = 3
"""A part of more pages keeps its staff size, and is left as it is where its pages are fair."""

_FAIR = 8.0
"""Price a page, on the mean, of pages that are left as they are; a page with a fault costs more."""

_STEP = 0.5
"""Points from one staff size that is tried to the next."""


class PageChoice:
    """Chooses breaks for one part, engraving by engraving."""

    def __init__(self, part: HarpPart, style: HouseStyle, *, lines_stay: bool = False) -> None:
        """``lines_stay`` keeps the systems that are told from outside."""
        self._part = part
        self._style = style
        self._lines_stay = lines_stay
        self._bars = {bar.start: bar.index for bar in part.bars if bar.length}
        self._movements = {
            bar.index for before, bar in pairwise(part.bars) if before.movement != bar.movement
        }
        free = style.page_turns == "free-hand"
        self._turns = turn_bars(part) if free else frozenset[int]()
        self._first: MeasuredPart | None = None
        self._refused: frozenset[tuple[int, int]] = frozenset()
        self._made = 0

    def better(
        self, boxes: PageBoxes, before: Adjustments, *, crowded: bool = False
    ) -> Adjustments | None:
        """What to engrave otherwise, or None if these pages may stand.

        ``crowded`` tells that they may not, since the engraver had to press a page together: the
        heights of its systems are known now, and others are chosen by them.
        """
        if self._made == MOST_CHOICES:
            return None
        measured = measured_part(boxes, self._bars, self._turns, self._first)
        if measured is None:
            return None
        self._first = self._first or measured
        if self._made:
            # A system that was made too narrow for what stands in it is not made again.
            faults = systems_with_contacts(boxes)
            narrow = {(start, end) for start, end, line in measured.systems if line.start in faults}
            self._refused |= narrow | _broken_up(measured, before)
        measured = replace(
            measured,
            refused=self._refused,
            forced=frozenset(
                place for place, bar in enumerate(measured.bars) if bar in self._movements
            ),
        )
        present = present_breaks(measured)
        if crowded:
            present = replace(present, cost=present.cost + 10 * BROKEN)
        size = before.staff_size_points or self._style.staff_size_points
        few = len(present.pages) <= FEW_PAGES
        fair = present.cost < min(BROKEN, _FAIR * len(present.pages))
        if not few and fair and not present.turns_lacking:
            return None
        cost, best_size, best = self._best(measured, size, self._sizes() if few else [size])
        gain = present.cost + self._size_price(size, present) - cost
        if best is None or gain < self._least_gain(len(present.pages)):
            if self._is_torn(before, present):
                self._made += 1
                return self._adjusted(measured, before, present, size, ragged=True)
            return None
        self._made += 1
        ragged = self._style.last_page == "ragged" or (
            self._style.last_page == "auto" and best.last_full < LEAST_FULL
        )
        return self._adjusted(measured, before, best, best_size, ragged=ragged)

    def _least_gain(self, pages: int) -> float:
        """What must be gained before all is engraved again; more each time."""
        return max(_LEAST_GAIN, _GAIN * pages) * (1 + 3 * self._made)

    def _best(
        self, measured: MeasuredPart, now: float, sizes: Sequence[float]
    ) -> tuple[float, float, Breaks | None]:
        """Price, staff size and breaks of the best that can be had."""
        found = []
        for size in sizes:
            breaks = best_breaks(measured.scaled(size / now), lines_stay=self._lines_stay)
            if breaks is not None:
                price = breaks.cost + self._size_price(size, breaks)
                found.append((price, size, breaks))
        return min(found, key=lambda one: one[0], default=(0.0, now, None))

    def _sizes(self) -> list[float]:
        """From the style's own down to the least that it allows."""
        if self._lines_stay:
            return [self._style.staff_size_points]
        most = self._style.staff_size_points
        steps = int(most * self._style.staff_shrink_percent / 100 / _STEP + 0.1)
        return [most - _STEP * step for step in range(steps + 1)]

    def _size_price(self, size: float, breaks: Breaks) -> float:
        smaller = 1 - size / self._style.staff_size_points
        return len(breaks.pages) * (smaller / _SMALLER) ** 2

    def _is_torn(self, before: Adjustments, present: Breaks) -> bool:
        """Whether a last page was stretched to its foot that holds too little for that."""
        return (
            self._style.last_page == "auto"
            and not before.ragged_last_page
            and present.last_full < LEAST_FULL
        )

    def _adjusted(
        self,
        measured: MeasuredPart,
        before: Adjustments,
        breaks: Breaks,
        size: float,
        *,
        ragged: bool,
    ) -> Adjustments:
        own = size == self._style.staff_size_points
        return replace(
            before,
            systems=frozenset(measured.bars[place] for place in breaks.systems[1:]),
            pages=frozenset(measured.bars[place] for place in breaks.pages[1:]),
            breaks=frozenset(),
            ragged_last_page=ragged,
            free_turns=False,
            staff_size_points=None if own else size,
        )


def _broken_up(part: MeasuredPart, before: Adjustments) -> frozenset[tuple[int, int]]:
    """Systems that were chosen and that a remedy then broke in two: something had no room there."""
    places = {bar: place for place, bar in enumerate(part.bars)}
    chosen = [places[bar] for bar in before.systems or () if bar in places]
    edges = sorted({0, len(part.bars), *chosen})
    broken = {places[bar] for bar in before.breaks if bar in places}
    return frozenset(
        line for line in pairwise(edges) if any(line[0] < place < line[1] for place in broken)
    )
