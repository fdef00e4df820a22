"""The source's own marks against the notes: no false alarm, and every slip at its place."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from marked_parts import as_source, diagram, letters, with_marks
from mutated_marks import BASES, CORPUS_BASES, SLIPS, Slip, base, plan_of, slips
from part_builder import build_part

from pedalsetter.analysis.collation import (
    Collation,
    CollationEntry,
    EntryKind,
    MarkSeverity,
    collate,
)
from pedalsetter.analysis.instrument.harp import Letter, Position, Setting
from pedalsetter.analysis.marks.marking import place_marks
from pedalsetter.analysis.part import HarpPart, Place, SourceMark
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.analysis.reading import read_part

D, C, B, E, F, G, A = Letter
FLAT, NATURAL, SHARP = Position
C_MAJOR = Setting.of_key(0)


def at(bar: int, offset: object = 0) -> Place:
    """A place."""
    return Place(bar, Fraction(str(offset)))


def check(part: HarpPart, *marks: SourceMark) -> Collation:
    """The collation of a part with these marks."""
    whole = with_marks(part, marks)
    return collate(whole, plan_changes(whole))


def kinds(collation: Collation) -> list[tuple[EntryKind, Place]]:
    """Kind and place of every entry."""
    return [(entry.kind, entry.place) for entry in collation.entries]


def opening(part: HarpPart, setting: Setting = C_MAJOR) -> SourceMark:
    """A diagram at the beginning."""
    return diagram("d", at(0), setting, part)


_EVERY = [*BASES, *(pytest.param(name, marks=pytest.mark.corpus) for name in CORPUS_BASES)]

# No false alarm.


@pytest.mark.parametrize("name", _EVERY)
def test_a_part_marked_after_the_plan_is_clean(name: str) -> None:
    """The replayed plan sounds every note as written, so nothing can be wrong with its marks."""
    made = base(name)
    collation = collate(made.part, made.plan)
    assert [each for each in collation.entries if each.severity is not MarkSeverity.REMARK] == []
    assert not collation.wrong
    assert collation.marked
    assert collation.missing == 0


@pytest.mark.parametrize("name", _EVERY)
def test_marks_may_stand_anywhere_in_their_window(name: str) -> None:
    """Early frees the foot, late keeps the eye near the note (trade fact M16): both are right.

    Each letter is moved to the very note that needs it, unless its foot moves there already.
    """
    made = base(name)
    moved = dict[str, SourceMark]()
    taken = {(mark.onset, Letter(mark.pedals[0][0]).foot) for mark in made.part.source_marks}
    graces = {event.onset for event in made.part.events if event.grace is not None}
    diagrams = [m.onset for m in made.part.source_marks if m.kind == "diagram"]
    for change in made.plan.changes:
        for mark in made.marks_of(change):
            if change.needed is None or change.needed < change.place:
                continue
            onset = made.part.onset_of(change.needed)
            if (onset, change.foot) in taken or {onset, mark.onset} & graces:
                continue
            if any(mark.onset <= other <= onset for other in diagrams):
                continue
            taken.add((onset, change.foot))
            moved[mark.id] = letters(
                mark.id, change.needed, [(change.letter, change.new)], made.part
            )
    part = with_marks(made.part, [moved.get(mark.id, mark) for mark in made.part.source_marks])
    collation = collate(part, made.plan)
    assert [each for each in collation.entries if each.severity is MarkSeverity.WRONG] == []
    assert not [each for each in collation.entries if each.kind is EntryKind.LATE]


def test_a_part_without_marks_has_nothing_wrong_with_them() -> None:
    """All or none: none is right."""
    part = build_part("C4/h C#4/h")
    collation = collate(part, plan_changes(part))
    assert (collation.entries, collation.marked, collation.wrong) == ((), False, False)


def test_a_diagram_may_show_several_changes_after_a_rest() -> None:
    """In a rest one foot has time for three pedals, one after the other."""
    part = build_part("C4+D4+E4/w", "r/w", "r/w", "C#4+D#4+E4/w")
    after = Setting.parse("D# C# B E F G A")
    assert check(part, opening(part), diagram("e", at(3), after, part)).entries == ()


def test_an_equivalent_string_is_as_good() -> None:
    """The plan plays F♯ on F♯; a source that sets G♭ instead is right as well."""
    part = build_part("F4/h F#4/h")
    assert check(part, opening(part), letters("c", at(0, 2), [(G, FLAT)], part)).entries == ()


def test_marks_hold_on_every_pass() -> None:
    """A change back before the repeat is no redundant mark, and needed on the second pass."""
    part = build_part("G4/w", "C4/h C#4/h", "D4/w", repeats={2: 2}, repeat_starts=(1,))
    there = letters("c", at(1, 2), [(C, SHARP)], part)
    back = letters("b", at(2), [(C, NATURAL)], part)
    assert check(part, opening(part), there, back).entries == ()
    (entry,) = check(part, opening(part), there).entries
    assert (entry.kind, entry.place, entry.should) == (EntryKind.MISSING, at(1), "C♮")


def test_graces_are_struck_before_their_note() -> None:
    """A mark at a note with grace notes is obeyed where the first of them needs it."""
    part = build_part("C4/h C#4/eg D4/h")
    assert check(part, opening(part), letters("c", at(0, 2), [(C, SHARP)], part)).entries == ()


# Every slip.

_MAY_FOLLOW = {
    EntryKind.SOME_NOT_ALL: {EntryKind.MISSING},
    EntryKind.EARLY: {EntryKind.SAME_FOOT, EntryKind.RINGING},
    EntryKind.LATE: {EntryKind.SAME_FOOT, EntryKind.RINGING},
    EntryKind.SAME_FOOT: {EntryKind.RINGING},
    EntryKind.NO_OPENING: {EntryKind.MISSING, EntryKind.SOME_NOT_ALL, EntryKind.WRONG},
    EntryKind.TWO_POSITIONS: {EntryKind.SAME_FOOT},
    # Where a diagram that sets pedals is not believed, a later one sets them too late.
    EntryKind.INCOMPLETE_DIAGRAM: {EntryKind.RINGING, EntryKind.MISSING, EntryKind.LATE},
    EntryKind.IMPOSSIBLE_DIAGRAM: {EntryKind.RINGING, EntryKind.MISSING, EntryKind.LATE},
}
"""What a slip entails besides: a letter moved onto another's place may meet the same foot."""


_MANY_FOLLOW = (
    EntryKind.SOME_NOT_ALL,
    EntryKind.NO_OPENING,
    EntryKind.INCOMPLETE_DIAGRAM,
    EntryKind.IMPOSSIBLE_DIAGRAM,
)
"""Slips after which several pedals may stand wrongly."""


def found(slip: Slip, name: str) -> tuple[list[CollationEntry], list[CollationEntry]]:
    """(entries that tell of the slip, all other entries that are more than remarks)."""
    collation = collate(slip.part, plan_of(slip, name))
    hits = [
        entry
        for entry in collation.entries
        if entry.kind is slip.kind
        and entry.place == slip.place
        and (slip.letter is None or slip.letter in entry.letters)
        and (slip.should is None or entry.should == slip.should)
    ]
    others = [
        entry
        for entry in collation.entries
        if entry not in hits and entry.severity is not MarkSeverity.REMARK
    ]
    return hits, others


@pytest.mark.parametrize("name", _EVERY)
@pytest.mark.parametrize("kind", SLIPS)
def test_a_slip_is_found_at_its_place(kind: str, name: str) -> None:
    """One slip in a rightly marked part: named by kind, place and letter, and little else is."""
    for slip in slips(kind, name, most=3):
        hits, others = found(slip, name)
        assert hits, (slip.kind, slip.place, slip.letter, slip.should)
        expected = _MAY_FOLLOW.get(slip.kind, {EntryKind.RINGING, EntryKind.MISSING})
        assert {entry.kind for entry in others} <= expected | {slip.kind}
        assert len(others) <= 1 or slip.kind in _MANY_FOLLOW


def test_there_are_enough_slips() -> None:
    """At least 60 mutated parts, of every kind."""
    count = {kind: sum(len(slips(kind, name, most=3)) for name in BASES) for kind in SLIPS}
    assert min(count.values()) >= 1, count
    assert sum(count.values()) >= 60


# Single cases, in words.


def test_a_missing_change_names_note_and_pedal() -> None:
    """C♯ is struck with the C pedal at natural."""
    part = build_part("C4/h r/h", "C#4/w")
    (entry,) = check(part, opening(part)).entries
    assert (entry.kind, entry.place, entry.source, entry.should) == (
        EntryKind.MISSING,
        at(1),
        "",
        "C♯",
    )
    assert entry.why == "C♯4 needs C♯, and the marks leave the pedal at C♮."
    assert entry.severity is MarkSeverity.WRONG
    assert len(entry.notes) == 1


def test_a_late_mark_names_the_note_before_it() -> None:
    """Never print a change after the note that needs it (trade fact W12)."""
    part = build_part("C4/q C#4/q D4/h")
    (entry,) = check(part, opening(part), letters("c", at(0, 2), [(C, SHARP)], part)).entries
    assert (entry.kind, entry.source, entry.should, entry.why, entry.marks) == (
        EntryKind.LATE,
        "C♯",
        "C♯ before bar 1, beat 2",
        "C♯4 in bar 1, beat 2 needs C♯ already.",
        ("c",),
    )


def test_an_early_mark_names_the_note_that_it_spoils() -> None:
    """C♯ is printed before a C natural that is still to come."""
    part = build_part("C4/q C4/q C#4/h")
    early = letters("c", at(0, 1), [(C, SHARP)], part)
    (entry,) = check(part, opening(part), early).entries
    assert (entry.kind, entry.should) == (EntryKind.EARLY, "C♯ after bar 1, beat 2")


def test_a_contradicting_diagram_is_told_with_what_it_contradicts() -> None:
    """The letter says F♯, the next diagram F♮, and F♯ is what is struck."""
    part = build_part("F4/h F#4/h", "F#4/w")
    marks = (
        opening(part),
        letters("c", at(0, 2), [(F, SHARP)], part),
        diagram("e", at(1), C_MAJOR, part),
    )
    entries = [each for each in check(part, *marks).entries if each.kind is not EntryKind.RINGING]
    assert [(each.kind, each.source, each.should) for each in entries] == [
        (EntryKind.CONTRADICTORY_DIAGRAM, "F♮ in the diagram", "F♯")
    ]


def test_two_letters_of_one_foot_at_one_note() -> None:
    """D and C are both the left foot's (trade facts I11, M2); right and left may move together."""
    part = build_part("C4+D4+E4/h r/h", "C#4+D#4+E4/w", "C#4+D#4+Eb4/w")
    both = letters("c", at(1), [(D, SHARP), (C, SHARP)], part)
    flat = letters("e", at(2), [(E, FLAT)], part)
    same = check(part, opening(part), both, flat).entries
    assert [(each.kind, each.severity) for each in same if each.kind is EntryKind.SAME_FOOT] == [
        (EntryKind.SAME_FOOT, MarkSeverity.QUESTIONABLE)
    ]
    # In the rest before there is time for one after the other.
    rest = letters("c", at(0, 2), [(D, SHARP), (C, SHARP)], part)
    assert EntryKind.SAME_FOOT not in [
        each.kind for each in check(part, opening(part), rest, flat).entries
    ]
    split = build_part("C4+E4/w", "C#4+Eb4/w")
    apart = letters("c", at(1), [(E, FLAT), (C, SHARP)], split)
    assert check(split, opening(split), apart).entries == ()


def test_a_pedal_under_a_ringing_string() -> None:
    """C is held for the whole bar; the C pedal may not move under it (trade fact M14)."""
    part = build_part("C4/w | E3/h G3/h", "C#4/w | E3/w")
    mark = letters("c", at(0, 2), [(C, SHARP)], part)
    assert kinds(check(part, opening(part), mark)) == [(EntryKind.RINGING, at(0, 2))]
    good = letters("c", at(1), [(C, SHARP)], part)
    assert check(part, opening(part), good).entries == ()


def test_a_pedal_during_a_glissando() -> None:
    """No pedal moves while strings of its letter are still to come (trade fact M17).

    At the half of the line from C4 to C6 in bar 1 F5 is to come. Where C6 is played, the line has
    passed all strings but that one: F may move, C may not.
    """
    part = build_part("C4/wgl<", "C6/wgl>", "F#4/w")
    mark = letters("c", at(0, 2), [(F, SHARP)], part)
    assert EntryKind.GLISSANDO in [e.kind for e in check(part, opening(part), mark).entries]
    mark = letters("c", at(1), [(F, SHARP)], part)
    assert check(part, opening(part), mark).entries == ()
    (entry,) = check(part, opening(part), letters("c", at(1), [(C, SHARP)], part)).entries[:1]
    assert entry.severity is MarkSeverity.WRONG


def test_a_pedal_may_move_when_its_last_string_is_passed() -> None:
    """From C4 to C6 in four beats D5 is passed in the third beat: D is free in the fourth."""
    part = build_part("C4/wgl<", "C6/wgl>", "D#4+B3/w")
    for letter, position, free in ((D, SHARP, True), (B, FLAT, False)):
        mark = letters("c", at(0, 3), [(letter, position)], part)
        found = [entry.severity for entry in check(part, opening(part), mark).entries]
        assert (MarkSeverity.WRONG not in found) is free


def test_a_diagram_before_a_glissando_says_what_it_sounds() -> None:
    """A whole-tone setting a beat before the line (trade fact W15): no key makes it wrong."""
    part = build_part("r/q C4/qgl< C6/hgl>", "C4/w")
    whole_tone = Setting.parse_pattern("nnb|nbbb")
    assert check(part, diagram("d", at(0), whole_tone, part)).entries == ()
    chord = build_part("G3/q C4/qgl< C6/hgl>", "C4/w")
    setting = Setting.parse_pattern("nsb|nbnb")
    assert check(chord, diagram("d", at(0), setting.moved(C, NATURAL), chord)).entries == ()


def test_a_redundant_mark_and_a_reminder() -> None:
    """The pedal stands there already: a remark, and in parentheses it is a reminder."""
    part = build_part("C4/h C#4/h", "C#4/w")
    there = letters("c", at(0, 2), [(C, SHARP)], part)
    again = letters("r", at(1), [(C, SHARP)], part)
    (entry,) = check(part, opening(part), there, again).entries
    assert (entry.kind, entry.severity) == (EntryKind.REDUNDANT, MarkSeverity.REMARK)
    reminder = replace(again, text="(C♯)")
    (entry,) = check(part, opening(part), there, reminder).entries
    assert (entry.kind, entry.severity) == (EntryKind.REDUNDANT, MarkSeverity.REMARK)


def test_some_but_not_all() -> None:
    """One change of four is marked: worse than none (trade fact W4)."""
    part = build_part("C4/h C#4/h", "D4/h D#4/h", "F4/h F#4/h", "G4/h G#4/h")
    collation = check(part, opening(part), letters("c", at(0, 2), [(C, SHARP)], part))
    assert [entry.kind for entry in collation.entries].count(EntryKind.MISSING) == 3
    partial = next(e for e in collation.entries if e.kind is EntryKind.SOME_NOT_ALL)
    assert (partial.place, partial.source) == (at(1, 2), "1 of 4 changes")
    assert (collation.made, collation.missing) == (1, 3)


def test_no_opening_tells_what_is_unknown() -> None:
    """Letters without a setting before them leave four pedals in the dark."""
    part = build_part("C4/h C#4/h")
    first = letters("a", at(0), [(D, NATURAL), (E, NATURAL), (B, NATURAL)], part)
    then = letters("c", at(0, 2), [(C, SHARP)], part)
    entry = check(part, first, then).entries[0]
    assert entry.kind is EntryKind.NO_OPENING
    assert entry.why == (
        "The first note is played before all pedals are named; unknown: C, F, G and A."
    )


def test_each_movement_has_an_opening() -> None:
    """A full setting stands at the start of each movement (trade fact W1)."""
    part = build_part("C4/w", "D4/w", movements=(1,))
    assert kinds(check(part, opening(part))) == [(EntryKind.NO_OPENING, at(1))]


def test_a_partial_setting_may_be_given_in_two_rows() -> None:
    """Right foot above left, as two texts at one moment: together they are the whole setting."""
    part = build_part("C4/w")
    rows = (
        letters("r", at(0), [(E, NATURAL), (F, NATURAL), (G, NATURAL), (A, NATURAL)], part),
        letters("l", at(0), [(D, NATURAL), (C, NATURAL), (B, NATURAL)], part),
    )
    assert check(part, *rows).entries == ()


def test_the_example_of_an_orchestra_is_read_planned_and_collated() -> None:
    """The plan's marks of the harp among eight parts are clean; without the third letter not."""
    score = Path(__file__).resolve().parents[2] / "examples" / "orchestral-nocturne.musicxml"
    plain = read_part(score)
    plan = plan_changes(plain)
    marks = as_source(plain, place_marks(plain, plan))
    part = with_marks(plain, marks)
    assert not collate(part, plan_changes(part)).wrong


@pytest.mark.parametrize("kind", ["duplicate", "wrong_letter", "early", "late"])
@pytest.mark.parametrize("name", ["halves", "evening-water.musicxml"])
def test_one_pedal_of_one_mark_is_told_once(name: str, kind: str) -> None:
    """A letter too much, too early or wrong is one entry, whatever follows from it."""
    for slip in slips(kind, name, most=3):
        entries = collate(slip.part, plan_of(slip, name)).entries
        told = [(entry.place, entry.marks, entry.letters) for entry in entries if entry.marks]
        assert len(told) == len(set(told))
