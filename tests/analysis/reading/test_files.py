"""Files: containers, encodings, limits, and every error line in full."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping
from pathlib import Path

import pytest
from score_snippets import bars, note, opening, score

from pedalsetter.analysis.errors import ScoreError
from pedalsetter.analysis.reading import read_part, read_score
from pedalsetter.analysis.reading.limits import Limits

SCORE = score(bars(note("C4", 4)))

CONTAINER = (
    b'<?xml version="1.0"?><container><rootfiles>'
    b'<rootfile full-path="music/harp.xml"/></rootfiles></container>'
)


def archive(members: Mapping[str, bytes]) -> bytes:
    """A ZIP archive of these members."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, data in members.items():
            packed.writestr(name, data)
    return stream.getvalue()


def refusal(data: bytes, file: str = "score.xml", limits: Limits | None = None) -> str:
    """The message with which these bytes are refused."""
    with pytest.raises(ScoreError) as error:
        read_score(data, file, limits=limits or Limits())
    assert "\n" not in str(error.value)
    return str(error.value)


def test_a_compressed_score_is_read_through_its_container() -> None:
    """The container names the score; pictures beside it do not matter."""
    part = read_score(
        archive({"META-INF/container.xml": CONTAINER, "music/harp.xml": SCORE, "a.png": b"x"}),
        "harp.mxl",
    )
    assert part.source.format == "mxl"
    assert len(part.bars) == 1


def test_a_compressed_score_without_container_is_read_if_clear() -> None:
    """One score inside is enough."""
    assert read_score(archive({"harp.musicxml": SCORE}), "harp.mxl").bars
    assert refusal(archive({"a.xml": SCORE, "b.xml": SCORE}), "harp.mxl") == (
        "harp.mxl: the archive does not say which of its files is the score. "
        "Export the score again as .mxl or .musicxml."
    )


def test_a_container_that_names_nothing() -> None:
    """Also one that tries to lead out of the archive."""
    wrong = CONTAINER.replace(b"music/harp.xml", b"../../etc/passwd")
    assert refusal(archive({"META-INF/container.xml": wrong}), "harp.mxl") == (
        "harp.mxl: the archive names '../../etc/passwd' as its score, but has no such file"
    )


def test_a_damaged_archive() -> None:
    """Cut off in the middle."""
    whole = archive({"META-INF/container.xml": CONTAINER, "music/harp.xml": SCORE})
    assert refusal(whole[: len(whole) // 2], "harp.mxl") == (
        "harp.mxl: the compressed score is damaged or encrypted. "
        "Export the score again, or as uncompressed MusicXML."
    )


def test_an_archive_that_unpacks_to_too_much() -> None:
    """Thirty megabytes of spaces in a few kilobytes."""
    bomb = archive(
        {"META-INF/container.xml": CONTAINER, "music/harp.xml": b" " * (30 * 2**20) + SCORE}
    )
    assert refusal(bomb, "harp.mxl") == (
        "harp.mxl: 'music/harp.xml' unpacks to more than is safe to read"
    )


def test_an_archive_of_too_many_files() -> None:
    """Counted before anything is unpacked."""
    many = archive({f"{place}.png": b"" for place in range(20)})
    assert refusal(many, "harp.mxl", Limits(members=10)) == (
        "harp.mxl: the archive holds more than 10 files"
    )


@pytest.mark.parametrize(
    "data",
    [
        b"\xef\xbb\xbf" + SCORE,
        b"\n\n" + SCORE,
        SCORE.decode().replace('encoding="UTF-8"', 'encoding="UTF-16"').encode("utf-16"),
        SCORE.replace(
            b'<?xml version="1.0" encoding="UTF-8"?>',
            b'<?xml version="1.0" encoding="UTF-8"?><!DOCTYPE score-partwise PUBLIC '
            b'"-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
            b'"http://www.musicxml.org/dtds/partwise.dtd">',
        ),
        SCORE.replace(b"<measure", b"<!-- a bar --><?page 1?><measure", 1),
    ],
    ids=["utf-8 mark", "line breaks before", "utf-16", "doctype", "comments"],
)
def test_every_usual_form_of_xml(data: bytes) -> None:
    """Byte-order marks, UTF-16, the standard's own document type, comments between elements."""
    assert len(read_score(data, "score.xml").events) == 1


def test_files_that_are_not_there_or_no_scores(tmp_path: Path) -> None:
    """One line each; the file is named."""
    with pytest.raises(ScoreError) as error:
        read_part(tmp_path / "nothing.musicxml")
    assert str(error.value) == f"{tmp_path / 'nothing.musicxml'}: there is no such file"
    with pytest.raises(ScoreError) as error:
        read_part(tmp_path)
    assert str(error.value) == (
        f"{tmp_path}: this is a folder, not a score. "
        "Name a score in it, or mark all of them with batch."
    )
    (tmp_path / "empty.xml").write_bytes(b" \n")
    with pytest.raises(ScoreError) as error:
        read_part(tmp_path / "empty.xml")
    assert str(error.value) == "empty.xml: the file is empty"
    assert refusal(b"\x89PNG\r\n\x1a\n", "page.png") == (
        "page.png: this is no kind of score that can be read. "
        "Give MusicXML (.musicxml, .mxl), MEI, kern, ABC or MIDI."
    )


def test_the_suffix_does_not_matter(tmp_path: Path) -> None:
    """The format is told by what the file holds."""
    path = tmp_path / "harp.txt"
    path.write_bytes(SCORE)
    assert read_part(str(path)).source.file == "harp.txt"
    assert read_part(path).source.format == "musicxml"


def test_xml_of_another_kind() -> None:
    """A page, and a list of scores."""
    assert refusal(b"<html><body/></html>", "a.xml") == (
        "a.xml: 'html' is no kind of score that can be read"
    )
    assert refusal(b"<opus><title>All</title></opus>", "a.xml") == (
        "a.xml: the file is an opus, a list of scores. Give one of the scores that it lists."
    )


def test_broken_xml() -> None:
    """The parser's reason in one line."""
    assert refusal(SCORE.replace(b"</measure>", b"", 1)).startswith(
        "score.xml: the XML is broken: opening and ending tag mismatch: measure"
    )
    assert refusal(SCORE[:200]).endswith("Export the score again from the program that made it.")


def test_entities_are_not_read() -> None:
    """A file that would grow a billionfold, or read another file, is refused."""
    head = b'<!DOCTYPE score-partwise [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;">]>'
    evil = SCORE.replace(b"?><score", b"?>" + head + b"<score").replace(b"Harp", b"&b;")
    assert refusal(evil) == (
        "score.xml: the XML declares entities of its own, which is not safe to read. "
        "Export the score again without them."
    )
    head = b'<!DOCTYPE score-partwise [<!ENTITY a SYSTEM "file:///etc/passwd">]>'
    evil = SCORE.replace(b"?><score", b"?>" + head + b"<score").replace(b"Harp", b"&a;")
    assert "entities of its own" in refusal(evil)


def test_limits_of_depth_bars_notes_and_size(tmp_path: Path) -> None:
    """Each limit has its line."""
    deep = SCORE.replace(b"<note>", b"<x>" * 90 + b"</x>" * 90 + b"<note>", 1)
    assert refusal(deep) == "score.xml: its XML is nested more than 64 levels deep"
    many = score(bars(*[note("C4", 4)] * 5))
    assert refusal(many, limits=Limits(bars=4)) == "score.xml: the part has more than 4 bars"
    assert refusal(many, limits=Limits(notes=4)) == "score.xml: the part has more than 4 notes"
    long = SCORE.replace(b"<duration>384<", b"<duration>384000000<")
    assert refusal(long) == "score.xml, bar 1: the bar is longer than 2,000 quarters"
    path = tmp_path / "large.xml"
    path.write_bytes(b" " * 2**20 + SCORE)
    with pytest.raises(ScoreError) as error:
        read_part(path, limits=Limits(file_bytes=2**20))
    assert str(error.value) == "large.xml: the file is larger than 1 MB"


def test_lengths_that_are_no_numbers() -> None:
    """The bar is named."""
    for wrong in (b"soon", b"-96", b"1/0", b"1e999999999", b"nan"):
        assert refusal(SCORE.replace(b">384<", b">" + wrong + b"<")) == (
            f"score.xml, bar 1: '{wrong.decode()}' is no length. "
            "Export the score again from the program that made it."
        )
    assert refusal(SCORE.replace(b"<divisions>96", b"<divisions>0")) == (
        "score.xml, bar 1: '0' is no number of divisions"
    )


def test_a_score_without_music() -> None:
    """No parts, or a part without bars."""
    empty = b"<score-partwise><part-list/></score-partwise>"
    from pedalsetter.analysis.errors import PartError

    with pytest.raises(PartError) as error:
        read_score(empty, "a.xml")
    assert str(error.value) == "a.xml: the score has no parts"
    assert refusal(score("")) == "score.xml: the part has no bars"


def test_a_namespace_does_not_matter() -> None:
    """MusicXML has none; a file that declares one all the same is read."""
    spaced = SCORE.replace(b"<score-partwise", b'<score-partwise xmlns="http://example.org/m"', 1)
    assert read_score(spaced, "a.xml").events


def test_numbers_that_are_nonsense_do_no_harm() -> None:
    """Staff, voice, line, size: what is no number is read as the usual one."""
    odd = opening().replace(
        "</attributes>", "<clef><sign>G</sign><line>x</line></clef></attributes>"
    ) + note("C4", 4).replace("<voice>1</voice>", "<voice/>").replace(
        "</note>", "<staff>two</staff></note>"
    )
    part = read_score(score(f'<measure number="1">{odd}</measure>'), "a.xml")
    assert (part.events[0].staff, part.events[0].voice) == (1, "1")
    assert part.clefs[0].line == 2


def test_plain_text_that_declares_utf_16() -> None:
    """What is written in plain bytes is read as such, whatever it says of itself, and told."""
    plain = SCORE.replace(b'encoding="UTF-8"', b"encoding='utf-16'")
    assert plain != SCORE
    part = read_score(plain, "score.xml")
    assert part.events == read_score(SCORE, "score.xml").events
    assert [str(notice) for notice in part.warnings] == [
        "the file says that it is written in UTF-16 and is not; it is read as UTF-8"
    ]
