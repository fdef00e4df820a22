"""Bars: their real lengths, and what changes at their beginning or inside them."""

# Whole numbers stand for fractions in what is expected.
# mypy: disable-error-code="comparison-overlap"

from __future__ import annotations

from fractions import Fraction

from score_snippets import (
    TREBLE_AND_BASS,
    bars,
    full_score,
    measure,
    move,
    note,
    opening,
    part_head,
    read,
    score,
    told,
)

from pedalsetter.analysis.part import KeyChange, Place
from pedalsetter.analysis.reading import read_score


def test_a_pickup_is_as_long_as_its_notes() -> None:
    """An upbeat of a quarter: bar 1 begins after it, and its beat is the bar's last."""
    part = read(measure(opening() + note("G4", 1), 0, 'implicit="yes"') + measure(note("C5", 4), 1))
    assert [(bar.number, bar.start, bar.length) for bar in part.bars] == [
        ("0", 0, 1),
        ("1", 1, 4),
    ]
    assert part.bars[0].implicit
    assert part.printed_beat(Place(0, Fraction(0))) == "4"
    assert told(part) == []


def test_a_pickup_that_the_source_counts_is_a_pickup_too() -> None:
    """Many programs number the upbeat as bar 1; it is short all the same."""
    part = read(bars(note("G4", 1), note("C5", 4)))
    assert part.bars[0].implicit
    assert part.bars[1].start == 1


def test_a_bar_split_by_a_repeat_is_two_short_bars() -> None:
    """Three and one quarters make one bar of four: no notice, since nothing is missing."""
    part = read(
        measure(opening() + note("C5", 4), 1)
        + measure(
            note("C5", 3, dots=1)
            + '<barline location="right"><repeat direction="backward"/></barline>',
            2,
        )
        + measure(note("G4", 1), "X1", 'implicit="yes"')
        + measure(note("C5", 4), 3)
    )
    assert [bar.length for bar in part.bars] == [4, 3, 1, 4]
    assert [bar.number for bar in part.bars] == ["1", "2", "X1", "3"]
    assert told(part) == []


def test_a_short_bar_in_mid_piece_keeps_its_length_and_is_told() -> None:
    """What is written counts, not the signature; the musician hears of it."""
    part = read(bars(note("C5", 4), note("C5", 2), note("C5", 4)))
    assert [bar.length for bar in part.bars] == [4, 2, 4]
    assert told(part) == [
        "bar 2, staff 1: the bar is 2 quarters long where 4/4 asks for 4 quarters"
    ]


def test_an_overfull_bar_keeps_its_length_and_is_told() -> None:
    """A bar of five quarters under 4/4 is five quarters long."""
    part = read(bars(note("C5", 4), note("C5", 4) + note("D5", 1), note("C5", 4)))
    assert part.bars[2].start == 9
    assert told(part) == [
        "bar 2, staff 1: the bar is 5 quarters long where 4/4 asks for 4 quarters"
    ]


def test_a_whole_bar_rest_takes_the_signature() -> None:
    """The whole rest stands for any bar: here for three quarters, whatever its duration says."""
    rest = '<note><rest measure="yes"/><duration>384</duration><voice>1</voice></note>'
    part = read(bars(note("C5", 3, dots=1), rest, first=opening(beats=3)))
    assert part.bars[1].length == 3
    assert part.events[1].is_bar_rest
    assert part.events[1].length == 3


def test_a_whole_rest_that_fills_its_bar_is_a_bar_rest() -> None:
    """Printed alike, meant alike; a half rest that fills a bar of 2/4 stays a half rest."""
    part = read(bars(note("R", 4), first=opening()))
    assert part.events[0].notated is None
    part = read(bars(note("R", 2), first=opening(beats=2)))
    assert part.events[0].notated is not None


def test_other_parts_tell_how_long_the_harps_empty_pickup_is() -> None:
    """The harp rests in an upbeat of the flute; its bar is one quarter long all the same."""
    flute = measure(opening() + note("G5", 1), 0, 'implicit="yes"') + measure(note("C5", 4), 1)
    rest = '<note><rest measure="yes"/><duration>384</duration></note>'
    harp = measure(opening() + rest, 0, 'implicit="yes"') + measure(note("C4", 4), 1)
    part = read_score(full_score([("P1", "Flute", flute), ("P2", "Harp", harp)]), "score.xml")
    assert [bar.length for bar in part.bars] == [1, 4]
    assert part.events[0].length == 1


def test_a_voice_that_stops_early_does_not_shorten_the_bar_of_a_score() -> None:
    """The harp's rest is missing in the file; the flute shows that the bar is whole."""
    flute = bars(note("G5", 4), note("G5", 4), note("C5", 4))
    harp = bars(note("C4", 4), note("C4", 2), note("C4", 4))
    part = read_score(full_score([("P1", "Flute", flute), ("P2", "Harp", harp)]), "score.xml")
    assert [bar.length for bar in part.bars] == [4, 4, 4]


def test_divisions_may_change() -> None:
    """The same half note is two ticks before the change and four after it."""
    half = "<note>{}<duration>{}</duration><voice>1</voice><type>half</type></note>"
    c = "<pitch><step>C</step><octave>4</octave></pitch>"
    part = read(
        measure(
            "<attributes><divisions>1</divisions>"
            "<time><beats>4</beats><beat-type>4</beat-type></time></attributes>"
            + half.format(c, 2)
            + "<attributes><divisions>2</divisions></attributes>"
            + half.format(c, 4)
        )
    )
    assert [(event.onset, event.length) for event in part.events] == [(0, 2), (2, 2)]


def test_lengths_rounded_to_coarse_divisions_become_exact() -> None:
    """Three triplet quavers of 2, 3 and 3 eighths of a quarter are thirds of a quarter each.

    Source: programs of the 2000s export so (Schubert's Lindenbaum in music21's corpus does).
    """
    tick = (
        "<note><pitch><step>C</step><octave>4</octave></pitch><duration>{}</duration>"
        "<voice>{}</voice><type>{}</type>{}</note>"
    )
    ratio = (
        "<time-modification><actual-notes>3</actual-notes><normal-notes>2</normal-notes>"
        "</time-modification>"
    )
    triplet = "".join(tick.format(ticks, 1, "eighth", ratio) for ticks in (2, 3, 3))
    part = read(
        measure(
            "<attributes><divisions>8</divisions>"
            "<time><beats>2</beats><beat-type>4</beat-type></time></attributes>"
            + triplet
            + tick.format(8, 1, "quarter", "")
            + "<backup><duration>8</duration></backup>"
            + tick.format(8, 2, "quarter", "")
        )
    )
    assert [event.onset for event in part.events] == [0, Fraction(1, 3), Fraction(2, 3), 1, 1]
    assert part.bars[0].length == 2


def test_backup_and_forward_move_between_voices() -> None:
    """Two voices and a gap: the lower voice enters on the second beat."""
    part = read(bars(note("C5", 4) + move(-4) + move(1) + note("E4", 3, dots=1, voice=2)))
    assert [(event.voice, event.onset, event.length) for event in part.events] == [
        ("1", 0, 4),
        ("2", 1, 3),
    ]


def test_a_voice_numbered_alike_on_both_staves_is_two_voices() -> None:
    """Some programs number every staff from 1; what sounds together is never one voice."""
    part = read(
        bars(
            note("C5", 4, staff=1) + move(-4) + note("C3", 2, staff=2) + note("D3", 2, staff=2),
            first=opening(staves=2, clefs=TREBLE_AND_BASS),
        )
    )
    assert [(event.staff, event.voice) for event in part.events] == [
        (1, "1"),
        (2, "1/2"),
        (2, "1/2"),
    ]


def test_a_second_voice_without_a_number_is_told_apart() -> None:
    """Both voices claim number 1 on one staff; the second gets a name of its own."""
    part = read(bars(note("C5", 4) + move(-4) + note("E4", 2) + note("F4", 2)))
    assert [event.voice for event in part.events] == ["1", "1+", "1+"]


def test_a_voice_that_crosses_the_staves_stays_one_voice() -> None:
    """A run from the left hand into the right is one voice with notes on two staves."""
    part = read(
        bars(
            note("C3", 1, staff=2)
            + note("G3", 1, staff=2)
            + note("C4", 1, staff=1)
            + note("E4", 1, staff=1),
            first=opening(staves=2, clefs=TREBLE_AND_BASS),
        )
    )
    assert {event.voice for event in part.events} == {"1"}
    assert [event.staff for event in part.events] == [2, 2, 1, 1]
    assert part.staves == 2


def test_clef_and_key_may_change_inside_a_bar() -> None:
    """Both are read at their moment, and a restated clef is no change."""
    change = (
        "<attributes><key><fifths>-3</fifths></key>"
        '<clef number="2"><sign>G</sign><line>2</line></clef></attributes>'
    )
    same = '<attributes><clef number="1"><sign>G</sign><line>2</line></clef></attributes>'
    part = read(
        bars(
            note("C4", 2) + change + same + note("C4", 2),
            first=opening(staves=2, clefs=TREBLE_AND_BASS),
        )
    )
    assert [(clef.onset, clef.staff, clef.sign) for clef in part.clefs] == [
        (0, 1, "G"),
        (0, 2, "F"),
        (2, 2, "G"),
    ]
    assert part.keys == (
        KeyChange(Fraction(0), 0, 0),
        KeyChange(Fraction(2), 0, -3),
    )


def test_a_change_at_the_end_of_a_bar_belongs_to_the_next() -> None:
    """A clef before the barline is printed there, but its first note is the next bar's."""
    change = "<attributes><clef><sign>F</sign><line>4</line></clef></attributes>"
    part = read(bars(note("C4", 4) + change, note("C3", 4)))
    assert [(clef.bar, clef.onset) for clef in part.clefs] == [(1, 4)]


def test_staves_may_have_keys_of_their_own() -> None:
    """Two keys at once are kept by staff; the same key on both is one for all."""
    keys = '<key number="1"><fifths>2</fifths></key><key number="2"><fifths>{}</fifths></key>'
    content = note("C4", 4, staff=1) + move(-4) + note("C3", 4, staff=2, voice=2)
    for lower, expected in ((-1, [(1, 2), (2, -1)]), (2, [(None, 2)])):
        head = opening(fifths=None, staves=2).replace("<time>", keys.format(lower) + "<time>")
        part = read(bars(content, first=head))
        assert [(key.staff, key.fifths) for key in part.keys] == expected


def test_time_signatures_of_every_kind() -> None:
    """Additive, common, cut, hidden and free: length and sign as printed."""
    for time, groups, symbol, length in (
        (
            "<time><beats>3+2</beats><beat-type>8</beat-type></time>",
            (((3, 2), 8),),
            "normal",
            Fraction(5, 2),
        ),
        (
            '<time symbol="common"><beats>4</beats><beat-type>4</beat-type></time>',
            (((4,), 4),),
            "common",
            4,
        ),
        (
            '<time symbol="cut"><beats>2</beats><beat-type>2</beat-type></time>',
            (((2,), 2),),
            "cut",
            4,
        ),
        (
            '<time print-object="no"><beats>4</beats><beat-type>4</beat-type></time>',
            (((4,), 4),),
            "none",
            4,
        ),
        (
            "<time><beats>2</beats><beat-type>4</beat-type><beats>3</beats>"
            "<beat-type>8</beat-type></time>",
            (((2,), 4), ((3,), 8)),
            "normal",
            Fraction(7, 2),
        ),
    ):
        part = read(
            measure(f"<attributes><divisions>96</divisions>{time}</attributes>" + note("C4", 4))
        )
        assert part.bars[0].time.groups == groups
        assert part.bars[0].time.symbol == symbol
        assert part.bars[0].time.length == length


def test_free_time_is_as_long_as_its_notes() -> None:
    """Senza misura: seven quarters without a signature are no mistake."""
    time = "<attributes><divisions>96</divisions><time><senza-misura/></time></attributes>"
    seven = "".join(note("C4", 1) for _ in range(7))
    part = read(measure(time + seven, 1) + measure(seven, 2) + measure(seven, 3))
    assert part.bars[1].length == 7
    assert part.bars[1].time.symbol == "none"
    assert told(part) == []


def test_system_and_page_breaks_and_printed_numbers() -> None:
    """The source's layout is kept; a number that is printed otherwise is the printed one."""
    part = read(
        measure(opening() + note("C4", 4), 1)
        + measure('<print new-system="yes"/>' + note("C4", 4), 2, 'text="2a"')
        + measure('<print new-page="yes"/>' + note("C4", 4), 3)
    )
    assert [bar.number for bar in part.bars] == ["1", "2a", "3"]
    assert [bar.new_system for bar in part.bars] == [False, True, False]
    assert [bar.new_page for bar in part.bars] == [False, False, True]


def test_a_harp_in_two_parts_is_one_part_of_two_staves() -> None:
    """Upper and lower staff as parts of their own: staves, voices, clefs and names are joined."""
    upper = bars(note("C5", 4), first=opening(clefs="<clef><sign>G</sign></clef>"))
    lower = bars(note("C3", 4), first=opening(clefs="<clef><sign>F</sign></clef>"))
    heads = part_head("P1", "Harp RH") + part_head("P2", "Harp LH")
    part = read_score(
        full_score([("P1", "", upper), ("P2", "", lower)], part_list=heads), "score.xml"
    )
    assert part.staves == 2
    assert part.part_name == "Harp"
    assert [(event.staff, event.voice, event.id) for event in part.events] == [
        (1, "1", "P1-m1-n1"),
        (2, "5", "P2-m1-n1"),
    ]
    assert [(clef.staff, clef.sign, clef.line) for clef in part.clefs] == [
        (1, "G", 2),
        (2, "F", 4),
    ]


def test_a_transposed_part_is_read_at_its_sound() -> None:
    """A clarinet in A: a written C in C major sounds A in A major (three sharps)."""
    transpose = "<transpose><diatonic>-2</diatonic><chromatic>-3</chromatic></transpose>"
    part = read(bars(note("C5", 4), first=opening(more=transpose)))
    assert str(part.events[0].heads[0].pitch) == "A4"
    assert part.keys[0].fifths == 3
    assert told(part) == [
        "bar 1, beat 1, staff 1: the part is transposed; it is read at the pitch that sounds"
    ]


def test_the_head_of_the_score_is_read() -> None:
    """Title, subtitle, names and rights from work, identification and on_page."""
    header = (
        "<work><work-title>Nocturne</work-title></work>"
        "<movement-title>for harp</movement-title>"
        '<identification><creator type="composer">A. Writer</creator>'
        '<creator type="lyricist">B. Poet</creator>'
        '<creator type="arranger">C. Arranger</creator>'
        "<rights>Public domain</rights></identification>"
    )
    part = read(bars(note("C4", 4)), header=header)
    assert (part.title, part.subtitle) == ("Nocturne", "for harp")
    assert (part.composer, part.lyricist, part.arranger) == ("A. Writer", "B. Poet", "C. Arranger")
    assert part.rights == "Public domain"
    on_page = (
        '<credit page="1"><credit-type>title</credit-type><credit-words>Étude</credit-words>'
        '</credit><credit page="1"><credit-type>composer</credit-type>'
        "<credit-words>D. Player</credit-words></credit>"
    )
    part = read(bars(note("C4", 4)), header=on_page)
    assert (part.title, part.composer) == ("Étude", "D. Player")


def test_a_timewise_score_is_the_same_score() -> None:
    """Bars that hold parts, or parts that hold bars: one music (MusicXML 4.0)."""
    attributes = opening()
    timewise = (
        '<score-timewise version="4.0"><part-list>'
        + part_head("P1", "Flute")
        + part_head("P2", "Harp")
        + "</part-list>"
        + f'<measure number="1"><part id="P1">{attributes}{note("G5", 4)}</part>'
        + f'<part id="P2">{attributes}{note("C4", 4)}</part></measure>'
        + f'<measure number="2"><part id="P1">{note("A5", 4)}</part>'
        + f'<part id="P2">{note("D4", 4)}</part></measure></score-timewise>'
    ).encode()
    partwise = full_score(
        [
            ("P1", "Flute", bars(note("G5", 4), note("A5", 4))),
            ("P2", "Harp", bars(note("C4", 4), note("D4", 4))),
        ]
    )
    assert read_score(timewise, "a.xml") == read_score(partwise, "a.xml")


def test_the_same_file_always_reads_the_same() -> None:
    """Reading is deterministic, identities included."""
    data = score(bars(note("C4", 2) + note("E4", 2), note("G4", 4)))
    assert read_score(data, "a.xml") == read_score(data, "a.xml")
