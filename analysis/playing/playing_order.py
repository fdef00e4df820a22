"""The order in which the bars are played: repeats, endings, D.C., D.S., coda and fine unfolded.

Conventions (common practice, no source): a repeat without a sign of its beginning goes back to the
end of the repeat before it, else to the beginning; after a D.C. or D.S. repeats are not played
again and the last ending is taken; each jump is taken once, after the repeats of its bar.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from pedalsetter.analysis.part import Bar, HarpPart, Jump, JumpKind

__all__ = ["MOST_PASSES", "PlayingOrder", "Visit", "playing_order"]

MOST_PASSES = 16
"""A section that claims more passes is unfolded this often: more would teach the feet nothing."""


@dataclass(frozen=True, slots=True)
class Visit:
    """One playing of one bar."""

    bar: int
    """Index of the bar."""
    number: int
    """How often the bar has been played so far, this time included."""


@dataclass(frozen=True, slots=True)
class PlayingOrder:
    """All visits, movement after movement."""

    visits: tuple[Visit, ...]
    movement_starts: tuple[int, ...]
    """Indices into ``visits`` at which a movement begins."""

    def transitions(self) -> frozenset[tuple[int, int]]:
        """Every pair (bar, bar played right after it), within movements."""
        starts = set(self.movement_starts)
        return frozenset(
            (before.bar, after.bar)
            for index, (before, after) in enumerate(pairwise(self.visits), start=1)
            if index not in starts
        )


def playing_order(part: HarpPart) -> PlayingOrder:
    """Return the visits to bars in the order in which a player makes them.

    A jump without its target is passed over. Linear in the number of visits.
    """
    visits: list[Visit] = []
    starts: list[int] = []
    count: dict[int, int] = {}
    for bars in _movements(part.bars):
        starts.append(len(visits))
        first, last = bars[0].index, bars[-1].index
        jumps = [jump for jump in part.jumps if first <= jump.bar <= last]
        for bar in _play(bars, jumps):
            count[bar] = count.get(bar, 0) + 1
            visits.append(Visit(bar, count[bar]))
    return PlayingOrder(tuple(visits), tuple(starts))


def _movements(bars: Sequence[Bar]) -> Iterator[list[Bar]]:
    group: list[Bar] = []
    for bar in bars:
        if group and bar.movement != group[-1].movement:
            yield group
            group = []
        group.append(bar)
    if group:
        yield group


@dataclass(slots=True)
class _Repeated:
    """A stretch of the page that is played several times, its endings included."""

    first: int
    passes: int
    ending_numbers: frozenset[int]

    def opens(self, bar: Bar, passing: int) -> bool:
        """Whether the bracket over ``bar`` is played on this pass."""
        numbers = bar.ending.numbers if bar.ending is not None else ()
        if passing in numbers or not self.ending_numbers:
            return True
        last = max(self.ending_numbers)
        # A pass that no bracket names takes the last one, unless what follows is the last ending.
        return passing not in self.ending_numbers and self.passes <= last and last in numbers


def _play(bars: Sequence[Bar], jumps: Sequence[Jump]) -> Iterator[int]:
    """Yield bar indices as played; ``bars`` is one movement."""
    first = bars[0].index
    sections = _sections(bars)
    navigation = _Navigation(bars, jumps)
    index, passing, jumped = 0, 1, False
    most_visits = len(bars) * MOST_PASSES * 4
    while index < len(bars) and most_visits:
        most_visits -= 1
        bar = bars[index]
        section = sections[index]
        if section is None:
            passing = 1
        elif jumped:
            passing = section.passes
        if section is not None and bar.ending is not None and not section.opens(bar, passing):
            index += 1
            continue
        yield bar.index
        if bar.repeat_times and section is not None and not jumped and passing < section.passes:
            passing += 1
            index = section.first
            continue
        target = navigation.after(bar.index, jumped)
        if target == _FINE:
            return
        if target is not None:
            jumped = jumped or target.returns
            passing = 1
            index = target.bar - first
            continue
        index += 1
        if index < len(bars) and sections[index] is not section:
            passing = 1


def _sections(bars: Sequence[Bar]) -> list[_Repeated | None]:
    """For each bar the repeated section that it belongs to, or None."""
    found: list[_Repeated | None] = [None] * len(bars)
    begin = 0
    index = 0
    while index < len(bars):
        if bars[index].repeat_start:
            begin = index
        if not bars[index].repeat_times:
            index += 1
            continue
        stop = index
        if bars[index].ending is not None:
            # The endings that follow belong to the same section, up to the last bracket.
            while stop + 1 < len(bars) and _goes_on(bars, stop):
                stop += 1
        numbers = frozenset(
            number
            for bar in bars[begin : stop + 1]
            if bar.ending is not None
            for number in bar.ending.numbers
        )
        # In a section with endings the repeat inside the last bracket, if any, is not counted.
        told = max(bar.repeat_times for bar in bars[begin : stop + 1])
        passes = max(numbers) if numbers else told
        repeating = bars[index].ending
        if repeating is not None and max(numbers) in repeating.numbers:
            # Only the first bracket is printed: the passage after it is the last ending.
            passes = max(told, max(numbers) + 1)
        section = _Repeated(begin, max(1, min(passes, MOST_PASSES)), numbers)
        for place in range(begin, stop + 1):
            found[place] = section
        index = begin = stop + 1
    return found


def _goes_on(bars: Sequence[Bar], stop: int) -> bool:
    """Whether the bar after ``stop`` is still under the endings of the section."""
    ahead = bars[stop + 1]
    if ahead.ending is None or ahead.repeat_start:
        return False
    here = bars[stop].ending
    # A bracket that begins again at 1 opens the endings of another section.
    return here is None or not (ahead.ending.starts and 1 in ahead.ending.numbers)


@dataclass(frozen=True, slots=True)
class _Target:
    bar: int
    returns: bool
    """True for D.C. and D.S., False for the leap to the coda."""


_FINE = _Target(-1, False)


class _Navigation:
    """The signs of one movement, and which of them have been obeyed."""

    def __init__(self, bars: Sequence[Bar], jumps: Sequence[Jump]) -> None:
        self._first = bars[0].index
        self._jumps = jumps
        self._done: set[int] = set()
        self._mode: Jump | None = None

    def after(self, bar: int, jumped: bool) -> _Target | None:
        """Where to go at the end of a bar; None to go straight on."""
        here = [(place, jump) for place, jump in enumerate(self._jumps) if jump.bar == bar]
        if jumped:
            for _, jump in here:
                if jump.kind is JumpKind.FINE and not self._to_coda():
                    return _FINE
                if jump.kind is JumpKind.TO_CODA and not self._to_fine():
                    coda = self._find(JumpKind.CODA, jump.label, bar)
                    if coda is not None and coda != bar:
                        return _Target(coda, False)
        for place, jump in here:
            if place in self._done:
                continue
            if jump.kind is JumpKind.DA_CAPO:
                self._done.add(place)
                self._mode = jump
                return _Target(self._first, True)
            if jump.kind is JumpKind.DAL_SEGNO:
                self._done.add(place)
                segno = self._find(JumpKind.SEGNO, jump.label, bar)
                if segno is not None:
                    self._mode = jump
                    return _Target(segno, True)
        return None

    def _to_coda(self) -> bool:
        return self._mode is not None and self._mode.al_coda and not self._mode.al_fine

    def _to_fine(self) -> bool:
        return self._mode is not None and self._mode.al_fine and not self._mode.al_coda

    def _find(self, kind: JumpKind, label: str, bar: int) -> int | None:
        """The sign with this label; else the nearest one on the right side of ``bar``."""
        every = [jump for jump in self._jumps if jump.kind is kind]
        same = [jump.bar for jump in every if label and jump.label == label]
        if same:
            return same[0]
        bars = [jump.bar for jump in every]
        if kind is JumpKind.SEGNO:
            return max((place for place in bars if place <= bar), default=None)
        return min((place for place in bars if place > bar), default=None)
