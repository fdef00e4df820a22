"""Chords over two staves, and rests of several voices."""

from __future__ import annotations

from pages.case import Case, beam, solo
from score_snippets import move, note

__all__ = ["CASES"]

_BASS = move(-4) + note("C3", 4, voice=5, staff=2)


def _high(name: str, quarters: object = 1, voice: int = 1, **more: object) -> str:
    return note(name, quarters, voice=voice, staff=1, **more)  # type: ignore[arg-type]


def _rest(quarters: object = 1, voice: int = 2, where: str = "") -> str:
    shown = f"<rest>{where}</rest>" if where else "R"
    return note(shown, quarters, voice=voice, staff=1)


def _both(low: str, high: str, quarters: object, stem: str = "", group: str = "") -> str:
    """A chord whose first note stands on the lower staff and whose second on the upper."""
    stems = f"<stem>{stem}</stem>" if stem else ""
    beams = beam(group) if group else ""
    return note(low, quarters, staff=2, after=stems + beams) + note(
        high, quarters, staff=1, chord=True, after=stems
    )


_MIDDLE = "<display-step>B</display-step><display-octave>4</display-octave>"

_SHARED_TUPLET = "".join(
    note(
        name,
        "1/3",
        kind="eighth",
        ratio=(3, 2),
        voice=voice,
        staff=staff,
    )
    for name, voice, staff in (
        ("E4", 1, 1),
        ("C3", 5, 2),
        ("G4", 2, 1),
    )
)

CASES = {
    "tuplet whose notes four voices share": Case(
        "the number stands once, with the first note; a whole tuplet of another voice has its own",
        solo(
            _SHARED_TUPLET
            + _SHARED_TUPLET
            + note("C5", 2, voice=1, staff=1)
            + move(-4)
            + note("C3", 2, voice=6, staff=2)
            + "".join(
                note(name, "2/3", kind="quarter", ratio=(3, 2), voice=6, staff=2)
                for name in ("E3", "F3", "G3")
            ),
            staves=2,
        ),
        {"TupletNumber": 3},
    ),
    "chord over two staves": Case(
        "each note of a chord stands on its own staff",
        solo(_both("C3", "E5", 4), staves=2),
        {"NoteHead/1": 1, "NoteHead/2": 1},
    ),
    "beamed chords over two staves": Case(
        "one stem and one beam serve both staves, where the stems end",
        solo(
            _both("C3", "E4", "1/2", "up", "begin")
            + _both("D3", "F4", "1/2", "up", "end")
            + _both("E3", "G4", "1/2", "down", "begin")
            + _both("C3", "C5", "1/2", "down", "end")
            + _both("C3", "C5", "1/2", "up")
            + _both("C3", "C5", "1/2", "up")
            + _both("C3", "C5", 1, "down"),
            staves=2,
        ),
        {"Beam/1": 1, "Beam/2": 1, "Flag/1": 2, "Flag": 2, "NoteHead/1": 7, "NoteHead/2": 7},
        written=("Span_stem_engraver",),
    ),
    "rests of two voices": Case(
        "where all voices of a staff rest alike, one rest stands in the middle",
        solo(
            _rest(voice=1)
            + _high("C5", 3, dots=1)
            + move(-4)
            + _rest()
            + _high("E4", 3, 2, dots=1)
            + _BASS,
            staves=2,
        ),
        {"Rest/1": 1},
        written=(r"\once \override Rest.staff-position = #0",),
    ),
    "rests of two voices while a third plays": Case(
        "a rest does not move to the middle where another voice plays, and one is enough above it",
        solo(
            _rest(voice=1)
            + _high("C5", 3, dots=1)
            + move(-4)
            + _rest(voice=2)
            + _high("G4", 3, 2, dots=1)
            + move(-4)
            + _high("E4", 4, 3)
            + _BASS,
            staves=2,
        ),
        {"Rest/1": 1},
        unwritten=("Rest.staff-position",),
    ),
    "rest at another voice's head": Case(
        "a rest that the source puts onto a head gives way",
        solo(
            _high("B4", 4) + move(-4) + _rest(where=_MIDDLE) + _high("E4", 3, 2, dots=1) + _BASS,
            staves=2,
        ),
        {"Rest/1": 1},
        unwritten=(r"b'4 \rest", r"b'4\rest"),
    ),
    "bar rest of a hand that plays on the other staff": Case(
        "where a hand's notes stand on the other staff, its own has no bar rest",
        solo(
            _high("C5", 4) + _BASS,
            _high("C5", 4)
            + move(-4)
            + note("E4", 4, voice=5, staff=1)
            + move(-4)
            + note('<rest measure="yes"/>', 4, voice=6, staff=2),
            _high("C5", 4) + move(-4) + note('<rest measure="yes"/>', 4, voice=5, staff=2),
            staves=2,
        ),
        {"MultiMeasureRest/2": 1},
    ),
}
