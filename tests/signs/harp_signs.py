"""What is written before or over a note: arpeggios, glissandi, harmonics, ornaments, tremolos."""

from __future__ import annotations

from signs.sign import LEFT, QUARTERS, Sign, run
from small_parts import line, small_part

from pedalsetter.analysis.part import (
    Arpeggio,
    Beam,
    Ornament,
    SpannerEnd,
    Tremolo,
)

__all__ = ["SIGNS"]

SIGNS: dict[str, Sign] = {
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
}
