"""The whole road over keyboard pieces, baroque to Schoenberg: read, plan, mark, engrave, and hear.

Music: music21's corpus, named in ``corpus_pieces.py``.
"""

from __future__ import annotations

import subprocess
from pathlib import Path

import music21
import pytest
from corpus_pieces import PIECES, CorpusPiece
from marked_parts import as_source, with_marks
from midi_oracle import midi_strikes, music21_strikes, unlike
from replay import replay

from pedalsetter.analysis.collation import CollationEntry, MarkSeverity, collate
from pedalsetter.analysis.marks.marking import Markings, place_marks
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.pedal_plan import PedalPlan
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.analysis.reading import read_part
from pedalsetter.engrave.house_style import load_house_style
from pedalsetter.engrave.output.pages.engraver import find_lilypond
from pedalsetter.engrave.output.pages.press import engrave_part

# LilyPond sounds grace notes at times of its own; the comparison is of the others.
_HEARD = r"""
withoutGraces =
#(define-music-function (music) (ly:music?)
   (music-filter (lambda (m) (not (eq? 'GraceMusic (ly:music-property m 'name)))) music))
\score {
  << \withoutGraces \timeAndBarlines \withoutGraces \harpStaves >>
  \midi { \context { \name TimingLane \type Engraver_group }
          \context { \Score \accepts TimingLane } }
}
"""


def _heard(source: str, folder: Path) -> Path:
    """LilyPond's own MIDI of the very notes that are engraved; no page is laid out for it."""
    file = folder / "heard.ly"
    file.write_text(source + _HEARD, encoding="utf-8")
    command = [find_lilypond(), "-s", "-dno-print-pages", "-o", "heard", file.name]
    subprocess.run(command, cwd=folder, check=True, timeout=120)
    return folder / "heard.midi"


def _alarms(part: HarpPart, plan: PedalPlan, marks: Markings) -> list[CollationEntry]:
    """What ``check`` would find wrong if the source had these marks.

    Where a mark before grace notes and one after them share a moment, a source cannot tell them
    apart; two letters of one foot may then seem to move at once.
    """
    graces = {event.onset for event in part.events if event.grace is not None}
    return [
        each
        for each in collate(with_marks(part, as_source(part, marks)), plan).entries
        if each.severity is not MarkSeverity.REMARK and part.onset_of(each.place) not in graces
    ]


def test_there_are_forty_pieces() -> None:
    """At least 40 pieces in all three formats of the corpus, from Bach to Schoenberg."""
    assert len({piece.name for piece in PIECES}) >= 40
    assert {piece.path.suffix for piece in PIECES} >= {".mxl", ".xml", ".krn"}
    assert {"bach", "schoenberg"} <= {piece.name.split("/")[0] for piece in PIECES}


@pytest.mark.corpus
@pytest.mark.engraving
@pytest.mark.parametrize("piece", PIECES, ids=lambda piece: piece.id)
def test_a_piece_comes_out_whole(piece: CorpusPiece, tmp_path: Path) -> None:
    """Every note is engraved, sounds as written by the printed marks, and no mark touches it.

    The marks are right: held against the notes as those of a source are, none is called wrong.
    """
    part = read_part(piece.path, piece.part)
    plan = plan_changes(part)
    marks = place_marks(part, plan)
    engraved = engrave_part(part, marks, load_house_style("final-part"))
    heard = _heard(engraved.document.text, tmp_path)
    score = music21.converter.parse(piece.path)
    staves = [score.parts[number] for number in piece.music21_parts]

    assert engraved.engraving.pages >= 1
    assert engraved.engraving.warnings == ()
    assert unlike(music21_strikes(staves, part), midi_strikes(heard)) == ((), ())
    assert replay(part, plan, marks) == []
    assert engraved.proof.failures == ()
    assert engraved.proof.marks == len(marks.diagrams) + len(marks.changes) + len(marks.strings)
    assert _alarms(part, plan, marks) == []
