"""Fermatas, articulations, fingerings, lyrics, accidentals and heads."""

from __future__ import annotations

from fractions import Fraction

from signs.sign import QUARTERS, Sign
from small_parts import line, small_part

from pedalsetter.analysis.part import (
    Event,
    Lyric,
)

__all__ = ["SIGNS"]

SIGNS: dict[str, Sign] = {
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
}
