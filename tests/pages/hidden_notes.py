"""Notes that the source hides."""

from __future__ import annotations

from pages.case import HIDDEN, Case, beam, solo
from score_snippets import move, note

__all__ = ["CASES"]

_TOLD = "bar 1, beat 1, staff 1: a note that the source hides is neither printed nor planned"


def _eighths(*names: str, first: str = "") -> str:
    kinds = ["begin", *["continue"] * (len(names) - 2), "end"]
    return "".join(
        note(
            name,
            "1/2",
            attributes=first if place == 0 else "",
            after=f"<stem>up</stem>{beam(kind)}",
        )
        for place, (name, kind) in enumerate(zip(names, kinds, strict=True))
    )


CASES = {
    "hidden first note of a chord": Case(
        "a chord whose first note is hidden keeps the others",
        solo(note("C4", 4, attributes=HIDDEN) + note("E4", 4, chord=True)),
        {"NoteHead/1": 1, "NoteHead~": 0},
        told=(_TOLD,),
    ),
    "hidden later note of a chord": Case(
        "a hidden note of a chord is not shown",
        solo(note("C4", 4) + note("E4", 4, chord=True, attributes=HIDDEN)),
        {"NoteHead/1": 1, "NoteHead~": 0},
        told=(_TOLD,),
    ),
    "hidden note under a beam": Case(
        "a beam begins at the first note that is seen",
        solo(_eighths("C5", "E5", "G5", "C6", first=HIDDEN) + note("C5", 2)),
        {"NoteHead/1": 4, "NoteHead~": 0, "Beam/1": 1, "Flag": 0},
        told=(_TOLD,),
    ),
    "hidden note at another voice's head": Case(
        "a head that another voice prints serves a beam as well",
        solo(
            _eighths("C4", "E4", "G4", "C5", first=HIDDEN)
            + note("C5", 2)
            + move(-4)
            + note("C4", 4, voice=2)
        ),
        {"NoteHead/1": 5, "NoteHead~/1": 1, "Beam/1": 1, "Flag": 0},
    ),
    "hidden grace note": Case(
        "a hidden grace note is not shown",
        solo(note("D5", 0, kind="eighth", grace="", attributes=HIDDEN) + note("C5", 4)),
        {"NoteHead/1": 1, "Flag": 0},
        told=(_TOLD,),
    ),
}
