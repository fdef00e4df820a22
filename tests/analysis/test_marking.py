"""Where diagrams and change letters are printed."""

from __future__ import annotations

from fractions import Fraction

from part_builder import build_part
from replay import replay

from pedalsetter.analysis.harp import Letter
from pedalsetter.analysis.marking import Markings, Origin, Reason, place_marks
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


def test_a_diagram_that_says_nothing_new_so_soon_is_left_out() -> None:
    """Three bars after the same diagram, with no change since, a section needs none."""
    part = build_part(*["C4/w"] * 8, sections=(section(3), section(6)))
    assert diagrams(part) == [(0, 0, Reason.START), (6, 0, Reason.SECTION)]


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
    """After a long rest the player looks at the pedals anew (common practice)."""
    part = build_part("C4/w", *["r/w"] * 4, "C4/w")
    assert diagrams(part) == [(0, 0, Reason.START), (5, 0, Reason.AFTER_REST)]
    assert diagrams(build_part("C4/w", *["r/w"] * 3, "C4/w")) == [(0, 0, Reason.START)]


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
