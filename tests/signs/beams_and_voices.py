"""Beams, stems, voices and staves."""

from __future__ import annotations

from fractions import Fraction

from signs.sign import LEFT, QUARTERS, Sign
from small_parts import line, small_part

from pedalsetter.analysis.part import (
    Beam,
)

__all__ = ["SIGNS"]

SIGNS: dict[str, Sign] = {
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
}
