"""Where the page must say that a note is played on another string than the written one.

A player who reads F and finds E♯ at the pedals plucks the wrong string unless the page says so.
The remedy of the trade is the name of the string at the note (common practice, no source). Like an
accidental it is said once in a bar and holds to the bar's end, in every octave, since a pedal works
on all octaves; a note that goes back to its own string within the bar has that said too.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from pedalsetter.analysis.instrument.harp import Letter
from pedalsetter.analysis.instrument.respelling import Pitch, Sounding
from pedalsetter.analysis.part import DirectionKind, Event, HarpPart, Place, SourceMark
from pedalsetter.analysis.pedal_plan import PedalPlan
from pedalsetter.analysis.playing.moments import is_struck, number_graces, place_of
from pedalsetter.analysis.reading.pedal_words import names_strings

__all__ = ["StringMark", "names_in_source", "string_marks", "without_names"]


@dataclass(frozen=True, slots=True)
class StringMark:
    """The strings of one chord that are not those of its written notes, to be named at it."""

    place: Place
    event: str
    """Id of the chord."""
    staff: int
    strings: tuple[Sounding, ...]
    """Top to bottom, each name once; empty where all are those of the written notes."""
    beside: tuple[tuple[Pitch, Sounding], ...]
    """What its ornament adds to it and is written nowhere, each with its string."""
    above: bool
    """Over the chord; else under it: on the side where no other voice of its staff is."""
    editorial: bool = False
    """Added to marks of the source."""


def string_marks(part: HarpPart, plan: PedalPlan) -> tuple[StringMark, ...]:
    """Every string that must be named, by place; linear but for the notes of a moment.

    Notes that cannot sound have no string, and tied notes none of their own. A neighbour that an
    ornament adds is named at each ornament anew.
    """
    graces = number_graces(part)
    sides = _Sides(part)
    marks: list[StringMark] = []
    neighbours: defaultdict[str, list[tuple[Pitch, Sounding]]] = defaultdict(list)
    for use in plan.neighbours:
        if use.sounding is not None:
            neighbours[use.note].append((use.written, use.sounding))
    said: dict[tuple[int, Letter, int], Letter] = {}
    bar = -1
    for event in part.events:
        if event.bar != bar:
            bar = event.bar
            said.clear()
        if not is_struck(event):
            continue
        named: list[Sounding] = []
        for written, sounding in _strings(event, plan):
            key = (event.staff, written.letter, written.alter)
            if said.get(key, written.letter) is not sounding.letter:
                said[key] = sounding.letter
                named.append(sounding)
        beside = [one for head in event.heads for one in neighbours.get(head.id, ())]
        if named or beside:
            by_name = {sounding.name: sounding for sounding in reversed(named)}
            marks.append(
                StringMark(
                    place_of(part, event, graces),
                    event.id,
                    event.staff,
                    tuple(by_name.values()),
                    tuple(beside),
                    sides.is_above(event),
                )
            )
    return tuple(sorted(marks, key=lambda mark: (mark.place, mark.staff)))


def _strings(event: Event, plan: PedalPlan) -> Iterator[tuple[Pitch, Sounding]]:
    """The written notes of a chord, lowest first, each with its string."""
    for head in event.heads:
        use = plan.strings.get(head.id)
        if use is not None and use.sounding is not None:
            yield use.written, use.sounding


def names_in_source(part: HarpPart) -> tuple[SourceMark, ...]:
    """Names of strings that the source has among its words, as marks of a kind of their own.

    Such are ours where another program has exported a copy anew and lost whose they were.
    """
    return tuple(
        SourceMark(
            each.id, each.bar, each.onset, each.staff, "strings", (), each.text, each.placement
        )
        for each in part.directions
        if each.kind is DirectionKind.WORDS and names_strings(each.text)
    )


def without_names(part: HarpPart) -> HarpPart:
    """The part without these words."""
    gone = {mark.id for mark in names_in_source(part)}
    if not gone:
        return part
    return replace(part, directions=tuple(d for d in part.directions if d.id not in gone))


class _Sides:
    """On which side of a chord its staff has room."""

    def __init__(self, part: HarpPart) -> None:
        self._staves = part.staves
        self._at: defaultdict[tuple[int, int], list[Event]] = defaultdict(list)
        for event in part.events:
            if event.heads and event.visible and event.grace is None:
                self._at[event.bar, event.staff].append(event)

    def is_above(self, event: Event) -> bool:
        """Over the upper of two voices and under the lower one; outside where there is one."""
        end = event.end if event.length else event.onset + Fraction(1, 1024)
        others = [
            other
            for other in self._at[event.bar, event.staff]
            if other.voice != event.voice and other.onset < end and event.onset < other.end
        ]
        if others:
            return _top(event) >= max(map(_top, others))
        return self._staves == 1 or event.staff < self._staves


def _top(event: Event) -> int:
    return event.heads[-1].pitch.midi
