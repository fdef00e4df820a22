"""Marks go into the user's own document, and every other byte of it stays."""

from __future__ import annotations

import re
import zipfile
from pathlib import Path

import pytest
import score_snippets as snippets
from written_back import (
    diagram_at,
    expected_marks,
    in_utf8,
    letters_at,
    markings,
    marks_everywhere,
    marks_read_back,
    place,
    planned_example,
    score_inside,
    without_inserted,
)
from written_document import MARKS, archive, document, written

from pedalsetter.analysis.errors import HouseStyleError
from pedalsetter.analysis.marks.marking import Markings, place_marks
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.analysis.reading import read_part, read_score
from pedalsetter.engrave.output.write_back.clearing import without_marks
from pedalsetter.engrave.output.write_back.door import write_back, write_back_score
from pedalsetter.engrave.output.write_back.options import WriteBackOptions

EXAMPLES = Path(__file__).resolve().parents[4] / "examples"


@pytest.mark.parametrize(
    ("head", "codec", "encoding"),
    [
        (b"", "utf-8", "UTF-8"),
        (b"\xef\xbb\xbf", "utf-8", "UTF-8"),
        (b"\r\n ", "utf-8", "UTF-8"),
        (b"\xff\xfe", "utf-16-le", "UTF-16"),
        (b"\xfe\xff", "utf-16-be", "UTF-16"),
        (b"", "utf-16-le", "UTF-16"),
        (b"", "latin-1", "ISO-8859-1"),
        (b"", "cp1252", "windows-1252"),
        (b"", "ascii", "US-ASCII"),
        (b"", "shift_jis", "Shift_JIS"),
    ],
)
@pytest.mark.parametrize("line_break", ["\n", "\r\n", "\r"])
def test_an_encoding_and_its_line_breaks_stay(
    head: bytes, codec: str, encoding: str, line_break: str
) -> None:
    """Byte-order mark, encoding and line ends are kept; signs it cannot hold are references."""
    text = document(encoding).replace("\n", line_break)
    data = head + text.encode(codec, "xmlcharrefreplace")
    result = written(data)
    marked = result.removeprefix(head).decode(codec)

    assert result.startswith(head)
    assert without_inserted(marked.encode()).decode() == data.removeprefix(head).decode(codec)
    sign = "♯" if codec.startswith("utf") else "♯".encode(codec, "xmlcharrefreplace").decode(codec)
    assert f"F{sign}</words>" in marked
    assert not re.search(r"\n|\r", marked.replace(line_break, ""))
    part = read_score(data, "harp.musicxml")
    assert marks_read_back(read_score(result, "harp.musicxml")) == sorted(
        expected_marks(part, MARKS) + marks_read_back(part)
    )


def test_a_sign_in_the_layout_of_its_surroundings() -> None:
    """A mark is set out like its neighbours, on lines of its own with their indentation."""
    result = written(document().encode()).decode()

    assert (
        '      <direction placement="above" id="pedalsetter-p2-b1-3">\n'
        "        <direction-type>\n"
        '          <words font-style="normal">G♭\nC♮</words>\n'
        "        </direction-type>\n"
        "        <voice>1</voice>\n"
        "        <staff>1</staff>\n"
        "      </direction>\n"
        "      <?keep this?><note>"
    ) in result
    assert (
        '\t<direction placement="above" id="pedalsetter-p2-b1-2">\n'
        "\t  <direction-type>\n"
        '\t    <words font-style="normal">F♯</words>\n'
        "\t  </direction-type>\n"
        "\t  <offset>2</offset>\n"
        "\t  <voice>1</voice>\n"
        "\t  <staff>1</staff>\n"
        "\t</direction>\n"
        "\t<note default-x='3'>"
    ) in result


def test_a_bar_that_is_one_empty_tag_is_opened_and_closed_again() -> None:
    """``<measure number="2"/>`` takes its marks and is as before when they go."""
    data = document().encode()
    result = written(data)

    assert b'<measure number="2">\n      <direction' in result
    assert b"</direction>\n    </measure>\n  </part>" in result
    assert written(result, Markings((), ())) == data


def test_a_second_run_gives_the_same_bytes() -> None:
    """Marks of an earlier run give way to the new ones, whatever they were."""
    data = document().encode()
    once = written(data)
    other = written(data, markings(diagram_at(place(0, 2)), letters_at(place(1, 1), "E♭")))

    assert written(once) == once
    assert written(other) == once
    assert written(once, Markings((), ())) == data


def test_marks_of_the_source_and_of_other_parts_stay() -> None:
    """A mark that the tool did not write is no mark of its own, whatever it looks like."""
    data = (
        document()
        .replace('<direction   placement = "above">', '<direction id="my-pedalsetter-1">')
        .replace("<note default-x='3'>", "<note id='pedalsetter-p2-b1-1'>")
        .encode()
    )
    result = written(data)

    assert without_inserted(result) == data
    assert result.count(b'id="pedalsetter-p2-b1-1"') == 0
    assert b'id="pedalsetter-p2-b1-2"' in result
    assert written(result) == result


def test_a_pretty_printer_after_us_does_not_make_marks_permanent() -> None:
    """Marks are told by their names, not by the white space around them."""
    from lxml import etree

    once = written(document().encode())
    tree = etree.fromstring(once, etree.XMLParser(remove_blank_text=True))
    reprinted = etree.tostring(tree.getroottree(), pretty_print=True, encoding="UTF-8")
    cleared = written(reprinted, Markings((), ()))

    assert b"pedalsetter-" not in cleared
    assert cleared.count(b"<words>") == 2


@pytest.mark.parametrize("version", ["1.0", "1.1", "2.0", "3.0"])
def test_older_versions_have_no_identities(version: str) -> None:
    """Before 3.1 a direction has no ``id``: a processing instruction tells whose it is.

    Source: MusicXML 3.1, change list, "optional-unique-id".
    """
    data = document(version=version).encode()
    result = written(data)

    assert b'id="pedalsetter' not in result
    assert result.count(b"<?pedalsetter p2-b") == 5
    assert without_inserted(result) == data
    assert written(result, Markings((), ())) == data
    assert written(result) == result


def test_a_version_that_is_not_told_is_1_0() -> None:
    """Source: MusicXML 4.0, ``score-partwise``: the version is 1.0 unless it is told."""
    result = written(document().replace("version='4.0'", "").encode())

    assert b"<?pedalsetter p2-b1-1?><direction" in result


@pytest.mark.parametrize(
    ("root", "prefix"),
    [
        ("<score-partwise version='4.0' xmlns='http://www.musicxml.org/x'>", ""),
        ("<m:score-partwise version='4.0' xmlns:m='http://www.musicxml.org/x'>", "m:"),
    ],
)
def test_a_namespace_holds_for_the_marks_too(root: str, prefix: str) -> None:
    """Elements with a prefix get neighbours with the same one."""
    plain = snippets.score(snippets.bars(snippets.note("C4", 4))).decode()
    body = plain[plain.index("<part-list>") :]
    body = re.sub(r"<(/?)(?=\w)", rf"<\1{prefix}", body)
    data = ("<?xml version='1.0'?>" + root + body).encode()
    part = read_score(data, "n.musicxml")
    marks = markings(diagram_at(place(0)), letters_at(place(0, 1), "B♭"))
    result = written(data, marks)

    assert f"<{prefix}harp-pedals><{prefix}pedal-tuning><{prefix}pedal-step>D</".encode() in result
    again = read_score(result, "n.musicxml")
    assert marks_read_back(again) == expected_marks(part, marks)
    assert again.events == part.events


def test_a_document_without_line_breaks_stays_without_them() -> None:
    """A score on one line gets marks on that line."""
    data = snippets.score(snippets.bars(snippets.note("C4", 4), snippets.note("D4", 4)))
    part = read_score(data, "flat.musicxml")
    result = written(data, marks_everywhere(part))

    assert b"\n" not in re.sub(rb"([A-G]\S+)\n(?=[A-G])", rb"\1", result)
    assert without_inserted(result) == data


EXAMPLE_FILES = sorted(
    path
    for path in EXAMPLES.iterdir()
    # The old edition has marks of its own already, with which ours would be read as one.
    if path.suffix in (".musicxml", ".mxl") and path.stem != "old-edition"
)


@pytest.mark.parametrize("path", EXAMPLE_FILES, ids=lambda path: path.name)
def test_examples_carry_their_marks(path: Path) -> None:
    """The planned marks are read back from our examples; all else is byte for byte as it was."""
    part, marks = planned_example(path)
    result = write_back(path, part, marks)
    again = read_score(result.data, path.name)

    assert result.marks == len(marks.diagrams) + len(marks.changes) + len(marks.strings) > 6
    assert result.notices == ()
    assert result.suffix == path.suffix
    assert without_inserted(score_inside(result.data)) == score_inside(path.read_bytes())
    assert marks_read_back(again) == sorted(expected_marks(part, marks) + marks_read_back(part))
    assert {(each.staff, each.placement) for each in again.source_marks} == {(1, "above")}
    assert (again.events, again.bars) == (part.events, part.bars)
    assert write_back_score(result.data, path.name, again, marks).data == result.data


def test_the_second_plan_is_the_first() -> None:
    """Marks in the document change nothing in the plan, so a second whole run changes nothing."""
    path = EXAMPLES / "three-times-round.mxl"
    part, marks = planned_example(path)
    data = write_back(path, part, marks).data
    again = read_score(data, path.name)
    planned_again = place_marks(again, plan_changes(again))

    assert planned_again == marks
    assert write_back_score(data, path.name, again, planned_again).data == data


def test_only_the_harp_of_a_full_score_is_touched() -> None:
    """Of the orchestral example, marks stand in the harp's part and in no other."""
    path = EXAMPLES / "orchestral-nocturne.musicxml"
    part = read_part(path)
    result = write_back(path, part, marks_everywhere(part)).data
    pattern = rb'<part id="([^"]+)">(.*?)</part>'
    before = dict(re.findall(pattern, path.read_bytes(), re.DOTALL))
    after = dict(re.findall(pattern, result, re.DOTALL))

    assert list(before) == list(after)
    assert [name for name in before if before[name] != after[name]] == [
        part.source.part_id.encode()
    ]


def test_a_harp_of_two_parts_has_its_marks_in_the_upper_one() -> None:
    """Two one-staff parts are one harp; its marks stand over the upper staff, without a number."""
    halves = [
        ("P1", "Harp RH", snippets.bars(snippets.note("C5", 4), snippets.note("C5", 4))),
        (
            "P2",
            "Harp LH",
            snippets.bars(snippets.note("C3", 1) * 4, snippets.note("C3", 4)),
        ),
    ]
    data = snippets.full_score(halves)
    part = read_score(data, "two.musicxml")
    marks = markings(diagram_at(place(0)), letters_at(place(0, 2), "A♭"))
    result = written(data, marks)
    upper, lower = re.findall(rb"<part id.*?</part>", result)

    assert part.staves == 2
    assert b"pedalsetter" not in lower
    assert b"<staff>" not in upper
    assert b"<offset>192</offset><voice>1</voice></direction><note>" in upper
    assert marks_read_back(read_score(result, "two.musicxml")) == expected_marks(part, marks)


def test_options_place_marks_below_or_on_the_other_staff() -> None:
    """Placement and staff are as the options say; a staff that is not there becomes the last."""
    data = document().encode()
    part = read_score(data, "harp.musicxml")
    options = WriteBackOptions(diagram_placement="below", letter_placement="below", staff=2)
    result = write_back_score(data, "harp.musicxml", part, MARKS, options).data
    marks = read_score(result, "harp.musicxml").source_marks
    ours = [each for each in marks if each.id.startswith("pedalsetter-")]

    assert {(each.placement, each.staff) for each in ours} == {("below", 2)}
    assert len(ours) == 5
    with pytest.raises(HouseStyleError, match="above or below its staff or between two, not 'on'"):
        WriteBackOptions(letter_placement="on")
    with pytest.raises(HouseStyleError, match="staves are counted from 1, not 0"):
        WriteBackOptions(staff=0)


@pytest.mark.parametrize("version", ["2.0", "4.0"])
@pytest.mark.parametrize("encoding", ["UTF-8", "UTF-16"])
def test_all_marks_of_ours_can_be_taken_out(version: str, encoding: str) -> None:
    """Without its marks a document is as its user made it, in whatever parts they stood."""
    data = document(encoding, version).encode(encoding)
    once = written(data)
    flute = read_score(once, "harp.musicxml", "Flute")
    twice = write_back_score(once, "harp.musicxml", flute, markings(diagram_at(place(1)))).data
    packed = archive(twice, zipfile.ZIP_DEFLATED)

    assert once != twice
    assert without_marks(twice, "harp.musicxml") == data
    assert without_marks(data, "harp.musicxml") == data
    assert without_marks(packed, "x.mxl") == archive(data, zipfile.ZIP_DEFLATED)
    assert without_marks(b"no score at all", "x.txt") == b"no score at all"


def test_the_source_is_only_read(tmp_path: Path) -> None:
    """Writing back returns the new document and leaves the file alone."""
    path = tmp_path / "harp.musicxml"
    path.write_bytes(document().encode())
    before = path.stat().st_mtime_ns
    write_back(path, read_part(path), MARKS)

    assert path.read_bytes() == document().encode()
    assert path.stat().st_mtime_ns == before
    assert list(tmp_path.iterdir()) == [path]


def test_text_in_the_document_is_never_taken_for_markup() -> None:
    """Tags inside comments, CDATA, processing instructions and attributes are only text."""
    decoys = (
        "<!-- <part id='P1'><measure number='1'><note/> --><?decoy <part id='P1'><measure><note> ?>"
    )
    plain = snippets.score(
        snippets.bars(
            snippets.note("C4", 2, attributes="dynamics='>'")
            + "<!-- </measure></part> -->"
            + snippets.note("E4", 2)
        )
    ).decode()
    data = plain.replace("<part id", decoys + "<part name='a > b' id").encode()
    part = read_score(data, "decoy.musicxml")
    marks = marks_everywhere(part)
    result = written(data, marks)

    assert without_inserted(result) == data
    assert marks_read_back(read_score(result, "decoy.musicxml")) == expected_marks(part, marks)


def test_the_corpus_scores_in_utf_16_are_kept() -> None:
    """Real files in UTF-16 (music21's corpus, Monteverdi) take marks at every note."""
    import music21

    path = Path(music21.__file__).parent / "corpus/monteverdi/madrigal.3.3.mxl"
    part = read_part(path, "1")
    result = write_back(path, part, marks_everywhere(part)).data

    assert score_inside(path.read_bytes()).startswith(b"\xff\xfe")
    assert without_inserted(in_utf8(score_inside(result))) == in_utf8(
        score_inside(path.read_bytes())
    )
