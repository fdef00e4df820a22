"""MEI, Humdrum kern, ABC and MIDI."""

# Whole numbers stand for fractions in what is expected.
# mypy: disable-error-code="comparison-overlap"

from __future__ import annotations

import io
import re
import subprocess
import sys
from collections import Counter
from fractions import Fraction
from pathlib import Path

import mido
import music21
import pytest

from pedalsetter.analysis.errors import ScoreError
from pedalsetter.analysis.instrument.harp import Setting
from pedalsetter.analysis.part import DirectionKind, HarpPart, Tempo
from pedalsetter.analysis.reading import read_part, read_score
from pedalsetter.analysis.reading.midi_length import MidiSize, midi_size

MUSIC21 = Path(music21.__file__).parent
MIDI_FILES = MUSIC21 / "midi" / "testPrimitive"
MEI_FILES = MUSIC21 / "mei" / "test"

MEI = """<?xml version="1.0" encoding="UTF-8"?>
<mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="5.0"><meiHead><fileDesc>
<titleStmt><title>Study</title><composer>A. Writer</composer></titleStmt><pubStmt/></fileDesc>
</meiHead><music><body><mdiv><score>
<scoreDef keysig="2s" meter.count="4" meter.unit="4"><staffGrp symbol="brace">
<staffDef n="1" lines="5" clef.shape="G" clef.line="2"/>
<staffDef n="2" lines="5" clef.shape="F" clef.line="4"/></staffGrp></scoreDef><section>
<measure n="1"><staff n="1"><layer n="1"><note xml:id="n1" pname="d" oct="5" dur="2"/>
<chord xml:id="c1" dur="2"><note xml:id="n2" pname="f" oct="5" accid.ges="s"/>
<note xml:id="n3" pname="a" oct="5"/></chord></layer></staff>
<staff n="2"><layer n="1"><note xml:id="n4" pname="d" oct="3" dur="1"/></layer></staff>
<harpPedal tstamp="1" staff="1" place="above" d="n" c="s" b="n" e="n" f="s" g="n" a="n"/>
<harpPedal startid="#n3" staff="1" d="n" c="n" b="n" e="n" f="f" g="n" a="n"/>
<tempo tstamp="1" staff="1" mm="60" mm.unit="4">Andante</tempo></measure>
<measure n="2" right="end"><staff n="1"><layer n="1"><mRest/></layer></staff>
<staff n="2"><layer n="1"><note pname="c" oct="3" dur="2" accid="n"/>
<note pname="d" oct="3" dur="2"/></layer></staff>
<harpPedal tstamp="3" staff="2" d="n" c="f" b="n" e="n" f="n" g="n" a="n"/></measure>
</section></score></mdiv></body></music></mei>
"""

KERN = """**kern\t**kern
*Iharp\t*Iharp
*clefF4\t*clefG2
*k[f#c#]\t*k[f#c#]
*M4/4\t*M4/4
=1\t=1
2D\t4f#
.\t4a
2AA\t8dd
.\t8cc#
.\t4r
=2\t=2
1D\t1dd
==\t==
*-\t*-
"""

ABC = """X:1
T:A Tune for Testing
C:Trad.
M:6/8
L:1/8
K:D
|:A2d fdB|c2A (3efg a:|
"""


def sounding(part: HarpPart) -> Counter[tuple[Fraction, int]]:
    """(onset, MIDI number) of everything that is struck."""
    return Counter(
        (event.onset, head.pitch.midi) for event, head in part.notes() if not head.tie_stop
    )


def read_by_music21(data: str | Path, kind: str) -> Counter[tuple[Fraction, int]]:
    """The same, by music21 alone."""
    score = music21.converter.parse(data, format=kind, forceSource=True)
    found: Counter[tuple[Fraction, int]] = Counter()
    for part in score.parts:
        for element in part.recurse().notes:
            onset = Fraction(element.getOffsetInHierarchy(part)).limit_denominator(1000)
            for one in element.notes if element.isChord else [element]:
                if one.tie is None or one.tie.type == "start":
                    found[onset, one.pitch.midi] += 1
    return found


def test_mei_with_its_diagrams_and_its_speed() -> None:
    """``harpPedal`` by beat and by note, ``tempo`` with a figure, identities as in the file."""
    part = read_score(MEI.encode(), "study.mei")
    assert (part.source.format, part.title, part.composer) == ("mei", "Study", "A. Writer")
    assert part.staves == 2
    assert [event.id for event in part.events][:3] == ["n1", "n4", "n2"]
    assert [(mark.bar, mark.onset, mark.staff) for mark in part.source_marks] == [
        (0, 0, 1),
        (0, 2, 1),
        (1, 6, 2),
    ]
    assert [mark.setting() for mark in part.source_marks] == [
        Setting.parse("D C# B | E F# G A"),
        Setting.parse("D C B | E Fb G A"),
        Setting.parse("D Cb B | E F G A"),
    ]
    assert part.source_marks[0].placement == "above"
    assert part.tempi == (Tempo(Fraction(0), Fraction(60)),)
    assert [each.kind for each in part.directions] == [DirectionKind.TEMPO_WORDS]


def test_mei_words_give_no_speed() -> None:
    """music21 would make 72 of *Andante*; a speed is never made up from words."""
    part = read_score(MEI.replace(' mm="60" mm.unit="4"', "").encode(), "study.mei")
    assert part.tempi == ()


@pytest.mark.parametrize(
    ("name", "notes"),
    [("notes_in_utf8.mei", 102), ("notes_in_utf16.mei", 102), ("test_file.mei", 75)],
)
def test_older_mei_is_read_by_music21_alone(name: str, notes: int) -> None:
    """MEI 2013, in two encodings, and with identities that XML forbids.

    Source: the files that music21 ships for its own tests; pitches as in them.
    """
    part = read_part(MEI_FILES / name)
    assert sum(len(event.heads) for event in part.events) == notes


def test_mei_in_two_encodings_is_one_music() -> None:
    """UTF-8 and UTF-16 hold the same notes."""
    one, other = (
        read_part(MEI_FILES / f"notes_in_{encoding}.mei") for encoding in ("utf8", "utf16")
    )
    assert sounding(one) == sounding(other)


def test_kern_spines_are_two_staves() -> None:
    """The left spine is the lower staff; two spines of one instrument are joined."""
    part = read_score(KERN.encode(), "study.krn")
    assert part.source.format == "kern"
    assert part.staves == 2
    assert [(clef.staff, clef.sign) for clef in part.clefs] == [(1, "G"), (2, "F")]
    assert [key.fifths for key in part.keys] == [2]
    assert sounding(part) == read_by_music21(KERN, "humdrum")


def test_abc() -> None:
    """Key, repeat, triplet, title and composer of a tune; its notes as music21 hears them."""
    part = read_score(ABC.encode(), "tune.abc")
    assert (part.source.format, part.title) == ("abc", "A Tune for Testing")
    assert part.keys[0].fifths == 2
    assert part.bars[0].repeat_start
    assert part.bars[1].repeat_times == 2
    triplet = [event for event in part.events if event.tuplets]
    assert [event.length for event in triplet] == [Fraction(1, 3)] * 3
    assert sounding(part) == read_by_music21(ABC, "abc")


@pytest.mark.parametrize("number", [1, 2, 5])
def test_abc_tunes_of_the_corpus(number: int) -> None:
    """Source: Aird's Airs, book 1, in music21's corpus (18th century)."""
    book = (MUSIC21 / "corpus" / "airdsAirs" / "book1.abc").read_text()
    tunes = re.split(r"\n(?=X:)", book)
    tune = next(each for each in tunes if re.match(rf"X:\s*0*{number}\b", each))
    part = read_score(tune.encode(), "aird.abc")
    assert sounding(part) == read_by_music21(tune, "abc")


def test_a_book_of_tunes_is_refused() -> None:
    """One piece a file."""
    with pytest.raises(ScoreError) as error:
        read_part(MUSIC21 / "corpus" / "airdsAirs" / "book3.abc")
    assert str(error.value) == (
        "book3.abc: the file holds 200 pieces. Give each piece a file of its own."
    )


@pytest.mark.parametrize("name", ["test01.mid", "test06.mid", "test09.mid", "test15.mid"])
def test_midi_files(name: str) -> None:
    """Every note is struck when music21 hears it.

    Source: the files that music21 ships for its own tests.
    """
    part = read_part(MIDI_FILES / name)
    assert part.source.spelling_guessed
    assert sounding(part) == read_by_music21(MIDI_FILES / name, "midi")


def harp_track(*, fifths: str | None = None, program: int = 46) -> bytes:
    """A MIDI file of one harp track: a bass note, then an arpeggio, then a wide chord."""
    file = mido.MidiFile(ticks_per_beat=480)
    track = mido.MidiTrack()
    file.tracks.append(track)
    track.append(mido.MetaMessage("time_signature", numerator=4, denominator=4))
    if fifths is not None:
        track.append(mido.MetaMessage("key_signature", key=fifths))
    track.append(mido.MetaMessage("set_tempo", tempo=mido.bpm2tempo(90)))
    track.append(mido.Message("program_change", program=program))
    for key in (37, 61, 66, 70):
        track.append(mido.Message("note_on", note=key, velocity=64))
        track.append(mido.Message("note_off", note=key, time=480))
    for key in (37, 49, 61, 80):
        track.append(mido.Message("note_on", note=key, velocity=64))
    track.append(mido.Message("note_off", note=37, time=1920))
    for key in (49, 61, 80):
        track.append(mido.Message("note_off", note=key))
    stream = io.BytesIO()
    file.save(file=stream)
    return stream.getvalue()


def test_a_midi_harp_is_set_on_two_staves() -> None:
    """One track holds both hands: middle C divides them, chords included."""
    part = read_score(harp_track(), "harp.mid")
    assert part.staves == 2
    assert part.source.format == "midi"
    by_staff = {
        staff: [
            (event.onset, [head.pitch.midi for head in event.heads])
            for event in part.events
            if event.staff == staff and event.heads
        ]
        for staff in (1, 2)
    }
    assert by_staff == {
        1: [(1, [61]), (2, [66]), (3, [70]), (4, [61, 80])],
        2: [(0, [37]), (4, [37, 49])],
    }
    assert part.tempi[0].quarters_per_minute == 90


@pytest.mark.parametrize(
    ("key", "names"),
    [
        ("Db", ["D♭2", "D♭4", "G♭4", "B♭4"]),
        ("B", ["C♯2", "C♯4", "F♯4", "A♯4"]),
        (None, ["C♯2", "C♯4", "F♯4", "B♭4"]),
    ],
)
def test_a_midi_harp_is_spelled_by_its_key(key: str | None, names: list[str]) -> None:
    """MIDI has keys and no letters: in D flat the black keys are flats, in B sharps."""
    part = read_score(harp_track(fifths=key), "harp.mid")
    assert [str(head.pitch) for _, head in part.notes()][:4] == names
    assert part.source.spelling_guessed


def track(*messages: mido.Message | mido.MetaMessage) -> mido.MidiTrack:
    """A track of these messages and one note at its end."""
    note = (mido.Message("note_on", note=60), mido.Message("note_off", note=60, time=480))
    return mido.MidiTrack([*messages, *note])


def midi_file(*tracks: mido.MidiTrack) -> bytes:
    """A MIDI file of 480 ticks a quarter."""
    stream = io.BytesIO()
    mido.MidiFile(ticks_per_beat=480, tracks=list(tracks)).save(file=stream)
    return stream.getvalue()


def signature(above: int, below: int, time: int = 0) -> mido.MetaMessage:
    """A time signature after so many ticks."""
    return mido.MetaMessage("time_signature", numerator=above, denominator=below, time=time)


SILENCE = mido.Message("control_change", time=480 * 300)


@pytest.mark.parametrize(
    ("tracks", "size"),
    [
        ([track()], MidiSize(tracks=1, bars=1, notes=1, all_notes=1)),
        # 300 silent quarters are 75 bars of four; the note stands in one more.
        ([track(SILENCE)], MidiSize(1, 76, 1, 1)),
        ([track(signature(2, 4), SILENCE)], MidiSize(1, 151, 1, 1)),
        ([track(signature(1, 32), SILENCE)], MidiSize(1, 2408, 1, 1)),
        # two bars of four, the second cut off after its first quarter; then 100 bars of three
        ([track(signature(3, 4, 480 * 5), SILENCE)], MidiSize(1, 2 + 101, 1, 1)),
        # a conductor's track has no notes, and its signatures hold for all
        (
            [mido.MidiTrack([signature(3, 4)]), track(SILENCE), track(*track()[:1])],
            MidiSize(2, 101, 2, 3),
        ),
    ],
    ids=["one note", "silence", "2/4", "1/32", "a change of time", "three tracks"],
)
def test_the_size_of_a_midi_file(tracks: list[mido.MidiTrack], size: MidiSize) -> None:
    """Bars by the signatures in force, notes that begin, and tracks that have any.

    Source: the messages as mido writes them, counted by hand.
    """
    assert midi_size(midi_file(*tracks)) == size


@pytest.mark.parametrize(
    ("tracks", "line"),
    [
        ([track(*[SILENCE] * 27)], "the file holds more than 2,000 bars, too many for MIDI"),
        (
            [track(signature(1, 32), SILENCE)],
            "the file holds more than 2,000 bars, too many for MIDI",
        ),
        (
            [track(*[SILENCE] * 20)] * 14,
            "the file holds 14 tracks of 1,501 bars, too many for MIDI",
        ),
        (
            [track(*[mido.Message("note_on", note=60)] * 10_000)],
            "the file holds more than 10,000 notes in one track, too many for MIDI",
        ),
    ],
    ids=["silence", "silence in short bars", "silence in many tracks", "notes"],
)
def test_midi_that_music21_would_work_on_for_minutes(
    tracks: list[mido.MidiTrack], line: str
) -> None:
    """A file of a few bytes can stand for thousands of bars; it is refused unread."""
    with pytest.raises(ScoreError) as error:
        read_score(midi_file(*tracks), "a.mid")
    mend = "Give it in movements, or export the score as MusicXML."
    assert str(error.value) == f"a.mid: {line}. {mend}"


@pytest.mark.parametrize("rest", ["Z100000000", "X2001", "Z1001|Z1000"])
def test_an_abc_tune_that_rests_for_ever(rest: str) -> None:
    """One sign of a few letters stands for any number of bars. Source: ABC 2.1, 4.5."""
    with pytest.raises(ScoreError) as error:
        read_score(f"X:1\nK:C\nCDEF|{rest}|CDEF|\n".encode(), "a.abc")
    assert str(error.value) == "a.abc: the tune rests for more than 2,000 bars"


def test_rests_of_bars_in_abc() -> None:
    """Three bars of rest are three bars; a title that looks like a rest is none."""
    tune = 'X:1\nT:Z9999\nM:4/4\nL:1/4\nK:C\nCDEF|"Z9999"Z3|CDEF| % Z9999\n'
    assert len(read_score(tune.encode(), "a.abc").bars) == 5


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"MThd\x00\x00\x00\x06broken", "a.x: the MIDI file cannot be understood."),
        (
            MEI.replace("<section>", "<section><measure>").encode(),
            "a.x: the MEI file cannot be understood.",
        ),
    ],
)
def test_broken_files_of_other_formats(data: bytes, message: str) -> None:
    """One line, and what would help."""
    with pytest.raises(ScoreError) as error:
        read_score(data, "a.x")
    assert str(error.value) == f"{message} Export the score as MusicXML and give that."


def test_reading_musicxml_does_not_import_music21() -> None:
    """Importing it costs as much as engraving a page, and MusicXML needs none of it."""
    program = (
        "import sys; from pedalsetter.analysis.reading import read_score; "
        "from pedalsetter.analysis.errors import PedalsetterError\n"
        "try: read_score(b'<score-partwise/>', 'a')\n"
        "except PedalsetterError: pass\n"
        "print('music21' in sys.modules, 'converter21' in sys.modules)"
    )
    run = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    assert run.stdout.split() == ["False", "False"]


def test_music21_stays_as_it_is() -> None:
    """Reading MEI with converter21 does not change how music21 reads for others."""
    before = music21.converter.Converter().subConvertersList("input")
    read_score(MEI.encode(), "study.mei")
    assert music21.converter.Converter().subConvertersList("input") == before
