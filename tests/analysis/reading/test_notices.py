"""Where notices stand: each in a bar names its staff, and the beat where there is one."""

from __future__ import annotations

import pytest
from score_snippets import bars, full_score, move, note, opening, part_head, read, told

from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.reading import read_score

WHOLE = note("C4", 4)

WRONG_KEY = "a key signature could not be understood and was left out"
WRONG_TIME = "a time signature could not be understood and was left out"
SOUNDING = "the part is transposed; it is read at the pitch that sounds"
PLAIN_LINE = "a barline of the style 'wavy' is shown as a plain one"


def of_two_staves(attributes: str, barline: str = "") -> HarpPart:
    """A second bar of two staves with these attributes at its third beat, and this barline."""
    second = (
        note("C5", 2, staff=1)
        + f"<attributes>{attributes}</attributes>"
        + note("D5", 2, staff=1)
        + move(-4)
        + note("C3", 4, voice=5, staff=2)
        + barline
    )
    first = note("C5", 4, staff=1) + move(-4) + note("C3", 4, voice=5, staff=2)
    return read(bars(first, second, first=opening(staves=2)))


@pytest.mark.parametrize(
    ("attributes", "notice"),
    [
        ("<key><fifths>many</fifths></key>", f"bar 2, beat 3, staff 1: {WRONG_KEY}"),
        ('<key number="2"><fifths>many</fifths></key>', f"bar 2, beat 3, staff 2: {WRONG_KEY}"),
        ('<time number="2"><beats>x</beats></time>', f"bar 2, beat 3, staff 2: {WRONG_TIME}"),
        (
            '<transpose number="2"><chromatic>2</chromatic></transpose>',
            f"bar 2, beat 3, staff 2: {SOUNDING}",
        ),
        ("<humidity/>", "bar 2, beat 3, staff 1: 'humidity' was left out"),
    ],
    ids=["key", "key of a staff", "time of a staff", "transposition of a staff", "unknown"],
)
def test_attributes_name_their_staff(attributes: str, notice: str) -> None:
    """What the source gives to one staff is told of that one, else of the first.

    Source: MusicXML 4.0, attribute ``number`` of key, time and transpose: the staff, from 1.
    """
    assert told(of_two_staves(attributes)) == [notice]


def test_barlines_name_the_first_staff() -> None:
    """A barline runs through all staves, which the first stands for."""
    line = '<barline location="right"><bar-style>wavy</bar-style></barline>'
    assert told(of_two_staves("", line)) == [f"bar 2, beat 5, staff 1: {PLAIN_LINE}"]


def test_the_lower_half_of_a_harp_in_two_parts_is_the_second_staff() -> None:
    """Attributes and barlines that only the second part has are told of staff 2."""
    below = bars(
        WHOLE,
        "<attributes><key><fifths>many</fifths></key></attributes>"
        + WHOLE
        + '<barline location="right"><bar-style>wavy</bar-style></barline>',
    )
    heads = part_head("P1", "Harp RH") + part_head("P2", "Harp LH")
    data = full_score([("P1", "", bars(WHOLE, WHOLE)), ("P2", "", below)], part_list=heads)
    assert told(read_score(data, "x.musicxml")) == [
        "parts 1 and 2 of the score are read as the staves of one harp",
        f"bar 2, beat 1, staff 2: {WRONG_KEY}",
        f"bar 2, beat 5, staff 2: {PLAIN_LINE}",
    ]


def test_a_note_that_is_a_rest_too() -> None:
    """Pitch and rest in one note: the pitch counts, and nothing is a rest of the whole bar."""
    both = note("C4", 4).replace("<pitch>", '<rest measure="yes"/><pitch>')
    part = read(bars(both))
    assert [(len(event.heads), event.length) for event in part.events] == [(1, 4)]
    assert part.events[0].notated is not None
    assert told(part) == ["bar 1, beat 1, staff 1: a note that is a rest too is read as a note"]
