"""What a note carries: pitch, ties, grace, signs, lyrics."""

# Whole numbers stand for fractions in what is expected.
# mypy: disable-error-code="comparison-overlap"

from __future__ import annotations

from fractions import Fraction

import pytest
from score_snippets import (
    TREBLE_AND_BASS,
    bars,
    measure,
    move,
    note,
    opening,
    read,
    told,
)

from pedalsetter.analysis.part import (
    Arpeggio,
    Beam,
    Event,
    Grace,
    Lyric,
    NotatedLength,
    Ornament,
    SpannerEnd,
    Tremolo,
)


def one(notations: str = "", **more: object) -> Event:
    """The event of a single whole note with these signs."""
    part = read(bars(note("C5", 4, notations=notations, **more)))  # type: ignore[arg-type]
    assert told(part) == []
    (event,) = part.events
    return event


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


def test_a_note_without_pitch_is_shown_as_a_rest() -> None:
    """A knock on the soundboard has no string; it is kept as a rest and told."""
    knock = (
        "<unpitched><display-step>E</display-step><display-octave>4</display-octave></unpitched>"
    )
    part = read(bars(note(knock, 2) + note("C4", 2)))
    assert part.events[0].is_rest
    assert part.events[0].length == 2
    assert told(part) == ["bar 1, beat 1, staff 1: a note without pitch is shown as a rest"]


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


def test_ties_within_and_across_bars() -> None:
    """A tied note is one sound: each continuation says so."""
    part = read(
        bars(
            note("C4", 4, ties=["start"], notations='<tied type="start"/>'),
            note("C4", 4, ties=["stop", "start"]),
            note("C4", 4, notations='<tied type="stop"/>'),
        )
    )
    assert [(head.tie_start, head.tie_stop) for _, head in part.notes()] == [
        (True, False),
        (True, True),
        (False, True),
    ]
    assert told(part) == []


def test_a_tie_without_an_end_is_taken_back() -> None:
    """C is tied, but D follows: the tie is dropped and the place is named."""
    part = read(bars(note("C4", 2, ties=["start"]) + note("D4", 2)))
    assert not any(head.tie_start for _, head in part.notes())
    assert told(part) == [
        "bar 1, beat 1, staff 1: a tie has a beginning but no end; it was left out"
    ]


def test_a_tie_without_a_beginning_is_struck_anew() -> None:
    """Nothing is tied to the C of beat 3."""
    part = read(bars(note("D4", 2) + note("C4", 2, ties=["stop"])))
    assert not any(head.tie_stop for _, head in part.notes())
    assert told(part) == [
        "bar 1, beat 3, staff 1: a tie has an end but no beginning; the note is struck anew"
    ]


def test_the_unmarked_end_of_a_tie_is_the_note_at_once_after_it() -> None:
    """The same pitch in the same voice, just where the tied note ends."""
    part = read(bars(note("C4", 2, ties=["start"]) + note("C4", 2)))
    assert [(head.tie_start, head.tie_stop) for _, head in part.notes()] == [
        (True, False),
        (False, True),
    ]


def test_a_written_out_arpeggio_is_tied_into_its_chord() -> None:
    """Each note rings on into the chord; its tie ends later than its printed value does.

    Common practice, no source: LilyPond's ``tieWaitForNote`` exists for it.
    """
    part = read(
        bars(
            note("C4", 1, ties=["start"])
            + note("E4", 1, ties=["start"])
            + note("C4", 2, ties=["stop"])
            + note("E4", 2, ties=["stop"], chord=True)
        )
    )
    assert [(str(head.pitch), head.tie_start, head.tie_stop) for _, head in part.notes()] == [
        ("C4", True, False),
        ("E4", True, False),
        ("C4", False, True),
        ("E4", False, True),
    ]
    assert told(part) == []


def test_a_tie_may_lead_into_a_second_ending() -> None:
    """The note before both endings is tied into each of them."""
    volta = (
        '<barline location="left"><ending number="{0}" type="start"/></barline>{1}'
        '<barline location="right"><ending number="{0}" type="stop"/>{2}</barline>'
    )
    back = '<repeat direction="backward"/>'
    part = read(
        bars(
            note("C4", 4, ties=["start"]),
            volta.format(1, note("C4", 4, ties=["stop"]), back),
            volta.format(2, note("C4", 4, ties=["stop"]), ""),
        )
    )
    assert [head.tie_stop for _, head in part.notes()] == [False, True, True]
    assert told(part) == []


def test_let_ring_is_no_tie() -> None:
    """*Laissez vibrer* has no end to look for."""
    event = one('<tied type="let-ring"/>')
    assert event.heads[0].let_ring
    assert not event.heads[0].tie_start


def test_a_chord_may_tie_only_some_of_its_notes() -> None:
    """C is held, E moves to F."""
    part = read(
        bars(
            note("C4", 2, ties=["start"])
            + note("E4", 2, chord=True)
            + note("C4", 2, ties=["stop"])
            + note("F4", 2, chord=True)
        )
    )
    assert [(str(head.pitch), head.tie_start, head.tie_stop) for _, head in part.notes()] == [
        ("C4", True, False),
        ("E4", False, False),
        ("C4", False, True),
        ("F4", False, False),
    ]


@pytest.mark.parametrize(
    ("sign", "expected"),
    [
        ("<arpeggiate/>", Arpeggio("plain", 1)),
        ('<arpeggiate direction="up"/>', Arpeggio("up", 1)),
        ('<arpeggiate direction="down" number="3"/>', Arpeggio("down", 3)),
        ('<non-arpeggiate type="bottom"/>', Arpeggio("bracket", 1)),
    ],
)
def test_arpeggios(sign: str, expected: Arpeggio) -> None:
    """Rolled up, down, or expressly not at all."""
    assert one(sign).arpeggio == expected


def test_an_arpeggio_joins_the_staves_only_where_the_source_says_so() -> None:
    """One number on both staves is one sign; without numbers each staff has its own."""
    for attribute, numbers in (("", [1, 2]), ('number="1"', [1, 1])):
        sign = f"<arpeggiate {attribute}/>"
        part = read(
            bars(
                note("C5", 4, staff=1, notations=sign)
                + move(-4)
                + note("C3", 4, staff=2, voice=5, notations=sign),
                first=opening(staves=2, clefs=TREBLE_AND_BASS),
            )
        )
        found = [event.arpeggio.number for event in part.events if event.arpeggio]
        assert found == numbers


def test_a_glissando_belongs_to_its_noteheads() -> None:
    """Start and stop, the words along the line, and the kind of line."""
    part = read(
        bars(
            note("C4", 2, notations='<glissando type="start" number="1">gliss.</glissando>')
            + note("C6", 2, notations='<glissando type="stop" number="1"/>')
        )
    )
    ends = [head.spanners for _, head in part.notes()]
    assert ends[0] == (SpannerEnd("glissando", 1, True, None, "wavy", "gliss."),)
    assert ends[1] == (SpannerEnd("glissando", 1, False, None, "wavy", ""),)


def test_a_slide_is_a_straight_line() -> None:
    """MusicXML: a slide is solid unless it says otherwise."""
    part = read(
        bars(
            note("C4", 2, notations='<slide type="start"/>')
            + note("C6", 2, notations='<slide type="stop"/>')
        )
    )
    assert part.events[0].heads[0].spanners == (SpannerEnd("slide", 1, True, None, "solid", ""),)


def test_a_harmonic_is_written_on_its_string() -> None:
    """The written note is the string; only ``sounding-pitch`` says otherwise."""
    plain = one("<technical><harmonic/></technical>")
    assert (plain.harmonic, plain.harmonic_printed_at_sound) == (True, False)
    based = one("<technical><harmonic><natural/><base-pitch/></harmonic></technical>")
    assert (based.harmonic, based.harmonic_printed_at_sound) == (True, False)
    sounding = one("<technical><harmonic><natural/><sounding-pitch/></harmonic></technical>")
    assert (sounding.harmonic, sounding.harmonic_printed_at_sound) == (True, True)


def test_ornaments_with_their_accidentals() -> None:
    """A trill with a flat above, a turn with a sharp above and a natural below."""
    event = one(
        "<ornaments><trill-mark placement='above'/><accidental-mark>flat</accidental-mark>"
        "</ornaments>"
    )
    assert event.ornaments == (Ornament("trill-mark", above=-1, placement="above"),)
    event = one(
        "<ornaments><turn/><accidental-mark placement='above'>sharp</accidental-mark>"
        "<accidental-mark placement='below'>natural</accidental-mark></ornaments>"
    )
    assert event.ornaments == (Ornament("turn", above=1, below=0),)


def test_a_trills_line_spans_its_notes() -> None:
    """The wavy line starts and stops where the source says."""
    part = read(
        bars(
            note("C4", 2, notations="<ornaments><wavy-line type='start'/></ornaments>")
            + note("C4", 2, notations="<ornaments><wavy-line type='stop'/></ornaments>")
        )
    )
    assert [event.spanners[0].start for event in part.events] == [True, False]
    assert part.events[0].spanners[0].kind == "wavy-line"


def test_tremolos() -> None:
    """On one note; and between two, each printed at the length of both."""
    assert one("<ornaments><tremolo type='single'>3</tremolo></ornaments>").tremolo == Tremolo(
        "single", 3
    )
    part = read(
        bars(
            note(
                "C4",
                1,
                kind="half",
                ratio=(2, 1),
                notations="<ornaments><tremolo type='start'>2</tremolo></ornaments>",
            )
            + note(
                "E4",
                1,
                kind="half",
                ratio=(2, 1),
                notations="<ornaments><tremolo type='stop'>2</tremolo></ornaments>",
            ),
            first=opening(beats=2),
        )
    )
    assert [event.tremolo for event in part.events] == [Tremolo("start", 2), Tremolo("stop", 2)]
    assert [event.length for event in part.events] == [1, 1]
    assert [event.notated for event in part.events] == [NotatedLength(1), NotatedLength(1)]
    assert [event.tuplets for event in part.events] == [(), ()]
    assert told(part) == []


def test_slurs_articulations_fermatas_and_dynamics() -> None:
    """Every sign with its place, several on one note."""
    signs = (
        '<slur type="start" number="2" placement="above" line-type="dashed"/>'
        '<articulations><staccato placement="below"/><accent/></articulations>'
        '<fermata type="inverted">square</fermata>'
        '<dynamics placement="below"><sfz/></dynamics>'
    )
    part = read(
        bars(
            note("C5", 2, notations=signs)
            + note("D5", 2, notations='<slur type="stop" number="2"/>')
        )
    )
    assert told(part) == []
    event = part.events[0]
    assert event.spanners == (SpannerEnd("slur", 2, True, "above", "dashed"),)
    assert event.articulations == (("staccato", "below"), ("accent", None))
    assert event.fermatas == (("square", "below"),)
    assert event.dynamics == ("sfz",)


def test_fingerings_belong_to_heads_and_playing_signs_to_the_event() -> None:
    """Finger 1 on the upper note, 4 on the lower; a thumb sign and words beside."""
    part = read(
        bars(
            note("C4", 4, notations="<technical><fingering>4</fingering></technical>")
            + note(
                "C5",
                4,
                chord=True,
                notations="<technical><fingering>1</fingering><thumb-position/>"
                "<other-technical>près de la table</other-technical></technical>",
            )
        )
    )
    (event,) = part.events
    assert [head.fingerings for head in event.heads] == [("4",), ("1",)]
    assert event.technical == (("thumb-position", ""), ("other-technical", "près de la table"))


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


def test_cues_are_shown_and_never_played() -> None:
    """A cue note takes its time on the page and is marked as one."""
    part = read(bars(note("C5", 2, before="<cue/>") + note("C4", 2)))
    assert [event.cue for event in part.events] == [True, False]


def test_small_notes_are_no_cues() -> None:
    """A cadenza in small print is played: only ``<cue/>`` is silent (MusicXML 4.0, ``cue``)."""
    part = read(bars(note("C5", 4).replace("<type>", '<type size="cue">')))
    assert not part.events[0].cue


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
    """Three chord symbols are one notice, with the first place and the count."""
    harmony = "<harmony><root><root-step>C</root-step></root><kind>major</kind></harmony>"
    part = read(bars(*(harmony + note("C4", 4) for _ in range(3))))
    assert told(part) == [
        "bar 1, beat 1, staff 1: chord symbols were left out (and 2 more like it)"
    ]
