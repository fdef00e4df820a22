"""Small harp parts, built by hand for tests of notation."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import count
from typing import Any

from pedalsetter.analysis.instrument.harp import Letter
from pedalsetter.analysis.instrument.respelling import Pitch
from pedalsetter.analysis.part import (
    Bar,
    Direction,
    DirectionKind,
    Event,
    Grace,
    HarpPart,
    Head,
    NotatedLength,
    Source,
    TimeSignature,
)

__all__ = ["COMMON", "bar_rests", "direction", "line", "pitch", "small_part", "time"]

_numbers = count(1)


def time(beats: int, kind: int, symbol: str = "normal") -> TimeSignature:
    """A simple signature."""
    return TimeSignature((((beats,), kind),), symbol)


COMMON = time(4, 4)


def pitch(text: str) -> Pitch:
    """``F#4``, ``Bbb3``, ``C5``."""
    signs = text[1:-1]
    return Pitch(Letter(text[0]), signs.count("#") - signs.count("b"), int(text[-1]))


def line(
    text: str,
    *,
    bar: int = 0,
    at: Fraction | int = 0,
    staff: int = 1,
    voice: str = "1",
    scale: Fraction | int = 1,
    marks: Mapping[int, Mapping[str, Any]] | None = None,
    heads: Mapping[tuple[int, int], Mapping[str, Any]] | None = None,
) -> tuple[Event, ...]:
    """Events one after another: ``C5/4 E5+G5/8. r/8 g:D5/16`` (``g:`` makes a grace note).

    ``at`` is the onset of the first in quarters of score time, ``scale`` lengthens all lengths (a
    tuplet), ``marks`` gives further fields by the event's place, ``heads`` by (event, head).
    """
    events = []
    now = Fraction(at)
    for place, token in enumerate(text.split()):
        names, value = token.removeprefix("g:").split("/")
        dots = value.count(".")
        log = int(value.rstrip(".")).bit_length() - 1
        notated = NotatedLength(log, dots)
        number = next(_numbers)
        grace = token.startswith("g:")
        length = Fraction(0) if grace else notated.quarters * scale
        made = tuple(
            Head(f"h{number}.{index}", pitch(name))
            for index, name in enumerate(names.split("+"))
            if name != "r"
        )
        made = tuple(
            replace(head, **(heads or {}).get((place, index), {}))
            for index, head in enumerate(made)
        )
        fields = dict((marks or {}).get(place, {}))
        if grace:
            fields.setdefault("grace", Grace())
        events.append(
            Event(
                f"e{number}", bar, now, length, staff, voice, notated=notated, heads=made, **fields
            )
        )
        now += length
    return tuple(events)


def bar_rests(
    bars: Sequence[int], length: Fraction | int = 4, staves: int = 1
) -> tuple[Event, ...]:
    """Rests that fill bars of equal ``length``, in every staff."""
    return tuple(
        Event(
            f"e{next(_numbers)}", bar, Fraction(length) * bar, Fraction(length), staff, str(staff)
        )
        for bar in bars
        for staff in range(1, staves + 1)
    )


def direction(
    kind: DirectionKind, onset: Fraction | int, *, bar: int = 0, **fields: Any
) -> Direction:
    """A direction at an onset of score time."""
    return Direction(f"d{next(_numbers)}", kind, bar, Fraction(onset), **fields)


def small_part(
    *groups: Sequence[Event],
    bars: int = 1,
    staves: int = 1,
    signature: TimeSignature = COMMON,
    lengths: Mapping[int, Fraction | int] | None = None,
    bar_fields: Mapping[int, Mapping[str, Any]] | None = None,
    **fields: Any,
) -> HarpPart:
    """A part of ``bars`` bars, numbered from 1; ``lengths`` names bars of another real length."""
    made = []
    now = Fraction(0)
    for index in range(bars):
        own = dict((bar_fields or {}).get(index, {}))
        here = own.pop("time", signature)
        length = Fraction((lengths or {}).get(index, here.length))
        made.append(Bar(index, own.pop("number", str(index + 1)), now, length, here, **own))
        now += length
    events = sorted(
        (event for group in groups for event in group),
        key=lambda event: (event.onset, event.grace is None, event.staff, event.voice),
    )
    return HarpPart(
        Source("small.musicxml", "musicxml"),
        "",
        "",
        "Harp",
        staves,
        tuple(made),
        tuple(events),
        **fields,
    )
