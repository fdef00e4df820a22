"""What the musician has decided about pedals, for glissandi that sound it.

A glissando's notes are written nowhere: what it sounds is said by the diagram and the letters
around it, and a decision is printed as such a mark. Without this the marks of a player's own part,
given as decisions, are refused for what the diagram before them has said.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

from pedalsetter.analysis.instrument.harp import LETTERS
from pedalsetter.analysis.part import HarpPart, Place, SourceMark
from pedalsetter.analysis.planning.pins import Choice, Pins

__all__ = ["with_decided_marks"]


def with_decided_marks(part: HarpPart, pins: Pins) -> HarpPart:
    """The part with changes, and whole settings, that are decided among the source's marks."""
    marks = tuple(_marks(part, pins))
    return replace(part, source_marks=(*part.source_marks, *marks)) if marks else part


def _marks(part: HarpPart, pins: Pins) -> Iterator[SourceMark]:
    for bar in part.bars:
        is_first = not bar.index or part.bars[bar.index - 1].movement != bar.movement
        opening = pins.openings.get(bar.movement, {}) if is_first else {}
        if len(opening) == len(LETTERS):
            yield _mark(part, Place(bar.index, Fraction(0)), tuple(opening.items()))
    for place, stands in pins.stands.items():
        whole = len(stands) == len(LETTERS)
        told = tuple((one, stand.position) for one, stand in stands.items() if whole or stand.moved)
        if told:
            yield _mark(part, place, told)


def _mark(part: HarpPart, place: Place, told: tuple[Choice, ...]) -> SourceMark:
    kind = "diagram" if len(told) == len(LETTERS) else "letters"
    pedals = tuple((letter.value, int(position)) for letter, position in told)
    return SourceMark(
        f"decided-{place.bar}-{place.offset}", place.bar, part.onset_of(place), None, kind, pedals
    )
