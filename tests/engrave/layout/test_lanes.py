"""Lanes: the text that hangs each mark at its moment."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from dense_pages import change, change_mark, diagram, empty_part, single_units
from part_builder import build_part

from pedalsetter.analysis.instrument.harp import Foot, Position, Setting
from pedalsetter.analysis.marks.marking import ChangeMark, Diagram, Markings, Reason
from pedalsetter.analysis.part import Grace, HarpPart, Place, TimeSignature
from pedalsetter.engrave.house_style import load_house_style
from pedalsetter.engrave.layout.lanes import Lanes, build_lanes, diagram_pattern, mark_places
from pedalsetter.engrave.notation.timeline import BarUnit, bar_units, grace_skips

STYLE = load_house_style()


def lanes(part: HarpPart, markings: Markings) -> Lanes:
    """Both lanes of a part whose bars all stand alone."""
    return build_lanes(part, markings, STYLE, single_units(part), {})


def test_a_bar_without_marks_is_one_skip() -> None:
    """Every bar is one line that ends with its printed number."""
    part = empty_part(2, TimeSignature((((5,), 8),)))
    assert lanes(part, Markings((), ())).letters == "s4*5/2 | % 1\ns4*5/2 | % 2"


def test_a_mark_hangs_on_the_skip_that_begins_at_its_moment() -> None:
    """A letter on beat 3 is preceded by a half note's time and followed by the rest of the bar."""
    part = empty_part(1)
    markings = Markings((), (change_mark(0, 2, "F♯"),))
    assert lanes(part, markings).letters == 's2 s2 \\pedalLetter "c1" "F♯" | % 1'


def test_exact_time_is_kept_in_a_triplet() -> None:
    """The second note of a triplet of eighths is a third of a quarter after the beat."""
    part = empty_part(1)
    markings = Markings((), (change_mark(0, Fraction(1, 3), "B♭"),))
    assert lanes(part, markings).letters == ('s4*1/3 s4*11/3 \\pedalLetter "c1" "B♭" | % 1')


def test_two_feet_make_one_stack_right_above_left() -> None:
    """The right foot's letter stands above the left foot's (common practice, no source)."""
    part = empty_part(1)
    markings = Markings((), (change_mark(0, 0, "F♯", "C♮"),))
    assert lanes(part, markings).letters == 's1 \\pedalLetters "c1" "F♯" "C♮" | % 1'


def test_changes_of_one_foot_stand_side_by_side() -> None:
    """One foot's letters run from left to right as they are made (common practice, no source)."""
    part = empty_part(1)
    markings = Markings((), (change_mark(0, 0, "G♯", "E♭"),))
    assert lanes(part, markings).letters == 's1 \\pedalLetter "c1" "G♯ E♭" | % 1'


def test_the_foot_that_moves_decides_the_line() -> None:
    """A pedal taken by the other foot is written in that foot's line."""
    part = empty_part(1)
    where = Place(0, Fraction(0))
    crossing = change("E", Position.FLAT, where, Foot.LEFT)
    mark = ChangeMark(where, (change("A", Position.SHARP, where), crossing))
    assert lanes(part, Markings((), (mark,))).letters == ('s1 \\pedalLetters "c1" "A♯" "E♭" | % 1')


def grace_mark(*places: int) -> Markings:
    """A letter at each of these grace places of bar 2; 0 is the note that they lead to."""
    made = []
    for place, pedal in zip(places, ("F♯", "G♮", "A♭"), strict=False):
        plain = change_mark(1, 0, pedal)
        made.append(replace(plain, place=Place(1, Fraction(0), place)))
    return Markings((), tuple(made))


def test_a_mark_stands_at_the_very_grace_note_that_needs_it() -> None:
    """Grace notes are struck one after another, and pedals may move between them."""
    part = build_part("C5/w | r/w", "D5/eg E5/eg F#5/h A5/h | r/w")
    skips = grace_skips(part)
    units = bar_units(part)
    first = build_lanes(part, grace_mark(-2), STYLE, units, skips)
    assert first.letters == 's1 | % 1\n\\grace s4 \\pedalLetter "c1" "F♯" s1 | % 2'
    assert first.diagrams == "s1 | % 1\n\\grace s4 s1 | % 2"
    second = build_lanes(part, grace_mark(-1, 0), STYLE, units, skips)
    assert second.letters == (
        's1 | % 1\n\\grace { s8 s8 \\pedalLetter "c1" "F♯" } s1 \\pedalLetter "c2" "G♮" | % 2'
    )


def test_marks_of_one_printed_moment_share_one_stack() -> None:
    """Grace notes of two voices may fall on one moment; their letters are printed together."""
    part = build_part("C5/w | r/w", "D5/sg E5/sg F#5/w | D4/eg A4/w")
    both = build_lanes(part, grace_mark(-2, -1), STYLE, bar_units(part), grace_skips(part))
    assert both.letters == ('s1 | % 1\n\\grace s8 \\pedalLetter "c1" "F♯ G♮" s1 | % 2')
    assert list(both.marks) == ["c1"]


def test_after_notes_are_reached_in_their_own_time() -> None:
    """After-notes stand three quarters through the note that they follow.

    Source: LilyPond Notation Reference, "Grace notes": afterGraceFraction is 3/4 by default.
    """
    part = build_part("C5/h D5/sg E5/h | r/w")
    part = replace(
        part,
        events=tuple(
            replace(event, grace=Grace(after=True)) if event.grace else event
            for event in part.events
        ),
    )
    plain = change_mark(0, 2, "D♭")
    markings = Markings((), (replace(plain, place=Place(0, Fraction(2), -1)),))
    written = build_lanes(part, markings, STYLE, bar_units(part), grace_skips(part))
    assert written.letters == 's4. \\grace s16 \\pedalLetter "c1" "D♭" s4*5/2 | % 1'


def test_gathered_rests_are_one_skip() -> None:
    """Four bars of rest that are printed as one sign are one skip in every context."""
    part = empty_part(5)
    units = (
        BarUnit(0, 3, Fraction(0), Fraction(16), True),
        BarUnit(4, 4, Fraction(16), Fraction(4), False),
    )
    markings = Markings((diagram(4, 0, "nnn|nnnn"),), ())
    written = build_lanes(part, markings, STYLE, units, {})
    assert written.diagrams == 's4*16 | % 1-4\ns1 \\pedalDiagram "d1" "---|----" | % 5'


def test_each_mark_is_found_by_its_name() -> None:
    """Diagrams are d1, d2 …, letters c1, c2 …, by place."""
    part = empty_part(2)
    markings = Markings(
        (diagram(0, 0, "nnn|nnnn"), diagram(1, 0, "bbb|bbbb")),
        (change_mark(0, 2, "F♯"), change_mark(1, 2, "C♯")),
    )
    marks = lanes(part, markings).marks
    assert list(marks) == ["d1", "d2", "c1", "c2"]
    assert marks["d2"] is markings.diagrams[1]
    assert marks["c1"] is markings.changes[0]


def test_the_places_of_marks_are_told_once_each() -> None:
    """No gathered rest may run across a place where a mark stands."""
    markings = Markings((diagram(1, 0, "nnn|nnnn"),), (change_mark(0, 2, "F♯"),))
    assert mark_places(markings) == (Place(0, Fraction(2)), Place(1, Fraction(0)))


@pytest.mark.parametrize(
    ("pattern", "signs"),
    [
        ("bbb|bbbb", "^^^|^^^^"),
        ("bsn|ssnb", "^v-|vv-^"),
        ("sns|bsbn", "v-v|^v^-"),
        ("bnn|ssnb", "^--|vv-^"),
    ],
)
def test_signs_of_a_diagram(pattern: str, signs: str) -> None:
    """Flat is above the line, natural on it, sharp below.

    Source: LilyPond Notation Reference, "Harp pedals": D♭ C♯ B | E♯ F♯ G A♭ is ``^v-|vv-^``, and
    with C natural ``^--|vv-^``.
    """
    assert diagram_pattern(diagram(0, 0, pattern)) == signs


def test_a_changed_pedal_is_ringed_where_the_style_says_so() -> None:
    """``o`` stands before the pedal that it rings (LilyPond Notation Reference, "Harp pedals")."""
    mark = diagram(0, 0, "bsn|ssnb", "CE")
    assert diagram_pattern(mark) == "^ov-|ovv-^"
    assert diagram_pattern(mark, rings=False) == "^v-|vv-^"
    part = empty_part(1)
    plain = replace(STYLE, ring_changed=False)
    assert (
        '"^v-|vv-^"'
        in build_lanes(part, Markings((mark,), ()), plain, single_units(part), {}).diagrams
    )


def test_every_setting_has_its_own_signs() -> None:
    """2,187 settings give 2,187 diagrams (3 to the power of 7 by exhaustion)."""
    where = Place(0, Fraction(0))
    found = {
        diagram_pattern(Diagram(where, setting, (), Reason.START)) for setting in Setting.every()
    }
    assert len(found) == 3**7
