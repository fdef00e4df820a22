"""Parts whose source carries marks: marks of a plan written as a source would have them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from pedalsetter.analysis.instrument.harp import Letter, Position, Setting
from pedalsetter.analysis.marks.marking import Markings, place_marks
from pedalsetter.analysis.part import HarpPart, Place, SourceMark
from pedalsetter.analysis.planning import plan_changes

__all__ = ["as_source", "diagram", "letters", "marked", "with_marks"]


def diagram(name: str, place: Place, setting: Setting, part: HarpPart) -> SourceMark:
    """A whole diagram of the source."""
    pedals = tuple((letter.value, int(position)) for letter, position in setting)
    onset = part.bars[place.bar].start + place.offset
    return SourceMark(name, place.bar, onset, 1, "diagram", pedals)


def letters(
    name: str, place: Place, changes: Iterable[tuple[Letter, Position]], part: HarpPart
) -> SourceMark:
    """Letters of the source, as words."""
    pedals = tuple((letter.value, int(position)) for letter, position in changes)
    text = " ".join(f"{letter}{'♭♮♯'[alter + 1]}" for letter, alter in pedals)
    onset = part.bars[place.bar].start + place.offset
    return SourceMark(name, place.bar, onset, 1, "letters", pedals, text)


def as_source(part: HarpPart, markings: Markings) -> tuple[SourceMark, ...]:
    """Planned marks as marks of the source, each pedal of a stack a mark of its own."""
    found = [
        diagram(f"d{number}", each.place, each.setting, part)
        for number, each in enumerate(markings.diagrams)
    ]
    for number, mark in enumerate(markings.changes):
        found += [
            letters(
                f"c{number}{change.letter.value}", mark.place, [(change.letter, change.new)], part
            )
            for change in mark.changes
        ]
    return tuple(sorted(found, key=lambda mark: (mark.onset, mark.bar)))


def with_marks(part: HarpPart, marks: Iterable[SourceMark]) -> HarpPart:
    """The part as if its source had these marks."""
    return replace(part, source_marks=tuple(sorted(marks, key=lambda m: (m.onset, m.bar))))


def marked(part: HarpPart) -> HarpPart:
    """The part as if its source had been marked rightly, after our own plan."""
    plan = plan_changes(part)
    return with_marks(part, as_source(part, place_marks(part, plan)))


def place_of(part: HarpPart, mark: SourceMark) -> Place:
    """Where a mark stands."""
    return part.place_of(mark)
