"""Scales by name: from ``F harmonic minor`` or ``whole tone`` to their notes.

Each scale is written as degrees and semitones above its tonic, so that its notes are spelled as
musicians spell them. Names are those of common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from pedalsetter.analysis.instrument.note_names import NoteName

__all__ = ["SCALES", "read_scale"]


def _diatonic(*semitones: int) -> tuple[tuple[int, int], ...]:
    return tuple(enumerate(semitones, start=1))


SCALES: Mapping[str, tuple[tuple[int, int], ...]] = {
    "major": _diatonic(0, 2, 4, 5, 7, 9, 11),
    "natural minor": _diatonic(0, 2, 3, 5, 7, 8, 10),
    "harmonic minor": _diatonic(0, 2, 3, 5, 7, 8, 11),
    "melodic minor": _diatonic(0, 2, 3, 5, 7, 9, 11),
    "harmonic major": _diatonic(0, 2, 4, 5, 7, 8, 11),
    "dorian": _diatonic(0, 2, 3, 5, 7, 9, 10),
    "phrygian": _diatonic(0, 1, 3, 5, 7, 8, 10),
    "lydian": _diatonic(0, 2, 4, 6, 7, 9, 11),
    "mixolydian": _diatonic(0, 2, 4, 5, 7, 9, 10),
    "locrian": _diatonic(0, 1, 3, 5, 6, 8, 10),
    "acoustic": _diatonic(0, 2, 4, 6, 7, 9, 10),
    "phrygian dominant": _diatonic(0, 1, 4, 5, 7, 8, 10),
    "double harmonic": _diatonic(0, 1, 4, 5, 7, 8, 11),
    "Hungarian minor": _diatonic(0, 2, 3, 6, 7, 8, 11),
    "major pentatonic": ((1, 0), (2, 2), (3, 4), (5, 7), (6, 9)),
    "minor pentatonic": ((1, 0), (3, 3), (4, 5), (5, 7), (7, 10)),
    "blues": ((1, 0), (3, 3), (4, 5), (5, 6), (5, 7), (7, 10)),
    "whole tone": ((1, 0), (2, 2), (3, 4), (4, 6), (5, 8), (6, 10)),
    "octatonic": ((1, 0), (2, 1), (3, 3), (3, 4), (4, 6), (5, 7), (6, 9), (7, 10)),
    "octatonic whole-half": ((1, 0), (2, 2), (3, 3), (4, 5), (5, 6), (6, 8), (6, 9), (7, 11)),
    "augmented hexatonic": ((1, 0), (3, 3), (3, 4), (5, 7), (6, 8), (7, 11)),
    "chromatic": (
        *((1, 0), (2, 1), (2, 2), (3, 3), (3, 4), (4, 5)),
        *((4, 6), (5, 7), (6, 8), (6, 9), (7, 10), (7, 11)),
    ),
}
"""Name to (degree, semitones above the tonic), upwards. ``octatonic`` begins with a semitone;
``melodic minor`` is its rising form, the falling one is the natural minor."""

_OTHER_NAMES: Mapping[str, str] = {
    "ionian": "major",
    "minor": "natural minor",
    "aeolian": "natural minor",
    "lydian dominant": "acoustic",
    "pentatonic": "major pentatonic",
    "octatonic half whole": "octatonic",
    "diminished": "octatonic whole-half",
    "hexatonic": "augmented hexatonic",
    "whole note": "whole tone",
    "wholetone": "whole tone",
}


def _plain(name: str) -> str:
    return " ".join(re.sub(r"[-_]", " ", name.casefold()).split()).removesuffix(" scale")


_BY_PLAIN_NAME: Mapping[str, str] = {**{_plain(name): name for name in SCALES}, **_OTHER_NAMES}


def read_scale(name: str, tonic: NoteName) -> tuple[str, tuple[NoteName, ...]] | None:
    """The full name of a scale and its notes from ``tonic`` up; None if there is no such scale.

    Case, hyphens and a closing ``scale`` do not matter.

    >>> from pedalsetter.analysis.instrument.harp import Letter
    >>> full, notes = read_scale("harmonic minor", NoteName(Letter.F, 0))
    >>> full, " ".join(map(str, notes))
    ('F harmonic minor', 'F G A♭ B♭ C D♭ E')
    """
    full = _BY_PLAIN_NAME.get(_plain(name))
    if full is None:
        return None
    notes = tuple(tonic.above(degree, semitones) for degree, semitones in SCALES[full])
    return f"{tonic} {full}", notes
