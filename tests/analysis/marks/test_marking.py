"""Where diagrams and change letters are printed."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

from part_builder import build_part
from replay import replay

from pedalsetter.analysis.instrument.harp import Letter
from pedalsetter.analysis.marks.marking import Markings, MarkingWishes, Origin, Reason, place_marks
from pedalsetter.analysis.part import HarpPart, Place, Section, SectionReason
from pedalsetter.analysis.planning import plan_changes


def marks(part: HarpPart) -> Markings:
    """The marks of a part's plan, which must hold in replay."""
    plan = plan_changes(part)
    found = place_marks(part, plan)
    assert replay(part, plan, found) == []
    return found


def diagrams(part: HarpPart) -> list[tuple[int, Fraction, Reason]]:
    """Bar, offset and reason of each diagram."""
    return [(one.place.bar, one.place.offset, one.reason) for one in marks(part).diagrams]


def section(bar: int, *reasons: SectionReason) -> Section:
    """A section with its reasons."""
    return Section(bar, reasons or (SectionReason.REHEARSAL,), "A")


def test_a_movement_begins_with_a_diagram() -> None:
    """The whole setting stands at the start of each movement (common practice)."""
    part = build_part("C4/w", "C4/w", "C4/w", movements=(1,))
    assert diagrams(part) == [(0, 0, Reason.START), (1, 0, Reason.START)]


def test_changes_in_between_are_letters() -> None:
    """Letter first, sign after, the natural written out.

    Source: LilyPond Notation Reference, "Harp pedals".
    """
    found = marks(build_part("F4/q r/h.", "F#4/q r/h.", "F4/w"))
    assert len(found.diagrams) == 1
    assert [change.text for mark in found.changes for change in mark.changes] == ["F♯", "F♮"]
    assert {mark.reason for mark in found.changes} == {Reason.CHANGE}
    assert {mark.origin for mark in found.changes} == {Origin.PLANNED}


def test_two_at_one_place_are_stacked_right_foot_above_left() -> None:
    """Common practice, no source."""
    found = marks(build_part("C4+E4/e C#4+Eb4/e r/h."))
    (mark,) = found.changes
    assert [change.text for change in mark.changes] == ["E♭", "C♯"]


def test_sections_have_diagrams() -> None:
    """At a rehearsal mark a player may begin again, so the whole setting is there."""
    bars = ["F4/w", "F4/w", "F#4/w", "F4/w", "F4/w", "F#4/w"]
    part = build_part(*bars, sections=(section(3), section(5, SectionReason.DOUBLE_BAR)))
    assert (3, 0, Reason.SECTION) in diagrams(part)
    assert (5, 0, Reason.SECTION) in diagrams(part)


def test_a_diagram_that_says_nothing_new_is_left_out() -> None:
    """However many bars after the same diagram, with no change since, a section needs none."""
    part = build_part(*["C4/w"] * 8, "F4/w", "F#4/w", sections=(section(3), section(6), section(9)))
    assert diagrams(part) == [(0, 0, Reason.START), (9, 0, Reason.SECTION)]


def test_pedals_that_move_at_a_diagram_are_ringed_and_not_repeated() -> None:
    """The diagram shows the new setting and rings what has changed.

    Source: LilyPond Notation Reference, "Harp pedals", circled pedals.
    """
    part = build_part("E4+F4/w", "E4+F4/w", "F#4+G4/w", sections=(section(2),), tempo=200)
    found = marks(part)
    diagram = found.diagrams[-1]
    assert diagram.place == Place(2, Fraction(0))
    assert diagram.changed == (Letter.F,)
    assert diagram.setting.pattern == "nnn|nsnn"
    assert all(mark.place != diagram.place for mark in found.changes)


def test_after_four_bars_of_rest_the_setting_is_shown_again() -> None:
    """After a long rest the player looks at the pedals anew (common practice), if any has moved."""
    bars = ["C4/w", "C#4/w"]
    after = [(0, 0, Reason.START), (6, 0, Reason.AFTER_REST)]
    assert diagrams(build_part(*bars, *["r/w"] * 4, "C#4/w")) == after
    assert diagrams(build_part(*bars, *["r/w"] * 3, "C#4/w")) == [(0, 0, Reason.START)]
    assert diagrams(build_part("C4/w", *["r/w"] * 4, "C4/w")) == [(0, 0, Reason.START)]


def test_a_glissando_shows_its_setting() -> None:
    """The setting stands at the glissando, since all seven strings sound (common practice)."""
    part = build_part("C4/w", "F#4/w", "C4/w", "C4/w", "C4/w", "r/q C4/qgl< C6/qgl> r/q", key=0)
    assert (5, 1, Reason.GLISSANDO) in diagrams(part)


def test_a_second_ending_entered_otherwise_is_shown() -> None:
    """Where the bar printed before leaves other pedals, a cautionary diagram stands."""
    part = build_part(
        "D4+Eb4+F4/h E4+F4/h",
        "r/w",
        "E4+F4/w",
        repeat_starts=(0,),
        repeats={1: 2},
        endings={1: (1,), 2: (2,)},
    )
    plan = plan_changes(part)
    assert plan.entries
    for bar, setting in plan.entries:
        (diagram,) = [one for one in marks(part).diagrams if one.place == Place(bar, Fraction(0))]
        assert (diagram.setting, diagram.reason) == (setting, Reason.CAUTIONARY)


def wished(part: HarpPart, wishes: MarkingWishes) -> list[tuple[int, Fraction, Reason]]:
    """Bar, offset and reason of each diagram that a style wishes; replay must hold."""
    plan = plan_changes(part)
    found = place_marks(part, plan, wishes)
    assert replay(part, plan, found, key_opens=not wishes.at_start) == []
    return [(one.place.bar, one.place.offset, one.reason) for one in found.diagrams]


def test_sections_and_glissandos_can_do_without_diagrams() -> None:
    """Some houses print settings at the start alone."""
    part = build_part(
        *["F4/w", "F#4/w"] * 2, "r/q C4/qgl< C6/qgl> r/q", sections=(section(1), section(3))
    )
    reasons = {reason for _, _, reason in diagrams(part)}
    assert {Reason.SECTION, Reason.GLISSANDO} <= reasons
    assert wished(part, MarkingWishes(at_sections=False, at_glissandos=False)) == [
        (0, 0, Reason.START)
    ]


def test_a_rest_counts_from_as_many_bars_as_the_style_says() -> None:
    """After two bars of rest, or after none however long."""
    part = build_part("C4/w", "C#4/w", "r/w", "r/w", "C#4/w", "C4/w", *["r/w"] * 5, "C4/w")
    assert wished(part, MarkingWishes(after_rest_bars=2)) == [
        (0, 0, Reason.START),
        (4, 0, Reason.AFTER_REST),
        (11, 0, Reason.AFTER_REST),
    ]
    assert wished(part, MarkingWishes(after_rest_bars=6)) == [(0, 0, Reason.START)]
    assert wished(part, MarkingWishes(after_rest_bars=0)) == [(0, 0, Reason.START)]


def test_after_so_many_changes_the_setting_is_shown_where_no_letter_follows() -> None:
    """After three changes a player wants to see where all pedals stand (common practice).

    A letter in the bar that the diagram begins would contradict it at once, so it waits for a bar
    without one, but not for more than nine changes.
    """
    part = build_part(*["F4/h F#4/h", "F4/h F#4/h", "C4/w", "C4/w"] * 2, "C4/w", tempo=60)
    places = wished(part, MarkingWishes(after_changes=3))
    plan = plan_changes(part)

    def changes(begin: Place, end: Place) -> int:
        return sum(begin < change.place <= end for change in plan.changes)

    def is_quiet(bar: int) -> bool:
        return not any(
            Place(bar, Fraction(0)) < change.place < Place(bar + 1, Fraction(0))
            for change in plan.changes
        )

    assert len(places) >= 2
    assert places[0] == (0, 0, Reason.START)
    assert [reason for _, _, reason in places[1:]] == [Reason.AFTER_CHANGES] * (len(places) - 1)
    for (before, _, _), (bar, _, _) in pairwise(places):
        start = Place(before, Fraction(0))
        since = changes(start, Place(bar, Fraction(0)))
        assert since >= (3 if is_quiet(bar) else 9)
        for between in range(before + 1, bar):
            enough = changes(start, Place(between, Fraction(0))) >= 3
            assert not (enough and is_quiet(between))


def test_a_diagram_stands_where_the_page_wants_it_in_any_case() -> None:
    """At the head of a system, however little it says that is new."""
    part = build_part(*["C4/w"] * 4)
    wishes = MarkingWishes(also_at=((1, Reason.SYSTEM), (2, Reason.PAGE)))
    assert wished(part, wishes) == [
        (0, 0, Reason.START),
        (1, 0, Reason.SYSTEM),
        (2, 0, Reason.PAGE),
    ]


def test_without_a_diagram_the_key_signature_opens_and_letters_tell_the_rest() -> None:
    """In D major with a C natural and a B flat to come, both stand as letters at the start.

    Common practice, no source: a player sets the pedals by the key signature.
    """
    part = build_part("D4+F#4/w", "Bb4+C5/w", key=2)
    plan = plan_changes(part)
    found = place_marks(part, plan, MarkingWishes(at_start=False))
    assert found.diagrams == ()
    (mark,) = found.changes
    assert (mark.place, mark.reason) == (Place(0, Fraction(0)), Reason.START)
    assert {change.text for change in mark.changes} == {"B♭", "C♮"}
    assert replay(part, plan, found, key_opens=True) == []


def test_without_a_diagram_a_second_ending_is_told_by_letters() -> None:
    """What the bar printed before leaves otherwise stands as letters (common practice)."""
    part = build_part(
        "D4+Eb4+F4/h E4+F4/h",
        "r/w",
        "E4+F4/w",
        repeat_starts=(0,),
        repeats={1: 2},
        endings={1: (1,), 2: (2,)},
    )
    plan = plan_changes(part)
    ((bar, setting),) = plan.entries
    found = place_marks(part, plan, MarkingWishes(at_jumps=False))
    (mark,) = [one for one in found.changes if one.reason is Reason.CAUTIONARY]
    assert mark.place == Place(bar, Fraction(0))
    assert all(setting[change.letter] is change.new for change in mark.changes)
    assert replay(part, plan, found) == []


def section_repeated() -> HarpPart:
    """E♭, then a section that is repeated, with E♮ before E♭."""
    return build_part(
        "C4/w",
        "Eb4/w",
        "G4/q G4/q G4/q G4/q",
        "E4/h E4/h",
        "Eb4/w",
        repeats={4: 2},
        repeat_starts=(2,),
        sections=(section(2),),
    )


def test_the_diagram_of_a_section_that_is_repeated_tells_what_it_needs() -> None:
    """Played from the barline each time, so that no letter follows a bar after the diagram."""
    part = section_repeated()
    plan = plan_changes(part)
    found = marks(part)

    assert [(one.text, one.place.bar) for one in plan.changes] == [("E♮", 1), ("E♭", 4), ("E♮", 4)]
    assert [(one.place.bar, one.setting[Letter.E].sign) for one in found.diagrams][1:] == [(2, "♮")]
    assert found.diagrams[1].changed == (Letter.E,)
    # On both ways the pedal moves at the barline, and is told once.
    assert [one.text for mark in found.changes for one in mark.changes] == ["E♭"]


def test_without_the_diagram_a_letter_before_the_barline_tells_it() -> None:
    """Half way between the last beat and the barline."""
    part = section_repeated()
    plan = plan_changes(part)
    found = place_marks(part, plan, MarkingWishes(at_sections=False))

    assert replay(part, plan, found) == []
    assert [
        (one.text, mark.place.bar, mark.place.offset)
        for mark in found.changes
        for one in mark.changes
    ] == [
        ("E♮", 1, Fraction(7, 2)),
        ("E♭", 4, 0),
        ("E♮", 4, Fraction(7, 2)),
    ]
