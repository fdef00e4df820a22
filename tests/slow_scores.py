"""Scores of which no plan is soon proved: random chords and accidentals, in eighth notes."""

from __future__ import annotations

from pathlib import Path
from random import Random

from score_snippets import bars, note, score

__all__ = ["write_slow_score"]

_NAMES = [
    letter + sign + octave for letter in "CDEFGAB" for sign in ("", "", "#", "b") for octave in "35"
]


def write_slow_score(folder: Path, onsets: int = 240, seed: int = 5) -> Path:
    """Write ``slow.musicxml``; the first plan of so many chords comes in a second or two."""
    random = Random(seed)  # noqa: S311 - music, not secrets
    contents = []
    for _ in range(onsets // 8):
        chords = [random.sample(_NAMES, random.choice((2, 3, 4))) for _ in range(8)]
        contents.append(
            "".join(
                note(name, "1/2", chord=at > 0) for chord in chords for at, name in enumerate(chord)
            )
        )
    path = folder / "slow.musicxml"
    path.write_bytes(score(bars(*contents)))
    return path
