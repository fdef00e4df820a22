"""The moments at which a pedal may move: onsets of notes and rests, beats and barlines.

A printed rest is a place where the eye can read a mark and a foot is heard least. Moments stand in
score order. A move printed at a moment takes effect just before the notes struck there. Grace notes
have moments of their own before their main note, a tenth of a second each.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from enum import IntEnum
from fractions import Fraction

from pedalsetter.analysis.part import Bar, Event, HarpPart, Place
from pedalsetter.analysis.playing.clock import Clock

__all__ = [
    "GRACE_MICROSECONDS",
    "Moments",
    "Strength",
    "find_moments",
    "is_struck",
    "number_graces",
    "place_of",
]

GRACE_MICROSECONDS = 100_000
"""Time given to one grace note (common practice, no source; only its order is certain)."""


class Strength(IntEnum):
    """How good a place is for the eye that must read the mark, best first."""

    BARLINE = 0
    BEAT = 1
    OFF_BEAT = 2
    FINE = 3
    """A finer division of the beat than its halves or thirds."""
    GRACE = 4
    """Between grace notes. Where the first of them is struck, the eye finds what the grace notes
    lead to: a beat, say."""
    BETWEEN = 5
    """Nothing is there to read a mark by; only a musician's decision puts one there."""


@dataclass(frozen=True, slots=True)
class Moments:
    """All moments of a part as columns of equal length."""

    places: tuple[Place, ...]
    microseconds: tuple[int, ...]
    """Time on the page, each bar once."""
    strengths: tuple[Strength, ...]
    first_of_bar: tuple[int, ...]
    """Index of each bar's first moment, with one more entry: the number of moments."""
    of_event: Mapping[str, int]
    """The moment at which each struck event is struck, by the event's id."""

    def index(self, place: Place) -> int:
        """The moment at ``place``, or the first one after it."""
        return bisect_left(self.places, place)

    def ends_graces(self, moment: int) -> bool:
        """Whether grace notes lead to the note that is struck there."""
        return bool(moment and not self.places[moment].grace and self.places[moment - 1].grace)

    def of_bar(self, bar: int) -> range:
        """The moments of one bar."""
        return range(self.first_of_bar[bar], self.first_of_bar[bar + 1])


def is_struck(event: Event) -> bool:
    """Whether the event asks anything of the harp: cues and invisible notes do not."""
    return bool(event.heads) and not event.cue and event.visible


def place_of(part: HarpPart, event: Event, graces: Mapping[str, int]) -> Place:
    """The place at which an event is struck; ``graces`` as from :func:`number_graces`."""
    offset = event.onset - part.bars[event.bar].start
    return Place(event.bar, offset, graces.get(event.id, 0))


def number_graces(part: HarpPart) -> dict[str, int]:
    """For each grace note its negative number: −1 next to the main note, −2 before it …"""
    groups: dict[tuple[int, Fraction, int, str], list[str]] = {}
    for event in part.events:
        if event.grace is not None:
            key = (event.bar, event.onset, event.staff, event.voice)
            groups.setdefault(key, []).append(event.id)
    return {
        identity: place - len(group)
        for group in groups.values()
        for place, identity in enumerate(group)
    }


def find_moments(
    part: HarpPart, clock: Clock, graces: Mapping[str, int], also: Collection[Place] = ()
) -> Moments:
    """Return every moment of the part, in score order; linear but for sorting within bars.

    ``also`` names places at which a decision wants something, whatever stands there.
    """
    places: list[set[tuple[Fraction, int]]] = [set() for _ in part.bars]
    wanted: list[set[tuple[Fraction, int]]] = [set() for _ in part.bars]
    for place in also:
        wanted[place.bar].add((place.offset, place.grace))
    struck: list[tuple[str, Place]] = []
    for event in part.events:
        if is_struck(event):
            place = place_of(part, event, graces)
            struck.append((event.id, place))
            places[event.bar].add((place.offset, place.grace))
            if place.grace:
                places[event.bar].add((place.offset, 0))
        elif event.is_rest and event.visible and not event.cue:
            places[event.bar].add((event.onset - part.bars[event.bar].start, 0))
    found: list[Place] = []
    times: list[int] = []
    strengths: list[Strength] = []
    firsts: list[int] = []
    movement = -1
    for bar in part.bars:
        firsts.append(len(found))
        lead = Fraction(0)
        if bar.movement != movement and bar.implicit:
            lead = max(bar.time.length - bar.length, lead)
        movement = bar.movement
        beats = _beats(bar, lead)
        known = places[bar.index] | {(beat, 0) for beat in beats}
        begun: Fraction | None = None
        for offset, grace in sorted(known | wanted[bar.index]):
            found.append(Place(bar.index, offset, grace))
            time = clock.microseconds(bar.start + offset) + grace * GRACE_MICROSECONDS
            # Many grace notes would reach back beyond the moment before them.
            times.append(max(time, times[-1]) if times else time)
            between = (offset, grace) not in known
            if between:
                strength = Strength.BETWEEN
            elif grace and offset == begun:
                strength = Strength.GRACE
            elif not offset:
                strength = Strength.BARLINE
            elif offset in beats:
                strength = Strength.BEAT
            else:
                within = (offset + lead) / bar.time.beat
                strength = Strength.OFF_BEAT if within.denominator <= 3 else Strength.FINE
            strengths.append(strength)
            if not between:
                begun = offset
    firsts.append(len(found))
    number = {(place.bar, place.offset, place.grace): at for at, place in enumerate(found)}
    of_event = {one: number[place.bar, place.offset, place.grace] for one, place in struck}
    return Moments(tuple(found), tuple(times), tuple(strengths), tuple(firsts), of_event)


def _beats(bar: Bar, lead: Fraction) -> frozenset[Fraction]:
    """Offsets of the barline and of every beat; ``lead`` is what a pickup lacks at its front."""
    beat = bar.time.beat
    # A bar without measure may be very long; its beats are still those of its lower figure.
    offset = -lead % beat
    offsets = {Fraction(0)}
    while offset < bar.length:
        offsets.add(offset)
        offset += beat
    return frozenset(offsets)
