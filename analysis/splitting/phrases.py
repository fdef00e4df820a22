"""What belongs together in a part: notes that only move as one, and phrases that are kept whole."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from pedalsetter.analysis.findings.edits import followers
from pedalsetter.analysis.part import Beam, Event, HarpPart, glissando_lines
from pedalsetter.analysis.playing.moments import is_struck
from pedalsetter.analysis.playing.sustained import tied_ends, tremolo_pairs

__all__ = ["CUT", "Phrases"]

CUT = 4
"""A phrase that two players must share costs as much as so many notes given away (our choice)."""


@dataclass(frozen=True, slots=True)
class _Phrase:
    events: tuple[str, ...]


class Phrases:
    """The notes of one part, gathered."""

    def __init__(self, part: HarpPart) -> None:
        _, continued = tied_ends(part)
        self.events: dict[str, Event] = {}
        """By the id of a notehead."""
        self.struck: set[str] = set()
        """Noteheads that are plucked: no cues, no continuations of ties."""
        lines: dict[tuple[int, str], list[Event]] = {}
        for event in part.events:
            if not is_struck(event):
                continue
            # A voice may cross the staves, so the voice alone makes the line.
            lines.setdefault((0, event.voice), []).append(event)
            for head in event.heads:
                self.events[head.id] = event
                if head.id not in continued:
                    self.struck.add(head.id)
        self._together = _bound_together(part)
        self._beams = [group for line in lines.values() for group in _beamed(line)]
        self._slurs = [group for line in lines.values() for group in _slurred(line)]
        self._phrases = [
            _Phrase(tuple(event.id for event in group)) for group in (*self._beams, *self._slurs)
        ]
        self._heads = {event.id: {head.id for head in event.heads} for event in part.events}
        self._of_event: dict[str, list[_Phrase]] = {}
        for phrase in self._phrases:
            for name in phrase.events:
                self._of_event.setdefault(name, []).append(phrase)

    def whole(self, notes: Iterable[str]) -> frozenset[str]:
        """The notes with all that cannot be parted from them."""
        found: set[str] = set()
        for note in notes:
            found |= self._together.get(note, {note})
        return frozenset(found)

    def beam_of(self, note: str) -> frozenset[str]:
        """All notes under the beam of a note, or of its event alone."""
        return self._gathered(note, self._beams)

    def slur_of(self, note: str) -> frozenset[str]:
        """All notes under the slur of a note, or of its event alone."""
        return self._gathered(note, self._slurs)

    def price(self, moved: Collection[str]) -> int:
        """What it costs to give these notes away: their number, and the phrases that are cut.

        A phrase is cut where some of its events go wholly and others stay.
        """
        gone = set(moved)
        touched = {self.events[note].id for note in gone if note in self.events}
        phrases = {
            phrase.events: phrase for event in touched for phrase in self._of_event.get(event, ())
        }
        cut = 0
        for phrase in phrases.values():
            whole = [self._heads[event] <= gone for event in phrase.events]
            cut += any(whole) and not all(whole)
        return len(gone & self.struck) + CUT * cut

    def _gathered(self, note: str, groups: Iterable[tuple[Event, ...]]) -> frozenset[str]:
        event = self.events[note]
        for group in groups:
            if any(one.id == event.id for one in group):
                return self.whole(head.id for one in group for head in one.heads)
        return self.whole(head.id for head in event.heads)


def _bound_together(part: HarpPart) -> Mapping[str, set[str]]:
    """Noteheads that go together: ties, both ends of a glissando, tremolos, graces and trills."""
    sets: dict[str, set[str]] = {}

    def bind(notes: Iterable[str]) -> None:
        notes = list(notes)
        merged: set[str] = set(notes)
        for note in notes:
            merged |= sets.get(note, set())
        for note in merged:
            sets[note] = merged

    for earlier, later in followers(part).items():
        bind((earlier, later))
    for start, stop in tremolo_pairs(part):
        bind([head.id for head in (*start.heads, *stop.heads)])
    graces: dict[tuple[int, str], list[str]] = {}
    for event in part.events:
        if event.ornaments or any(end.kind == "wavy-line" for end in event.spanners):
            bind([head.id for head in event.heads])
        line = (event.staff, event.voice)
        if event.grace is not None and not event.cue:
            graces.setdefault(line, []).extend(head.id for head in event.heads)
        elif event.heads and line in graces:
            bind([*graces.pop(line), event.heads[-1].id])
    for (_, first), (_, last) in glissando_lines(part.events):
        bind((first.id, last.id))
    return sets


def _beamed(line: Iterable[Event]) -> list[tuple[Event, ...]]:
    groups: list[tuple[Event, ...]] = []
    current: list[Event] = []
    for event in line:
        if event.grace is not None:
            continue
        if event.beam is Beam.BEGIN:
            current = [event]
        elif event.beam is not None and current:
            current.append(event)
            if event.beam is Beam.END:
                groups.append(tuple(current))
                current = []
    return groups


def _slurred(line: Iterable[Event]) -> list[tuple[Event, ...]]:
    groups: list[tuple[Event, ...]] = []
    open_slurs: dict[int, list[Event]] = {}
    for event in line:
        for current in open_slurs.values():
            current.append(event)
        for end in event.spanners:
            if end.kind != "slur":
                continue
            if not end.start and end.number in open_slurs:
                groups.append(tuple(open_slurs.pop(end.number)))
            elif end.start:
                open_slurs[end.number] = [event]
    return groups
