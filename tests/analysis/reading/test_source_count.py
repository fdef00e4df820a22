"""What a library reads for us is counted in the file itself: no bar or note is lost in silence."""

# Whole numbers stand for fractions in what is expected.
# mypy: disable-error-code="comparison-overlap"

from __future__ import annotations

import io
from collections.abc import Sequence

import mido
import pytest
from lxml import etree

from pedalsetter.analysis.errors import ScoreError
from pedalsetter.analysis.reading import read_score
from pedalsetter.analysis.reading.source_count import (
    SourceCount,
    count_of_abc,
    count_of_kern,
    count_of_mei,
    what_is_lost,
)

MEI = """<mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="{version}"><meiHead/>
<music><body><mdiv><score><scoreDef meter.count="3" meter.unit="4"><staffGrp>
<staffDef n="1" lines="5" clef.shape="G" clef.line="2"/></staffGrp></scoreDef><section>
<measure n="1"><staff n="1"><layer n="1"><note pname="c" oct="5" dur="2" dots="1"/>
</layer></staff></measure><ending n="1">
<measure n="2" right="rptend"><staff n="1"><layer n="1"><note pname="d" oct="5" dur="2" dots="1"/>
</layer></staff></measure></ending><ending n="2">
<measure n="3"><staff n="1"><layer n="1"><app><lem><note pname="e" oct="5" dur="2" dots="1"/></lem>
<rdg><note pname="f" oct="5" dur="2" dots="1"/></rdg></app></layer></staff></measure></ending>
</section></score></mdiv></body></music></mei>
"""

MADE = "<score-partwise><part><measure number='7'>{}</measure><measure number='8'>{}</measure>"
"""MusicXML that a library made."""


def made(first: str, second: str) -> etree._Element:
    """Two bars of it."""
    return etree.fromstring(MADE.format(first, second) + "</part></score-partwise>")


@pytest.mark.parametrize("version", ["6.0", "6.0-dev", "12.1"])
def test_mei_of_a_version_to_come(version: str) -> None:
    """Its metre, its endings and all its bars are read, and the version is told."""
    part, known = (
        read_score(MEI.format(version=each).encode(), "later.mei") for each in (version, "5.1")
    )
    assert part.bars == known.bars
    assert [bar.length for bar in part.bars] == [3, 3, 3]
    assert [bar.ending is not None for bar in part.bars] == [False, True, True]
    assert part.events == known.events
    assert str(part.warnings[0]) == (
        f"the file says MEI {version}, which is newer than what is known here: it is read as MEI 5"
    )
    assert part.warnings[1:] == known.warnings


def test_chosen_readings_of_mei() -> None:
    """Three notes: the other reading of the third one is none of the text."""
    root = etree.fromstring(MEI.format(version="5.1"))
    assert count_of_mei(root) == SourceCount(3, (1, 1, 1))


def test_spines_of_kern() -> None:
    """Notes of kern spines alone, also where a spine divides; dynamics are letters too.

    Source: the Humdrum user guide, spine paths.
    """
    text = "\n".join(
        [
            "**kern\t**dynam",
            "=1\t=1",
            "4c 4e\tff",
            "*^\t*",
            "4c\t4r\tp",
            "[4d\t.\t.",
            "*v\t*v\t*",
            "=2\t=2",
            "1d]\t.",
            "*-\t*-",
        ]
    )
    assert count_of_kern(text) == SourceCount(2, (5,), 1)
    assert count_of_kern(text.removesuffix("*-\t*-")).is_open


def test_notes_of_abc() -> None:
    """Neither words, chord symbols, decorations nor fields are notes. Source: ABC 2.1."""
    tune = 'X:1\nT:A Bad Egg\nK:C\n"Am"!f!ABc [K:D] (3def|z2 {g}a2 % bad\nw: a b c\n|:[CEG]4:|\n'
    assert count_of_abc(tune) == SourceCount(3, (11,), 1)


def test_what_a_library_loses_is_told() -> None:
    """Missing bars are an error; missing notes a notice that names the bars."""
    note = "<note><pitch/></note>"
    assert what_is_lost(SourceCount(2, (1, 2)), made(note, note + note), "mei", "a.mei") == ()
    lost = what_is_lost(SourceCount(2, (2, 3)), made(note + note, note), "mei", "a.mei")
    assert list(map(str, lost)) == ["2 of the 5 notes of the file could not be read, in bar 8"]
    with pytest.raises(ScoreError) as error:
        what_is_lost(SourceCount(3, (1, 1, 1)), made(note, note + note), "mei", "a.mei")
    assert str(error.value) == (
        "a.mei: only 2 of its 3 bars can be understood. Export the score as MusicXML and give that."
    )


@pytest.mark.parametrize(
    ("file", "data"),
    [("a.krn", b"**kern\n*M4/4\n=1\n"), ("a.abc", b"X:1\nT:Nothing\nK:C\n")],
)
def test_files_without_music(file: str, data: bytes) -> None:
    """What ends before its first note is told in one line."""
    with pytest.raises(ScoreError) as error:
        read_score(data, file)
    line = "the file holds no notes. Look whether it is the whole file."
    assert str(error.value) == f"{file}: {line}"


def test_abc_with_the_mark_of_another_encoding() -> None:
    """Plain text that begins with the byte-order mark of UTF-16 is read as what it is."""
    part = read_score(b"\xff\xfeX:1\nL:1/4\nK:C\nCDEF|\n", "a.abc")
    assert [head.pitch.letter.value for _, head in part.notes()] == list("CDEF")


def test_notes_that_no_library_understands() -> None:
    """A file of notes that comes out silent is refused."""
    with pytest.raises(ScoreError) as error:
        what_is_lost(SourceCount(0, (3,)), made("<note><rest/></note>", ""), "kern", "a.krn")
    line = "none of its notes can be understood. Look whether it is the whole file."
    assert str(error.value) == f"a.krn: {line}"


def test_kern_without_its_end() -> None:
    """It is read, and told. Source: the Humdrum user guide: every spine ends with ``*-``."""
    part = read_score(b"**kern\n*M4/4\n=1\n1c\n=2\n1d\n", "a.krn")
    assert sum(len(event.heads) for event in part.events) == 2
    assert str(part.warnings[0]) == "the end of the file is missing: it may be cut off"


def midi(*notes: tuple[int, int, int]) -> bytes:
    """One track of (beginning, end, number) in quarters."""
    file = mido.MidiFile(ticks_per_beat=480)
    track = mido.MidiTrack()
    messages = [(start, "note_on", pitch) for start, _, pitch in notes]
    messages += [(end, "note_off", pitch) for _, end, pitch in notes]
    now = 0
    for time, kind, pitch in sorted(messages):
        track.append(mido.Message(kind, note=pitch, time=480 * (time - now)))
        now = time
    file.tracks.append(track)
    stream = io.BytesIO()
    file.save(file=stream)
    return stream.getvalue()


@pytest.mark.parametrize(
    ("notes", "bars"),
    [
        ([(0, 3, 60), (1, 2, 64), (2, 4, 67), (3, 4, 72)], 1),
        ([(0, 6, 60), (1, 2, 64), (4, 5, 67), (6, 8, 72)], 2),
    ],
)
def test_midi_notes_that_overlap_are_voices(
    notes: Sequence[tuple[int, int, int]], bars: int
) -> None:
    """In one staff every bar keeps its four quarters, and every note its time.

    Source: the messages as they were written.
    """
    part = read_score(midi(*notes), "a.mid")
    assert [bar.length for bar in part.bars] == [4] * bars
    assert sorted(
        (event.onset, head.pitch.midi) for event, head in part.notes() if not head.tie_stop
    ) == sorted((start, pitch) for start, _, pitch in notes)


@pytest.mark.parametrize("kept", [0.5, 0.8, 0.99])
def test_midi_that_was_cut_off(kept: float) -> None:
    """A track that is shorter than it says is refused. Source: Standard MIDI Files 1.0, chunks."""
    data = midi((0, 1, 60), (1, 2, 64), (2, 3, 67))
    with pytest.raises(ScoreError) as error:
        read_score(data[: int(len(data) * kept)], "a.mid")
    assert str(error.value) == (
        "a.mid: the MIDI file ends in the middle of a track. Look whether it is the whole file."
    )
