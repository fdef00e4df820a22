"""Holds an engraved score against music21's own parse of the source, through LilyPond's MIDI.

Both sides become a multiset of (onset in quarters, MIDI key): ties are merged, grace notes left
out, repeats not expanded, unisons of several voices at one moment counted once (a MIDI channel has
one key for them, so LilyPond's file cannot tell them apart).
"""

from __future__ import annotations

import re
import subprocess
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import lilypond
import mido

from pedalsetter.analysis.part import HarpPart
from pedalsetter.engrave.notation.engraver_score import LANGUAGE, source
from pedalsetter.engrave.notation.mark_row import build_mark_row
from pedalsetter.engrave.notation.score import build_score
from pedalsetter.engrave.notation.timeline import bar_units
from pedalsetter.engrave.output.pages.page import stylesheet

__all__ = [
    "Engraved",
    "engrave",
    "engrave_scores",
    "midi_strikes",
    "music21_strikes",
    "part_strikes",
    "plain_score",
    "unlike",
]

Strike = tuple[int, Fraction]
"""MIDI key, onset in quarters."""

Strikes = tuple[Strike, ...]

_SLURS = stylesheet().split("%% ---- slurs from voice to voice")[1].split("%% ---- ")[0]
"""The one part of the stylesheet that the notes alone need."""

HEADER = rf"""\version "2.24.0"
\language "{LANGUAGE}"
#(ly:set-option 'relative-includes #t)
#(define (count-grobs context)
   "Tell how many grobs of each kind a score holds: what is really drawn."
   (let ((counts (make-hash-table)))
     (make-engraver
      (acknowledgers
       ((grob-interface engraver grob source)
        (let ((name (grob::name grob)))
          (hashq-set! counts name (1+ (hashq-ref counts name 0))))))
      ((finalize engraver)
       (ly:message "GROBS ~a"
                   (string-join
                    (map (lambda (pair) (format #f "~a=~a" (car pair) (cdr pair)))
                         (hash-map->list cons counts))
                    " "))))))
\paper {{ indent = 0 page-breaking = #ly:one-page-breaking }}
\layout {{
  \context {{
    \name TimingLane
    \type Engraver_group
  }}
  \context {{
    \name MarkRow
    \type Engraver_group
    \alias Staff
    \alias Voice
    \consists Axis_group_engraver
    \consists Output_property_engraver
    \consists Mark_engraver
    \consists Text_mark_engraver
    \consists Metronome_mark_engraver
    \consists Text_engraver
    \consists Staff_collecting_engraver
    \consists Pure_from_neighbor_engraver
    \override VerticalAxisGroup.staff-affinity = #DOWN
    \override VerticalAxisGroup.nonstaff-relatedstaff-spacing.padding = #0.8
    \override VerticalAxisGroup.nonstaff-unrelatedstaff-spacing.stretchability = #1000
  }}
  \context {{
    \Score
    \accepts TimingLane
    \accepts MarkRow
    \remove Mark_engraver
    \remove Text_mark_engraver
    \remove Metronome_mark_engraver
    \remove Staff_collecting_engraver
    \remove Bar_number_engraver
    \remove Volta_engraver
    \consists #count-grobs
  }}
  \context {{
    \Staff
    \consists Staff_collecting_engraver
    \consists Volta_engraver
  }}
}}
%%{_SLURS}
withoutGraces =
#(define-music-function (music) (ly:music?)
   (music-filter (lambda (m) (not (eq? 'GraceMusic (ly:music-property m 'name)))) music))
\midi {{
  \context {{ \name TimingLane \type Engraver_group }}
  \context {{ \name MarkRow \type Engraver_group \alias Staff \alias Voice }}
  \context {{ \Score \accepts TimingLane \accepts MarkRow }}
}}
"""


def plain_score(part: HarpPart, *, midi: bool = True) -> str:
    r"""A ``\score`` of a part without pedal marks, in contexts without any house style.

    With ``midi`` a second ``\score`` of the very same music, less its grace notes, which LilyPond
    would sound at times of their own.
    """
    units = bar_units(part)
    notated = build_score(part, units)
    music = (
        "<<\n"
        + source(notated.timing)
        + source(build_mark_row(part, units))
        + source(notated.staves)
        + ">>\n"
    )
    text = f"music = {music}\n\\score {{ \\music \\layout {{ }} }}\n"
    return text + "\\score { \\withoutGraces \\music \\midi { } }\n" if midi else text


@dataclass(frozen=True, slots=True)
class Engraved:
    """What one run of LilyPond left."""

    log: str
    midi: tuple[Path, ...]
    pdf: Path

    @property
    def grobs(self) -> tuple[Counter[str], ...]:
        """How many grobs of each kind LilyPond made, for each score in turn."""
        return tuple(
            Counter(
                {
                    name: int(number)
                    for name, number in (pair.split("=") for pair in line.split()[1:])
                }
            )
            for line in self.log.splitlines()
            if line.startswith("GROBS")
        )

    @property
    def complaints(self) -> tuple[str, ...]:
        """Lines of the log that are warnings or errors."""
        return tuple(
            line
            for line in self.log.splitlines()
            if re.search(r"warning|error|failed|programming", line, re.IGNORECASE)
        )


def engrave(text: str, folder: Path, name: str = "score", *options: str) -> Engraved:
    """Run LilyPond on ``text``; raises AssertionError with the log if there is no page."""
    file = folder / f"{name}.ly"
    file.write_text(text, encoding="utf-8")
    done = subprocess.run(
        [
            str(lilypond.executable()),
            "-dbackend=cairo",
            "-dno-point-and-click",
            "--pdf",
            *options,
            "-o",
            name,
            file.name,
        ],
        cwd=folder,
        capture_output=True,
        text=True,
        errors="replace",
        timeout=180,
        check=False,
    )
    log = done.stdout + done.stderr
    pdf = folder / f"{name}.pdf"
    assert done.returncode == 0, log
    assert pdf.exists(), log
    midi = sorted(folder.glob(f"{name}*.mid*"), key=lambda path: (len(path.stem), path.stem))
    return Engraved(log, tuple(midi), pdf)


def engrave_scores(scores: Sequence[str], folder: Path, name: str = "score") -> Engraved:
    """Engrave several scores in one run; their MIDI files come in the same order."""
    return engrave(HEADER + "\n".join(scores), folder, name)


def midi_strikes(path: Path) -> Strikes:
    """Every key struck in a MIDI file; LilyPond writes 384 ticks a quarter."""
    file = mido.MidiFile(path)
    found: set[Strike] = set()
    for track in file.tracks:
        now = 0
        for message in track:
            now += message.time
            if message.type == "note_on" and message.velocity > 0:
                found.add((message.note, Fraction(now, file.ticks_per_beat)))
    return tuple(sorted(found))


def part_strikes(part: HarpPart) -> Strikes:
    """What the part itself says is struck: graces and tied continuations left out."""
    notes = [
        (head.pitch.midi, event.onset, event.end, head.tie_start, head.tie_stop)
        for event in part.events
        if event.grace is None
        for head in event.heads
    ]
    return _struck(notes)


def music21_strikes(staves: Iterable[Any], part: HarpPart) -> Strikes:
    """Every note of music21's staves, ties merged, grace notes left out, repeats not expanded.

    Onsets count from the barlines of ``part``: where grace notes or a note too long overfill a
    bar, music21 moves all later bars, which LilyPond and the part do not.
    """
    notes = []
    for staff in staves:
        bars = list(staff.getElementsByClass("Measure"))
        assert len(bars) == len(part.bars), (len(bars), len(part.bars))
        for bar, own in zip(bars, part.bars, strict=True):
            for element in bar.recurse().notes:
                if element.duration.isGrace or "ChordSymbol" in element.classes:
                    continue
                onset = own.start + Fraction(element.getOffsetInHierarchy(bar))
                end = onset + Fraction(element.quarterLength)
                for note in element.notes if element.isChord else [element]:
                    kind = note.tie.type if note.tie is not None else ""
                    starts, stops = kind in ("start", "continue"), kind in ("stop", "continue")
                    notes.append((note.pitch.midi, onset, end, starts, stops))
    return _struck(notes)


def _struck(notes: Sequence[tuple[int, Fraction, Fraction, bool, bool]]) -> Strikes:
    """Notes (key, onset, end, ties on, is tied to) that no tie of the same key leads to.

    A tie without a beginning, as into a second ending, leads from nowhere: its note is struck.
    """
    leads = [(key, end) for key, _, end, starts, _ in notes if starts]
    near = {(key, round(end * 48)) for key, end in leads}
    return tuple(
        sorted(
            {
                (key, onset)
                for key, onset, _, _, stops in notes
                if not (stops and (key, round(onset * 48)) in near)
            }
        )
    )


def unlike(expected: Strikes, found: Strikes) -> tuple[Strikes, Strikes]:
    """Strikes that are missing from ``found``, and those that it has too many.

    A tick is 1/384 of a quarter and music21 rounds odd tuplets, so onsets less than 1/100 of a
    quarter apart are one.
    """
    missing: list[Strike] = []
    rest = list(found)
    for key, onset in expected:
        match = next(
            (
                strike
                for strike in rest
                if strike[0] == key and abs(strike[1] - onset) < Fraction(1, 100)
            ),
            None,
        )
        if match is None:
            missing.append((key, onset))
        else:
            rest.remove(match)
    return tuple(missing), tuple(rest)
