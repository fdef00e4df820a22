"""What lasts longer than a strike: ties, trills and tremolos; glissandi are in ``glissandi``.

A trill or a tremolo strikes its notes again and again, so both stay demanded for its whole length.
"""

from __future__ import annotations

from bisect import bisect_right
from fractions import Fraction

from pedalsetter.analysis.instrument.harp import Letter, Setting
from pedalsetter.analysis.instrument.respelling import Pitch
from pedalsetter.analysis.part import Event, HarpPart, Head
from pedalsetter.analysis.playing.moments import is_struck

__all__ = [
    "Keys",
    "neighbours",
    "stroke_length",
    "tied_ends",
    "tremolo_pairs",
    "trill_ends",
]

_SCALE = "CDEFGAB"

_UPPER = {"trill-mark", "inverted-mordent", "shake", "wavy-line"}
_LOWER = {"mordent"}
_BOTH = {
    "turn",
    "inverted-turn",
    "delayed-turn",
    "delayed-inverted-turn",
    "vertical-turn",
    "inverted-vertical-turn",
    "haydn",
}
_LASTING = {"trill-mark", "shake", "wavy-line"}


class Keys:
    """The key signature at any moment of any staff."""

    def __init__(self, part: HarpPart) -> None:
        self._changes: dict[int, tuple[list[Fraction], list[int]]] = {}
        for staff in range(1, max(part.staves, 1) + 1):
            onsets: list[Fraction] = []
            fifths: list[int] = []
            for change in sorted(part.keys, key=lambda key: key.onset):
                if change.staff in (None, staff):
                    onsets.append(change.onset)
                    fifths.append(max(-7, min(7, change.fifths)))
            self._changes[staff] = (onsets, fifths)

    def setting(self, onset: Fraction, staff: int = 1) -> Setting:
        """The setting of the signature in force; all natural where there is none."""
        onsets, fifths = self._changes.get(staff) or self._changes[1]
        place = bisect_right(onsets, onset) - 1
        return Setting.of_key(fifths[place] if place >= 0 else 0)


def tied_ends(part: HarpPart) -> tuple[dict[str, Fraction], frozenset[str]]:
    """Follow the ties: (end of sound of each struck head, ids of heads that only continue).

    Ends are in score time, quarters. A tie into a second ending has no beginning next to it; its
    head is in neither, for the string must be right there as if it were struck.
    """
    ends: dict[str, Fraction] = {}
    continued: set[str] = set()
    open_ties: dict[tuple[str, int, int], list[tuple[Fraction, str]]] = {}
    for event in part.events:
        if not is_struck(event):
            continue
        end = event.end
        for head in event.heads:
            if not (head.tie_start or head.tie_stop):
                ends[head.id] = end
                continue
            key = (head.pitch.letter.value, head.pitch.alter, head.pitch.octave)
            origin = head.id
            if head.tie_stop:
                waiting = open_ties.get(key, [])
                # A grace note may be tied to its main note: its length in score time is 0.
                found = next((tie for tie in waiting if tie[0] == event.onset), None)
                if found is not None:
                    waiting.remove(found)
                    continued.add(head.id)
                    origin = found[1]
            ends[origin] = max(end, ends.get(origin, end))
            if head.tie_start:
                open_ties.setdefault(key, []).append((end, origin))
    return ends, frozenset(continued)


def neighbours(event: Event, keys: Keys) -> tuple[tuple[Pitch, bool], ...]:
    """The notes that the event's ornaments add to its highest head: (pitch, lasts the length).

    The neighbour is the next letter, altered by the key signature unless a sign stands at the
    ornament.
    """
    found: list[tuple[Pitch, bool]] = []
    head = event.heads[-1]
    for ornament in event.ornaments:
        kind = ornament.kind
        if kind in _UPPER | _BOTH:
            pitch = _neighbour(head, 1, ornament.above, keys.setting(event.onset, event.staff))
            found.append((pitch, kind in _LASTING))
        if kind in _LOWER | _BOTH:
            pitch = _neighbour(head, -1, ornament.below, keys.setting(event.onset, event.staff))
            found.append((pitch, False))
    if not event.ornaments and any(end.kind == "wavy-line" and end.start for end in event.spanners):
        pitch = _neighbour(head, 1, None, keys.setting(event.onset, event.staff))
        found.append((pitch, True))
    return tuple(found)


def _neighbour(head: Head, step: int, alter: int | None, key: Setting) -> Pitch:
    place = _SCALE.index(head.pitch.letter.value) + step
    letter = Letter(_SCALE[place % 7])
    return Pitch(
        letter,
        int(key[letter]) if alter is None else max(-2, min(2, alter)),
        head.pitch.octave + place // 7,
    )


def tremolo_pairs(part: HarpPart) -> tuple[tuple[Event, Event], ...]:
    """Tremolos between two events that follow each other: each with the one it alternates with."""
    waiting: dict[tuple[int, str], Event] = {}
    pairs: list[tuple[Event, Event]] = []
    for event in part.events:
        if event.tremolo is None or not is_struck(event):
            continue
        voice = (event.staff, event.voice)
        if event.tremolo.kind == "start":
            waiting[voice] = event
        elif event.tremolo.kind == "stop" and voice in waiting:
            first = waiting.pop(voice)
            if first.end == event.onset:
                pairs.append((first, event))
    return tuple(pairs)


def stroke_length(event: Event) -> Fraction:
    """How long one stroke of a tremolo is, in quarters; 0 if it is not measured.

    One stroke through the stem means eighths, and each further one, or flag, halves that (common
    practice). More than three are fingers at their fastest, which keep no measure.
    """
    if event.tremolo is None or event.tremolo.kind == "unmeasured":
        return Fraction(0)
    flags = event.notated.flags if event.notated is not None else 0
    halvings = event.tremolo.marks + flags
    if not 0 < halvings < 4:
        return Fraction(0)
    return min(Fraction(1, 2**halvings), event.length)


def trill_ends(part: HarpPart) -> dict[str, Fraction]:
    """When the trills end over which a wavy line is drawn, by the event at which the line starts.

    A line that stops at a note of another pitch ends where that note begins.
    """
    waiting: dict[tuple[int, int], Event] = {}
    found: dict[str, Fraction] = {}
    for event in part.events:
        if not is_struck(event):
            continue
        for end in sorted(event.spanners, key=lambda end: not end.start):
            if end.kind != "wavy-line":
                continue
            key = (event.staff, end.number)
            if end.start:
                waiting[key] = event
            elif key in waiting:
                first = waiting.pop(key)
                same = event.heads[-1].pitch == first.heads[-1].pitch
                found[first.id] = event.end if same else max(first.end, event.onset)
    return found
