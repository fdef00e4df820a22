"""The notes of real scores, held against music21's own reading of the same files.

Source of the music: music21's corpus, all in the public domain. music21 is the independent
reading: for MusicXML nothing of it is used by the reader under test.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable
from fractions import Fraction
from functools import cache
from pathlib import Path

import music21
import pytest
from corpus_pieces import PIECES, CorpusPiece

from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.reading import read_part

pytestmark = pytest.mark.corpus

Sounding = tuple[Fraction, int, Fraction]
"""(onset, MIDI number, length), both in quarters."""

SEVERAL_PARTS: tuple[CorpusPiece, ...] = tuple(
    CorpusPiece(name, str(number), (number - 1,))
    for name, number in (
        ("mozart/k80/movement1.mxl", 1),
        ("mozart/k458/movement1.mxl", 4),
        ("mozart/k458/movement3.mxl", 2),
        ("haydn/opus74no1/movement1.mxl", 1),
        ("haydn/opus1no1/movement1.mxl", 3),
        ("schumann_robert/opus41no1/movement3.mxl", 2),
        ("corelli/opus3no1/1grave.xml", 1),
        ("webern/webern_dormi_jesu_op_16_no_2.mxl", 2),
        ("lusitano/allor_che_ignuda.mxl", 3),
        ("luca/gloria.xml", 1),
        ("demos/nested_tuplet_finale_test.xml", 1),
        ("demos/two-voices.xml", 1),
    )
)

ROUNDED = {"schubert/Lindenbaum", "beach/prayer_of_a_tired_child", "cpebach/h186"}
"""Files whose own lengths are rounded to their divisions: the reader makes them exact again."""

LONGER_IN_MUSIC21 = {
    "weber/concertino_clarinet",
    "handel/rinaldo/Lascia_chio_pianga",
    "haydn/opus74no1/movement3",
}
"""Files in which music21 lengthens a bar of one staff, by a direction that is printed beyond the
last note or by a note that is too long there, so that its staves drift apart."""


def _joined_ties(notes: Iterable[tuple[Fraction, int, Fraction, bool, bool]]) -> list[Sounding]:
    """Tied notes as one; (onset, MIDI, length, tie starts, tie stops) in."""
    waiting: dict[int, list[list[Fraction]]] = defaultdict(list)
    sounding: list[tuple[list[Fraction], int]] = []
    for onset, midi, length, starts, stops in sorted(notes):
        open_tie = next((each for each in waiting[midi] if sum(each) == onset), None)
        if stops and open_tie is not None:
            open_tie[1] += length
            if not starts:
                waiting[midi].remove(open_tie)
            continue
        fresh = [onset, length]
        sounding.append((fresh, midi))
        if starts:
            waiting[midi].append(fresh)
    return [(span[0], midi, span[1]) for span, midi in sounding]


def _ours(part: HarpPart) -> list[Sounding]:
    return _joined_ties(
        (event.onset, head.pitch.midi, event.length, head.tie_start, head.tie_stop)
        for event, head in part.notes()
        if event.grace is None
    )


@cache
def _music21_score(path: Path) -> music21.stream.Score:
    score = music21.converter.parse(path)
    assert isinstance(score, music21.stream.Score)
    return score


def _exact(quarters: float | Fraction) -> Fraction:
    return Fraction(quarters).limit_denominator(100_000)


def _theirs(piece: CorpusPiece) -> tuple[list[Sounding], list[Fraction]]:
    """music21's notes, and where its bars begin."""
    parts = list(_music21_score(piece.path).parts)
    notes = []
    for place in piece.music21_parts:
        for element in parts[place].recurse().notes:
            if isinstance(element, music21.harmony.Harmony) or element.duration.isGrace:
                continue
            onset = _exact(element.getOffsetInHierarchy(parts[place]))
            for one in element.notes if element.isChord else [element]:
                tie = one.tie.type if one.tie else ""
                notes.append(
                    (
                        onset,
                        int(one.pitch.ps),
                        _exact(element.quarterLength),
                        tie in ("start", "continue"),
                        tie in ("stop", "continue"),
                    )
                )
    first = parts[piece.music21_parts[0]]
    return _joined_ties(notes), [
        _exact(bar.offset) for bar in first.getElementsByClass(music21.stream.Measure)
    ]


MUSICXML = [
    piece
    for piece in (*PIECES, *SEVERAL_PARTS)
    if piece.path.suffix != ".krn" and piece.id not in ROUNDED | LONGER_IN_MUSIC21
]


@pytest.mark.parametrize("piece", MUSICXML, ids=lambda piece: piece.id)
def test_every_note_sounds_when_and_as_long_as_music21_reads_it(piece: CorpusPiece) -> None:
    """A reader may lose no note and move none: onset, key and length agree, ties joined."""
    part = read_part(piece.path, piece.part)
    notes, bars = _theirs(piece)
    assert Counter(_ours(part)) == Counter(notes)
    assert [bar.start for bar in part.bars] == bars


def test_at_least_thirty_scores_are_compared() -> None:
    """The comparison means something only over music of many kinds."""
    assert len(MUSICXML) >= 30


@pytest.mark.parametrize(
    "piece", [piece for piece in PIECES if piece.id in ROUNDED], ids=lambda piece: piece.id
)
def test_lengths_that_the_source_rounds_come_out_exact(piece: CorpusPiece) -> None:
    """A triplet semiquaver is a sixth of a quarter, even if the file says 43/256."""
    ours = sorted(_ours(read_part(piece.path, piece.part)), key=lambda each: (each[1], each[0]))
    theirs = sorted(_theirs(piece)[0], key=lambda each: (each[1], each[0]))
    assert len(ours) == len(theirs)
    for mine, other in zip(ours, theirs, strict=True):
        assert mine[1] == other[1]
        assert abs(mine[0] - other[0]) < Fraction(1, 60)
        assert abs(mine[2] - other[2]) < Fraction(1, 60)
        # Thirds, sixths, and the thirteenths of a cadenza; 43/256 would have 256.
        assert mine[0].denominator <= 48


@pytest.mark.parametrize(
    "piece",
    [piece for piece in PIECES if piece.id in LONGER_IN_MUSIC21],
    ids=lambda piece: piece.id,
)
def test_a_direction_beyond_the_last_note_does_not_lengthen_its_bar(piece: CorpusPiece) -> None:
    """Words that are printed late take no time: every bar is as long as its signature."""
    part = read_part(piece.path, piece.part)
    notes, _ = _theirs(piece)
    assert Counter((midi, length) for _, midi, length in _ours(part)) == Counter(
        (midi, length) for _, midi, length in notes
    )


@pytest.mark.parametrize(
    "piece", [piece for piece in PIECES if piece.path.suffix == ".krn"], ids=lambda piece: piece.id
)
def test_kern_keeps_every_note(piece: CorpusPiece) -> None:
    """Humdrum goes a longer way (converter21, MusicXML, then our reader) and loses nothing.

    The other side is music21's own kern reader, which shares no code with converter21's.
    """
    part = read_part(piece.path, piece.part)
    notes, _ = _theirs(piece)
    assert part.source.format == "kern"
    assert Counter(_ours(part)) == Counter(notes)
