"""What sentences call the notes that want a pedal."""

from __future__ import annotations

from dataclasses import replace

import pytest
from part_builder import build_part

from pedalsetter.analysis.instrument.harp import Letter, Position
from pedalsetter.analysis.naming.wording import NotesByName, listed
from pedalsetter.analysis.part import HarpPart, Ornament, SpannerEnd
from pedalsetter.analysis.planning import plan_changes

FLAT, NATURAL, SHARP = Position.FLAT, Position.NATURAL, Position.SHARP


def with_slide(part: HarpPart, first: int, last: int, kind: str) -> HarpPart:
    """The part with a line from the top head of one event to that of another."""
    events = list(part.events)
    for place, start in ((first, True), (last, False)):
        *heads, top = events[place].heads
        top = replace(top, spanners=(*top.spanners, SpannerEnd(kind, 1, start)))
        events[place] = replace(events[place], heads=(*heads, top))
    return replace(part, events=tuple(events))


def test_names_stand_once_each_with_an_and_before_the_last() -> None:
    """As a sentence has them."""
    assert [listed(names) for names in ("", "F", "FF", "FA", "FAC")] == [
        "",
        "F",
        "F",
        "F and A",
        "F, A and C",
    ]


def test_a_note_is_called_by_its_pitch_on_whatever_string_it_is_played() -> None:
    """Lowest first; an equivalent, and that of a double alteration, is the note itself."""
    part = build_part("A#4+F#3+Bbb5/w")
    ids = [head.id for _, head in part.notes()]
    names = NotesByName(part)
    assert names.told(ids[:1] + ids[1:2], Letter.F, SHARP) == "F♯3 and A♯4"
    assert names.told(ids, Letter.B, FLAT) == "F♯3, A♯4 and B♭♭5"
    assert names.told([ids[2], ids[2]], Letter.A, NATURAL) == "B♭♭5"
    assert names.told([], Letter.A, NATURAL) == ""


@pytest.mark.parametrize(
    ("kind", "called"),
    [
        ("trill-mark", "the trill on G5"),
        ("shake", "the trill on G5"),
        ("wavy-line", "the trill on G5"),
        ("inverted-turn", "the turn on G5"),
        ("haydn", "the turn on G5"),
        ("inverted-mordent", "the mordent on G5"),
        ("schleifer", "G5"),
    ],
)
def test_the_neighbour_of_an_ornament_is_called_by_the_sign(kind: str, called: str) -> None:
    """A is written nowhere; G is, and keeps its name."""
    part = build_part("G5/w")
    event = replace(part.events[0], ornaments=(Ornament(kind),))
    part = replace(part, events=(event,))
    ids = [head.id for _, head in part.notes()]
    assert NotesByName(part).told(ids, Letter.A, NATURAL) == called
    assert NotesByName(part).told(ids, Letter.G, NATURAL) == "G5"


@pytest.mark.parametrize("kind", ["glissando", "slide"])
def test_a_string_that_a_glissando_passes_is_wanted_by_the_glissando(kind: str) -> None:
    """It is told once, whether by its first note, its last or both."""
    part = with_slide(build_part("E4+C4/h C6/h"), 0, 1, kind)
    _, first, last = (head.id for _, head in part.notes())
    names = NotesByName(part)
    for notes in ([first, last], [first], [last]):
        assert names.told(notes, Letter.F, SHARP) == "the glissando from E4 to C6"
    assert names.told([first], Letter.E, NATURAL) == "E4"


def test_a_change_for_a_trill_says_so() -> None:
    """A♭ was needed before; the trill wants A♮."""
    plan = plan_changes(build_part("Ab4/h r/q r/q", "G5/wtr"))
    (change,) = plan.changes
    assert change.text == "A♮"
    assert "A♮ is needed in bar 2, beat 1 by the trill on G5; A♭ was last needed" in change.why


def test_a_trill_that_ends_too_late_sounds_until_then_and_is_not_struck() -> None:
    """Two fast notes after it: the foot has an eighth of a second."""
    part = build_part("G4/htr G4/htr", "Ab5/s r/s r/e A4+G#4/q Ab4+G4/h")
    plan = plan_changes(part)
    told = " ".join(finding.what for finding in plan.findings)
    assert "is played only" not in told.partition("the trill")[2].partition(";")[0]
