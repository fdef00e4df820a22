"""Dynamics, hairpins and words of one of two harps: each lies on a note that this harp has.

Without this a harp that rests at an *f* had it over its rest, and one that came in bars later had
no dynamic at all.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import accumulate

from pedalsetter.analysis.part import (
    FOR_ALL_STAVES,
    SPAN_ENDS,
    Direction,
    DirectionKind,
    Event,
    HarpPart,
)

__all__ = ["own_directions"]

_LASTING = frozenset({"pppp", "ppp", "pp", "p", "mp", "mf", "f", "ff", "fff", "ffff"})
"""Dynamics that hold until another comes; an *sfz* is over at once."""


def own_directions(part: HarpPart, events: Iterable[Event]) -> tuple[Direction, ...]:
    """The directions of ``part`` for a harp that plays ``events`` of it.

    A dynamic or hairpin in whose place this harp rests goes to its next note, and a hairpin ends
    with its last one. One that lasts waits for the next note however far it is, unless another
    comes before; whatever else has no note of this harp in its bar, at its moment or later, goes.
    What holds for both harps stays, and all in a bar where nobody plays.
    """
    notes = _Notes.of(events)
    shared = {event.bar for event in part.events if event.heads and not event.cue}
    ends = _pairs(part)
    starts = {end.id: start for start, end in ends.values()}
    dynamics = sorted(one.onset for one in part.directions if one.kind is DirectionKind.DYNAMIC)
    found = []
    for one in part.directions:
        if one.kind in FOR_ALL_STAVES or one.bar not in shared:
            found.append(one)
        elif one.kind is DirectionKind.DYNAMIC:
            following = bisect_right(dynamics, one.onset)
            until = dynamics[following] if following < len(dynamics) else None
            if one.text.strip() not in _LASTING:
                until = part.bars[one.bar].end
            found += notes.at(part, one, until)
        elif one.id in ends or one.id in starts:
            start, end = ends[one.id] if one.id in ends else (starts[one.id], one)
            found += notes.spanned(one, start, end)
        else:
            place = bisect_left(notes.onsets, one.onset)
            if place < len(notes.onsets) and notes.onsets[place] <= part.bars[one.bar].end:
                found.append(one)
    return tuple(found)


def _pairs(part: HarpPart) -> dict[str, tuple[Direction, Direction]]:
    """Id of whatever begins a line to both of its ends."""
    waiting: dict[tuple[DirectionKind, int, int | None], Direction] = {}
    found = {}
    for one in part.directions:
        if one.kind in SPAN_ENDS:
            waiting[SPAN_ENDS[one.kind], one.number, one.staff] = one
        elif (start := waiting.pop((one.kind, one.number, one.staff), None)) is not None:
            found[start.id] = start, one
    return found


@dataclass(frozen=True)
class _Notes:
    """When one harp plays."""

    onsets: tuple[Fraction, ...]
    """Each once, in order."""
    bars: tuple[int, ...]
    """Of the onsets."""
    ends: tuple[Fraction, ...]
    """Until when a note that has begun by each onset sounds."""

    @classmethod
    def of(cls, events: Iterable[Event]) -> _Notes:
        """Of a harp that plays ``events``."""
        longest: dict[Fraction, tuple[int, Fraction]] = {}
        for event in events:
            if event.heads and not event.cue:
                _, end = longest.get(event.onset, (0, event.end))
                longest[event.onset] = event.bar, max(end, event.end)
        order = sorted(longest)
        return cls(
            tuple(order),
            tuple(longest[onset][0] for onset in order),
            tuple(accumulate((longest[onset][1] for onset in order), max)),
        )

    def sounds(self, time: Fraction, *, or_ends: bool = False) -> bool:
        """Whether a note is held at a moment, or at least until then."""
        begun = bisect_right(self.onsets, time)
        return begun > 0 and (
            self.ends[begun - 1] > time or (or_ends and self.ends[begun - 1] == time)
        )

    def at(self, part: HarpPart, one: Direction, until: Fraction | None) -> list[Direction]:
        """A sign where a note sounds, or at the next note before ``until``; else nothing."""
        if self.sounds(one.onset):
            return [one]
        place = bisect_left(self.onsets, one.onset)
        if place == len(self.onsets) or (until is not None and self.onsets[place] >= until):
            return []
        onset = self.onsets[place]
        bar = self.bars[place]
        if part.bars[bar].movement != part.bars[one.bar].movement:
            return []
        return [replace(one, bar=bar, onset=onset)]

    def spanned(self, one: Direction, start: Direction, end: Direction) -> list[Direction]:
        """One end of a line, drawn in to the notes between its ends; nothing if there are none."""
        first = bisect_left(self.onsets, start.onset)
        # What ends at a note ends with it; other lines may have their only note there.
        last = bisect_right(self.onsets, end.onset)
        if self.sounds(start.onset) and (
            first == len(self.onsets) or self.onsets[first] > start.onset
        ):
            first -= 1
        if first >= last:
            return []
        begun = max(start.onset, self.onsets[first])
        stopped = min(end.onset, max(self.ends[last - 1], self.onsets[last - 1]))
        if start.kind is DirectionKind.WEDGE_START and begun >= stopped:
            return []
        if one is start:
            return (
                [one] if begun == one.onset else [replace(one, bar=self.bars[first], onset=begun)]
            )
        return (
            [one]
            if stopped == one.onset
            else [replace(one, bar=self.bars[last - 1], onset=stopped)]
        )
