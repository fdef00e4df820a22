"""Ties, slurs and voices that cross."""

from __future__ import annotations

from signs.sign import QUARTERS, Sign, slur
from small_parts import line, small_part

__all__ = ["SIGNS"]

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
}
