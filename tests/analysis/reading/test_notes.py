"""Notes, chords, grace notes and rests: pitch, length, place and looks."""

# Whole numbers stand for fractions in what is expected.
# mypy: disable-error-code="comparison-overlap"

from __future__ import annotations

from fractions import Fraction

from score_snippets import TREBLE_AND_BASS, bars, measure, move, note, opening, read, told

from pedalsetter.analysis.part import Beam, Grace, Lyric, NotatedLength


def test_pitches_keep_their_spelling() -> None:
    """C flat, B sharp and double signs stay as written; 8va changes nothing (it sounds so)."""
    part = read(bars(note("Cb4") + note("B#4") + note("F##5") + note("Bbb3")))
    assert [str(head.pitch) for _, head in part.notes()] == ["C♭4", "B♯4", "F♯♯5", "B♭♭3"]


def test_a_chord_is_one_event_with_its_heads_from_low_to_high() -> None:
    """C major, written from the top: one event, lowest note first."""
    part = read(bars(note("G4", 4) + note("E4", 4, chord=True) + note("C4", 4, chord=True)))
    (event,) = part.events
    assert [str(head.pitch) for head in event.heads] == ["C4", "E4", "G4"]
    assert [head.id for head in event.heads] == ["P1-m1-n3", "P1-m1-n2", "P1-m1-n1"]
    assert event.id == "P1-m1-n1"


def test_a_microtone_is_rounded_and_told() -> None:
    """The harp has no quarter tones on its pedals: half sharp reads as natural."""
    quarter = "<pitch><step>C</step><alter>0.5</alter><octave>4</octave></pitch>"
    part = read(bars(note(quarter, 4)))
    assert part.events[0].heads[0].pitch.alter == 0
    assert told(part) == ["bar 1, beat 1, staff 1: a microtone is rounded to the nearest semitone"]


def test_a_triple_sharp_is_spelled_with_another_letter() -> None:
    """F triple sharp has no sign here: it sounds G sharp and is read so."""
    triple = "<pitch><step>F</step><alter>3</alter><octave>4</octave></pitch>"
    part = read(bars(note(triple, 4)))
    assert part.events[0].heads[0].pitch.midi == 68
    assert told(part) == [
        "bar 1, beat 1, staff 1: a triple alteration is spelled with another letter"
    ]


def test_a_note_without_pitch_has_no_head() -> None:
    """A knock on the soundboard has no string; it is kept as a knock, where it is printed."""
    knock = (
        "<unpitched><display-step>E</display-step><display-octave>4</display-octave></unpitched>"
    )
    part = read(bars(note(knock, 2) + note("C4", 2)))
    assert part.events[0].is_rest
    assert part.events[0].length == 2
    assert [str(pitch) for pitch in part.events[0].knocks] == ["E4"]
    assert told(part) == []


def test_printed_values_and_dots() -> None:
    """A dotted quarter and a double-dotted half, as printed."""
    part = read(bars(note("C4", "1.5", dots=1) + note("D4", "0.5") + note("E4", "1.75", dots=2)))
    assert [event.notated for event in part.events] == [
        NotatedLength(2, 1),
        NotatedLength(3, 0),
        NotatedLength(2, 2),
    ]


def test_a_length_without_a_type_gets_its_printed_value() -> None:
    """Sources may leave the type out; five quavers can only be written as two tied notes."""
    bare = (
        "<note><pitch><step>C</step><octave>4</octave></pitch><duration>{}</duration>"
        "<voice>1</voice></note>"
    )
    part = read(bars(bare.format(144) + bare.format(240)))
    assert [event.notated for event in part.events] == [
        NotatedLength(2, 1),
        NotatedLength(1, 0),
        NotatedLength(3, 0),
    ]
    assert [event.id for event in part.events] == ["P1-m1-n1", "P1-m1-n2", "P1-m1-n2-2"]
    first, second = part.events[1].heads[0], part.events[2].heads[0]
    assert (first.tie_start, first.tie_stop) == (True, False)
    assert (second.tie_start, second.tie_stop) == (False, True)
    assert told(part) == [
        "bar 1, beat 2½, staff 1: a length that no single note value has is written as tied notes"
    ]


def test_grace_notes_stand_before_their_note() -> None:
    """Two slashed grace notes and a grace chord take no time and come first, in order."""
    part = read(
        bars(
            note("D5", grace='slash="yes"', kind="16th")
            + note("E5", grace='slash="yes"', kind="16th")
            + note("F5", grace="", kind="eighth")
            + note("A5", grace="", kind="eighth", chord=True)
            + note("C5", 4)
        )
    )
    assert [(event.grace, event.length, len(event.heads)) for event in part.events] == [
        (Grace(slash=True), 0, 1),
        (Grace(slash=True), 0, 1),
        (Grace(), 0, 2),
        (None, 4, 1),
    ]
    assert {event.onset for event in part.events} == {Fraction(0)}


def test_grace_notes_at_the_end_of_a_bar_are_after_notes() -> None:
    """The close of a trill belongs to the trill, at its end and still in its bar.

    Source: MusicXML test suite 24c, "a grace note that appears at the measure end".
    """
    part = read(
        bars(
            note("D5", 4) + note("C5", grace="", kind="16th") + note("D5", grace="", kind="16th"),
            note("E5", 4),
        )
    )
    assert [(event.bar, event.onset, event.grace) for event in part.events] == [
        (0, 0, None),
        (0, 4, Grace(after=True)),
        (0, 4, Grace(after=True)),
        (1, 4, None),
    ]


def test_a_source_may_call_grace_notes_after_notes() -> None:
    """``steal-time-previous`` takes the time from the note before (MusicXML 4.0, ``grace``)."""
    part = read(
        bars(
            note("D5", 2)
            + note("C5", grace='steal-time-previous="20"', kind="16th")
            + note("E5", 2)
        )
    )
    assert part.events[1].grace == Grace(after=True)
    assert part.events[1].onset == 2


def test_lyrics() -> None:
    """Syllables, their joints, a held syllable, and two words on one note."""
    lyric = (
        '<lyric number="1"><syllabic>begin</syllabic><text>Ma</text></lyric>'
        '<lyric number="2"><syllabic>single</syllabic><text>tra</text><elision>‿</elision>'
        "<text>e</text><extend/></lyric>"
    )
    part = read(bars(note("C4", 4).replace("</note>", lyric + "</note>")))
    assert part.events[0].lyrics == (
        Lyric("1", "Ma", "begin"),
        Lyric("2", "tra‿e", "single", extend=True),
    )


def test_small_notes_are_no_cues() -> None:
    """A cadenza in small print is played, and printed small."""
    part = read(bars(note("C5", 4).replace("<type>", '<type size="cue">')))
    assert not part.events[0].cue
    assert part.events[0].small


def test_hidden_rests_keep_time_unseen() -> None:
    """A rest that the source hides is there, but not to be printed."""
    part = read(bars(note("R", 2, attributes='print-object="no"') + note("C4", 2)))
    assert [event.visible for event in part.events] == [False, True]


def test_rests_may_have_a_height() -> None:
    """A rest of the lower voice sits where the source puts it."""
    rest = "<rest><display-step>E</display-step><display-octave>4</display-octave></rest>"
    part = read(bars(note(rest, 2) + note("C4", 2)))
    assert str(part.events[0].rest_pitch) == "E4"


def test_accidentals_noteheads_stems_and_beams() -> None:
    """What the source prints: a courtesy sign in parentheses, a diamond, stems and a beam."""
    part = read(
        bars(
            note(
                "C#4",
                "0.5",
                after='<beam number="1">begin</beam>',
            )
            .replace(
                "<type>",
                "<type>",
            )
            .replace(
                "</type>",
                '</type><accidental parentheses="yes">sharp</accidental>'
                "<stem>up</stem><notehead parentheses='yes'>diamond</notehead>",
                1,
            )
            + note("D4", "0.5", after='<beam number="1">end</beam>')
            + note("E4", 3, dots=1)
        )
    )
    first = part.events[0]
    assert first.heads[0].accidental == "parentheses"
    assert (first.heads[0].shape, first.heads[0].parentheses) == ("diamond", True)
    assert first.stem == "up"
    assert [event.beam for event in part.events] == [Beam.BEGIN, Beam.END, None]


def test_identities_come_from_the_source_where_it_has_them() -> None:
    """A unique id is kept; one that stands twice is replaced by the note's place."""
    part = read(
        bars(
            note("C4", 1, attributes='id="first"')
            + note("D4", 1, attributes='id="twice"')
            + note("E4", 1, attributes='id="twice"')
            + note("F4", 1)
        )
    )
    assert [event.id for event in part.events] == ["first", "P1-m1-n2", "P1-m1-n3", "P1-m1-n4"]


def test_events_come_in_the_order_of_the_page() -> None:
    """By onset; grace notes before their note; upper staff before lower."""
    part = read(
        measure(
            opening(staves=2, clefs=TREBLE_AND_BASS)
            + note("C5", 2, staff=1)
            + note("B4", grace="", kind="eighth", staff=1)
            + note("C5", 2, staff=1)
            + move(-4)
            + note("C3", 2, staff=2, voice=5)
            + note("G2", 2, staff=2, voice=5)
        )
    )
    assert [(event.onset, event.staff, event.grace is not None) for event in part.events] == [
        (0, 1, False),
        (0, 2, False),
        (2, 1, True),
        (2, 1, False),
        (2, 2, False),
    ]


def test_what_is_left_out_is_told_once_a_kind() -> None:
    """Three chord symbols are one notice, with the first place, the count and the bars."""
    harmony = "<harmony><root><root-step>C</root-step></root><kind>major</kind></harmony>"
    part = read(bars(*(harmony + note("C4", 4) for _ in range(3))))
    assert told(part) == [
        "bar 1, beat 1, staff 1: chord symbols were left out (and 2 more like it, in bars 2 and 3)"
    ]
