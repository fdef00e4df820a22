"""Clefs, keys, signatures, bars, rests and barlines."""

from __future__ import annotations

from fractions import Fraction

from signs.sign import LEFT, QUARTERS, Sign
from small_parts import bar_rests, direction, line, pitch, small_part, time

from pedalsetter.analysis.part import (
    BarlineStyle,
    ClefChange,
    DirectionKind,
    Ending,
    Event,
    KeyChange,
    Lyric,
    NotatedLength,
    TimeSignature,
)

__all__ = ["SIGNS"]

D = DirectionKind

SIGNS: dict[str, Sign] = {
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
