"""Each sign of the notation, engraved from a small hand-built part.

All parts run through LilyPond once. What is drawn is counted by LilyPond itself (its grobs), what
sounds is read from its MIDI, and no part may cause a complaint.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path

import pytest
from midi_oracle import Engraved, engrave_scores, midi_strikes, part_strikes, plain_score, unlike
from small_parts import COMMON, bar_rests, direction, line, pitch, small_part, time

from pedalsetter.analysis.part import (
    Arpeggio,
    BarlineStyle,
    Beam,
    ClefChange,
    DirectionKind,
    Ending,
    Event,
    Grace,
    HarpPart,
    KeyChange,
    Lyric,
    NotatedLength,
    Ornament,
    SpannerEnd,
    TimeSignature,
    Tremolo,
    TupletGroup,
)
from pedalsetter.engrave.notation.engraver_score import source
from pedalsetter.engrave.notation.score import build_score
from pedalsetter.engrave.notation.timeline import bar_units

pytestmark = pytest.mark.engraving


@dataclass(frozen=True, slots=True)
class Sign:
    """A part with one sign, and what must come of it."""

    truth: str
    part: HarpPart
    drawn: Mapping[str, int] = field(default_factory=dict)
    """Grobs and how many of each."""
    written: tuple[str, ...] = ()
    """What the source must hold."""
    unwritten: tuple[str, ...] = ()
    sounds: bool = True
    """Whether LilyPond's MIDI can be compared: it plays tremolos out."""


def slur(start: bool, number: int = 1, **more: str) -> SpannerEnd:
    """One end of a slur."""
    return SpannerEnd("slur", number, start, **more)


def run(kind: str, start: bool, **more: str) -> dict[str, object]:
    """Field of a head: one end of a glissando or slide."""
    return {"spanners": (SpannerEnd(kind, 1, start, **more),)}


TRIPLET = TupletGroup("t1", 3, 2)
THIRD = Fraction(2, 3)
QUARTERS = "C5/4 D5/4 E5/4 F5/4"
D = DirectionKind

LEFT = {"staff": 2, "voice": "5"}

SIGNS: dict[str, Sign] = {
    "tie over the barline": Sign(
        "a tie joins two notes of a pitch and is not struck again",
        small_part(
            line("C5/1", heads={(0, 0): {"tie_start": True}}),
            line("C5/1", bar=1, at=4, heads={(0, 0): {"tie_stop": True}}),
            bars=2,
        ),
        {"Tie": 1},
        ("c''1 ~",),
    ),
    "tie of part of a chord": Sign(
        "only the tied heads of a chord are joined",
        small_part(
            line("C5+E5/2 C5+F5/2", heads={(0, 0): {"tie_start": True}, (1, 0): {"tie_stop": True}})
        ),
        {"Tie": 1},
        ("<c''~ e''>2",),
    ),
    "let ring": Sign(
        "l.v. is a tie to nothing",
        small_part(line("C5+E5/1", heads={(0, 1): {"let_ring": True}})),
        {"LaissezVibrerTie": 1},
    ),
    "tie into a second ending": Sign(
        "a tie without beginning is a half tie before its note",
        small_part(line("C5/1", heads={(0, 0): {"tie_stop": True}})),
        {"RepeatTie": 1},
        sounds=False,
    ),
    "tie into another voice": Sign(
        "voices that the source exchanges at the barline are followed along their ties",
        small_part(
            line("C5/1", voice="1", heads={(0, 0): {"tie_start": True}}),
            line("E4/1", voice="2"),
            line("C5/1", voice="2", bar=1, at=4, heads={(0, 0): {"tie_stop": True}}),
            line("E4/1", voice="1", bar=1, at=4),
            bars=2,
        ),
        {"Tie": 1, "LaissezVibrerTie": 0},
    ),
    "nested slurs": Sign(
        "a slur within a slur: the longer one becomes LilyPond's phrasing slur",
        small_part(
            line(
                QUARTERS,
                marks={
                    0: {"spanners": (slur(True), slur(True, 2))},
                    1: {"spanners": (slur(False, 2),)},
                    3: {"spanners": (slur(False),)},
                },
            )
        ),
        {"Slur": 1, "PhrasingSlur": 1},
    ),
    "chained slurs": Sign(
        "one slur may begin on the note where another ends",
        small_part(
            line(
                QUARTERS,
                marks={
                    0: {"spanners": (slur(True),)},
                    1: {"spanners": (slur(False), slur(True))},
                    3: {"spanners": (slur(False),)},
                },
            )
        ),
        {"Slur": 2},
    ),
    "dashed slur below": Sign(
        "a slur keeps its side and its line",
        small_part(
            line(
                QUARTERS,
                marks={
                    0: {"spanners": (slur(True, placement="below", line="dashed"),)},
                    2: {"spanners": (slur(False),)},
                },
            )
        ),
        {"Slur": 1},
        ("dash-definition", "_("),
    ),
    "slur without end": Sign(
        "a slur that never ends is left out, not drawn to somewhere",
        small_part(line(QUARTERS, marks={1: {"spanners": (slur(True),)}})),
        {"Slur": 0},
    ),
    "beams of the source": Sign(
        "notes are beamed as the source has them, and only those",
        small_part(
            line(
                "C5/8 D5/8 E5/8 F5/8 G5/8 A5/8 B5/4",
                marks={0: {"beam": Beam.BEGIN}, 1: {"beam": Beam.CONTINUE}, 2: {"beam": Beam.END}},
            )
        ),
        {"Beam": 1, "Flag": 6},
        (r"\autoBeamOff",),
    ),
    "no beams given": Sign(
        "where a source says nothing of beams the engraver makes them",
        small_part(line("C5/8 D5/8 E5/8 F5/8 G5/8 A5/8 B5/8 C6/8")),
        {"Beam": 2},
        unwritten=(r"\autoBeamOff",),
    ),
    "stems of the source": Sign(
        "a stem that the source turns against the rule is turned",
        small_part(line("A5/4 A5/4 C4/4 C4/4", marks={0: {"stem": "up"}, 2: {"stem": "up"}})),
        {"Stem": 4},
        (r"\stemUp",),
    ),
    "two voices on a staff": Sign(
        "stems tell two voices apart only in the bar that has two",
        small_part(
            line(QUARTERS, voice="1"),
            line("C4/2 D4/2", voice="2"),
            line(QUARTERS, voice="1", bar=1, at=4),
            bars=2,
        ),
        {"NoteHead": 10},
        (r"\voiceOne c''4", r"\voiceTwo c'2", r"\oneVoice c''4"),
    ),
    "four voices at one moment": Sign(
        "four voices on one staff do not clash",
        small_part(
            line("G5/2 A5/2", voice="1"),
            line("E5/4 F5/4 E5/2", voice="2"),
            line("A4/2. B4/4", voice="3"),
            line("C4/1", voice="4"),
        ),
        {"NoteHead": 8},
        (r"\voiceOne", r"\voiceThree", r"\voiceFour", r"\voiceTwo"),
    ),
    "cross-staff run": Sign(
        "a voice crosses to the other staff and comes back",
        small_part(
            line("C3/8 G3/8", staff=2, voice="5"),
            line("E4/8 C5/8", at=1, staff=1, voice="5"),
            line("G4/2", at=2, staff=2, voice="5"),
            line("r/1", staff=1, voice="1"),
            staves=2,
        ),
        {"NoteHead": 5},
        (r'\change Staff = "upper"', r'\change Staff = "lower"'),
    ),
    "triplet": Sign(
        "three in the time of two, one number",
        small_part(
            line(
                "C5/8 D5/8 E5/8", scale=THIRD, marks={i: {"tuplets": (TRIPLET,)} for i in range(3)}
            ),
            line("F5/2.", at=1),
        ),
        {"TupletNumber": 1},
        (r"\tuplet 3/2 { c''8 d''8 e''8 }",),
    ),
    "nested tuplets": Sign(
        "a triplet within a quintuplet lasts exactly its share",
        small_part(
            line(
                "C5/8 D5/8 E5/8",
                scale=Fraction(4, 5) * THIRD,
                marks={i: {"tuplets": (TupletGroup("o", 5, 4), TRIPLET)} for i in range(3)},
            ),
            line(
                "F5/4 G5/4 A5/4 B5/4",
                at=Fraction(4, 5),
                scale=Fraction(4, 5),
                marks={i: {"tuplets": (TupletGroup("o", 5, 4),)} for i in range(4)},
            ),
        ),
        {"TupletNumber": 2},
        (r"\tuplet 5/4 { \tuplet 3/2 {",),
    ),
    "tuplet with ratio and bracket": Sign(
        "number, bracket and side of a tuplet are the source's",
        small_part(
            line(
                "C5/4 D5/4 E5/4",
                scale=THIRD,
                marks={
                    i: {"tuplets": (TupletGroup("t", 3, 2, True, "both", "below"),)}
                    for i in range(3)
                },
            ),
            line("F5/2", at=2),
        ),
        {"TupletBracket": 1},
        (r"\tweak direction #DOWN", "calc-fraction-text"),
    ),
    "tuplet over the barline": Sign(
        "a tuplet broken by the barline keeps exact time in both bars",
        small_part(
            line("C5/2.", at=0),
            line("D5/4", at=3, marks={0: {"tuplets": (TRIPLET,)}}, scale=THIRD),
            line("r/4", at=3 + THIRD, scale=Fraction(1, 3), marks={0: {"visible": False}}),
            line("E5/4 F5/4", bar=1, at=4, marks={0: {"tuplets": (TRIPLET,)}}, scale=THIRD),
            bars=2,
            lengths={1: 2 * THIRD},
        ),
        {"NoteHead": 4},
    ),
    "length unlike its sign": Sign(
        "a note that lasts otherwise than printed keeps the bar exact",
        small_part(line("C5/4 D5/4", scale=Fraction(3, 2)), line("E5/4", at=3)),
        {"NoteHead": 3},
        ("c''4*3/2",),
    ),
    "grace notes": Sign(
        "graces take no time; a slash is drawn where the source has one",
        small_part(
            line(
                "C5/4 g:D5/16 g:E5/16 D5/4 g:F5/8 E5/2",
                marks={4: {"grace": Grace(slash=True)}},
            )
        ),
        {"NoteHead": 6},
        (r"\grace { d''16 e''16 }", r"\slashedGrace { f''8 }"),
        sounds=True,
    ),
    "graces at the barline": Sign(
        "clef and barline stay in line where only one voice has graces",
        small_part(
            line("C5/1", staff=1),
            line("C3/1", **LEFT),
            line("g:D5/16 g:E5/16 C5/1", bar=1, at=4),
            line("C4/1", bar=1, at=4, **LEFT),
            bars=2,
            staves=2,
            clefs=(ClefChange(Fraction(4), 1, 2, "G", 2),),
        ),
        {"NoteHead": 6},
        (r"\grace { s8 }",),
    ),
    "after-notes": Sign(
        "notes after a trill stand before the barline",
        small_part(
            line("D5/1 g:C5/16 g:D5/16", marks={1: {"grace": Grace(after=True)}}),
            line("E5/1", bar=1, at=4),
            bars=2,
        ),
        {"NoteHead": 4},
        (r"\afterGrace d''1 { c''16 d''16 }",),
    ),
    "arpeggio up and down": Sign(
        "arrows show the way of an arpeggio",
        small_part(
            line(
                "C4+E4+G4/2 C4+E4+G4/4 C4+E4+G4/4",
                marks={
                    0: {"arpeggio": Arpeggio("up")},
                    1: {"arpeggio": Arpeggio("down")},
                    2: {"arpeggio": Arpeggio("bracket")},
                },
            )
        ),
        {"Arpeggio": 3},
        ("arpeggio-direction = #UP", "arpeggio-direction = #DOWN", "brew-chord-bracket"),
    ),
    "arpeggio over both staves": Sign(
        "one number at one moment is one sign over both staves",
        small_part(
            line("C5+E5+G5/1", marks={0: {"arpeggio": Arpeggio("plain")}}),
            line("C3+G3/1", marks={0: {"arpeggio": Arpeggio("plain")}}, **LEFT),
            staves=2,
        ),
        {"Arpeggio": 3},  # one a staff, and the one that spans them
        (r"\once \set PianoStaff.connectArpeggios = ##t",),
    ),
    "arpeggio in each staff": Sign(
        "two numbers at one moment are two signs",
        small_part(
            line("C5+E5+G5/1", marks={0: {"arpeggio": Arpeggio("plain", 1)}}),
            line("C3+G3/1", marks={0: {"arpeggio": Arpeggio("plain", 2)}}, **LEFT),
            staves=2,
        ),
        {"Arpeggio": 2},
    ),
    "arpeggio over two voices of a staff": Sign(
        "a sign on one note of several voices spans its staff",
        small_part(
            line("C5+E5/1", voice="1"),
            line("C4/1", voice="2", marks={0: {"arpeggio": Arpeggio("plain")}}),
        ),
        {"Arpeggio": 3},
        (r"\once \set Staff.connectArpeggios = ##t",),
    ),
    "glissando": Sign(
        "a glissando leads from its first note to its last, and says so",
        small_part(
            line(
                "C5/4 E5/4 G5/4 C6/4",
                heads={
                    (0, 0): run("glissando", True, line="wavy", text="gliss."),
                    (3, 0): run("glissando", False),
                },
            )
        ),
        {"Glissando": 1, "TextScript": 1},
        ("zigzag", '"gliss."', "glissando-skip"),
    ),
    "slide between chords": Sign(
        "a slide joins the heads that it names, not the others",
        small_part(
            line(
                "C4+E4/2 D4+F4/2",
                heads={(0, 1): run("slide", True), (1, 1): run("slide", False)},
            )
        ),
        {"Glissando": 1},
        ("#'((1 . 1))",),
    ),
    "harmonics": Sign(
        "a harp harmonic has a circle over its note",
        small_part(line("C4/2 D4/2", marks={0: {"harmonic": True}})),
        {"Script": 1},
        (r"\flageolet",),
    ),
    "diamond heads": Sign(
        "a harmonic that the source writes with a diamond has a diamond, not a circle too",
        small_part(
            line("C4/1", marks={0: {"harmonic": True}}, heads={(0, 0): {"shape": "diamond"}})
        ),
        {"Script": 0},
        ("#'harmonic",),
    ),
    "trill line": Sign(
        "a trill with a line ends before the next note",
        small_part(
            line(
                "D5/2 C5/2",
                marks={
                    0: {
                        "ornaments": (Ornament("trill-mark"),),
                        "spanners": (
                            SpannerEnd("wavy-line", 1, True),
                            SpannerEnd("wavy-line", 1, False),
                        ),
                    }
                },
            )
        ),
        {"TrillSpanner": 1, "Script": 0},
    ),
    "trill before a change of staff": Sign(
        "a voice with a trill line may go to the other staff later on",
        small_part(
            line(
                "D5/2",
                marks={
                    0: {
                        "ornaments": (Ornament("trill-mark"),),
                        "spanners": (SpannerEnd("wavy-line", 1, True),),
                    }
                },
            ),
            line("G3/2", at=2, staff=2, voice="1"),
            line("C3/1", staff=2, voice="5"),
            staves=2,
        ),
        {"TrillSpanner": 1},
        (r'\change Staff = "lower"',),
    ),
    "notes close under a beam between the staves": Sign(
        "staves give way where stems of both would meet",
        small_part(
            line(
                "B3/16",
                marks={0: {"beam": Beam.BEGIN}},
                **LEFT,
            ),
            line(
                "C4/16 E4/16",
                at=Fraction(1, 4),
                voice="5",
                marks={0: {"beam": Beam.CONTINUE}, 1: {"beam": Beam.CONTINUE}},
            ),
            line("C4/16", at=Fraction(3, 4), marks={0: {"beam": Beam.END}}, **LEFT),
            line("C3/2.", at=1, **LEFT),
            line("C6/1", voice="1"),
            staves=2,
        ),
        {"Beam": 1},
        ("staff-staff-spacing.minimum-distance = #1",),
    ),
    "bar rest beside another voice": Sign(
        "a rest that fills the bar is lifted over the notes of a visitor",
        small_part(
            (Event("rest", 0, Fraction(0), Fraction(4), 1, "1"),),
            line("C3/4 G3/4", **LEFT),
            line("G5/4", at=2, voice="5"),
            line("C3/4", at=3, **LEFT),
            line("C3/4 D3/4 E3/4 F3/4", staff=2, voice="6"),
            staves=2,
        ),
        {"MultiMeasureRest": 1},
        ("MultiMeasureRest.staff-position = #8",),
    ),
    "ornaments": Sign(
        "trill, mordents and turns have their signs, accidentals above or below",
        small_part(
            line(
                QUARTERS,
                marks={
                    0: {"ornaments": (Ornament("trill-mark", above=-1),)},
                    1: {"ornaments": (Ornament("mordent"),)},
                    2: {"ornaments": (Ornament("inverted-mordent"),)},
                    3: {"ornaments": (Ornament("turn", below=1),)},
                },
            )
        ),
        {"Script": 2, "TextScript": 2},
        (r"\mordent", r"\prall", r"\teeny \flat", r"\teeny \sharp"),
    ),
    "tremolo on one note": Sign(
        "strokes on a stem: three are thirty-seconds, on an eighth too",
        small_part(
            line(
                "C5/4 D5/8 E5/8 F5/2",
                marks={0: {"tremolo": Tremolo("single", 3)}, 1: {"tremolo": Tremolo("single", 2)}},
            )
        ),
        {"StemTremolo": 2},
        ("c''4 :32", "d''8 :32"),
        sounds=False,
    ),
    "tremolo between two notes": Sign(
        "two half notes in alternation share a whole bar",
        small_part(
            line(
                "C5/2 E5/2",
                marks={0: {"tremolo": Tremolo("start", 3)}, 1: {"tremolo": Tremolo("stop", 3)}},
            )
        ),
        {"NoteHead": 2, "Beam": 1},
        (r"\repeat tremolo 16 { c''32 e''32 }",),
        sounds=False,
    ),
    "tremolo between two eighths": Sign(
        "a tremolo brings its own beams, those of the source would double them",
        small_part(
            line(
                "C5/8 E5/8 C5/4 D5/2",
                marks={
                    0: {"tremolo": Tremolo("start", 2), "beam": Beam.BEGIN},
                    1: {"tremolo": Tremolo("stop", 2), "beam": Beam.END},
                },
            )
        ),
        {"Beam": 1},
        (r"\repeat tremolo 4 { c''32 e''32 }",),
        sounds=False,
    ),
    "grace slurred to its note": Sign(
        "a slur may lead from the first grace to the note, a beam joins the graces",
        small_part(
            line(
                "C5/2 g:D5/16 g:E5/16 D5/2",
                marks={
                    1: {"beam": Beam.BEGIN, "spanners": (slur(True),)},
                    2: {"beam": Beam.END},
                    3: {"spanners": (slur(False),)},
                },
            )
        ),
        {"Slur": 1, "Beam": 1},
    ),
    "octave bracket": Sign(
        "8va: written an octave lower, sounding where the part says",
        small_part(
            line("C6/4 D6/4 E6/4 F6/4"),
            directions=(
                direction(D.OCTAVE_START, 1, staff=1, shape="8va"),
                direction(D.OCTAVE_STOP, 3, staff=1, shape="8va"),
            ),
        ),
        {"OttavaBracket": 1},
        (r"\ottava #1", r"\ottava #0"),
    ),
    "dynamics": Sign(
        "every dynamic is printed, a rare one in its own letters",
        small_part(
            line(QUARTERS),
            directions=(
                direction(D.DYNAMIC, 0, staff=1, text="pp"),
                direction(D.DYNAMIC, 1, staff=1, text="sfz"),
                direction(D.DYNAMIC, 2, staff=1, text="rfz"),
                direction(D.DYNAMIC, 3, staff=1, text="sffzp"),
            ),
        ),
        {"DynamicText": 3, "TextScript": 1},
        ('"sffzp"',),
    ),
    "dynamics between the staves": Sign(
        "keyboard dynamics stand between the staves",
        small_part(
            line("C5/1"),
            line("C3/1", **LEFT),
            staves=2,
            directions=(direction(D.DYNAMIC, 0, staff=1, placement="below", text="mf"),),
        ),
        {"DynamicText": 1},
        (r"\context Dynamics",),
    ),
    "hairpins": Sign(
        "a hairpin runs from moment to moment, whatever the notes do",
        small_part(
            line("C5/1"),
            directions=(
                direction(D.WEDGE_START, 0, staff=1, shape="crescendo", niente=True),
                direction(D.WEDGE_STOP, 2, staff=1),
                direction(D.WEDGE_START, 2, staff=1, shape="diminuendo"),
                direction(D.WEDGE_STOP, 4, staff=1),
            ),
        ),
        {"Hairpin": 2},
        ("circled-tip",),
    ),
    "hairpin without end": Sign(
        "a hairpin that never ends is left out",
        small_part(
            line("C5/1"),
            directions=(direction(D.WEDGE_START, 0, staff=1, shape="crescendo"),),
        ),
        {"Hairpin": 0},
    ),
    "two hairpins at once": Sign(
        "each staff may have a hairpin of its own at one time",
        small_part(
            line("C5/1"),
            line("C3/1", **LEFT),
            staves=2,
            directions=(
                direction(D.WEDGE_START, 0, staff=1, placement="below", shape="crescendo"),
                direction(D.WEDGE_START, 1, staff=2, placement="above", shape="diminuendo"),
                direction(D.WEDGE_STOP, 3, staff=1),
                direction(D.WEDGE_STOP, 4, staff=2),
            ),
        ),
        {"Hairpin": 2},
    ),
    "hairpin beside a dynamic": Sign(
        "a hairpin that begins a hair behind a dynamic begins with it",
        small_part(
            line("C5/1"),
            directions=(
                direction(D.DYNAMIC, 0, staff=1, placement="below", text="p"),
                direction(
                    D.WEDGE_START, Fraction(1, 8), staff=1, placement="below", shape="crescendo"
                ),
                direction(D.WEDGE_STOP, 4, staff=1),
            ),
        ),
        {"Hairpin": 1, "DynamicText": 1},
        (r"_\< _\p",),
    ),
    "dynamics where a voice crosses": Sign(
        "beams between the staves leave no room for dynamics there: they go below",
        small_part(
            line(
                "C3/8 G3/8",
                marks={0: {"beam": Beam.BEGIN}, 1: {"beam": Beam.CONTINUE}},
                **LEFT,
            ),
            line(
                "E4/8 C5/8",
                at=1,
                voice="5",
                marks={0: {"beam": Beam.CONTINUE}, 1: {"beam": Beam.END}},
            ),
            line("C3/2", at=2, **LEFT),
            line("G5/1", voice="1"),
            staves=2,
            directions=(direction(D.DYNAMIC, 0, staff=1, placement="below", text="mf"),),
        ),
        {"DynamicText": 1, "Beam": 1},
        (r"_\mf", r"\stemUp c8", r"\voiceTwo"),
        (r"\context Dynamics",),
    ),
    "dynamic at a long arpeggio": Sign(
        "a dynamic between the staves stands right of an arpeggio that runs through",
        small_part(
            line("C5+E5/1", marks={0: {"arpeggio": Arpeggio("plain")}}),
            line("C3+G3/1", marks={0: {"arpeggio": Arpeggio("plain")}}, **LEFT),
            staves=2,
            directions=(direction(D.DYNAMIC, 0, staff=1, placement="below", text="f"),),
        ),
        {"DynamicText": 1, "Arpeggio": 3},
        ("DynamicText.self-alignment-X = #LEFT",),
    ),
    "bracket": Sign(
        "a bracket is a solid line with a hook",
        small_part(
            line(QUARTERS),
            directions=(
                direction(D.BRACKET_START, 0, staff=1, placement="above"),
                direction(D.BRACKET_STOP, 3, staff=1),
            ),
        ),
        {"TextSpanner": 1},
        (r"\draw-line",),
    ),
    "two octaves, below": Sign(
        "15ma and 8vb",
        small_part(
            line("C7/4 D7/4 E2/4 F2/4"),
            directions=(
                direction(D.OCTAVE_START, 0, staff=1, shape="15ma"),
                direction(D.OCTAVE_STOP, 2, staff=1, shape="15ma"),
                direction(D.OCTAVE_START, 2, staff=1, shape="8vb"),
                direction(D.OCTAVE_STOP, 4, staff=1, shape="8vb"),
            ),
        ),
        {"OttavaBracket": 2},
        (r"\ottava #2", r"\ottava #-1"),
    ),
    "words and dashes": Sign(
        "cresc. with dashes is one line that begins with its word",
        small_part(
            line(QUARTERS),
            directions=(
                direction(D.WORDS, 0, staff=1, text="cresc.", italic=True, placement="below"),
                direction(D.DASHES_START, 0, staff=1, placement="below"),
                direction(D.DASHES_STOP, 3, staff=1),
                direction(D.WORDS, 2, staff=1, text="dolce", bold=True, placement="above"),
            ),
        ),
        {"TextSpanner": 1, "TextScript": 1},
        (r'\markup \italic "cresc."', r'\markup \bold "dolce"'),
    ),
    "damping": Sign(
        "the signs for damping are drawn",
        small_part(
            line("C5/2 r/2"),
            directions=(direction(D.DAMP, 2, staff=1), direction(D.DAMP_ALL, 3, staff=1)),
        ),
        {"TextScript": 2},
    ),
    "fermatas": Sign(
        "a fermata stands on a note, on a rest and over a barline",
        small_part(
            line(
                "C5/2 r/2",
                marks={
                    0: {"fermatas": (("angled", "above"),)},
                    1: {"fermatas": (("normal", "below"),)},
                },
            ),
            bar_fields={0: {"barline_fermatas": ("above",)}},
        ),
        {"Script": 2, "TextMark": 1},
    ),
    "fermata on a bar rest": Sign(
        "a silent bar may have a fermata",
        small_part(
            (Event("f", 0, Fraction(0), Fraction(4), 1, "1", fermatas=(("normal", "above"),)),)
        ),
        {"MultiMeasureRest": 1, "MultiMeasureRestScript": 1},
    ),
    "articulations": Sign(
        "dots, wedges, accents, strokes, breath and caesura",
        small_part(
            line(
                "C5/8 D5/8 E5/8 F5/8 G5/8 A5/8 B5/4",
                marks={
                    0: {"articulations": (("staccato", None),)},
                    1: {"articulations": (("staccatissimo", "above"),)},
                    2: {"articulations": (("accent", None), ("tenuto", "below"))},
                    3: {"articulations": (("strong-accent", None),)},
                    4: {"articulations": (("detached-legato", None),)},
                    5: {"articulations": (("breath-mark", None),)},
                    6: {"articulations": (("caesura", None),)},
                },
            )
        ),
        {"Script": 6, "BreathingSign": 2},
    ),
    "fingerings and playing signs": Sign(
        "fingerings stand at their heads, playing signs over the note",
        small_part(
            line(
                "C5+E5/2 G5/2",
                heads={
                    (0, 0): {"fingerings": ("2",)},
                    (0, 1): {"fingerings": ("1",)},
                    (1, 0): {"fingerings": ("4-3",)},
                },
                marks={1: {"technical": (("snap-pizzicato", ""),)}},
            )
        ),
        {"Fingering": 3, "Script": 1},
    ),
    "clefs": Sign(
        "clefs change within a bar, also with octave",
        small_part(
            line(QUARTERS),
            clefs=(
                ClefChange(Fraction(0), 0, 1, "G", 2),
                ClefChange(Fraction(2), 0, 1, "F", 4),
                ClefChange(Fraction(3), 0, 1, "G", 2, -1),
            ),
        ),
        {"NoteHead": 4},
        (r'\clef "bass"', r'\clef "treble_8"'),
    ),
    "keys": Sign(
        "a key signature has the signs of the part, a change cancels the old ones",
        small_part(
            line("F#5/1"),
            line("Bb4/1", bar=1, at=4),
            bars=2,
            keys=(KeyChange(Fraction(0), 0, 4), KeyChange(Fraction(4), 1, -3, "minor")),
        ),
        {"Accidental": 0},
        (r"\key e \major", r"\key c \minor"),
    ),
    "signatures": Sign(
        "cut time, an additive signature, and a bar without one",
        small_part(
            line("C5/1"),
            line("C5/8 D5/8 E5/8 F5/8 G5/8", bar=1, at=4),
            line("C5/1 D5/2", bar=2, at=Fraction(13, 2)),
            bars=3,
            bar_fields={
                0: {"time": time(2, 2, "cut")},
                1: {"time": TimeSignature((((3, 2), 8),))},
                2: {"time": time(6, 4, "none")},
            },
        ),
        {"NoteHead": 8},
        (r"\time 2/2", r"\compoundMeter #'((3 2 8))", r"\omit Score.TimeSignature"),
    ),
    "pickup and split bar": Sign(
        "bars shorter than their signature hold their bar check",
        small_part(
            line("C5/4"),
            line(QUARTERS, bar=1, at=1),
            line("C5/2", bar=2, at=5),
            line("C5/2", bar=3, at=7),
            bars=4,
            lengths={0: 1, 2: 2, 3: 2},
            bar_fields={0: {"number": "0", "implicit": True}, 3: {"number": "X1"}},
        ),
        {"NoteHead": 7},
        (
            "measureLength = #(ly:make-moment 1/4)",
            "currentBarNumber = #0",
            "currentBarNumber = #3",
        ),
    ),
    "gathered rests": Sign(
        "bars of rest are one sign with their number",
        small_part(line("C5/1"), bar_rests(range(1, 6)), line("C5/1", bar=6, at=24), bars=7),
        {"MultiMeasureRest": 1, "MultiMeasureRestNumber": 1},
        ("R1*5",),
    ),
    "rests interrupted": Sign(
        "a mark within a long rest breaks it in two",
        small_part(
            bar_rests(range(5)),
            bars=5,
            directions=(direction(D.REHEARSAL, 12, bar=3, text="A"),),
        ),
        {"MultiMeasureRest": 2, "RehearsalMark": 1},
        ("R1*3", "R1*2"),
    ),
    "rests of two voices": Sign(
        "two voices that rest through a bar show one rest",
        small_part(
            bar_rests([0]),
            (Event("second", 0, Fraction(0), Fraction(4), 1, "2"),),
            line("C5/1", bar=1, at=4),
            bars=2,
        ),
        {"MultiMeasureRest": 1},
    ),
    "rest where the source has it": Sign(
        "a rest stands at the height that the source names",
        small_part(
            line("C5/2 r/2", voice="1", marks={1: {"rest_pitch": pitch("D5")}}),
            line("C4/1", voice="2"),
        ),
        {"Rest": 1},
        (r"d''2\rest",),
    ),
    "unseen rest": Sign(
        "a rest that only keeps time is not printed",
        small_part(line("C5/2 r/4 C5/4", marks={1: {"visible": False}})),
        {"Rest": 0},
    ),
    "cue": Sign(
        "a cue is small, what follows is not",
        small_part(line("C5/2 D5/2", marks={0: {"cue": True}})),
        {"NoteHead": 2},
        (r"\set fontSize = #-3", r"\unset fontSize"),
    ),
    "lyrics": Sign(
        "two verses, syllables joined by hyphens",
        small_part(
            line(
                QUARTERS,
                marks={
                    0: {"lyrics": (Lyric("1", "Hal", "begin"), Lyric("2", "A"))},
                    1: {"lyrics": (Lyric("1", "le", "end"),)},
                    3: {"lyrics": (Lyric("2", "men", extend=False),)},
                },
            )
        ),
        {"LyricText": 4, "LyricHyphen": 1},
        ('"Hal"4 --',),
    ),
    "forced accidentals": Sign(
        "a courtesy sign of the source is printed though no rule asks for it",
        small_part(
            line(
                "F5/4 F#5/4 F#5/4 G5/4",
                heads={
                    (0, 0): {"accidental": "plain"},
                    (1, 0): {"accidental": "plain"},
                    (2, 0): {"accidental": "parentheses"},
                },
            )
        ),
        {"Accidental": 2, "AccidentalCautionary": 1},
        ("f''!4", "fs''4", "fs''?4"),
    ),
    "head shapes": Sign(
        "crosses, slashes and bracketed heads",
        small_part(
            line(
                QUARTERS,
                heads={
                    (0, 0): {"shape": "x"},
                    (1, 0): {"shape": "slash"},
                    (2, 0): {"parentheses": True},
                },
            )
        ),
        {"Parentheses": 1},
        ("#'cross", "#'slash"),
    ),
    "repeats and endings": Sign(
        "repeat signs and brackets stand as printed, nothing is played twice",
        small_part(
            *(line("C5/1", bar=bar, at=4 * bar) for bar in range(4)),
            bars=4,
            bar_fields={
                0: {"repeat_start": True},
                1: {"ending": Ending((1,), "1.", True, True), "repeat_times": 2},
                2: {"ending": Ending((2,), "2.", True, True)},
                3: {"right": BarlineStyle.FINAL},
            },
        ),
        {"VoltaBracket": 2},
        (r'\bar ".|:"', r'\bar ":|."', r'\bar "|."', '(volta "2.")'),
    ),
    "bracket that never stops": Sign(
        "a bracket ends where the next one begins, and with the score",
        small_part(
            *(line("C5/1", bar=bar, at=4 * bar) for bar in range(3)),
            bars=3,
            bar_fields={
                0: {"ending": Ending((1,), "1.", True, False), "repeat_times": 2},
                1: {"ending": Ending((2,), "", True, False)},
            },
        ),
        {"VoltaBracket": 2},
        ('((volta #f) (volta "2."))',),
    ),
    "barlines": Sign(
        "double, dashed, dotted and invisible barlines, also within a bar",
        small_part(
            *(line("C5/1", bar=bar, at=4 * bar) for bar in range(4)),
            bars=4,
            bar_fields={
                0: {
                    "right": BarlineStyle.DOUBLE,
                    "inner_barlines": ((Fraction(2), BarlineStyle.DASHED),),
                },
                1: {"right": BarlineStyle.DOTTED},
                2: {"right": BarlineStyle.NONE},
            },
        ),
        {"NoteHead": 4},
        (r'\bar "||"', r'\bar "!"', r'\bar ";"', r'\bar ""'),
    ),
    "mark row": Sign(
        "tempo, rehearsal mark, segno, coda and words of navigation stand above the system",
        small_part(
            line("C5/1"),
            line("C5/1", bar=1, at=4),
            bars=2,
            directions=(
                direction(D.TEMPO_WORDS, 0, text="Andante", bold=True),
                direction(
                    D.METRONOME, 0, text="66", beat_unit=NotatedLength(2, 1), parentheses=False
                ),
                direction(D.SEGNO, 0),
                direction(D.REHEARSAL, 4, bar=1, text="B"),
                direction(D.TEMPO_WORDS, 4, bar=1, text="rit.", italic=True),
                direction(D.CODA, 4, bar=1),
                direction(D.JUMP_WORDS, 7, bar=1, text="D.S. al Coda"),
            ),
        ),
        {"MetronomeMark": 2, "RehearsalMark": 1, "TextMark": 3},
        (r"4. = 66", r"\box \bold", r"\textEndMark"),
    ),
    "words that look like commands": Sign(
        "text of a score is text, whatever it says",
        small_part(
            line("C5/1", marks={0: {"lyrics": (Lyric("1", '}" #(quit) \\bye'),)}}),
            directions=(
                direction(D.WORDS, 0, staff=1, text='a" #(system "true") \\n%! b'),
                direction(D.TEMPO_WORDS, 0, text='"} \\break #(quit 3)'),
                direction(D.REHEARSAL, 0, text='#(display "x")'),
                direction(D.DYNAMIC, 0, staff=1, text='p"#'),
            ),
        ),
        {"TextScript": 2, "LyricText": 1, "RehearsalMark": 1, "MetronomeMark": 1},
    ),
}


@pytest.fixture(scope="module")
def engraved(tmp_path_factory: pytest.TempPathFactory) -> Engraved:
    """All parts, engraved in one run."""
    scores = [plain_score(sign.part) for sign in SIGNS.values()]
    return engrave_scores(scores, tmp_path_factory.mktemp("signs"))


def test_no_complaints(engraved: Engraved) -> None:
    """LilyPond finds nothing to warn of in any of the parts."""
    assert engraved.complaints == ()


@pytest.mark.parametrize("name", SIGNS)
def test_sign(name: str, engraved: Engraved) -> None:
    """What the part holds is drawn, written readably, and sounds at its time.

    Source: LilyPond's own count of grobs and its MIDI; names of grobs, LilyPond Internals
    Reference.
    """
    place = list(SIGNS).index(name)
    sign = SIGNS[name]
    grobs = engraved.grobs[place]
    assert {grob: grobs[grob] for grob in sign.drawn} == dict(sign.drawn), sign.truth
    text = plain_score(sign.part)
    for words in sign.written:
        assert words in text, sign.truth
    for words in sign.unwritten:
        assert words not in text, sign.truth
    if sign.sounds:
        found = midi_strikes(engraved.midi[place])
        assert unlike(part_strikes(sign.part), found) == ((), ()), sign.truth


def test_common_time_is_a_sign_of_its_own() -> None:
    """4/4 that the source writes in figures is not turned into C."""
    assert "'numbered" in plain_score(small_part(line("C5/1"), signature=COMMON))
    assert "'numbered" not in plain_score(small_part(line("C5/1"), signature=time(4, 4, "common")))


def test_folder_is_clean(tmp_path: Path) -> None:
    """A run leaves its page and its MIDI in its own folder."""
    done = engrave_scores([plain_score(small_part(line("C5/1")))], tmp_path)
    assert done.pdf.parent == tmp_path
    assert len(done.midi) == 1


def test_lines_break_as_in_the_source_when_asked() -> None:
    """Systems and pages of the source are kept only where the caller wants them."""
    part = small_part(
        *(line("C5/1", bar=bar, at=4 * bar) for bar in range(3)),
        bars=3,
        bar_fields={1: {"new_system": True}, 2: {"new_page": True}},
    )
    units = bar_units(part)
    kept = source(build_score(part, units, source_systems=True).timing)
    assert r"\break s1 | % 2" in kept
    assert r"\pageBreak s1 | % 3" in kept
    free = source(build_score(part, units).timing)
    assert r"\break" not in free
    assert r"\pageBreak" not in free
