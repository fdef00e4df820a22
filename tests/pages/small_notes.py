"""Notes in small print."""

from __future__ import annotations

from pages.case import Case, solo
from score_snippets import move, note, words

__all__ = ["CASES"]

CASES = {
    "small notes that sound": Case(
        "a cadenza in small print is printed small, and what follows is not",
        solo(note("C5", 2).replace("<type>", '<type size="cue">') + note("D5", 2)),
        {"NoteHead/1": 2},
        written=(r"\set fontSize = #-3 c''2 \unset fontSize d''2",),
    ),
    "notes marked as cues that sound": Case(
        "small notes in the harp's own voice with nothing beside them are printed, and planned",
        solo(
            note("C4", 4),
            note("C4", 4),
            note("C5", 2, before="<cue/>") + note("F#5", 2, before="<cue/>"),
        ),
        {"NoteHead/1": 4, "Rest": 0},
        written=(r"\pedal",),
        told=(
            "bar 3, beat 1, staff 1: small notes that the source marks as cues are taken for notes "
            "to play",
        ),
    ),
    "cue of another instrument": Case(
        "a cue stands small beside the part's own rest, and is not planned",
        solo(
            note("C4", 4),
            words("Fl. I")
            + note("C5", 2, before="<cue/>")
            + note("D5", 2, before="<cue/>")
            + move(-4)
            + note('<rest measure="yes"/>', 4, voice=2),
        ),
        {"NoteHead/1": 3, "MultiMeasureRest/1": 1},
        told=(
            "bar 2, beat 1, staff 1: small notes are taken for a cue: shown, and not planned for",
        ),
    ),
}
