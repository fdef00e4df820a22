"""Over a hundred scores of music21's corpus with a mark at every note, every grace and every beat.

Public-domain music from the Trecento to Webern, exported by many programs, plain and compressed, in
UTF-8 and UTF-16, MusicXML 1.0 to 4.0.
"""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import Any

import music21
import pytest
from source_marked import as_sources_own
from written_back import (
    Mark,
    expected_marks,
    in_utf8,
    marks_everywhere,
    marks_read_back,
    score_inside,
    without_inserted,
)

from pedalsetter.analysis.marks.marking import Markings
from pedalsetter.analysis.reading import read_part, read_score
from pedalsetter.engrave.output.write_back.door import write_back, write_back_score

CORPUS = Path(music21.__file__).parent / "corpus"


def _chosen() -> list[Path]:
    """Of the small scores every fifth by Bach or of the Trecento, and all others."""
    files = sorted(
        path for path in CORPUS.rglob("*") if path.suffix in (".xml", ".musicxml", ".mxl")
    )
    small = [
        path for path in files if path.stat().st_size < (11_000, 100_000)[path.suffix != ".mxl"]
    ]
    many = [path for path in small if path.relative_to(CORPUS).parts[0] in ("bach", "trecento")]
    return sorted({*many[::5], *(path for path in small if path not in set(many))})


FILES = _chosen()


def test_there_are_a_hundred_scores() -> None:
    """At least 100 scores, plain and compressed, of many composers."""
    assert len(FILES) >= 100
    assert {path.suffix for path in FILES} == {".xml", ".mxl"}
    assert len({path.relative_to(CORPUS).parts[0] for path in FILES}) >= 15


def _music(data: bytes) -> Counter[tuple[Any, ...]]:
    """Everything that music21 finds, each with its moment.

    Measures and their barlines go without: music21 makes a bar without notes as long as the
    directions in it.
    """
    text = data.decode("utf-16" if data[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8")
    score = music21.converter.parseData(text, format="musicxml")
    found: Counter[tuple[Any, ...]] = Counter()
    for element in score.recurse():
        key: tuple[Any, ...] = (type(element).__name__,)
        if not isinstance(element, (music21.stream.Stream, music21.bar.Barline)):
            pitches = tuple(pitch.nameWithOctave for pitch in getattr(element, "pitches", ()))
            key += (
                element.getOffsetInHierarchy(score),
                element.duration.quarterLength,
                pitches,
            )
        found[key] += 1
    return found


def _without_source_marks(data: bytes, kept: list[Mark]) -> bytes:
    """A score without the marks that are in it, but for those that were there before ours."""
    part = read_score(data, "score.xml", "1")
    left = list(kept)
    replaced = []
    for mark in part.source_marks:
        known = (mark.bar, mark.onset, mark.kind, mark.pedals)
        if known in left:
            left.remove(known)
        else:
            replaced.append(mark)
    assert replaced
    return write_back_score(data, "score.xml", part, Markings((), ()), replaced=replaced).data


@pytest.mark.corpus
@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_nothing_of_a_score_is_lost(path: Path) -> None:
    """Marks everywhere are read back at their places; cut out, they leave the file as it was.

    Taken for the source's own marks, they are taken out to the byte as well. music21 finds the same
    music with and without them, and one text for each stack of letters.
    """
    part = read_part(path, "1")
    marks = marks_everywhere(part)
    source = path.read_bytes()
    result = write_back(path, part, marks)
    again = read_score(result.data, path.name, "1")
    before, after = (score_inside(data) for data in (source, result.data))

    assert result.marks == len(marks.diagrams) + len(marks.changes) + len(marks.strings)
    assert without_inserted(in_utf8(after)) == in_utf8(before)
    assert marks_read_back(again) == sorted(expected_marks(part, marks) + marks_read_back(part))
    assert (again.events, again.bars) == (part.events, part.bars)
    assert write_back_score(result.data, path.name, again, marks).data == result.data
    cleared = write_back_score(result.data, path.name, again, Markings((), ())).data
    assert score_inside(cleared) == before
    if b"-only" not in in_utf8(after):
        # A bar that was one empty tag has been opened, and nobody could know.
        assert _without_source_marks(as_sources_own(after), marks_read_back(part)) == before
    old, new = _music(before), _music(after)
    assert old - new == Counter()
    assert Counter(kind for kind, *_ in (new - old).elements()) == Counter(
        {"TextExpression": len(marks.changes)} if marks.changes else {}
    )
