"""Slurs within voices, between voices and between staves."""

from __future__ import annotations

from pages.case import Case, beam, slur, solo
from score_snippets import move, note

__all__ = ["CASES"]


def _high(name: str, quarters: object = 1, notations: str = "") -> str:
    return note(name, quarters, voice=1, staff=1, notations=notations)


def _low(name: str, quarters: object = 1, notations: str = "") -> str:
    return note(name, quarters, voice=5, staff=2, notations=notations)


_DOWN = (
    _high("C5", 2, slur("start"))
    + _high("D5", 2)
    + move(-4)
    + _low("C3", 2)
    + _low("E3", 2, slur("stop"))
)
_UP = (
    _high("C5", 2)
    + _high("D5", 2, slur("stop"))
    + move(-4)
    + _low("C3", 2, slur("start"))
    + _low("E3", 2)
)

_OVERLAPPING = (
    _low("F#3", 1)
    + _low("F#3", 1, slur("start", 1) + slur("start", 2))
    + _low("E3", 1, slur("start", 3) + slur("stop", 2))
    + _low("C3", 1, slur("stop", 1)),
    "".join(
        note(name, "1/2", voice=5, staff=staff, after=beam(kind), notations=notations)
        for name, staff, kind, notations in (
            ("F#3", 2, "begin", ""),
            ("C5", 1, "end", ""),
            ("E3", 2, "begin", ""),
            ("D5", 1, "end", slur("stop", 3)),
        )
    )
    + _low("F#3", 2),
)

CASES = {
    "slurs over one another, one of them over beams from staff to staff": Case(
        "beams between the staves find their slope once the staves have their distance",
        solo(*_OVERLAPPING, staves=2),
        {"Slur": 2, "PhrasingSlur": 1, "Beam": 2},
        written=(r"-\tweak cross-staff ##t -\(",),
    ),
    "slurs of one number between the hands": Case(
        "a slur goes from the note where it begins to the note where it ends, hand to hand; two "
        "after one another in opposite ways never become one long one",
        solo(_DOWN, _UP, _DOWN, _UP, staves=2),
        {"Slur": 4, "PhrasingSlur": 0, "Rest": 0},
        written=(r'\slurFrom #1 "upper one" "lower one"', r"\slurTo #4"),
    ),
    "slur between two voices of a staff": Case(
        "a slur ends in the voice where the source ends it",
        solo(
            note("C5", 2, voice=1, notations=slur("start"))
            + note("D5", 2, voice=1)
            + move(-4)
            + note("C4", 2, voice=2)
            + note("E4", 2, voice=2, notations=slur("stop"))
        ),
        {"Slur": 1},
        written=(r"\slurTo #1",),
    ),
    "slur of a voice that goes to the other staff": Case(
        "a slur ends at its note, whatever staff that stands on",
        solo(
            note("E4", 2, voice=1, staff=1, notations=slur("start"))
            + note("C3", 2, voice=1, staff=2, notations=slur("stop"))
            + move(-4)
            + note("G2", 4, voice=5, staff=2),
            staves=2,
        ),
        {"Slur": 1},
    ),
    "number that begins anew in its voice before its slur has ended by time": Case(
        "a slur ends where it does in the order of the document, and the next one is another",
        solo(
            _high("C5", 4) + move(-4) + _low("C3", 2) + _low("D3", 2, slur("start")),
            _high("E5", 2)
            + _high("F5", 2, slur("stop"))
            + move(-4)
            + _low("E3", 1, slur("start"))
            + _low("F3", 3, ""),
            _high("G5", 4) + move(-4) + _low("G3", 4, slur("stop")),
            staves=2,
        ),
        {"Slur": 2},
    ),
    "slur into a voice that takes over": Case(
        "where one voice takes over from another under a slur, no rest is added to either",
        solo(
            note("C5", 2, voice=1, notations=slur("start"))
            + note("E4", 2, voice=2, notations=slur("stop"))
        ),
        {"Slur": 1, "Rest": 0, "MultiMeasureRest": 0},
    ),
    "slur that ends where its number begins anew": Case(
        "a number serves again on the moment on which it is free, also in another voice",
        solo(
            _high("C5", 2, slur("start"))
            + _high("D5", 1, slur("start"))
            + _high("E5", 1, slur("stop"))
            + move(-4)
            + _low("C3", 2)
            + _low("E3", 2, slur("stop")),
            staves=2,
        ),
        {"Slur": 2},
    ),
}
