"""What if a passage were spelled otherwise? The same sounds on other letters."""

from __future__ import annotations

from collections.abc import Collection
from enum import Enum

from pedalsetter.analysis.errors import PlaceError
from pedalsetter.analysis.findings import altered
from pedalsetter.analysis.instrument.respelling import Pitch, strings_for
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.pedal_plan import NoteEdit

__all__ = ["Spelling", "respelled_bars"]


class Spelling(Enum):
    """Which way notes are spelled anew."""

    FLATS = "flats"
    """Sharps become flats: C♯ as D♭, and B♯ as C."""
    SHARPS = "sharps"
    """Flats become sharps: D♭ as C♯, and C♭ as B."""


def respelled_bars(part: HarpPart, bars: Collection[str], spelling: Spelling) -> HarpPart:
    """Return the part with the altered notes of some bars, by printed number, on other letters.

    Only notes that have an equivalent are respelled; D, G and A have none. What is tied to a note
    follows it, also into the next bar.

    Raises:
        PlaceError: the part has no bar of one of these numbers.
    """
    numbers = {bar.number for bar in part.bars}
    for number in bars:
        if number not in numbers:
            raise PlaceError(
                f"there is no bar {number}",
                file=part.source.file,
                mend=f"Its bars go from {part.bars[0].number} to {part.bars[-1].number}.",
            )
    sign = 1 if spelling is Spelling.FLATS else -1
    edits = [
        NoteEdit(head.id, other)
        for event, head in part.notes()
        if part.printed_bar(event.bar) in bars and head.pitch.alter * sign > 0
        if (other := _equivalent(head.pitch)) is not None
    ]
    return altered(part, edits)


def _equivalent(pitch: Pitch) -> Pitch | None:
    """The pitch on another letter than written, or None if no other string sounds it."""
    for sounding in strings_for(pitch):
        if sounding.letter is not pitch.letter:
            return Pitch(sounding.letter, int(sounding.position), sounding.string.octave)
    return None
