"""One small part with every kind of mark, engraved in house styles that say one thing otherwise."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

from part_builder import build_part

from pedalsetter.analysis.marks.marking import Markings, MarkingWishes, place_marks
from pedalsetter.analysis.marks.retiming import retimed
from pedalsetter.analysis.part import HarpPart, Section, SectionReason
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.engrave.house_style import HouseStyle, load_house_style
from pedalsetter.engrave.layout.placement import PlacedMark
from pedalsetter.engrave.output.pages.settled_press import SettledPart, engrave_settled

__all__ = ["PART", "diagrams_of", "letters_of", "marks_of", "pages", "styled"]

_BARS = (
    "E4+F4/h B4/h | C3+D3/w",
    "r/h F#4/h | r/h Bb2/h",
    "r/h Eb4/h | r/h C#3/h",
    "A4/w | D3/w",
    "F#4+G4+Ab4/w | Bb2/w",
    "r/w | r/w",
    "r/h F4/h | B2/w",
    "r/q G#4/q r/q F#4/q | r/w",
)

PART: HarpPart = build_part(
    *_BARS,
    tempo=100,
    sections=(Section(4, (SectionReason.REHEARSAL,), "A"),),
)
"""Eight bars on two staves: an opening, single letters, a stack, a section with a pedal that moves
there, a bar of rest; F sharp, B flat, E flat, C sharp, A flat, B natural and others."""


def styled(**wish: Any) -> HouseStyle:
    """The default style with something otherwise."""
    return replace(load_house_style(), **wish)


def marks_of(part: HarpPart, style: HouseStyle, editorial: bool) -> Any:
    """The marking of a part for :func:`engrave_settled`; all an editor's if wanted."""
    plan = retimed(part, plan_changes(part), style.stand)

    def mark(wishes: MarkingWishes) -> Markings:
        marks = place_marks(part, plan, wishes)
        if not editorial:
            return marks
        return Markings(
            tuple(replace(each, editorial=True) for each in marks.diagrams),
            tuple(
                replace(each, added=tuple(change.letter for change in each.changes))
                for each in marks.changes
            ),
        )

    return mark


@cache
def _engraved(style: HouseStyle, part: HarpPart, editorial: bool) -> SettledPart:
    return engrave_settled(part, marks_of(part, style, editorial), style)


def pages(style: HouseStyle, part: HarpPart = PART, *, editorial: bool = False) -> SettledPart:
    """The part in a style, engraved once for all tests, its layout proved.

    With ``editorial`` every mark is an editor's addition.
    """
    settled = _engraved(style, part, editorial)
    assert settled.engraved.proof.failures == ()
    assert settled.engraved.engraving.warnings == ()
    return settled


def diagrams_of(settled: SettledPart) -> list[PlacedMark]:
    """The diagrams on the pages."""
    return [mark for mark in settled.engraved.placement.marks if mark.name.startswith("d")]


def letters_of(settled: SettledPart) -> list[PlacedMark]:
    """The letters on the pages."""
    return [mark for mark in settled.engraved.placement.marks if mark.name.startswith("c")]
