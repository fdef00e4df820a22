"""The strings of notes that are played on another one than the written one, named at the notes."""

from __future__ import annotations

from collections.abc import Mapping, Set

from pedalsetter.analysis.findings.edits import as_played
from pedalsetter.analysis.marks.marking import Markings
from pedalsetter.analysis.marks.string_marks import StringMark, without_names
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.pedal_plan import PedalPlan
from pedalsetter.engrave.house_style import HouseStyle
from pedalsetter.engrave.mark_text import string_words
from pedalsetter.engrave.notation.escaping import quoted
from pedalsetter.engrave.notation.sheet import Sheet

__all__ = ["add_string_names", "as_printed", "name_event", "name_marks", "string_events"]

_LINE = 2.25
"""Staff spaces from name to name where several stand in a row at one moment."""


def as_printed(
    part: HarpPart, plan: PedalPlan, style: HouseStyle, *, own_names: bool = True
) -> HarpPart:
    """The part as the page of a style has it: its notes on the strings that play them, or not.

    With ``own_names`` the page's names of strings take the place of those that the source has.

    Trilled notes and the ends of glissandi stay as written; their names are left to the reader.
    """
    if own_names and style.respelled_notes != "as-written":
        part = without_names(part)
    return as_played(part, plan) if style.respelled_notes == "rewritten" else part


def name_marks(markings: Markings, style: HouseStyle) -> dict[str, StringMark]:
    """What a style's page prints, by the names that it has in the source (``s1``)."""
    if style.respelled_notes != "named":
        return {}
    return {f"s{number}": mark for number, mark in enumerate(markings.strings, 1)}


def string_events(
    marks: Mapping[str, StringMark],
    style: HouseStyle,
    away: Mapping[str, float],
    in_row: Set[str] = frozenset(),
) -> dict[str, str]:
    """The marks as they hang on their chords, by the ids of these.

    ``away`` has the staff spaces that a mark keeps, if any, from what it stands over or under;
    those ``in_row`` do not hang on their chords.
    """
    return {
        mark.event: _event(name, mark, style, away.get(name, 0.0))
        for name, mark in marks.items()
        if name not in in_row
    }


def _event(name: str, mark: StringMark, style: HouseStyle, away: float) -> str:
    side = "UP" if mark.above else "DOWN"
    text = rf"\stringNames #{side} {quoted(name)} {quoted(' '.join(string_words(mark, style)))}"
    return rf"-\tweak padding #{away:g} {text}" if away else text


def name_event(name: str, mark: StringMark, style: HouseStyle, below: int = 0) -> str:
    """A name as it hangs in its row, over so many lines of others at its moment."""
    text = rf"\stringNamesInRow {quoted(name)} {quoted(' '.join(string_words(mark, style)))}"
    return rf"-\tweak Y-offset #{below * _LINE:g} {text}" if below else text


def add_string_names(events: Mapping[str, str], sheet: Sheet) -> None:
    """Write what hangs on chords, by their ids."""
    for event, text in events.items():
        sheet.events[event].after.append(text)
