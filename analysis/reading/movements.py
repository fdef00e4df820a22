"""Movements: where one file holds several pieces one after another."""

from __future__ import annotations

from collections.abc import Sequence

from pedalsetter.analysis.part import (
    Bar,
    BarlineStyle,
    Direction,
    DirectionKind,
    Jump,
    JumpKind,
)

__all__ = ["heading_at", "movement_starts"]

_HEADINGS = (DirectionKind.WORDS, DirectionKind.TEMPO_WORDS)


def movement_starts(
    bars: Sequence[Bar], directions: Sequence[Direction], jumps: Sequence[Jump]
) -> tuple[int, ...]:
    """Indices of the bars that begin a movement, the first bar included.

    A movement ends with a final barline, and the next begins its own count of bars or carries a
    heading. A final barline at a *Fine*, or one before which a later *da capo* returns, divides
    one movement (minuet and trio) and not two.
    """
    starts = [0]
    finals = [
        bar.index
        for bar in bars[:-1]
        if bar.right in (BarlineStyle.FINAL, BarlineStyle.HEAVY_HEAVY)
    ]
    for last in finals:
        following = bars[last + 1]
        if any(jump.kind is JumpKind.FINE and jump.bar == last for jump in jumps):
            continue
        restarts = _restarts(bars, last)
        heading = heading_at(following.index, bars, directions)
        headed = (
            heading is not None
            and not bars[last].repeat_times
            and (following.new_page or following.new_system or following.time != bars[last].time)
        )
        if restarts or (headed and not _returns(last, bars, jumps)):
            starts.append(following.index)
    return tuple(starts)


def heading_at(bar: int, bars: Sequence[Bar], directions: Sequence[Direction]) -> Direction | None:
    """The heading at a bar's beginning: bold or large words, or words of tempo; None if none.

    Words of gradual change (*rit.*) never are a heading; the caller leaves them out beforehand.
    """
    start = bars[bar].start
    for direction in directions:
        if direction.bar != bar or direction.onset != start or direction.kind not in _HEADINGS:
            continue
        if direction.placement == "below":
            continue
        large = direction.size_points is not None and direction.size_points >= 14
        if direction.kind is DirectionKind.TEMPO_WORDS or direction.bold or large:
            return direction
    return None


def _restarts(bars: Sequence[Bar], last: int) -> bool:
    """Whether the count of bars begins again after ``last``: with 1, or with 0 and then 1."""
    numbers = [bar.number for bar in bars[last + 1 : last + 3]]
    if bars[last].number in ("0", "1"):
        return False
    if numbers[0] == "1":
        return True
    return len(numbers) == 2 and bars[last + 1].implicit and numbers[1] == "1"


def _returns(last: int, bars: Sequence[Bar], jumps: Sequence[Jump]) -> bool:
    """Whether a da capo before the next final barline leads back across this one."""
    stop = next(
        (
            bar.index
            for bar in bars[last + 1 :]
            if bar.right in (BarlineStyle.FINAL, BarlineStyle.HEAVY_HEAVY)
        ),
        len(bars) - 1,
    )
    back = (JumpKind.DA_CAPO, JumpKind.DAL_SEGNO)
    return any(jump.kind in back and last < jump.bar <= stop for jump in jumps)
