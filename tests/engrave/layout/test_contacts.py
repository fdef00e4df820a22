"""Contacts of the music that are faults, found on the page and told with page and bar."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from pages.case import solo
from score_snippets import direction, move, note
from small_parts import line, small_part

from pedalsetter.analysis.marks.marking import place_marks
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.analysis.reading import read_score
from pedalsetter.engrave.house_style import load_house_style
from pedalsetter.engrave.layout.adjustments import AS_ENGRAVED
from pedalsetter.engrave.layout.collisions import Nearness
from pedalsetter.engrave.layout.contacts import contact_failures, too_near
from pedalsetter.engrave.layout.geometry import Box, Contact, Line, MarkBox, Page, PageBoxes
from pedalsetter.engrave.layout.music_remedies import adjust_music
from pedalsetter.engrave.notation.remedied import Remedied
from pedalsetter.engrave.output.pages.engraver import engrave
from pedalsetter.engrave.output.pages.lilypond import lilypond_source

PART = small_part(line("C5/1"), line("C5/1", bar=1, at=4), bars=2)

COLLIDING = r"""\version "2.24.0"
\paper { indent = 0 }
\score {
  \new PianoStaff <<
    \new Staff << { \voiceOne b'4 b' b' b' | b'1 }
      \new Voice { \voiceTwo \once \override Rest.staff-position = #0 r4 r4 r2 | r1 } >>
    \new Dynamics { s2 s4 s4-\tweak extra-offset #'(2.5 . 0) \f | s1 }
    \new Staff { \clef bass c1 \arpeggio | <c g>1 }
  >>
}
"""
"""A rest is forced onto a head, a dynamic onto the barline between the staves."""


@pytest.mark.engraving
def test_what_meets_on_the_page_is_found() -> None:
    """The rest of the first beat and the dynamic of the fourth; the other rests give way."""
    found = engrave(COLLIDING).boxes.contacts
    assert [(each.what, each.other, each.moment) for each in found] == [
        ("Rest", "NoteHead", 0),
        ("DynamicText", "SpanBar", 3),
    ]


REMEDIED = solo(
    note("C5", 3, dots=1, staff=1)
    + direction("<dynamics><f/></dynamics>", after="<staff>1</staff>")
    + note("C5", 1, staff=1)
    + move(-4)
    + note("C3", 4, voice=5, staff=2),
    note("C5", 4, staff=1)
    + move(-4)
    + note("R", 2, voice=2, staff=1)
    + note("A4", 2, voice=2, staff=1)
    + move(-4)
    + note("C3", 4, voice=5, staff=2),
    staves=2,
)


def told(boxes: PageBoxes) -> list[str]:
    """What is told of it."""
    return list(contact_failures(PART, boxes))


def test_each_contact_has_its_sentence() -> None:
    """Page, bar, and what stands where it must not; what is allowed is not told."""
    page = Page(2, 100.0, 150.0, 1.75, 10.0, 140.0)
    system = Line(2, 0, True, Box(5.0, 12.0, 95.0, 60.0), 95.0)
    boxes = PageBoxes((page,), (system,), (), ())
    assert told(boxes) == []
    contacts = (
        Contact("Rest", "NoteHead", 2, 0, PART.bars[1].start),
        Contact("NoteHead", "Stem", 2, 0, PART.bars[1].start),
        Contact("Beam", "Stem", 2, 0, PART.bars[0].start),
    )
    assert told(replace(boxes, contacts=contacts)) == [
        "page 2, bar 2: a rest stands on a head",
        "page 2, bar 1: a beam stands away from a stem",
    ]


@pytest.mark.parametrize(
    ("box", "what"),
    [
        (Box(5.0, 9.0, 95.0, 60.0), "something runs into the running head"),
        (Box(5.0, 12.0, 95.0, 141.0), "something runs into the foot of the page"),
        (Box(-1.0, 12.0, 95.0, 60.0), "something runs off the sheet"),
        (Box(5.0, 12.0, 101.0, 60.0), "something runs off the sheet"),
    ],
)
def test_a_system_keeps_its_place(box: Box, what: str) -> None:
    """Neither a slur nor anything else leaves the room between head and foot."""
    page = Page(2, 100.0, 150.0, 1.75, 10.0, 140.0)
    boxes = PageBoxes((page,), (Line(2, 0, True, box, 95.0),), (), ())
    assert told(boxes) == [f"page 2, the system that begins with bar 1: {what}"]


def test_a_letter_ends_in_its_bar() -> None:
    """Half a staff space over the barline, high above it, still is its own bar's."""
    page = Page(1, 100.0, 150.0, 1.75, 10.0, 140.0)
    line = Line(1, 0, True, Box(5.0, 12.0, 95.0, 60.0), 95.0, end=PART.length)
    line = replace(line, barlines=((PART.bars[1].start, 50.0), (PART.length, 94.8)))

    def boxes(right: float, row: str = "pedal-letters") -> PageBoxes:
        box = Box(right - 3.0, 12.0, right, 15.0)
        mark = MarkBox("c1", row, 1, 0, box, 0.0, 15.0, Fraction(3), Fraction(0))
        return PageBoxes((page,), (line,), (mark,), ())

    assert told(boxes(50.6)) == ["page 1, bar 1: a letter reaches beyond its bar"]
    assert told(boxes(50.4)) == []
    assert told(boxes(60.0, "pedal-diagram")) == []
    assert adjust_music(boxes(50.6), AS_ENGRAVED).pushing == {"c1"}
    assert adjust_music(boxes(50.4), AS_ENGRAVED) == AS_ENGRAVED


def test_contacts_of_the_music_have_remedies() -> None:
    """Room for a dynamic, another place for a rest, a margin for what leaves the page's."""
    page = Page(1, 100.0, 150.0, 1.75, 10.0, 140.0)
    line = Line(1, 0, True, Box(5.0, 8.5, 95.0, 141.0), 95.0)
    contacts = (
        Contact("Rest", "NoteHead", 1, 0, Fraction(4), 1),
        Contact("DynamicText", "SpanBar", 1, 0, Fraction(3)),
    )
    boxes = PageBoxes((page,), (line,), (), (), contacts=contacts)
    assert told(boxes)[0] == "page 1, bar 2, staff 1: a rest stands on a head"
    wanted = adjust_music(boxes, AS_ENGRAVED)
    assert wanted.music == Remedied(roomy_dynamics={3}, moved_rests={(1, 4)})
    assert (wanted.head_room, wanted.foot_room) == (2.0, 1.5)
    assert adjust_music(boxes, wanted).head_room == 4.0
    part = read_score(REMEDIED, "remedied.xml")
    marks = place_marks(part, plan_changes(part))
    text = lilypond_source(part, marks, load_house_style(), adjustments=wanted).text
    assert "top-system-spacing.padding = 4\n" in text
    assert "last-bottom-spacing.padding = 2.5\n" in text
    assert "DynamicText.extra-spacing-width = #'(-0.3 . 0.3)" in text
    assert r"\once \override Rest.staff-position = #-8 r2" in text


def test_a_mark_keeps_clear_of_other_systems() -> None:
    """A quarter of a staff space at least; within its own system it may come nearer."""
    near = Nearness("c1", "NoteHead", 1, 0.2, Box(0.0, 0.0, 1.0, 1.0), other_system=True)
    assert too_near(near)
    assert not too_near(replace(near, distance=0.25))
    assert not too_near(replace(near, other_system=False))
