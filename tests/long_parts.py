"""Harp parts of two to twelve pages, made by chance: one seed, one part.

Sections of six to fourteen bars, each in one texture of the harp's and in a key of its own, with
rests after half of them and tempi from slow to fast.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from random import Random

from part_builder import build_part

from pedalsetter.analysis.part import HarpPart, KeyChange, Section, SectionReason, Tempo

_SCALES = {
    0: "C D E F G A B",
    -3: "C D Eb F G Ab Bb",
    2: "C# D E F# G A B",
    -5: "C Db Eb F Gb Ab Bb",
    4: "C# D# E F# G# A B",
}


def long_part(seed: int) -> HarpPart:
    """A part of about two pages for seed 0, and of about twelve for seed 29."""
    chance = Random(f"long {seed}")  # noqa: S311 - music, not secrets
    wanted = 36 + seed * 11 + chance.randrange(8)
    bars: list[str] = []
    sections, keys, tempi = [], [], []
    while len(bars) < wanted:
        start, key = len(bars), chance.choice(list(_SCALES))
        texture = chance.choice((_arpeggios, _broken, _chords, _melody))
        bars += [texture(chance, _SCALES[key].split()) for _ in range(chance.randint(6, 14))]
        if chance.random() < 0.5:
            bars += ["r/w | r/w"] * chance.randint(1, 5)
        keys.append(KeyChange(Fraction(4 * start), start, key))
        tempi.append(Tempo(Fraction(4 * start), Fraction(chance.choice((54, 66, 80, 96, 112)))))
        if start:
            name = chr(ord("A") + len(sections) % 26)
            sections.append(Section(start, (SectionReason.REHEARSAL,), name))
    built = build_part(*bars, tempo=None, sections=tuple(sections))
    return replace(built, keys=tuple(keys), tempi=tuple(tempi), title=f"Made by chance, {seed}")


def _notes(scale: list[str], first: int, octave: int, steps: tuple[int, ...]) -> list[str]:
    """Notes on the degrees ``first`` and so many steps above it."""
    places = [first + step for step in steps]
    return [f"{scale[place % 7]}{octave + place // 7}" for place in places]


def _arpeggios(chance: Random, scale: list[str]) -> str:
    degree = chance.randrange(5)
    up = _notes(scale, degree, 4, (0, 2, 4, 7, 9, 7, 4, 2))
    low = _notes(scale, degree, 2, (0, 4))
    run = " ".join(f"{note}/s" for note in up)
    return f"{run} {run} | {low[0]}/h {low[1]}/h"


def _broken(chance: Random, scale: list[str]) -> str:
    degree = chance.randrange(6)
    low = " ".join(f"{note}/e" for note in _notes(scale, degree, 2, (0, 4, 7, 9)))
    high = _notes(scale, degree, 4, (2, 4, 7))
    return f"{'+'.join(high)}/q. {high[0]}/e {'+'.join(high[1:])}/h | {low} {low}"


def _chords(chance: Random, scale: list[str]) -> str:
    chords = ["+".join(_notes(scale, chance.randrange(7), 4, (0, 2, 4))) for _ in range(4)]
    bass = _notes(scale, chance.randrange(7), 1, (0, 7))
    return f"{' '.join(f'{chord}/q' for chord in chords)} | {'+'.join(bass)}/w"


def _melody(chance: Random, scale: list[str]) -> str:
    tune = " ".join(
        f"{_notes(scale, chance.randrange(9), 5, (0,))[0]}/{value}" for value in ("q.", "e", "q")
    )
    low = " ".join(f"{note}/e" for note in _notes(scale, chance.randrange(5), 3, (0, 2, 4, 2)))
    return f"{tune} r/q | {low} {low}"
