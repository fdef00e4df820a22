"""Forty keyboard pieces of music21's corpus, engraved without marks and held against music21."""

from __future__ import annotations

import warnings
from pathlib import Path

import music21
import pytest
from corpus_pieces import PIECES, CorpusPiece
from midi_oracle import engrave_scores, midi_strikes, music21_strikes, plain_score, unlike

from pedalsetter.analysis.reading import read_part

pytestmark = [pytest.mark.corpus, pytest.mark.engraving]


def test_forty_pieces_are_named() -> None:
    """The corpus list holds at least forty pieces, each there, none twice."""
    assert len(PIECES) >= 40
    assert len({piece.name for piece in PIECES}) == len(PIECES)
    assert all(piece.path.exists() for piece in PIECES)


@pytest.mark.parametrize("piece", PIECES, ids=lambda piece: piece.id)
def test_every_note_sounds_at_its_time(piece: CorpusPiece, tmp_path: Path) -> None:
    """LilyPond engraves the piece without a complaint, and strikes what music21 reads.

    Source: music21's own parse of the same file, compared by (onset, key) with LilyPond's MIDI.
    """
    part = read_part(piece.path, piece.part)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        score = music21.converter.parse(piece.path, forceSource=True)
    staves = [score.parts[index] for index in piece.music21_parts]

    engraved = engrave_scores([plain_score(part)], tmp_path)

    assert engraved.complaints == ()
    assert unlike(music21_strikes(staves, part), midi_strikes(engraved.midi[0])) == ((), ())
