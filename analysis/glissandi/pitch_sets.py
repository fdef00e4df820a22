"""A set of pitch classes, as a musician names it: notes, a chord symbol, or a scale."""

from __future__ import annotations

import re
from dataclasses import dataclass

from pedalsetter.analysis.errors import SettingError
from pedalsetter.analysis.glissandi.chord_names import read_chord
from pedalsetter.analysis.glissandi.scale_names import SCALES, read_scale
from pedalsetter.analysis.instrument.harp import Letter
from pedalsetter.analysis.instrument.note_names import NoteName, read_note

__all__ = ["PitchSet", "read_pitch_set"]

_HOW = "Give notes (C Eb Gb A), a chord (Cm7, F#dim7) or a scale (whole tone, F harmonic minor)."


@dataclass(frozen=True, slots=True)
class PitchSet:
    """What a glissando is to sound."""

    name: str
    """As in ``Cm7``, ``F harmonic minor`` or, for single notes, ``C E♭ G♭ A``."""
    notes: tuple[NoteName, ...]
    """Spelled, in the order given: root or tonic first; each pitch class once."""

    @property
    def pitch_classes(self) -> tuple[int, ...]:
        """The pitch classes (C = 0), upwards."""
        return tuple(sorted({note.pitch_class for note in self.notes}))

    def name_of(self, pitch_class: int) -> str | None:
        """How the set spells a pitch class; None if it is not in the set."""
        for note in self.notes:
            if note.pitch_class == pitch_class:
                return str(note)
        return None


def read_pitch_set(text: str) -> PitchSet:
    """Read notes, a chord symbol, or a scale.

    Two words or more that all name notes are those notes; one word is a chord, so that ``C`` alone
    is C major; otherwise it is a scale, its tonic first (C where none is named), or a chord whose
    symbol was written with a space.

    >>> read_pitch_set("C Eb Gb A").pitch_classes, read_pitch_set("whole tone").name
    ((0, 3, 6, 9), 'C whole tone')

    Raises:
        SettingError: the text names no notes, chord or scale.
    """
    words = re.sub(r",(?![^(]*\))", " ", text).split()
    if not words:
        raise SettingError("nothing is named that the glissando should sound", mend=_HOW)
    notes = [note for note in map(read_note, words) if note is not None]
    if len(words) > 1 and len(notes) == len(words):
        by_class: dict[int, NoteName] = {}
        for note in notes:
            by_class.setdefault(note.pitch_class, note)
        return PitchSet(" ".join(map(str, by_class.values())), tuple(by_class.values()))
    tonic = read_note(words[0]) if len(words) > 1 else None
    scale = read_scale(
        " ".join(words if tonic is None else words[1:]), tonic or NoteName(Letter.C, 0)
    )
    if scale is not None:
        return PitchSet(*scale)
    if len(words) > 1 and tonic is None:
        raise _unknown(text)
    symbol = words[0][:1].upper() + words[0][1:] + "".join(words[1:])
    try:
        chord = read_chord(symbol if tonic is not None else words[0])
    except SettingError as error:
        if tonic is None or not words[1].isalpha():
            raise
        raise SettingError(
            f"there is no scale '{' '.join(words[1:])}' here",
            mend=f"There are {', '.join(SCALES)}.",
        ) from error
    if chord is None:
        raise _unknown(text)
    return PitchSet(_with_signs(symbol), chord)


def _with_signs(symbol: str) -> str:
    """``Bb7b9`` as ``B♭7♭9``: a b behind a root or before a figure is a flat."""
    return re.sub(r"(?<=^[A-G])b|b(?=[0-9])|(?<=/[A-G])b", "♭", symbol.replace("#", "♯"))


def _unknown(text: str) -> SettingError:
    return SettingError(f"'{' '.join(text.split())}' names no notes, chord or scale", mend=_HOW)
