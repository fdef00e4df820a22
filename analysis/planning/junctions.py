"""Where ways meet: barlines that are reached or left in several ways because of repeats and jumps.

Marks are printed once and played on every pass, so the setting at a barline must be one and the
same whichever bar was played before. Barlines that follow each other in any pass are therefore one
*junction*, and the bars between two junctions are one *stretch*: inside it music runs straight on.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.playing.playing_order import PlayingOrder

__all__ = ["Route", "Stretch", "find_route"]


@dataclass(frozen=True, slots=True)
class Stretch:
    """Bars played one after the other, whatever happened before."""

    bars: tuple[int, ...]
    entry: int
    """Junction at its first left barline."""
    exit: int
    """Junction at its last right barline."""


@dataclass(frozen=True, slots=True)
class Route:
    """A part as stretches between junctions."""

    stretches: tuple[Stretch, ...]
    """By first bar."""
    junctions: int
    """Their number; they are counted from 0."""
    openings: tuple[tuple[int, int, int], ...]
    """For each movement: its number, its first bar, and the junction there."""
    ends: frozenset[int]
    """Junctions after which nothing is played: any setting will do."""


def find_route(part: HarpPart, order: PlayingOrder) -> Route:
    """Cut the part into stretches; linear in bars and visits.

    A bar that is never played is taken to follow the bar printed before it.
    """
    transitions = set(order.transitions())
    played = {visit.bar for visit in order.visits}
    movements = [bar.movement for bar in part.bars]
    opening_bars = [
        index
        for index in range(len(movements))
        if not index or movements[index] != movements[index - 1]
    ]
    for index in range(1, len(movements)):
        if index not in played and index not in opening_bars:
            transitions.add((index - 1, index))
    joined = _Joined(2 * len(movements))
    for before, after in transitions:
        joined.join(2 * before + 1, 2 * after)
    lefts = [joined.root(2 * index) for index in range(len(movements))]
    rights = [joined.root(2 * index + 1) for index in range(len(movements))]
    into: dict[int, list[int]] = {}
    out_of: dict[int, list[int]] = {}
    for index in range(len(movements)):
        out_of.setdefault(lefts[index], []).append(index)
        into.setdefault(rights[index], []).append(index)
    straight = {
        barline
        for barline, after in out_of.items()
        if len(after) == 1 and len(into.get(barline, ())) == 1
    } - {lefts[index] for index in opening_bars}
    numbers: dict[int, int] = {}
    stretches: list[Stretch] = []
    for index in range(len(movements)):
        if lefts[index] in straight:
            continue
        bars = [index]
        while rights[bars[-1]] in straight:
            bars.append(out_of[rights[bars[-1]]][0])
        entry = numbers.setdefault(lefts[index], len(numbers))
        leave = numbers.setdefault(rights[bars[-1]], len(numbers))
        stretches.append(Stretch(tuple(bars), entry, leave))
    return Route(
        tuple(stretches),
        len(numbers),
        tuple((movements[index], index, numbers[lefts[index]]) for index in opening_bars),
        frozenset(_without_way_out(stretches)),
    )


def _without_way_out(stretches: Iterable[Stretch]) -> set[int]:
    return {one.exit for one in stretches} - {one.entry for one in stretches}


class _Joined:
    """Disjoint sets of barlines; the smallest member names its set, so the result is stable."""

    def __init__(self, size: int) -> None:
        self._parent = list(range(size))

    def root(self, barline: int) -> int:
        while self._parent[barline] != barline:
            self._parent[barline] = self._parent[self._parent[barline]]
            barline = self._parent[barline]
        return barline

    def join(self, one: int, other: int) -> None:
        low, high = sorted((self.root(one), self.root(other)))
        self._parent[high] = low
