"""Sections: the places where a player may begin again.

Where a section begins the whole setting is wanted. The reasons are common practice in orchestral
parts (no source): beginnings, rehearsal marks, double bars, new keys, headings, the entry after a
long rest, and the targets of jumps.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence

from pedalsetter.analysis.part import (
    Bar,
    BarlineStyle,
    Direction,
    DirectionKind,
    Event,
    Jump,
    JumpKind,
    KeyChange,
    Section,
    SectionReason,
)
from pedalsetter.analysis.reading.movements import heading_at
from pedalsetter.analysis.reading.tempo_words import TempoTerm, tempo_term

__all__ = ["LONG_REST_BARS", "find_sections"]

LONG_REST_BARS = 4
"""So many bars of rest make the next entry a new beginning."""

_DIVIDING = (
    BarlineStyle.DOUBLE,
    BarlineStyle.FINAL,
    BarlineStyle.HEAVY,
    BarlineStyle.HEAVY_LIGHT,
    BarlineStyle.HEAVY_HEAVY,
)


def find_sections(
    bars: Sequence[Bar],
    events: Sequence[Event],
    directions: Sequence[Direction],
    keys: Sequence[KeyChange],
    jumps: Sequence[Jump],
) -> tuple[Section, ...]:
    """All sections in order, each with every reason that it has."""
    if not bars:
        return ()
    reasons: dict[int, list[SectionReason]] = defaultdict(list)
    labels: dict[int, str] = {}
    reasons[0].append(SectionReason.START)
    for bar in bars[1:]:
        before = bars[bar.index - 1]
        if bar.movement != before.movement:
            reasons[bar.index].append(SectionReason.MOVEMENT)
        divided = before.right in _DIVIDING or bar.left in _DIVIDING
        is_repeat = before.repeat_times or bar.repeat_start
        if divided and not (is_repeat and _only_repeats(before, bar)):
            reasons[bar.index].append(SectionReason.DOUBLE_BAR)
    for direction in directions:
        if direction.kind is DirectionKind.REHEARSAL:
            index = _bar_of(direction, bars)
            reasons[index].append(SectionReason.REHEARSAL)
            labels.setdefault(index, direction.text)
    for index in _key_changes(keys, bars):
        reasons[index].append(SectionReason.KEY)
    headings = [each for each in directions if not _is_passing(each)]
    for index in sorted({each.bar for each in headings}):
        heading = heading_at(index, bars, headings)
        if heading is not None:
            reasons[index].append(SectionReason.HEADING)
            labels.setdefault(index, heading.text)
    for index in _entries(bars, {event.bar for event in events if event.heads and not event.cue}):
        reasons[index].append(SectionReason.LONG_REST)
    for jump in jumps:
        if jump.kind is JumpKind.SEGNO:
            reasons[jump.bar].append(SectionReason.SEGNO)
        elif jump.kind is JumpKind.CODA:
            reasons[jump.bar].append(SectionReason.CODA)
    order = list(SectionReason)
    return tuple(
        Section(
            bar=index,
            reasons=tuple(sorted(set(reasons[index]), key=order.index)),
            label=labels.get(index, ""),
        )
        for index in sorted(reasons)
        if reasons[index]
    )


def _only_repeats(before: Bar, bar: Bar) -> bool:
    """Whether the thick barline is there only because a repeat sign is."""
    at_end = before.right in (BarlineStyle.FINAL, BarlineStyle.REGULAR) and (
        before.repeat_times > 0 or before.right is BarlineStyle.REGULAR
    )
    at_start = bar.left in (BarlineStyle.HEAVY_LIGHT, BarlineStyle.REGULAR) and (
        bar.repeat_start or bar.left is BarlineStyle.REGULAR
    )
    return at_end and at_start


def _bar_of(direction: Direction, bars: Sequence[Bar]) -> int:
    """A mark at the very end of a bar means the next one."""
    bar = bars[direction.bar]
    if direction.onset >= bar.end and bar.index + 1 < len(bars):
        return bar.index + 1
    return bar.index


def _key_changes(keys: Sequence[KeyChange], bars: Sequence[Bar]) -> list[int]:
    """Bars that begin in a new key; a change inside a bar counts for the next."""
    found = []
    now: int | None = None
    for key in keys:
        if key.staff not in (None, 1):
            continue
        if now is not None and key.fifths != now:
            inside = key.onset > bars[key.bar].start
            index = key.bar + 1 if inside else key.bar
            if index < len(bars):
                found.append(index)
        now = key.fifths
    return found


def _is_passing(direction: Direction) -> bool:
    """Words of tempo that do not begin anything: *rit.*, *accel.*, *a tempo*."""
    return tempo_term(direction.text) in (TempoTerm.SLOWER, TempoTerm.FASTER, TempoTerm.BACK)


def _entries(bars: Sequence[Bar], played: Collection[int]) -> list[int]:
    """Bars with notes that follow enough silent ones; the count begins anew with a movement."""
    found = []
    silent = 0
    for bar in bars:
        if bar.index and bar.movement != bars[bar.index - 1].movement:
            silent = 0
        if bar.index in played:
            if silent >= LONG_REST_BARS:
                found.append(bar.index)
            silent = 0
        else:
            silent += 1
    return found
