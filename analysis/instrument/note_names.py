"""Notes by name alone, without an octave: ``E♭``, ``F##``, ``Bb``."""

from __future__ import annotations

import re
from dataclasses import dataclass

from pedalsetter.analysis.instrument.harp import NATURAL_PITCH_CLASS, Letter

__all__ = ["NoteName", "read_note"]

_SCALE_ORDER = "CDEFGAB"
_ALTERATIONS = {"": 0, "n": 0, "♮": 0, "#": 1, "♯": 1, "b": -1, "♭": -1} | {
    "##": 2,
    "♯♯": 2,
    "x": 2,
    "𝄪": 2,
    "bb": -2,
    "♭♭": -2,
    "𝄫": -2,
}
_NOTE = re.compile(r"([A-Ga-g])(##|♯♯|x|𝄪|bb|♭♭|𝄫|[#♯b♭n♮]?)")


@dataclass(frozen=True, slots=True)
class NoteName:
    """A letter and its alteration, in every octave."""

    letter: Letter
    alter: int
    """Semitones, −1 flat, 1 sharp; chords on remote roots can need two or three."""

    @property
    def pitch_class(self) -> int:
        """C = 0 … B = 11."""
        return (NATURAL_PITCH_CLASS[self.letter] + self.alter) % 12

    def __str__(self) -> str:
        return self.letter.value + ("♯" * self.alter if self.alter > 0 else "♭" * -self.alter)

    def above(self, degree: int, semitones: int) -> NoteName:
        """The note so many semitones higher, spelled as a degree (1 = this letter itself).

        >>> str(NoteName(Letter.D, 0).above(3, 3)), str(NoteName(Letter.E, -1).above(7, 10))
        ('F', 'D♭')
        """
        step = _SCALE_ORDER.index(self.letter.value) + degree - 1
        letter = Letter(_SCALE_ORDER[step % 7])
        alter = (self.pitch_class + semitones - NATURAL_PITCH_CLASS[letter]) % 12
        return NoteName(letter, alter - 12 if alter > 6 else alter)


def read_note(text: str) -> NoteName | None:
    """The note that a word names, or None if it names none.

    The letter may be small; the sign is ``#`` or ``♯``, ``b`` or ``♭``, ``n`` or ``♮``, doubled
    for a double alteration.

    >>> str(read_note("Gb")), str(read_note("bb")), read_note("Cm7")
    ('G♭', 'B♭', None)
    """
    match = _NOTE.fullmatch(text)
    if match is None:
        return None
    return NoteName(Letter(match[1].upper()), _ALTERATIONS[match[2]])
