"""Dynamics, hairpins, brackets and words."""

from __future__ import annotations

from fractions import Fraction

from signs.sign import LEFT, QUARTERS, Sign
from small_parts import direction, line, small_part

from pedalsetter.analysis.part import (
    Arpeggio,
    Beam,
    DirectionKind,
)

__all__ = ["SIGNS"]

D = DirectionKind

SIGNS: dict[str, Sign] = {
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
        "beams between the staves leave no room there: the upper staff has its dynamics above",
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
        (r"^\mf", r"\stemUp c8", r"\voiceTwo"),
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
}
