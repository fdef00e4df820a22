"""Names of strings on the engraved page: at their notes, touching nothing, in several styles.

One page holds all that a name may meet: both staves, chords of several strings, grace notes,
neighbouring sixteenths, ledger lines far above and below, letters and diagrams over them.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from functools import cache

import pytest
from part_builder import build_part
from strings_moved import on_other_strings
from varied_parts import varied_part

from pedalsetter.analysis.marks.marking import Markings, MarkingWishes, place_marks
from pedalsetter.analysis.marks.string_marks import StringMark
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.analysis.reading import read_score
from pedalsetter.engrave.house_style import load_house_style
from pedalsetter.engrave.layout.adjustments import Adjustments
from pedalsetter.engrave.layout.collisions import Nearness
from pedalsetter.engrave.layout.music_count import count_failures
from pedalsetter.engrave.layout.placement import place
from pedalsetter.engrave.layout.proof import prove
from pedalsetter.engrave.layout.remedies import adjust
from pedalsetter.engrave.notation.string_names import as_printed
from pedalsetter.engrave.output.pages.lilypond import lilypond_source
from pedalsetter.engrave.output.pages.press import engrave_part
from pedalsetter.engrave.output.pages.settled_press import SettledPart, engrave_settled

pytestmark = pytest.mark.engraving

PART = build_part(
    "F4/s A4/s F5/s A5/s C6/s F6/s C6/s A5/s F5/s A5/s F#6/s A5/s C6/s Gb6/s Db6/s A5/s | "
    "F2+C3+F3/q C#3+F3+Ab3/q F2/h",
    "F5/eg G#5/eg F5/q Db5+F5+Ab5+C6/q B5/q Cb6/q | C#2/q F#2/e Ab2/e B2/eg F3/q E3/q",
    "F7/q C7/q Ab6/q F#6/q | C#1/q F1/q Ab1/q Bb1/q",
    tempo=60,
)
PLAN = on_other_strings(plan_changes(PART))


def marked(wishes: MarkingWishes) -> Markings:
    """The marks of the page."""
    return place_marks(PART, PLAN, wishes)


@cache
def page(style: str, respelled: str = "named") -> SettledPart:
    """The part in a house style."""
    wanted = replace(load_house_style(style), respelled_notes=respelled)
    return engrave_settled(as_printed(PART, PLAN, wanted), marked, wanted)


@pytest.mark.parametrize("style", ["final-part", "large-print", "between-staves"])
def test_every_name_stands_at_its_note_and_touches_nothing(style: str) -> None:
    """All names are found on the page, above or below their own chord; the proof holds."""
    settled = page(style)
    proof = settled.engraved.proof
    assert proof.failures == ()
    names = [one for one in settled.engraved.placement.marks if isinstance(one.mark, StringMark)]
    assert len(names) == len(settled.markings.strings) > 20
    assert proof.smallest_distance is not None
    assert proof.smallest_distance > 0.1
    systems = [line for line in settled.engraved.placement.boxes.lines if line.is_system]
    for name in names:
        system = systems[sum(line.end <= name.moment.time for line in systems)]
        middle = (system.staff_top + system.staff_bottom) / 2
        assert isinstance(name.mark, StringMark)
        assert (name.box.bottom < middle) == (name.mark.staff == 1) == name.mark.above


def test_the_page_may_leave_the_notes_alone_or_have_them_rewritten() -> None:
    """Without names nothing is added; rewritten notes stand on the letters that play them."""
    plain, rewritten = page("final-part", "as-written"), page("final-part", "rewritten")
    for settled in (plain, rewritten):
        assert settled.engraved.proof.failures == ()
        assert not any(isinstance(one.mark, StringMark) for one in settled.engraved.placement.marks)
    anew = as_printed(PART, PLAN, replace(load_house_style(), respelled_notes="rewritten"))
    written = [str(head.pitch) for event, head in anew.notes() if event.staff == 1]
    assert written[:5] == ["E♯4", "A4", "E♯5", "A5", "B♯5"]
    assert [head.pitch.midi for _, head in anew.notes()] == [
        head.pitch.midi for _, head in PART.notes()
    ]
    # what stands on the page is the rewritten music, and not the written one
    assert count_failures(anew, rewritten.engraved.engraving.boxes) == ()
    assert count_failures(PART, rewritten.engraved.engraving.boxes) != ()


def test_a_name_that_is_missing_or_touches_something_is_told() -> None:
    """The proof counts names; one that meets something keeps away, or goes into the row."""
    engraved = page("final-part").engraved
    boxes = engraved.engraving.boxes
    first = next(box for box in boxes.marks if box.name == "s1")
    gone = replace(boxes, marks=tuple(box for box in boxes.marks if box is not first))
    assert prove(PART, place(engraved.document.marks, gone)).missing == ("s1",)
    head = next(thing for thing in boxes.things if thing.kind == "NoteHead")

    dropped = replace(first, box=head.box, page=head.page, line=head.line)
    moved = replace(boxes, marks=(dropped, *(box for box in boxes.marks if box is not first)))
    placement = place(engraved.document.marks, moved)
    proof = prove(PART, placement)
    assert any("overlaps a NoteHead" in failure for failure in proof.failures)

    def remedy(depth: float, before: Adjustments) -> Adjustments:
        meeting = Nearness("s1", "NoteHead", 1, -depth, head.box)
        only = replace(proof, overlaps=(meeting,))
        wanted = adjust(PART, load_house_style(), placement, only, before)
        assert wanted is not None
        return wanted

    wanted = remedy(0.2, Adjustments())
    assert (wanted.room["s1"], wanted.named_in_row) == (0.7, frozenset())
    for in_row in (remedy(0.2, wanted), remedy(1.0, Adjustments())):
        assert ("s1" in in_row.room, in_row.named_in_row) == (False, {"s1"})
        text = lilypond_source(
            PART, marked(MarkingWishes()), load_house_style(), adjustments=in_row
        ).text
        assert '\\stringNamesInRow "s1"' in text
        assert '\\stringNames #UP "s1"' not in text[text.index("harpStaves = ") :]
    source = lilypond_source(PART, marked(MarkingWishes()), load_house_style(), adjustments=wanted)
    assert f'-\\tweak padding #{wanted.room["s1"]:g} \\stringNames #UP "s1"' in source.text


def test_names_without_room_at_their_notes_stand_in_rows_by_the_staves() -> None:
    """In voices that cross the staves: above the upper one, below the lower one, at their moments.

    Two at one moment stand over one another; nothing touches anything, on parts made by chance.
    """
    together = 0
    for seed in (4, 151):
        part = read_score(varied_part(seed), "varied.xml")
        marks = place_marks(part, plan_changes(part))
        done = engrave_part(part, marks, load_house_style())
        assert done.proof.failures == ()
        in_row = [one for one in done.placement.marks if one.name in done.adjustments.named_in_row]
        assert {one.mark.staff for one in in_row if isinstance(one.mark, StringMark)} == {1, 2}
        systems = [line for line in done.placement.boxes.lines if line.is_system]
        places = Counter()
        for one in in_row:
            assert isinstance(one.mark, StringMark)
            system = systems[sum(line.end <= one.moment.time for line in systems)]
            assert one.moment.time == part.onset_of(one.mark.place)
            if one.mark.staff == 1:
                assert one.box.bottom < system.staff_top
            else:
                assert one.box.top > system.staff_bottom
            places[one.moment, one.mark.staff] += 1
        together += max(places.values()) > 1
    assert together


def test_the_neighbour_of_a_trill_is_named_over_its_sign() -> None:
    """(E=F♭) stands above the trill, and touches nothing."""
    part = build_part("D5/wtr | r/q E#3/q r/q E#3/q", "r/w")
    plan = plan_changes(part)
    settled = engrave_settled(
        part, lambda wishes: place_marks(part, plan, wishes), load_house_style()
    )
    assert settled.engraved.proof.failures == ()
    assert '\\stringNames #UP "s1" "E=F♭"' in settled.engraved.document.text
    (name,) = [one for one in settled.engraved.placement.marks if one.name == "s1"]
    letter = name.box.right - name.box.left
    assert letter > 3


def names_in(part: HarpPart, language: str) -> str:
    """The source in a language."""
    style = replace(load_house_style(), language=language, spelling="words")
    return lilypond_source(part, marked(MarkingWishes()), style).text


def test_strings_are_named_in_the_language_of_the_page() -> None:
    """E♯ is Eis in German and mi dièse in French.

    Source: Wikipedia, "Key signature names and translations".
    """
    assert '\\stringNames #UP "s1" "Eis"' in names_in(PART, "German")
    assert '"Mi\u00a0dièse"' in names_in(PART, "French")
