"""Lanes: contexts of silence on which signs hang at exact moments."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence, Set
from fractions import Fraction
from itertools import pairwise
from typing import Any

from pedalsetter.analysis.part import HarpPart
from pedalsetter.engrave.notation import engraver_score as es
from pedalsetter.engrave.notation.timeline import BarUnit, bar_comment

__all__ = ["Lane", "last_onset"]


def last_onset(part: HarpPart) -> Fraction:
    """Offset of the last note or rest within the last bar, in quarters."""
    bar = part.bars[-1]
    onsets = [event.onset for event in part.events if event.bar == bar.index]
    return max((onset for onset in onsets if onset < bar.end), default=bar.start) - bar.start


class Lane:
    """Collects commands and post-events by moment, and writes them on skips."""

    def __init__(self, part: HarpPart) -> None:
        self._part = part
        self._commands: defaultdict[tuple[int, Fraction], list[str]] = defaultdict(list)
        self._signs: defaultdict[tuple[int, Fraction], list[str]] = defaultdict(list)
        self._closings: defaultdict[int, list[str]] = defaultdict(list)

    def __bool__(self) -> bool:
        return bool(self._commands or self._signs or self._closings)

    def command(self, bar: int, offset: Fraction, text: str) -> None:
        """Put a command before a moment, also before the graces that stand there."""
        bar, offset = self._settle(bar, offset)
        self._commands[bar, offset].append(text)

    def sign(self, bar: int, offset: Fraction, text: str) -> None:
        """Hang a post-event on a moment.

        At the end of the score only hairpins and trills can end; anything else goes to the last
        note.
        """
        bar, offset = self._settle(bar, offset)
        if offset >= self._part.bars[bar].length and text not in (r"\!", r"\stopTrillSpan"):
            offset = last_onset(self._part)
        self._signs[bar, offset].append(text)

    def close(self, bar: int, text: str) -> None:
        """Put music without length at the end of a bar."""
        self._closings[bar].append(text)

    def _settle(self, bar: int, offset: Fraction) -> tuple[int, Fraction]:
        """The end of a bar is the beginning of the next one."""
        while offset >= self._part.bars[bar].length and bar + 1 < len(self._part.bars):
            offset -= self._part.bars[bar].length
            bar += 1
        return bar, min(offset, self._part.bars[bar].length)

    def bars(
        self, units: Sequence[BarUnit], graces: Mapping[tuple[int, Fraction], Fraction]
    ) -> list[Any]:
        """The lane's music, one bar a line."""
        offsets: defaultdict[int, set[Fraction]] = defaultdict(set)
        for table in (self._commands, self._signs, graces):
            for bar, offset in table:
                offsets[bar].add(offset)
        return [self._bar(unit, offsets[unit.first], graces) for unit in units]

    def _bar(
        self,
        unit: BarUnit,
        offsets: Set[Fraction],
        graces: Mapping[tuple[int, Fraction], Fraction],
    ) -> Any:
        index = unit.first
        inside = {offset for offset in offsets if offset < unit.length}
        edges = sorted({Fraction(0), unit.length, *inside})
        contents = []
        for start, stop in pairwise(edges):
            leaf = es.skip(stop - start)
            es.annotate(leaf, (), self._signs.get((index, start), []))
            if (index, start) in graces:
                es.grace(leaf, [es.skip(graces[index, start])])
            commands = self._commands.get((index, start), [])
            es.precede(leaf, commands)
            contents.append(leaf)
        closings = [*self._commands.get((index, unit.length), ())]
        at_end = self._signs.get((index, unit.length), ())
        if at_end:
            closings.append("<>" + " ".join(at_end))
        for bar in range(unit.first, unit.last + 1):
            closings += self._closings.get(bar, ())
        return es.BarLine.of(contents, bar_comment(self._part, unit), closing=" ".join(closings))
