"""Clefs and key signatures by LilyPond's names."""

from __future__ import annotations

from pedalsetter.analysis.part import ClefChange, KeyChange

__all__ = ["clef_command", "key_command"]

_MAJOR = ("cf", "gf", "df", "af", "ef", "bf", "f", "c", "g", "d", "a", "e", "b", "fs", "cs")
_MINOR = ("af", "ef", "bf", "f", "c", "g", "d", "a", "e", "b", "fs", "cs", "gs", "ds", "as")
"""Tonics from seven flats to seven sharps."""


def clef_command(clef: ClefChange) -> str | None:
    r"""``\clef`` with LilyPond's name, or None for a clef that has none."""
    names = {
        ("G", 2): "treble",
        ("G", 1): "french",
        ("F", 4): "bass",
        ("F", 3): "varbaritone",
        ("F", 5): "subbass",
        ("C", 1): "soprano",
        ("C", 2): "mezzosoprano",
        ("C", 3): "alto",
        ("C", 4): "tenor",
        ("C", 5): "baritone",
    }
    if clef.sign == "percussion":
        return r'\clef "percussion"'
    name = names.get((clef.sign, clef.line))
    if name is None:
        return None
    octave = {0: "", 1: "^8", -1: "_8", 2: "^15", -2: "_15"}.get(clef.octave_change, "")
    return rf'\clef "{name}{octave}"'


def key_command(key: KeyChange) -> str:
    r"""``\key`` with the tonic that has so many signs in major or minor."""
    minor = key.mode == "minor"
    tonic = (_MINOR if minor else _MAJOR)[max(-7, min(7, key.fifths)) + 7]
    return rf"\key {tonic} {chr(92)}{'minor' if minor else 'major'}"
