"""Keyboard pieces of music21's corpus, baroque to Schoenberg, all in the public domain.

The corpus holds some two dozen scores with a keyboard part; all are here but a few made only to
test layout or broken signatures. The others are pairs of staves taken from four-part writing (the
outer voices of chorales, which every keyboard player has realised, and of quartets): they read as
two-staff keyboard music too.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import music21

__all__ = ["PIECES", "CorpusPiece"]

_CORPUS = Path(music21.__file__).parent / "corpus"


@dataclass(frozen=True, slots=True)
class CorpusPiece:
    """One piece, and how the reader is asked for its keyboard part."""

    name: str
    """Path within the corpus."""
    part: str | None
    """What to pass as ``part``: None for a file that is the keyboard part alone."""
    music21_parts: tuple[int, ...]
    """Places of the same staves among music21's parts, from 0."""

    @property
    def path(self) -> Path:
        """Where the installed music21 keeps it."""
        return _CORPUS / self.name

    @property
    def id(self) -> str:
        """Short name for the test report."""
        return self.name.rsplit(".", 1)[0]


def _pair(name: str) -> CorpusPiece:
    return CorpusPiece(name, "1+4", (0, 3))


PIECES: tuple[CorpusPiece, ...] = (
    CorpusPiece("bach/bwv846.mxl", None, (0, 1)),
    CorpusPiece("cpebach/h186.mxl", None, (0, 1)),
    CorpusPiece("handel/rinaldo/Lascia_chio_pianga.mxl", "2", (1, 2)),
    CorpusPiece("mozart/k545/movement1_exposition.mxl", None, (0, 1)),
    CorpusPiece("verdi/laDonnaEMobile.mxl", None, (0, 1)),
    CorpusPiece("chopin/mazurka06-2.krn", None, (0, 1)),
    CorpusPiece("schubert/Lindenbaum.xml", "Piano", (1, 2)),
    CorpusPiece("schumann_robert/dichterliebe_no2.xml", "2", (1, 2)),
    CorpusPiece("schumann_robert/opus48no2.mxl", "2", (1, 2)),
    CorpusPiece("schumann_clara/polonaise_op1n1.mxl", None, (0, 1)),
    CorpusPiece("schumann_clara/polonaise_op1n2.mxl", None, (0, 1)),
    CorpusPiece("schumann_clara/polonaise_op1n3.mxl", None, (0, 1)),
    CorpusPiece("schumann_clara/polonaise_op1n4.mxl", None, (0, 1)),
    CorpusPiece("schumann_clara/opus17/movement3.xml", "Piano", (2, 3)),
    CorpusPiece("joplin/maple_leaf_rag.mxl", None, (0, 1)),
    CorpusPiece("liliuokalani/aloha_oe.mxl", "Piano", (5, 6)),
    CorpusPiece("beach/prayer_of_a_tired_child.musicxml", "Piano", (4, 5)),
    CorpusPiece("schoenberg/opus19/movement2.mxl", None, (0, 1)),
    CorpusPiece("schoenberg/opus19/movement6.mxl", None, (0, 1)),
    CorpusPiece("demos/chord_realization_exercise.mxl", "1+2", (0, 1)),
    CorpusPiece("demos/two-parts.xml", "1", (0, 1)),
    CorpusPiece("theoryExercises/TriadExercise.mxl", None, (0, 1)),
    CorpusPiece("weber/concertino_clarinet.mxl", "Piano", (1, 2)),
    *(
        _pair(f"bach/{name}")
        for name in (
            "bwv277.krn",
            "bwv281.krn",
            "bwv366.krn",
            "bwv1.6.mxl",
            "bwv10.7.mxl",
            "bwv101.7.mxl",
            "bwv103.6.mxl",
            "bwv108.6.mxl",
            "bwv110.7.mxl",
            "bwv111.6.mxl",
            "bwv113.8.mxl",
            "bwv119.9.mxl",
            "bwv120.6.mxl",
            "bwv125.6.mxl",
            "bwv140.7.mxl",
        )
    ),
    _pair("beethoven/opus18no1/movement2.krn"),
    _pair("haydn/opus74no1/movement3.mxl"),
    _pair("mozart/k80/movement2.mxl"),
    _pair("mozart/k155/movement2.mxl"),
)
