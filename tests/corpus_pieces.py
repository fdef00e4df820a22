"""Keyboard pieces of music21's corpus, baroque to Schoenberg, all in the public domain.

The corpus holds some two dozen scores with a keyboard part; all are here but a few made only to
test layout or broken signatures. The others are pairs of staves taken from four-part writing (the
outer voices of chorales, which every keyboard player has realised, and of quartets): they read as
two-staff keyboard music too.

Thirty further pieces stand by themselves, so that what was tuned on the first ones can be held
against music that it has not met.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib import import_module
from pathlib import Path
from tempfile import TemporaryDirectory

import music21
import musicxml

__all__ = ["FURTHER", "PIECES", "CorpusPiece"]

_CORPUS = Path(music21.__file__).parent / "corpus"


@cache
def _folder_of_texts() -> TemporaryDirectory[str]:
    """Gone when the process ends."""
    return TemporaryDirectory(prefix="pedalsetter-pieces-")


@cache
def _written(module: str, name: str) -> Path:
    """A file of a score that a module keeps as a string."""
    path = Path(_folder_of_texts().name) / name
    path.write_text(getattr(import_module(module), path.stem), encoding="utf-8")
    return path


@dataclass(frozen=True, slots=True)
class CorpusPiece:
    """One piece, and how the reader is asked for its keyboard part."""

    name: str
    """Path within the folder; of a text in a module, its name there with a suffix."""
    part: str | None
    """What to pass as ``part``: None for a file that is the keyboard part alone."""
    music21_parts: tuple[int, ...]
    """Places of the same staves among music21's parts, from 0."""
    folder: Path = _CORPUS
    """Where the installed package keeps its scores."""
    module: str = ""
    """Module that keeps the score as a string; "" for a file in the folder."""

    @property
    def path(self) -> Path:
        """Where the installed package keeps it, or where its text has been written."""
        return _written(self.module, self.name) if self.module else self.folder / self.name

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

# Keyboard pieces come first. Besides its corpus, music21 keeps scores as strings for its own tests;
# the package musicxml tests its parser on a whole partita (the fourth, whatever its file is
# called), raw from a scan. Spring Song is voice and piano in one part of three staves. With these
# five, the keyboard music in the packages that the tests need is used up, but for fragments of a
# few notes. What follows are pairs of staves, the more chromatic ones of each kind: outer voices
# of trios and madrigals with a continuo, an atonal song for voice and clarinet, and outer voices of
# a hymn, of quartets and of chorales.
FURTHER: tuple[CorpusPiece, ...] = (
    CorpusPiece(
        "test_bach_partita_3.xml", None, (0, 1), folder=Path(musicxml.__file__).parent / "parser"
    ),
    CorpusPiece("schumannOp48No1.musicxml", "Piano", (1, 2), module="music21.musicxml.testFiles"),
    CorpusPiece("moussorgskyPromenade.musicxml", None, (0, 1), module="music21.musicxml.testFiles"),
    CorpusPiece("sousaStars.krn", None, (0, 1), module="music21.humdrum.testFiles"),
    CorpusPiece("ivesSpring.krn", "1", (0, 1, 2), module="music21.humdrum.testFiles"),
    CorpusPiece("corelli/opus3no1/1grave.xml", "1+3", (0, 2)),
    CorpusPiece("monteverdi/madrigal.5.4.mxl", "1+6", (0, 5)),
    CorpusPiece("monteverdi/madrigal.5.8.mxl", "1+6", (0, 5)),
    CorpusPiece("webern/webern_dormi_jesu_op_16_no_2.mxl", "1+2", (0, 1)),
    _pair("johnson_j_r/lift_every_voice.mxl"),
    _pair("schumann_robert/opus41no1/movement1.mxl"),
    _pair("schumann_robert/opus41no1/movement2.mxl"),
    _pair("schumann_robert/opus41no1/movement3.mxl"),
    _pair("schumann_robert/opus41no1/movement4.mxl"),
    _pair("beethoven/opus18no1/movement1.mxl"),
    _pair("beethoven/opus18no1/movement3.krn"),
    _pair("beethoven/opus18no1/movement4.mxl"),
    _pair("beethoven/opus59no1/movement3.mxl"),
    _pair("beethoven/opus59no2/movement2.mxl"),
    _pair("beethoven/opus133.mxl"),
    _pair("haydn/opus74no1/movement1.mxl"),
    _pair("haydn/opus74no1/movement2.mxl"),
    _pair("mozart/k156/movement4.mxl"),
    _pair("mozart/k458/movement1.mxl"),
    _pair("mozart/k458/movement3.mxl"),
    _pair("bach/bwv40.6.mxl"),
    _pair("bach/bwv60.5.mxl"),
    _pair("bach/bwv244.62.mxl"),
    _pair("bach/bwv245.15.mxl"),
    _pair("bach/bwv402.mxl"),
)
