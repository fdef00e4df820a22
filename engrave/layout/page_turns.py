"""Where a page may be turned: at barlines at which a hand is free."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from fractions import Fraction
from itertools import pairwise

from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.playing.clock import Clock

__all__ = ["TURN_SECONDS", "turn_bars", "turns_suffice"]

TURN_SECONDS = Fraction(2)
"""How long a hand takes to turn a page and come back (common practice, no source)."""

COLUMNS_A_PAGE = 240
"""Moments with notes that fill a page of five systems or six."""


def turn_bars(part: HarpPart) -> frozenset[int]:
    """Indices of the bars before which a page may be turned.

    The notes of one staff stand for one hand. A plucked string sounds on by itself, so a long note
    leaves the hand as free as a rest does: what counts is the time from the strike before the
    barline to the next one after it. A strike on the barline itself is read from the new page.
    """
    clock = Clock(part)
    strikes: defaultdict[int, set[Fraction]] = defaultdict(set)
    for event in part.events:
        if event.heads and not event.cue:
            strikes[event.staff].add(event.onset)
    end = part.bars[-1].end
    starts = [bar.start for bar in part.bars]
    turns: set[int] = set()
    for staff in range(1, part.staves + 1):
        moments = [Fraction(0), *sorted(strikes[staff]), end]
        timed = [(moment, clock.seconds(moment)) for moment in moments]
        for (last, before), (following, after) in pairwise(timed):
            if after - before >= TURN_SECONDS:
                within = range(bisect_right(starts, last), bisect_right(starts, following))
                turns.update(part.bars[place].index for place in within if place)
    return frozenset(turns)


def turns_suffice(part: HarpPart, turns: frozenset[int]) -> bool:
    """Whether the places for turns are close enough: one on the first page, then on every other.

    The first page is a right-hand one. Judged by the number of moments with notes.
    """
    moments = sorted({event.onset for event in part.events if event.heads})
    places = [part.bars[index].start for index in sorted(turns)]
    edges = [Fraction(0), *places, part.bars[-1].end]
    for number, (start, stop) in enumerate(pairwise(edges)):
        columns = bisect_left(moments, stop) - bisect_left(moments, start)
        if columns > COLUMNS_A_PAGE * (1 if number == 0 else 2):
            return False
    return bool(places)
