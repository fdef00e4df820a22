"""Notes in small print."""

from __future__ import annotations

from pages.case import Case, solo
from score_snippets import note

__all__ = ["CASES"]

CASES = {
    "small notes that sound": Case(
        "a cadenza in small print is printed small, and what follows is not",
        solo(note("C5", 2).replace("<type>", '<type size="cue">') + note("D5", 2)),
        {"NoteHead/1": 2},
        written=(r"\set fontSize = #-3 c''2 \unset fontSize d''2",),
    ),
}
