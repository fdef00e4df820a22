"""Where a page names the string that plays a note: once a bar, and when it changes within one.

Common practice, no source: a player writes the name of the string at the note, and like an
accidental it holds to the barline. That a pedal works on every octave is Berlioz, *Grand traité
d'instrumentation*, "La Harpe".
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from part_builder import build_part, edit
from strings_moved import on_other_strings

from pedalsetter.analysis.marks.marking import MarkingWishes, place_marks
from pedalsetter.analysis.marks.string_marks import StringMark, string_marks
from pedalsetter.analysis.part import HarpPart, Place
from pedalsetter.analysis.pedal_plan import PedalPlan
from pedalsetter.analysis.planning import plan_changes


def told(marks: tuple[StringMark, ...]) -> list[tuple[int, Fraction, int, str, str]]:
    """Bar, offset, staff, names and side of each."""
    return [
        (
            mark.place.bar,
            mark.place.offset,
            mark.staff,
            " ".join(string.name for string in mark.strings),
            "above" if mark.above else "below",
        )
        for mark in marks
    ]


def planned(part: HarpPart, *notes: str) -> tuple[HarpPart, PedalPlan]:
    """The plan with these notes (all, if none is named) on their other strings."""
    return part, on_other_strings(plan_changes(part), *notes)


def test_a_note_that_cannot_have_its_own_string_is_named() -> None:
    """F natural and F sharp cannot be plucked together, so that one of them has another string.

    Source: H. Berlioz, *Grand traité d'instrumentation*, "La Harpe".
    """
    part = build_part("F4+F#5/w")
    (mark,) = string_marks(part, plan_changes(part))
    assert mark.strings[0].name in ("E♯", "G♭")
    assert mark.place == Place(0, Fraction(0))


def test_it_is_said_once_in_a_bar_in_every_octave_and_again_in_the_next() -> None:
    """The name holds for all octaves of its staff; the other staff has its own."""
    part = build_part("F4/q F5/q F4/q r/q | r/h F3/h", "F4/h r/h")
    marks = string_marks(*planned(part))
    assert told(marks) == [
        (0, 0, 1, "E♯", "above"),
        (0, 2, 2, "E♯", "below"),
        (1, 0, 1, "E♯", "above"),
    ]


def test_going_back_to_the_written_string_is_said_too() -> None:
    """Of two F in one bar the first is played on E♯, the second on F again."""
    part = build_part("F4/h F4/h", "F4/w")
    marks = string_marks(*planned(part, "b0s1n0h0"))
    assert told(marks) == [(0, 0, 1, "E♯", "above"), (0, 2, 1, "F♮", "above")]


def test_the_strings_of_a_chord_stand_as_its_notes_do() -> None:
    """The highest string is on top; an octave is said once, at its lower note."""
    part = build_part("Db4+F4+C5+F5/w")
    (mark,) = string_marks(*planned(part))
    assert [string.name for string in mark.strings] == ["B♯", "E♯", "C♯"]


def test_of_two_voices_the_upper_one_is_named_above_and_the_lower_below() -> None:
    """The name stands on the side of its own voice."""
    part = build_part("F5/w | r/w")
    low = build_part("C4/w | r/w").events[0]
    low = replace(
        low,
        id="low",
        voice="2",
        heads=tuple(replace(head, id=f"low{head.id}") for head in low.heads),
    )
    both = replace(part, events=(part.events[0], low, *part.events[1:]))
    marks = string_marks(*planned(both))
    assert [mark[3:] for mark in told(marks)] == [("E♯", "above"), ("B♯", "below")]


def test_a_grace_note_has_its_name_at_itself() -> None:
    """Its place is its own, before the main note."""
    part = build_part("F5/eg G5/q r/h r/q")
    (mark,) = string_marks(*planned(part))
    assert mark.place == Place(0, Fraction(0), -1)


def test_what_a_trill_adds_is_named_as_it_is_read_and_played() -> None:
    """D with E, where both E♯ of the bass hold the E pedal: the E is played on F♭."""
    part = build_part("D5/wtr | r/q E#3/q r/q E#3/q", "r/w")
    (mark,) = string_marks(part, plan_changes(part))
    assert (mark.strings, mark.above) == ((), True)
    assert [(str(pitch), string.name) for pitch, string in mark.beside] == [("E5", "F♭")]


def test_cues_and_what_cannot_sound_have_no_string() -> None:
    """Nothing is named at notes that nobody plucks."""
    part = build_part("F4/w")
    cue = edit(part, 0, cue=True)
    assert string_marks(cue, on_other_strings(plan_changes(part))) == ()


def test_a_style_may_want_no_names() -> None:
    """Then nothing is marked at notes, and all else stays."""
    part, plan = planned(build_part("F4/w"))
    silent = place_marks(part, plan, MarkingWishes(string_names=False))
    named = place_marks(part, plan)
    assert silent.strings == ()
    assert len(named.strings) == 1
    assert replace(named, strings=()) == silent
