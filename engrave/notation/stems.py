"""Which voice has its stems up in which bar, and stems that the source turns otherwise."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Container, Mapping, Sequence
from fractions import Fraction

from pedalsetter.analysis.instrument.respelling import Pitch
from pedalsetter.analysis.part import Event, HarpPart
from pedalsetter.engrave.notation.beams import beamed_groups, crossing_groups
from pedalsetter.engrave.notation.streams import Stream

__all__ = [
    "UPPER_VOICES",
    "assign_voices",
    "diatonic_step",
    "middle_at",
    "middle_lines",
    "stem_directions",
]

_ORDERS = {
    1: (r"\oneVoice",),
    2: (r"\voiceOne", r"\voiceTwo"),
    3: (r"\voiceOne", r"\voiceThree", r"\voiceTwo"),
    4: (r"\voiceOne", r"\voiceThree", r"\voiceFour", r"\voiceTwo"),
}
"""Commands from the highest voice to the lowest, by number of voices in the bar."""

_KNEE = 17
"""Semitones between the notes that leave room for two stems and a beam: an eleventh."""

UPPER_VOICES = (r"\voiceOne", r"\voiceThree")


def assign_voices(
    part: HarpPart, streams: Sequence[Stream], unseen: Container[str] = ()
) -> Mapping[tuple[str, int, int], str]:
    r"""``\voiceOne`` … for each (stream name, bar index, staff) where the stream has something.

    Voices that share a staff within a bar are told apart by the source's stems, and where it
    gives none by their mean pitch. ``unseen`` holds ids of events that are not printed.
    """
    assigned: dict[tuple[str, int, int], str] = {}
    for bar in part.bars:
        present: dict[int, list[Stream]] = defaultdict(list)
        for stream in streams:
            shown = [
                event
                for event in stream.by_bar.get(bar.index, ())
                if event.visible and event.id not in unseen
            ]
            for staff in {event.staff for event in shown}:
                present[staff].append(stream)
        for staff, voices in sorted(present.items()):
            ordered = sorted(voices, key=lambda stream: _height(stream, bar.index, staff))
            commands = _ORDERS.get(len(ordered))
            for place, stream in enumerate(ordered):
                assigned[stream.name, bar.index, staff] = (
                    commands[place] if commands is not None else _beyond_four(place, len(ordered))
                )
    return assigned


def _beyond_four(place: int, count: int) -> str:
    if place == 0:
        return r"\voiceOne"
    if place == count - 1:
        return r"\voiceTwo"
    return r"\voiceThree" if place * 2 < count else r"\voiceFour"


def _height(stream: Stream, bar: int, staff: int) -> tuple[int, int, Fraction, str]:
    """Sorts the upper voice first: stems, then the staff it comes from, then mean pitch."""
    events = [event for event in stream.by_bar[bar] if event.staff == staff and event.visible]
    up = sum(event.stem == "up" for event in events)
    down = sum(event.stem == "down" for event in events)
    pitches = [head.pitch.midi for event in events for head in event.heads]
    if not pitches:
        pitches = [event.rest_pitch.midi for event in events if event.rest_pitch is not None]
    if not pitches:
        pitches = [head.pitch.midi for event in stream.events for head in event.heads] or [60]
    mean = Fraction(sum(pitches), len(pitches))
    lean = (up < down) - (up > down)
    return lean, max(stream.home, staff) - staff, -mean, stream.name


def middle_lines(part: HarpPart, staff: int) -> list[tuple[Fraction, int]]:
    """(onset, diatonic step of the middle line) for each clef of a staff, C0 = 0."""
    lines = [(Fraction(0), 34 if staff == 1 else 22)]
    references = {"G": 32, "F": 24, "C": 28}
    for clef in part.clefs:
        if clef.staff == staff and clef.sign in references:
            step = references[clef.sign] + 2 * (3 - clef.line) + 7 * clef.octave_change
            lines.append((clef.onset, step))
    return lines


def middle_at(lines: Sequence[tuple[Fraction, int]], onset: Fraction) -> int:
    """The step of the middle line at a moment, out of the lines of :func:`middle_lines`."""
    return [step for since, step in lines if since <= onset][-1]


def diatonic_step(pitch: Pitch) -> int:
    """Steps above C0, alterations disregarded."""
    return pitch.octave * 7 + "CDEFGAB".index(pitch.letter.value)


def stem_directions(
    part: HarpPart,
    stream: Stream,
    voices: Mapping[tuple[str, int, int], str],
    crowd: set[str],
    shared: Container[str] = (),
) -> dict[str, str]:
    """For each event id ``up`` or ``down`` where the engraver must be told, ``free`` elsewhere.

    The engraver needs no word where its own rule gives the same: a voice's direction, and for a
    single voice away from the middle line. ``crowd`` holds ids of events that share their moment
    with another voice of the same staff: they keep the direction of their voice. ``shared`` holds
    ids of events whose stem goes on to the other staff.
    """
    beams: dict[str, tuple[Event, ...]] = {}
    for beam in beamed_groups(stream):
        for event in beam:
            beams[event.id] = beam
    # a beam over both staves lies between them: stems up from the lower staff, down from the upper
    between = {
        event.id: max(other.staff for other in group)
        for group in crossing_groups(part, stream)
        for event in group
    }
    lines = {staff: middle_lines(part, staff) for staff in range(1, part.staves + 1)}
    wanted: dict[str, str] = {}
    for event in stream.events:
        if not event.heads or event.grace is not None:
            continue
        if event.stem_with and event.stem in ("up", "down"):
            wanted[event.id] = event.stem
            continue
        group = [other for other in beams.get(event.id, (event,)) if other.heads]
        joined = [other.stem for other in group if other.id in shared]
        if joined and joined[0] in ("up", "down") and event.id not in between:
            # one stem that goes on to the other staff turns the whole beam
            wanted[event.id] = joined[0]
            continue
        told = all(other.stem in ("up", "down") for other in group)
        if event.id in between and not told:
            wanted[event.id] = "up" if event.staff == between[event.id] else "down"
            continue
        if event.stem not in ("up", "down"):
            continue
        same = all(other.stem == event.stem for other in group)
        voice = voices.get((stream.name, event.bar, event.staff), r"\oneVoice")
        if voice != r"\oneVoice":
            own_way = all((other.stem == "up") is (voice in UPPER_VOICES) for other in group)
            crowded = any(other.id in crowd for other in group)
            free = own_way or crowded or not same
        elif same:
            free = _natural(group, lines) == event.stem
        else:
            free = not _has_room(group)
        wanted[event.id] = "free" if free else event.stem
    return wanted


def _natural(group: Sequence[Event], lines: Mapping[int, list[tuple[Fraction, int]]]) -> str | None:
    """The direction that any engraver would choose, or None where opinions may differ."""
    distances: list[int] = []
    for event in group:
        middle = middle_at(lines[event.staff], event.onset)
        distances += [diatonic_step(head.pitch) - middle for head in event.heads]
    highest, lowest = max(distances), min(distances)
    if lowest >= 0 and (highest > 0 or len(group) == 1):
        return "down"
    if highest < 0:
        return "up"
    if len(group) == 1 and highest != -lowest:
        return "down" if highest > -lowest else "up"
    return None


def _has_room(group: Sequence[Event]) -> bool:
    """Whether a beam fits between notes with stems up and notes with stems down."""
    up = [head.pitch.midi for event in group if event.stem == "up" for head in event.heads]
    down = [head.pitch.midi for event in group if event.stem == "down" for head in event.heads]
    told = all(event.stem in ("up", "down") for event in group)
    crosses = len({event.staff for event in group}) > 1
    return told and bool(up and down) and (crosses or min(down) - max(up) >= _KNEE)
