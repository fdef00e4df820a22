"""Bars on lines: how wide a bar is, and which bars stand on one line of the chart."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from pedalsetter.analysis.part import HarpPart, Place
from pedalsetter.analysis.pedal_plan import PedalPlan

__all__ = ["Row", "chart_rows"]

_QUARTER_MM = 4.0
"""Width of a quarter in a piece with few changes."""
_WIDEST_QUARTER_MM = 9.0
_SIGN_ROOM_MM = 3.6
"""Two changes of one pedal stand so far apart if it can be had: a sign has room between."""
_LEAST_BAR_MM = 6.0
_FILLED = 0.6
"""A last line is stretched to the margin if its bars fill so much of it anyway."""


@dataclass(frozen=True, slots=True)
class Row:
    """The bars of one line, with their edges in millimetres from the line's left end."""

    first: int
    """Index of the first bar."""
    edges: tuple[float, ...]
    """Left edge of each bar, and the right edge of the last."""

    @property
    def last(self) -> int:
        """Index of the last bar."""
        return self.first + len(self.edges) - 2

    def x(self, part: HarpPart, place: Place) -> float:
        """Where a place of this line stands, in millimetres from its left end."""
        index = place.bar - self.first
        length = part.bars[place.bar].length
        share = float(place.offset / length) if length else 0.0
        left, right = self.edges[index], self.edges[index + 1]
        return left + (right - left) * min(1.0, share)


def chart_rows(part: HarpPart, plan: PedalPlan, width: float) -> tuple[Row, ...]:
    """The lines of a chart ``width`` millimetres wide; a movement begins on a line of its own.

    Time runs evenly within a bar. A quarter has one width in all bars, wider where pedals move in
    quick succession, but no bar is wider than a line. Lines are stretched to the margin.
    """
    quarter = _quarter(part, plan)
    rows: list[Row] = []
    line: list[float] = []
    first = 0
    for bar in part.bars:
        wide = min(width, max(_LEAST_BAR_MM, float(bar.length) * quarter))
        new_movement = bar.index > 0 and bar.movement != part.bars[bar.index - 1].movement
        if line and (new_movement or sum(line) + wide > width):
            rows.append(_row(first, line, width, stretched=not new_movement))
            line, first = [], bar.index
        line.append(wide)
    if line:
        rows.append(_row(first, line, width, stretched=False))
    return tuple(rows)


def _row(first: int, widths: Sequence[float], width: float, *, stretched: bool) -> Row:
    total = sum(widths)
    factor = width / total if stretched or total > _FILLED * width else 1.0
    edges = [0.0]
    for wide in widths:
        edges.append(edges[-1] + wide * factor)
    return Row(first, tuple(edges))


def _quarter(part: HarpPart, plan: PedalPlan) -> float:
    """Width of a quarter: what quick successions of one pedal's changes ask for.

    One succession in eight may be closer: there dots stand for signs.
    """
    onsets: dict[str, list[Fraction]] = {}
    for change in plan.changes:
        onsets.setdefault(change.letter.value, []).append(part.onset_of(change.place))
    gaps = sorted(
        later - sooner
        for times in onsets.values()
        for sooner, later in pairwise(times)
        if later > sooner
    )
    wanted = _SIGN_ROOM_MM / float(gaps[len(gaps) // 8]) if gaps else _QUARTER_MM
    return min(_WIDEST_QUARTER_MM, max(_QUARTER_MM, wanted))
