"""Tuplets and grace notes."""

from __future__ import annotations

from fractions import Fraction

from signs.sign import LEFT, THIRD, TRIPLET, Sign, slur
from small_parts import line, small_part

from pedalsetter.analysis.part import (
    Beam,
    ClefChange,
    Grace,
    TupletGroup,
)

__all__ = ["SIGNS"]

SIGNS: dict[str, Sign] = {
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
}
