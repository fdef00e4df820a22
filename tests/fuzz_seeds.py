"""Files that fuzzing begins with."""

from __future__ import annotations

from pathlib import Path

import music21
from score_snippets import bars, note, opening, score
from topics.all_topics import TOPICS

__all__ = ["scores", "settings_files", "small_score"]

ROOT = Path(__file__).resolve().parents[1]


def scores() -> list[bytes]:
    """Small scores: our own of every topic, and the MusicXML test suite as shipped with music21."""
    suite = Path(music21.__file__).parent / "musicxml" / "lilypondTestSuite"
    paths = [*sorted(suite.glob("*.*xml")), *sorted(suite.glob("*.mxl"))]
    return [*(topic.data for topic in TOPICS), *(path.read_bytes() for path in paths)]


def settings_files(kind: str) -> list[bytes]:
    """House styles, or files of decisions about :func:`small_score`."""
    if kind == "house-style":
        return [path.read_bytes() for path in sorted((ROOT / "templates").glob("*.toml"))]
    return [text.encode() for text in _DECISIONS]


def small_score() -> bytes:
    """A score that decisions are taken about: four bars, a key change, two movements' worth."""
    return score(
        bars(
            note("C4") + note("F#4") + note("Bb4") + note("E4"),
            note("Eb4", 2) + note("F4", 2),
            note("G#4") + note("Ab4") + note("C#5") + note("Db5"),
            note("B#3", 2) + note("Cb4", 2),
            first=opening(fifths=1),
        )
    )


_DECISIONS = (
    """respell = "when-needed"
[times]
comfortable = 1
least = 0.4
two-notches = 1.5
ring = [3, 2, 1.0]
[[opening]]
pedals = "D C B E F# G A"
[[foot]]
pedal = "E"
foot = "left"
[[change]]
at = "2:1"
pedal = "Eb"
needed = { at = "2:1" }
[[diagram]]
at = "3:1"
wanted = true
""",
    """respell = "never"
[[setting]]
at = "1:3"
pedals = "D C Bb E F# G A"
[[respelling]]
at = "3:2"
note = "Ab4"
wanted = true
played = "G#"
[[respelling]]
bars = "3-4"
wanted = false
[[diagram]]
at = "2:1½"
movement = 1
grace = 1
wanted = false
[[opening]]
movement = 1
pedals = "Db Cb Bb Eb Fb Gb Ab"
""",
)
