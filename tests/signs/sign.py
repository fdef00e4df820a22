"""A small part with one sign of the notation, and what must come of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from pedalsetter.analysis.part import (
    HarpPart,
    SpannerEnd,
    TupletGroup,
)

__all__ = ["LEFT", "QUARTERS", "THIRD", "TRIPLET", "Sign", "run", "slur"]

QUARTERS = "C5/4 D5/4 E5/4 F5/4"
TRIPLET = TupletGroup("t1", 3, 2)
THIRD = Fraction(2, 3)
LEFT = {"staff": 2, "voice": "5"}


@dataclass(frozen=True, slots=True)
class Sign:
    """A part with one sign, and what must come of it."""

    truth: str
    part: HarpPart
    drawn: Mapping[str, int] = field(default_factory=dict)
    """Grobs and how many of each."""
    written: tuple[str, ...] = ()
    """What the source must hold."""
    unwritten: tuple[str, ...] = ()
    sounds: bool = True
    """Whether LilyPond's MIDI can be compared: it plays tremolos out."""


def slur(start: bool, number: int = 1, **more: str) -> SpannerEnd:
    """One end of a slur."""
    return SpannerEnd("slur", number, start, **more)


def run(kind: str, start: bool, **more: str) -> dict[str, object]:
    """Field of a head: one end of a glissando or slide."""
    return {"spanners": (SpannerEnd(kind, 1, start, **more),)}
