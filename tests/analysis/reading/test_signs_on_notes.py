"""What hangs on a note: arpeggios, glissandi, ornaments, tremolos, slurs and playing signs."""

# Whole numbers stand for fractions in what is expected.
# mypy: disable-error-code="comparison-overlap"

from __future__ import annotations

import pytest
from score_snippets import TREBLE_AND_BASS, bars, move, note, one_event, opening, read, told

from pedalsetter.analysis.part import Arpeggio, NotatedLength, Ornament, SpannerEnd, Tremolo


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
    assert one_event(sign).arpeggio == expected


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
    plain = one_event("<technical><harmonic/></technical>")
    assert (plain.harmonic, plain.harmonic_printed_at_sound) == (True, False)
    based = one_event("<technical><harmonic><natural/><base-pitch/></harmonic></technical>")
    assert (based.harmonic, based.harmonic_printed_at_sound) == (True, False)
    sounding = one_event("<technical><harmonic><natural/><sounding-pitch/></harmonic></technical>")
    assert (sounding.harmonic, sounding.harmonic_printed_at_sound) == (True, True)


def test_ornaments_with_their_accidentals() -> None:
    """A trill with a flat above, a turn with a sharp above and a natural below."""
    event = one_event(
        "<ornaments><trill-mark placement='above'/><accidental-mark>flat</accidental-mark>"
        "</ornaments>"
    )
    assert event.ornaments == (Ornament("trill-mark", above=-1, placement="above"),)
    event = one_event(
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
    assert one_event(
        "<ornaments><tremolo type='single'>3</tremolo></ornaments>"
    ).tremolo == Tremolo("single", 3)
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
