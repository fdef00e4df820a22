"""Several moves of one foot at one place: is there time for one after the other?"""

from __future__ import annotations

from collections.abc import Sequence

from pedalsetter.analysis.collation.entries import MarkSeverity
from pedalsetter.analysis.collation.score_walk import Item, Move, Walk
from pedalsetter.analysis.collation.slips import Pedal

__all__ = ["gravity_of_one_foot"]

_BRISK_MICROSECONDS = 250_000
"""The least time between two moves of one foot (common practice: below a quarter second is
unsafe)."""


def gravity_of_one_foot(
    walk: Walk, item: Item, movers: Sequence[tuple[Move, Pedal]]
) -> MarkSeverity | None:
    """How grave it is that one foot makes all of ``movers`` at one place; None if it is in order.

    A stack in a rest, or a diagram, is read and made in good time, one pedal after the other.
    """
    windows: list[tuple[int, int]] = []
    for move, pedal in movers:
        need = walk.next_need(move.letter, item.index)
        last = walk.items[-1].microseconds + 60_000_000
        until = walk.items[need[0]].microseconds if need is not None else last
        free = walk.items[pedal.last_need].microseconds if pedal.last_need >= 0 else -last
        windows.append((until, free))
    windows.sort()
    after = all(
        until - item.microseconds >= number * _BRISK_MICROSECONDS
        for number, (until, _) in enumerate(windows)
    )
    foot_free, possible = None, True
    for until, free in windows:
        time = free if foot_free is None else max(free, foot_free + _BRISK_MICROSECONDS)
        possible &= time <= until
        foot_free = time
    diagram = all(move.is_diagram for move, _ in movers)
    if possible and (after or diagram):
        return None
    return MarkSeverity.QUESTIONABLE if possible else MarkSeverity.WRONG
