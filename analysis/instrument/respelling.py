"""From a written pitch to the strings that sound it.

A pedal reaches flat, natural and sharp, so twelve pitch classes have 21 names: nine have two
strings and three (D, G, A natural) one. Double alterations have no string of their own; each is
played on an equivalent.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from pedalsetter.analysis.errors import SettingError
from pedalsetter.analysis.instrument.harp import (
    LETTERS,
    NATURAL_PITCH_CLASS,
    Letter,
    Position,
    String,
)

__all__ = ["Pitch", "Sounding", "strings_for", "strings_of_pitch_class"]


@dataclass(frozen=True, slots=True)
class Pitch:
    """A written pitch: letter, alteration in semitones (−2 to 2) and octave (C4 = middle C).

    The octave belongs to the letter: C♭4 sounds as B3.
    """

    letter: Letter
    alter: int
    octave: int

    def __post_init__(self) -> None:
        if not -2 <= self.alter <= 2:
            raise SettingError(f"an alteration of {self.alter} semitones has no written sign")

    @property
    def midi(self) -> int:
        """MIDI key number, 60 = middle C."""
        return 12 * (self.octave + 1) + NATURAL_PITCH_CLASS[self.letter] + self.alter

    @property
    def name(self) -> str:
        """Letter and sign without octave, as in ``F♯``; a natural is named by its bare letter."""
        return self.letter.value + {-2: "♭♭", -1: "♭", 0: "", 1: "♯", 2: "♯♯"}[self.alter]

    def __str__(self) -> str:
        return f"{self.name}{self.octave}"


@dataclass(frozen=True, slots=True)
class Sounding:
    """A string, with the position at which it sounds a wanted pitch."""

    string: String
    position: Position

    @property
    def letter(self) -> Letter:
        """The letter of the string, that is, its pedal."""
        return self.string.letter

    @property
    def name(self) -> str:
        """Letter and sign, as in ``G♮``."""
        return f"{self.letter.value}{self.position.sign}"

    @property
    def midi(self) -> int:
        """MIDI key number that sounds."""
        return self.string.midi(self.position)


@lru_cache(maxsize=256)
def strings_of_pitch_class(pitch_class: int) -> tuple[tuple[Letter, Position], ...]:
    """The one or two letters, each with its position, that sound ``pitch_class`` (C = 0).

    >>> [(letter.value, position.sign) for letter, position in strings_of_pitch_class(0)]
    [('C', '♮'), ('B', '♯')]
    """
    return tuple(
        (letter, position)
        for letter in LETTERS
        for position in Position
        if (NATURAL_PITCH_CLASS[letter] + position) % 12 == pitch_class % 12
    )


def strings_for(pitch: Pitch) -> tuple[Sounding, ...]:
    """The strings that sound ``pitch``: as written first, then its equivalent.

    A double alteration has only its equivalents, one or two, in pedal order. The octave of the
    string is the one that sounds the same key: C♭4 and B3 are one pitch on two strings.

    >>> from pedalsetter.analysis.instrument.harp import Letter
    >>> [str(s.string) + s.position.sign for s in strings_for(Pitch(Letter.C, -1, 4))]
    ['C4♭', 'B3♮']
    >>> [s.name for s in strings_for(Pitch(Letter.B, -2, 3))]
    ['A♮']
    """
    found = []
    for letter, position in strings_of_pitch_class(pitch.midi):
        octave = (pitch.midi - NATURAL_PITCH_CLASS[letter] - position) // 12 - 1
        found.append(Sounding(String(letter, octave), position))
    return tuple(sorted(found, key=lambda s: s.letter is not pitch.letter))
