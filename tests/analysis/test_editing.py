"""Editions: source marks kept, completed or replaced, and every result replayed."""

from __future__ import annotations

from fractions import Fraction

import pytest
from marked_parts import as_source, diagram, letters, with_marks
from mutated_marks import BASES, Base, base, plan_of, slips
from part_builder import build_part
from replay import replay

from pedalsetter.analysis.collation import EntryKind, MarkSeverity, glissando_diagrams
from pedalsetter.analysis.editing import Edition, edit_marks, merge_marks
from pedalsetter.analysis.editing.source_policy import SourceMarks
from pedalsetter.analysis.instrument.harp import Letter, Position, Setting
from pedalsetter.analysis.marks.marking import Origin, place_marks
from pedalsetter.analysis.part import HarpPart, Place, SourceMark
from pedalsetter.analysis.pedal_plan import FindingKind, Severity
from pedalsetter.analysis.planning import plan_changes

C, F = Letter.C, Letter.F
SHARP = Position.SHARP


def edit(part: HarpPart, mode: SourceMarks) -> Edition:
    """An edition of a part as its plan and its marks are."""
    plan = plan_changes(part)
    return edit_marks(part, plan, place_marks(part, plan), mode)


def editorial(edition: Edition) -> list[str]:
    """Texts of what was added."""
    marks = edition.markings
    return [str(each.setting) for each in marks.diagrams if each.editorial] + [
        change.text
        for each in marks.changes
        for change in each.changes
        if change.letter in each.added
    ]


@pytest.mark.parametrize("mode", SourceMarks)
@pytest.mark.parametrize("name", BASES)
def test_right_marks_need_nothing(name: str, mode: SourceMarks) -> None:
    """A rightly marked source is printed as it stands, and every note sounds on every pass."""
    made: Base = base(name)
    edition = edit_marks(made.part, made.plan, place_marks(made.part, made.plan), mode)
    assert editorial(edition) == []
    assert replay(made.part, edition.plan, edition.markings) == []
    given = glissando_diagrams(made.part)
    if mode is SourceMarks.REPLACE:
        assert {mark.origin for mark in edition.markings.changes} == {Origin.PLANNED}
        own = [mark for mark in edition.markings.diagrams if mark.origin is Origin.SOURCE]
        assert len(own) == len(given)
    else:
        marks = (*edition.markings.diagrams, *edition.markings.changes)
        assert {mark.origin for mark in marks} == {Origin.SOURCE}
    if mode is not SourceMarks.REPLACE:
        printed = sorted(
            (mark.onset, mark.pedals) for mark in as_source(made.part, edition.markings)
        )
        assert printed == sorted((mark.onset, mark.pedals) for mark in made.part.source_marks)


@pytest.mark.parametrize("kind", ["drop", "no_opening", "some_not_all", "incomplete"])
@pytest.mark.parametrize("name", BASES)
def test_what_is_missing_is_added_in_brackets(name: str, kind: str) -> None:
    """Source marks stay, additions are flagged, and the completed part sounds as written."""
    for slip in slips(kind, name, most=3):
        plan = plan_of(slip, name)
        edition = edit_marks(slip.part, plan, place_marks(slip.part, plan), SourceMarks.COMPLETE)
        assert replay(slip.part, edition.plan, edition.markings) == []
        assert editorial(edition)
        assert not edition.remaining.wrong or {
            entry.kind for entry in edition.remaining.entries
        } <= {EntryKind.RINGING, EntryKind.REDUNDANT, EntryKind.WRONG}


@pytest.mark.parametrize("kind", ["late", "early", "wrong_position", "contradiction"])
@pytest.mark.parametrize("name", BASES)
def test_what_the_source_contradicts_is_said(name: str, kind: str) -> None:
    """A wrong mark of the source stays; where no addition can mend it, it remains told."""
    for slip in slips(kind, name, most=2):
        plan = plan_of(slip, name)
        edition = edit_marks(slip.part, plan, place_marks(slip.part, plan), SourceMarks.COMPLETE)
        faults = replay(slip.part, edition.plan, edition.markings)
        assert not faults or edition.remaining.entries or "foot" in faults[0]
        source = {mark.id for mark in slip.part.source_marks}
        assert source
        assert edition.collation.wrong


def test_keep_adds_nothing() -> None:
    """The source's only letter stays alone; the report tells what is missing."""
    part = build_part("C4/h C#4/h", "F4/h F#4/h")
    part = with_marks(
        part,
        [
            diagram("d", Place(0, Fraction(0)), Setting.of_key(0), part),
            letters("c", Place(0, Fraction(2)), [(C, SHARP)], part),
        ],
    )
    edition = edit(part, SourceMarks.KEEP)
    assert [change.text for mark in edition.markings.changes for change in mark.changes] == ["C♯"]
    assert editorial(edition) == []
    assert [entry.should for entry in edition.collation.entries] == ["F♯"]
    completed = edit(part, SourceMarks.COMPLETE)
    assert editorial(completed) == ["F♯"]
    assert not completed.remaining.wrong
    replaced = merge_marks(
        part, plan_changes(part), place_marks(part, plan_changes(part)), SourceMarks.REPLACE
    )
    assert replaced == place_marks(part, plan_changes(part))


def test_an_added_opening_agrees_with_what_the_source_prints_next() -> None:
    """The source begins with a letter: the opening in brackets stands before it."""
    part = build_part("F#4/h C4/h", "C#4/w")
    part = with_marks(part, [letters("c", Place(1, Fraction(0)), [(C, SHARP)], part)])
    edition = edit(part, SourceMarks.COMPLETE)
    assert editorial(edition) == ["D♮ C♮ B♮ | E♮ F♯ G♮ A♮"]
    assert replay(part, edition.plan, edition.markings) == []


def test_an_equivalent_of_the_source_gets_its_string() -> None:
    """The source sets G♭ for the written F♯: the note is then played on the G string."""
    part = build_part("F4/h F#4/h")
    part = with_marks(
        part,
        [
            diagram("d", Place(0, Fraction(0)), Setting.of_key(0), part),
            letters("g", Place(0, Fraction(2)), [(Letter.G, Position.FLAT)], part),
        ],
    )
    edition = edit(part, SourceMarks.COMPLETE)
    assert editorial(edition) == []
    played = [use.sounding.name for use in edition.plan.strings.values() if use.sounding]
    assert played == ["F♮", "G♭"]
    assert replay(part, edition.plan, edition.markings) == []


def test_a_part_without_marks_is_completed_by_the_plan() -> None:
    """There is nothing to add to: the planned marks stand without brackets."""
    part = build_part("C4/h C#4/h")
    edition = edit(part, SourceMarks.COMPLETE)
    plan = plan_changes(part)
    assert edition.markings == place_marks(part, plan)


def gliding(*marks: SourceMark) -> HarpPart:
    """A glissando over a change of harmony, and what the source says about pedals."""
    part = build_part("C4/h F#4/h", "C4/hgl< C6/hgl>", "F4/h Bb4/h")
    return with_marks(part, marks)


@pytest.mark.parametrize("mode", SourceMarks)
def test_diagrams_for_glissandi_alone_are_no_pedalling(mode: SourceMarks) -> None:
    """What a glissando sounds is said by its diagram; a part is not pedalled by that.

    All planned marks are printed without brackets in every mode, and check has one remark.
    """
    bare = gliding()
    setting = Setting.parse_pattern("nnb|nsnn")
    part = gliding(diagram("g", Place(1, Fraction(0)), setting, bare))
    edition = edit(part, mode)
    assert glissando_diagrams(part) == {"g"}
    assert editorial(edition) == []
    assert [
        (str(each.setting), each.origin)
        for each in edition.markings.diagrams
        if each.place.bar == 1
    ] == [(str(setting), Origin.SOURCE)]
    assert [change.text for mark in edition.markings.changes for change in mark.changes] == ["F♮"]
    assert [(each.kind, each.severity) for each in edition.collation.entries] == [
        (EntryKind.SOME_NOT_ALL, MarkSeverity.REMARK)
    ]
    assert not edition.collation.wrong


def test_a_letter_beside_the_glissando_makes_it_a_pedalled_part() -> None:
    """One change is marked, the next one is not: now some are marked and others are not."""
    bare = gliding()
    setting = Setting.parse_pattern("nnb|nsnn")
    part = gliding(
        letters("f", Place(0, Fraction(2)), [(F, SHARP)], bare),
        diagram("g", Place(1, Fraction(0)), setting, bare),
    )
    edition = edit(part, SourceMarks.COMPLETE)
    assert edition.collation.wrong
    assert "F♮" in editorial(edition)


@pytest.mark.parametrize("mode", SourceMarks)
def test_a_part_without_marks_is_pedalled_in_every_mode(mode: SourceMarks) -> None:
    """Nothing in the source could be contradicted."""
    part = build_part("C4/h C#4/h")
    assert edit(part, mode).markings == place_marks(part, plan_changes(part))


def test_source_and_editor_share_a_stack() -> None:
    """The source moves F; the left foot's C is added at the same moment, below it in one stack."""
    part = build_part("F4+C4/h F#4+C#4/h")
    part = with_marks(
        part,
        [
            diagram("d", Place(0, Fraction(0)), Setting.of_key(0), part),
            letters("f", Place(0, Fraction(2)), [(F, SHARP)], part),
        ],
    )
    (stack,) = edit(part, SourceMarks.COMPLETE).markings.changes
    assert [change.text for change in stack.changes] == ["F♯", "C♯"]
    assert stack.added == (C,)


def test_what_is_printed_on_both_staves_is_one_mark() -> None:
    """A source may repeat a diagram and a letter for either hand."""
    part = build_part("F4/h F#4/h")
    twice = [
        diagram("d1", Place(0, Fraction(0)), Setting.of_key(0), part),
        diagram("d2", Place(0, Fraction(0)), Setting.of_key(0), part),
        letters("f1", Place(0, Fraction(2)), [(F, SHARP)], part),
        letters("f2", Place(0, Fraction(2)), [(F, SHARP)], part),
    ]
    marks = edit(with_marks(part, twice), SourceMarks.KEEP).markings
    assert len(marks.diagrams) == 1
    assert [change.text for mark in marks.changes for change in mark.changes] == ["F♯"]


@pytest.mark.parametrize("kind", ["early", "wrong_letter", "contradiction", "drop"])
@pytest.mark.parametrize("name", [name for name in BASES if "chromatic" not in name])
def test_nothing_is_added_where_the_pedal_stands_so(name: str, kind: str) -> None:
    """Every letter in brackets moves its pedal for who obeys all marks before it."""
    for slip in slips(kind, name, most=3):
        plan = plan_of(slip, name)
        edition = edit_marks(slip.part, plan, place_marks(slip.part, plan), SourceMarks.COMPLETE)
        idle = [
            change.text
            for mark in edition.markings.changes
            for change in mark.changes
            if change.letter in mark.added and change.old is change.new
        ]
        assert idle == []


def in_a_hurry() -> HarpPart:
    """A marked opening and no more; then F♯ and E♭ an eighth apart, 140 quarters a minute."""
    part = build_part("C4/q F4/q G4/q F4/q", "G#4+E4/e F#4/e Eb4/e G4/e r/h", "D4/w", tempo=140)
    return with_marks(part, [diagram("d", Place(0, Fraction(0)), Setting.of_key(0), part)])


def test_what_is_hard_is_told_of_the_page_and_not_of_the_plan() -> None:
    """Two additions 0.21 s apart are too fast for one foot; the plan moved one of them earlier.

    Less than a quarter of a second between two pedals of one foot is unsafe (common practice).
    """
    part = in_a_hurry()
    plan = plan_changes(part)
    edition = edit_marks(part, plan, place_marks(part, plan), SourceMarks.COMPLETE)
    assert editorial(edition) == ["A♭", "F♯", "E♭"]
    sharp, flat = edition.plan.changes[1:]
    assert part.told_place(sharp.place) == "bar 2, beat 1½"
    assert round(float(flat.seconds_since_same_foot or 0), 2) == 0.21
    assert "the right foot last moved 0.21 s before" in flat.why
    told = [one.what for one in edition.plan.findings if one.severity is not Severity.REMARK]
    assert told == [
        "F♯ comes too fast for the right foot: the right foot has moved another pedal 0.21 s "
        "before.",
        "E♭ comes too fast for the right foot: the right foot has moved another pedal 0.21 s "
        "before.",
    ]
    # What the plan has is another page: its F♯ stands at the bar, and is hurried there.
    assert any(one.what.startswith("F♯ is hurried: F4 ") for one in plan.findings)


def test_findings_of_the_notes_stay_whatever_is_printed() -> None:
    """A clash in a chord is no matter of marks; a respelling that the marks force is told."""
    part = build_part("F3+F#5+E4+G4/w", "F4/w")
    part = with_marks(
        part,
        [
            diagram("d", Place(0, Fraction(0)), Setting.of_key(0), part),
            letters("e", Place(1, Fraction(0)), [(Letter.E, SHARP), (F, SHARP)], part),
        ],
    )
    plan = plan_changes(part)
    edition = edit_marks(part, plan, place_marks(part, plan), SourceMarks.KEEP)
    assert [one.kind for one in edition.plan.findings if one.severity is Severity.UNPLAYABLE] == [
        FindingKind.TWO_POSITIONS
    ]
    assert "Play F as E♯: the printed pedals have it so." in [
        one.what for one in edition.plan.findings
    ]
