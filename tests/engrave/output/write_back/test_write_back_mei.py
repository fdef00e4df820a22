"""Marks in the user's own MEI document: in the right bar, at the right beat and staff."""

from __future__ import annotations

import re
from collections import Counter
from functools import cache
from pathlib import Path

import pytest
import verovio
from lxml import etree
from written_back import (
    diagram_at,
    expected_marks,
    letters_at,
    markings,
    marks_everywhere,
    marks_read_back,
    place,
    planned_example,
    without_inserted,
)

from pedalsetter.analysis.errors import ScoreError
from pedalsetter.analysis.marks.marking import Markings
from pedalsetter.analysis.reading import read_score
from pedalsetter.engrave.output.write_back.door import write_back, write_back_score
from pedalsetter.engrave.output.write_back.options import WriteBackOptions

EXAMPLES = Path(__file__).resolve().parents[4] / "examples"

DOCUMENT = """\
<?xml version="1.0" encoding="UTF-8"?>
<?xml-model href='mei-all.rng'?>
<!-- <measure n="0"/> -->
<mei xmlns="http://www.music-encoding.org/ns/mei"  meiversion='5.1'>
  <meiHead><fileDesc><titleStmt><title>A &amp; B</title></titleStmt><pubStmt/></fileDesc></meiHead>
  <music><body><mdiv><score>
    <scoreDef meter.count="6" meter.unit="8" keysig="0">
      <staffGrp>
        <staffDef n="1" lines="5" clef.shape="G" clef.line="2"><label>Flute</label></staffDef>
        <staffGrp symbol="brace"><label>Harp</label>
          <staffDef n="2" lines="5" clef.shape="G" clef.line="2"/>
          <staffDef n="3" lines="5" clef.shape="F" clef.line="4"/>
        </staffGrp>
      </staffGrp>
    </scoreDef>
    <section>
      <measure xml:id="m1" n='1'>
        <staff n="1"><layer n="1"><mRest xml:id="f1"/></layer></staff>
        <staff n="2"><layer n="1">
          <note xml:id="h1" pname="c" oct="5" dur="4" dots="1"/>
          <note xml:id="h2" pname="d" oct="5" dur="4" dots="1"/>
        </layer></staff>
        <staff n="3"><layer n="1"><mRest xml:id="h3"/></layer></staff>
        <harpPedal   staff="2" tstamp="1" d="f"  c="n" b="n" e="n" f="n" g="n" a="n"/>
        <!-- the end -->
      </measure>
      <measure xml:id="m2" n="2"
        ><staff n="1"><layer n="1"><mRest xml:id="f2"/></layer></staff>
        <staff n="2" ><layer n="1"><note xml:id="h4" pname="e" oct="5" dur="2" dots="1"/></layer
        ></staff>
        <staff n="3"><layer n="1"><mRest xml:id="h5"/></layer></staff></measure>
    </section>
  </score></mdiv></body></music>
</mei>
"""

HARP = "2"
"""The harp by its number; music21's reader forgets the name of a group of staves."""

MARKS = markings(
    letters_at(place(0, "3/2"), "F♯", "C♮"),
    diagram_at(place(1), "bsn|ssnb"),
    letters_at(place(1, 1), "A♮"),
)


def written(data: bytes, marks: Markings = MARKS, part: str = HARP) -> bytes:
    """The document with marks."""
    return write_back_score(data, "harp.mei", read_score(data, "harp.mei", part), marks).data


@cache
def as_mei(name: str) -> bytes:
    """An example as verovio turns it into MEI."""
    toolkit = verovio.toolkit()
    toolkit.setOptions({"xmlIdSeed": 7})
    verovio.enableLog(verovio.LOG_OFF)
    assert toolkit.loadFile(str(EXAMPLES / name))
    # Verovio calls its MEI by a version to come; music21's reader knows it up to 5.1.
    return re.sub('meiversion="[^"]*"', 'meiversion="5.1"', str(toolkit.getMEI())).encode()


def test_marks_stand_at_the_end_of_their_bar() -> None:
    """Control events follow the staves; a diagram names all seven pedals.

    Source: MEI Guidelines, ``harpPedal`` and ``dir``; the third eighth after the first in 6/8 is
    beat 4, ``tstamp`` counting the lower figure.
    """
    data = DOCUMENT.encode()
    result = written(data).decode()

    assert (
        "        <!-- the end -->\n"
        '        <dir xml:id="pedalsetter-s2-b1-1" staff="2" tstamp="4" place="above">'
        '<rend fontstyle="normal">F♯<lb/>C♮</rend></dir>\n'
        "      </measure>"
    ) in result
    assert (
        "</layer></staff>"
        '<harpPedal xml:id="pedalsetter-s2-b2-1" staff="2" tstamp="1" place="above" '
        'd="f" c="s" b="n" e="s" f="s" g="n" a="f"/>'
        '<dir xml:id="pedalsetter-s2-b2-2" staff="2" tstamp="3" place="above">'
        '<rend fontstyle="normal">A♮</rend></dir></measure>'
    ) in result
    assert without_inserted(result.encode()) == data


def test_they_are_read_back() -> None:
    """Our own reader finds the marks in the document, and the source's own diagram."""
    data = DOCUMENT.encode()
    part = read_score(data, "harp.mei", HARP)
    again = read_score(written(data), "harp.mei", HARP)

    assert marks_read_back(again) == sorted(expected_marks(part, MARKS) + marks_read_back(part))
    assert again.events == part.events


@pytest.mark.parametrize("version", ["2013", "3.0.0", "4.0.1", "5.0"])
def test_versions(version: str) -> None:
    """``harpPedal`` and ``dir`` are the same in every version of MEI.

    Source: MEI Guidelines 2013 to 5, ``harpPedal``.
    """
    data = DOCUMENT.replace("5.1", version).encode()

    assert without_inserted(written(data)) == data
    assert written(data) == written(DOCUMENT.encode()).replace(b"5.1", version.encode())


def test_a_second_run_gives_the_same_bytes() -> None:
    """Marks of an earlier run give way; the source's diagram stays."""
    data = DOCUMENT.encode()
    once = written(data)
    other = written(data, markings(letters_at(place(0), "E♭"), letters_at(place(1, 2), "B♭")))

    assert written(once) == once
    assert written(other) == once
    assert written(once, Markings((), ())) == data


@pytest.mark.parametrize("line_break", ["\n", "\r\n"])
@pytest.mark.parametrize(
    ("head", "codec", "encoding"),
    [
        (b"\xef\xbb\xbf", "utf-8", "UTF-8"),
        (b"\xff\xfe", "utf-16-le", "UTF-16"),
        (b"", "latin-1", "ISO-8859-1"),
    ],
)
def test_an_encoding_and_its_line_breaks_stay(
    head: bytes, codec: str, encoding: str, line_break: str
) -> None:
    """Byte-order mark, encoding and line ends are kept; signs it cannot hold are references."""
    text = DOCUMENT.replace("UTF-8", encoding).replace("\n", line_break)
    data = head + text.encode(codec)
    part = read_score(DOCUMENT.encode(), "harp.mei", HARP)
    result = write_back_score(data, "harp.mei", part, MARKS).data
    marked = result.removeprefix(head).decode(codec)

    assert result.startswith(head)
    assert without_inserted(marked.encode()).decode() == text
    assert ("F&#9839;<lb/>" if codec == "latin-1" else "F♯<lb/>") in marked


@pytest.mark.parametrize(
    "name", ["evening-water.musicxml", "chromatic-study.musicxml", "three-times-round.mxl"]
)
def test_examples_carry_their_marks(name: str) -> None:
    """The planned marks are read back at their places; all else is byte for byte as it was."""
    data = as_mei(name)
    part = read_score(data, "example.mei")
    # The bars are those of the MusicXML that the document was made of.
    _, marks = planned_example(EXAMPLES / name)
    result = write_back_score(data, "example.mei", part, marks)
    again = read_score(result.data, "example.mei")

    assert result.suffix == ".mei"
    assert result.marks == len(marks.diagrams) + len(marks.changes) + len(marks.strings) > 10
    assert without_inserted(result.data) == data
    assert marks_read_back(again) == sorted(expected_marks(part, marks) + marks_read_back(part))
    assert write_back_score(result.data, "example.mei", again, marks).data == result.data


def test_only_the_staff_of_the_harp_has_marks() -> None:
    """In the orchestral score marks name the harp's upper staff, wherever a reader sorts it."""
    data = as_mei("orchestral-nocturne.musicxml")
    root = etree.fromstring(data)
    labels = [
        staff.get("n")
        for group in root.iter("{*}staffGrp")
        if "Harp" in (group.findtext("{*}label") or "")
        for staff in group.iter("{*}staffDef")
    ]
    part = read_score(data, "nocturne.mei", "6")
    result = write_back_score(data, "nocturne.mei", part, marks_everywhere(part)).data
    ours = [
        each
        for each in etree.fromstring(result).iter("{*}harpPedal", "{*}dir")
        if str(each.get("{http://www.w3.org/XML/1998/namespace}id")).startswith("pedalsetter-")
    ]

    assert part.staves == len(labels) == 2
    assert len(ours) > 100
    assert {each.get("staff") for each in ours} == {labels[0]}
    assert without_inserted(result) == data


def test_verovio_shows_the_letters(capfd: pytest.CaptureFixture[str]) -> None:
    """Verovio draws every letter and name, and says nothing but that it knows no ``harpPedal``."""
    data = as_mei("evening-water.musicxml")
    part = read_score(data, "example.mei")
    _, marks = planned_example(EXAMPLES / "evening-water.musicxml")
    result = write_back_score(data, "example.mei", part, marks).data
    verovio.enableLog(verovio.LOG_WARNING)
    toolkit = verovio.toolkit()
    capfd.readouterr()
    assert toolkit.loadData(result.decode())
    pages = "".join(toolkit.renderToSVG(page + 1) for page in range(toolkit.getPageCount()))
    said = capfd.readouterr().err.splitlines()
    drawn = re.findall(r"[A-G][♭♮♯]", re.sub(r"<[^>]*>|\s", "", pages))

    assert Counter(said) == Counter(
        {"[Warning] Unsupported '<harpPedal>' within <measure>": len(marks.diagrams)}
    )
    assert Counter(drawn) == Counter(
        [change.text for mark in marks.changes for change in mark.changes]
        + [string.name for mark in marks.strings for string in mark.strings]
    )


def test_prefixed_documents_and_options() -> None:
    """Elements get the document's prefix; placement and staff are as the options say."""
    data = re.sub(r"<(/?)(?=[a-zA-Z])", r"<\1m:", DOCUMENT).replace("xmlns=", "xmlns:m=").encode()
    part = read_score(DOCUMENT.encode(), "harp.mei", HARP)
    options = WriteBackOptions(diagram_placement="below", letter_placement="below", staff=2)
    result = write_back_score(data, "harp.mei", part, MARKS, options).data.decode()

    assert (
        '<m:dir xml:id="pedalsetter-s3-b1-1" staff="3" tstamp="4" place="below">'
        '<m:rend fontstyle="normal">F♯<m:lb/>C♮</m:rend></m:dir>' in result
    )
    assert '<m:harpPedal xml:id="pedalsetter-s3-b2-1" staff="3" tstamp="1" place="below"' in result


def test_a_third_of_a_beat_and_a_grace_note() -> None:
    """``tstamp`` is a decimal; MEI counts in beats, so a grace note's mark stands at its note."""
    data = DOCUMENT.encode()
    part = read_score(data, "harp.mei", HARP)
    marks = markings(letters_at(place(0, "2/3"), "F♯"), letters_at(place(0, "3/2", -1), "G♭"))
    result = write_back_score(data, "harp.mei", part, marks)

    assert b'tstamp="2.33333" place="above"><rend fontstyle="normal">F\xe2\x99\xaf<' in result.data
    assert b'tstamp="4" place="above"><rend fontstyle="normal">G\xe2\x99\xad<' in result.data
    assert [str(notice) for notice in result.notices] == [
        "bar 1, beat 4, staff 1: a mark among grace notes stands at their main note, since MEI "
        "counts in beats"
    ]


def test_a_variant_reading_has_no_bars_of_its_own() -> None:
    """Bars inside ``rdg`` and in an incipit repeat others and take no marks."""
    decoy = (
        '<incip><score><section><measure n="1"><staff n="1"/></measure></section></score></incip>'
    )
    data = DOCUMENT.replace("<meiHead>", f"<meiHead><workList><work>{decoy}</work></workList>")
    part = read_score(DOCUMENT.encode(), "harp.mei", HARP)
    result = write_back_score(data.encode(), "harp.mei", part, MARKS).data

    assert decoy.encode() in result
    assert without_inserted(result) == data.encode()


@pytest.mark.parametrize(
    ("data", "line"),
    [
        (
            "<score-partwise/>",
            "x.mei: this is no MEI score that marks could be written into",
        ),
        (
            DOCUMENT.replace('<measure xml:id="m2"', '<measure n="1b"/><measure xml:id="m2"'),
            "x.mei: its bars are not those that the marks were made for. Export the score as "
            "MusicXML and give that.",
        ),
        (
            DOCUMENT.replace("h1", "hh").replace("h4", "h1"),
            "x.mei: its bars are not those that the marks were made for. Export the score as "
            "MusicXML and give that.",
        ),
        (
            DOCUMENT.replace("<scoreDef", "<other").replace("staffDef", "staves"),
            "x.mei: the score is not the one that the marks were made for",
        ),
        (
            "<mei><music>",
            "x.mei: its bars are not those that the marks were made for. Export the score as "
            "MusicXML and give that.",
        ),
        (
            DOCUMENT[:-8],
            "x.mei: the XML is broken: no element found, line 33. Export the score again from the "
            "program that made it.",
        ),
    ],
)
def test_what_cannot_be_written_into_is_told_in_one_line(data: str, line: str) -> None:
    """A broken or foreign document ends in one clear line."""
    part = read_score(DOCUMENT.encode(), "harp.mei", HARP)
    with pytest.raises(ScoreError) as caught:
        write_back_score(data.encode(), "x.mei", part, MARKS)

    assert str(caught.value) == line


def test_a_file_is_only_read(tmp_path: Path) -> None:
    """The path is read and left alone; a missing one is told."""
    path = tmp_path / "harp.mei"
    path.write_bytes(DOCUMENT.encode())
    part = read_score(DOCUMENT.encode(), "harp.mei", HARP)

    assert write_back(path, part, MARKS).data == written(DOCUMENT.encode())
    assert path.read_bytes() == DOCUMENT.encode()
    with pytest.raises(ScoreError, match="there is no such file"):
        write_back(tmp_path / "nowhere.mei", part, MARKS)


@pytest.mark.parametrize(
    ("data", "line"),
    [
        (
            b"<!-- music-encoding.org -->",
            "x.mei: the XML is broken: there is no element in it. Export the score again from the "
            "program that made it.",
        ),
        (
            b"<p: xmlns='http://www.music-encoding.org/ns/mei'/>",
            "x.mei: 'p:' is no kind of score that can be read",
        ),
    ],
)
def test_what_cannot_even_be_recovered(data: bytes, line: str) -> None:
    """A file that only claims to be MEI is told as what it is, by reader and writer alike."""
    part = read_score(DOCUMENT.encode(), "harp.mei", HARP)
    with pytest.raises(ScoreError) as caught:
        read_score(data, "x.mei")
    assert str(caught.value) == line
    with pytest.raises(ScoreError):
        write_back_score(data, "x.mei", part, MARKS)
