"""Spanners: pairs that hold, whatever the source forgets."""

# Whole numbers stand for fractions in what is expected.
# mypy: disable-error-code="comparison-overlap"

from __future__ import annotations

from score_snippets import (
    TREBLE_AND_BASS,
    bars,
    direction,
    move,
    note,
    opening,
    read,
    told,
)

from pedalsetter.analysis.part import DirectionKind, HarpPart


def slurs(part: HarpPart) -> list[tuple[str, int, bool]]:
    """(event, number, starts) of every end of a slur."""
    return [(event.id, end.number, end.start) for event in part.events for end in event.spanners]


START = '<slur type="start" number="1"/>'
STOP = '<slur type="stop" number="1"/>'


def test_one_number_in_two_voices_at_once_is_two_slurs() -> None:
    """Both hands are slurred with number 1: each pair gets a number of its own."""
    part = read(
        bars(
            note("C5", 2, staff=1, notations=START)
            + note("D5", 2, staff=1, notations=STOP)
            + move(-4)
            + note("C3", 2, staff=2, voice=5, notations=START)
            + note("D3", 2, staff=2, voice=5, notations=STOP),
            first=opening(staves=2, clefs=TREBLE_AND_BASS),
        )
    )
    assert slurs(part) == [
        ("P1-m1-n1", 1, True),
        ("P1-m1-n3", 2, True),
        ("P1-m1-n2", 1, False),
        ("P1-m1-n4", 2, False),
    ]
    assert told(part) == []


def test_a_slur_may_end_in_another_voice() -> None:
    """From the left hand into the right."""
    part = read(
        bars(
            note("C3", 2, staff=2, voice=5, notations=START)
            + move(-2)
            + move(2)
            + note("D5", 2, staff=1, voice=1, notations=STOP),
            first=opening(staves=2, clefs=TREBLE_AND_BASS),
        )
    )
    assert [start for _, _, start in slurs(part)] == [True, False]
    assert told(part) == []


def test_a_note_may_end_one_slur_and_begin_the_next() -> None:
    """Stop and start of one number on one note: the old slur ends there."""
    part = read(
        bars(
            note("C4", 1, notations=START)
            + note("D4", 1, notations=START + STOP)
            + note("E4", 2, notations=STOP)
        )
    )
    assert slurs(part) == [
        ("P1-m1-n1", 1, True),
        ("P1-m1-n2", 1, False),
        ("P1-m1-n2", 1, True),
        ("P1-m1-n3", 1, False),
    ]


def test_ends_that_are_alone_are_left_out_and_told() -> None:
    """A slur that never ends, one that never began, and a glissando to nowhere."""
    part = read(
        bars(
            note("C4", 2, notations=STOP)
            + note("D4", 1, notations='<glissando type="start" number="1"/>')
            + note("E4", 1, notations=START)
        )
    )
    assert slurs(part) == []
    assert all(not head.spanners for _, head in part.notes())
    assert told(part) == [
        "bar 1, beat 1, staff 1: a slur has an end but no beginning; it was left out",
        "bar 1, beat 3, staff 1: a glissando has a beginning but no end; it was left out",
        "bar 1, beat 4, staff 1: a slur has a beginning but no end; it was left out",
    ]


def test_a_trills_line_may_lie_on_one_note() -> None:
    """Its start and stop are both on the long note."""
    line = "<ornaments><wavy-line type='start'/><wavy-line type='stop'/></ornaments>"
    part = read(bars(note("C4", 4, notations=line)))
    assert [end.start for end in part.events[0].spanners] == [True, False]
    assert told(part) == []


def test_a_hairpin_without_an_end_is_closed_at_the_next() -> None:
    """What is printed stays printed; its end is a guess and told."""
    part = read(
        bars(
            direction('<wedge type="crescendo"/>')
            + note("C4", 2)
            + direction('<wedge type="diminuendo"/>')
            + note("C4", 2),
            note("C4", 4),
        )
    )
    assert [(each.kind, each.onset, each.shape) for each in part.directions] == [
        (DirectionKind.WEDGE_START, 0, "crescendo"),
        (DirectionKind.WEDGE_STOP, 2, ""),
        (DirectionKind.WEDGE_START, 2, "diminuendo"),
        (DirectionKind.WEDGE_STOP, 4, ""),
    ]
    assert told(part) == [
        "bar 1, beat 1, staff 1: a hairpin has no end; it is closed at the beginning of the next",
        "bar 1, beat 3, staff 1: a hairpin has no end; it is closed at its bar's end",
    ]


def test_an_octave_line_without_an_end_is_left_out() -> None:
    """The pitch is right without it."""
    part = read(bars(direction('<octave-shift type="down" size="8"/>') + note("C6", 4)))
    assert part.directions == ()
    assert told(part) == [
        "bar 1, beat 1, staff 1: an octave line has a beginning but no end; it was left out"
    ]


def test_ends_written_after_the_next_beginning_still_pair() -> None:
    """The stop stands in a later voice of the file but at the same moment."""
    part = read(
        bars(
            direction('<wedge type="crescendo"/>')
            + note("C5", 2)
            + direction('<wedge type="diminuendo"/>')
            + note("C5", 2)
            + direction('<wedge type="stop"/>')
            + move(-2)
            + direction('<wedge type="stop"/>')
            + note("C4", 2, voice=2)
        )
    )
    assert told(part) == []
    assert [(each.kind, each.onset) for each in part.directions] == [
        (DirectionKind.WEDGE_START, 0),
        (DirectionKind.WEDGE_STOP, 2),
        (DirectionKind.WEDGE_START, 2),
        (DirectionKind.WEDGE_STOP, 4),
    ]


def test_a_number_begins_anew_by_time_before_its_slur_has_ended() -> None:
    """In the document the first slur ends before the second begins; by time it is the other way.

    Source: MusicXML 4.0, ``number-level``: numbers tell apart what overlaps in document order.
    """
    part = read(
        bars(
            note("C5", 4, staff=1)
            + move(-4)
            + note("C3", 2, staff=2, voice=5)
            + note("D3", 2, staff=2, voice=5, notations=START),
            note("E5", 2, staff=1)
            + note("F5", 2, staff=1, notations=STOP)
            + move(-4)
            + note("E3", 1, staff=2, voice=5, notations=START)
            + note("F3", 3, staff=2, voice=5),
            note("G5", 4, staff=1) + move(-4) + note("G3", 4, staff=2, voice=5, notations=STOP),
            first=opening(staves=2, clefs=TREBLE_AND_BASS),
        )
    )
    assert told(part) == []
    assert slurs(part) == [
        ("P1-m1-n3", 1, True),
        ("P1-m2-n3", 2, True),
        ("P1-m2-n2", 1, False),
        ("P1-m3-n2", 2, False),
    ]


def test_a_slur_that_was_forgotten_takes_no_later_end() -> None:
    """The first start has no end in the document before the number begins anew: it is left out."""
    part = read(
        bars(
            note("C4", 1, notations=START)
            + note("D4", 1)
            + note("E4", 1, notations=START)
            + note("F4", 1, notations=STOP),
            note("G4", 4, notations=STOP),
        )
    )
    assert slurs(part) == [("P1-m1-n3", 2, True), ("P1-m1-n4", 2, False)]
    assert told(part) == [
        "bar 1, beat 1, staff 1: a slur has a beginning but no end; it was left out",
        "bar 2, beat 1, staff 1: a slur has an end but no beginning; it was left out",
    ]
