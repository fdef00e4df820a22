"""Builds small harp parts by hand: bars of notes written as ``C#4 E4 G4/q``.

One string is one bar of one staff; notes of a chord are joined by ``+``. After the slash stands the
length: ``w h q e s t x`` (whole … 64th), dots follow it, ``3`` after it makes it a triplet value.
Marks after the length: ``~`` ties to the next, ``tr`` trill, ``g`` grace note, ``c`` cue,
``gl<`` and ``gl>`` the two ends of a glissando, ``trem<`` and ``trem>`` of a tremolo.
``r`` is a rest, ``|`` between two strings of notes separates the staves.
"""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from typing import Any

from pedalsetter.analysis.instrument.harp import Letter
from pedalsetter.analysis.instrument.respelling import Pitch
from pedalsetter.analysis.part import (
    Bar,
    Ending,
    Event,
    Grace,
    HarpPart,
    Head,
    KeyChange,
    NotatedLength,
    Ornament,
    Source,
    SpannerEnd,
    Tempo,
    TimeSignature,
    Tremolo,
)

FOUR_FOUR = TimeSignature((((4,), 4),))

_LENGTHS = {"w": 0, "h": 1, "q": 2, "e": 3, "s": 4, "t": 5, "x": 6}
_NOTE = re.compile(r"([A-G])(##|#|bb|b|n)?(-?\d)\Z")
_TOKEN = re.compile(r"([^/]+)/([whqestx])(\.*)(3?)(.*)\Z")
_ALTER = {"##": 2, "#": 1, "bb": -2, "b": -1, "n": 0, None: 0}


def pitch(text: str) -> Pitch:
    """``F##4`` as a pitch."""
    match = _NOTE.match(text)
    assert match, text
    return Pitch(Letter(match[1]), _ALTER[match[2]], int(match[3]))


def signature(text: str) -> TimeSignature:
    """``6/8`` as a time signature."""
    beats, kind = text.split("/")
    return TimeSignature(((tuple(int(beat) for beat in beats.split("+")), int(kind)),))


def build_part(
    *bars: str,
    time: str = "4/4",
    key: int = 0,
    tempo: int | None = 60,
    repeats: dict[int, int] | None = None,
    repeat_starts: tuple[int, ...] = (),
    endings: dict[int, tuple[int, ...]] | None = None,
    movements: tuple[int, ...] = (),
    keys: tuple[KeyChange, ...] = (),
    pickup: bool = False,
    **fields: Any,
) -> HarpPart:
    """A harp part from one string a bar.

    ``repeats`` maps the index of a bar at which a repeat ends to the number of passes; ``endings``
    maps bar indices to the numbers of their bracket; ``movements`` lists the first bars of all
    movements but the first. Any other field of ``HarpPart`` may be given by name.
    """
    found: list[Bar] = []
    events: list[Event] = []
    start = Fraction(0)
    full = signature(time)
    movement = 0
    open_ties: set[tuple[int, Pitch, Fraction]] = set()
    for index, text in enumerate(bars):
        movement += index in movements
        bar_events: list[Event] = []
        length = Fraction(0)
        for staff, notes in enumerate(text.split("|"), start=1):
            end, made = _staff(notes, staff, index, start, open_ties)
            bar_events += made
            length = max(length, end - start)
        if not length or not (pickup and index == 0):
            length = max(length, full.length)
        ending = None
        numbers = (endings or {}).get(index)
        if numbers:
            ending = Ending(
                numbers,
                ", ".join(f"{number}." for number in numbers),
                starts=(endings or {}).get(index - 1) != numbers,
                stops=(endings or {}).get(index + 1) != numbers,
            )
        found.append(
            Bar(
                index,
                str(index + (0 if pickup else 1)),
                start,
                length,
                full,
                movement=movement,
                implicit=pickup and index == 0,
                repeat_start=index in repeat_starts,
                repeat_times=(repeats or {}).get(index, 0),
                ending=ending,
            )
        )
        bar_events.sort(key=lambda event: (event.onset, event.grace is None))
        events += bar_events
        start += length
    return HarpPart(
        source=Source("built.musicxml", "musicxml"),
        title="Built",
        composer="Pedalsetter tests",
        part_name="Harp",
        staves=2,
        bars=tuple(found),
        events=tuple(events),
        keys=(KeyChange(Fraction(0), 0, key), *keys),
        tempi=(Tempo(Fraction(0), Fraction(tempo)),) if tempo else (),
        **fields,
    )


def edit(part: HarpPart, number: int, **fields: object) -> HarpPart:
    """The part with fields of one event replaced."""
    events = list(part.events)
    events[number] = replace(events[number], **fields)  # type: ignore[arg-type]
    return replace(part, events=tuple(events))


def _staff(
    text: str, staff: int, bar: int, start: Fraction, open_ties: set[tuple[int, Pitch, Fraction]]
) -> tuple[Fraction, list[Event]]:
    onset = start
    made: list[Event] = []
    for place, token in enumerate(text.split()):
        match = _TOKEN.match(token)
        assert match, token
        names, value, dots, triplet, marks = match.groups()
        notated = NotatedLength(_LENGTHS[value], len(dots))
        length = notated.quarters * (Fraction(2, 3) if triplet else 1)
        grace = Grace() if re.search(r"(?<!d)g(?!l)", marks) else None
        identity = f"b{bar}s{staff}n{place}"
        event = Event(
            identity,
            bar,
            onset,
            Fraction(0) if grace else length,
            staff,
            str(staff),
            notated,
            grace=grace,
            cue="c" in marks,
            ornaments=(Ornament("trill-mark"),) if "tr" in marks.replace("trem", "") else (),
        )
        if "trem" in marks:
            kind = "start" if "trem<" in marks else "stop"
            event = replace(event, tremolo=Tremolo(kind, 3))
        if names != "r":
            heads = []
            for number, name in enumerate(names.split("+")):
                written = pitch(name)
                stop = (staff, written, onset) in open_ties
                if "~" in marks:
                    open_ties.add((staff, written, onset + event.length))
                ends = tuple(
                    SpannerEnd("glissando", 1, start=sign == "<")
                    for sign in re.findall(r"gl([<>])", marks)
                )
                heads.append(
                    Head(f"{identity}h{number}", written, "~" in marks, stop, spanners=ends)
                )
            event = replace(event, heads=tuple(sorted(heads, key=lambda head: head.pitch.midi)))
        made.append(event)
        onset += event.length
    return onset, made
