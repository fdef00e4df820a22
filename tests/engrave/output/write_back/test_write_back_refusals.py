"""Documents that marks cannot be written into, each told in one line."""

from __future__ import annotations

import pytest
from written_document import MARKS, document

from pedalsetter.analysis.errors import ScoreError
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.reading import read_score
from pedalsetter.engrave.output.write_back.door import write_back, write_back_score


def harp() -> HarpPart:
    """The part of the document."""
    return read_score(document().encode(), "harp.musicxml")


@pytest.mark.parametrize(
    ("data", "line"),
    [
        (
            b"<score-timewise version='4.0'><part-list/></score-timewise>",
            "x.xml: the score is not the one that the marks were made for",
        ),
        (b"MThd\0\0\0\6", "x.xml: this is no MusicXML score that marks could be written into"),
        (b"", "x.xml: this is no MusicXML score that marks could be written into"),
        (b"<html/>", "x.xml: this is no MusicXML score that marks could be written into"),
        (
            b"<score-partwise><part id='P0'/></score-partwise>",
            "x.xml: the score is not the one that the marks were made for",
        ),
        (
            b"<score-partwise><part id='P0'></part><part id='Q'></part></score-partwise>",
            "x.xml: the score is not the one that the marks were made for",
        ),
        (
            b"<score-partwise><part id='P0'>",
            "x.xml: the XML is broken: no element found, line 1. Export the score again from the "
            "program that made it.",
        ),
        (
            b"<!DOCTYPE s [<!ENTITY a 'b'>]><score-partwise>&a;</score-partwise>",
            "x.xml: the XML declares entities of its own, which is not safe to read. Export the "
            "score again without them.",
        ),
        (
            b"<!DOCTYPE s [<!ENTITY a 'aaaaaaaaaa'>"
            + b"".join(
                b"<!ENTITY %c '%s'>" % (letter + 1, b"&%c;" % letter * 99)
                for letter in range(ord("a"), ord("m"))
            )
            + b"]><score-partwise>&m;</score-partwise>",
            "x.xml: the XML declares entities of its own, which is not safe to read. Export the "
            "score again without them.",
        ),
        (
            b"<?xml version='1.0' encoding='klingon'?><score-partwise/>",
            "x.xml: its encoding, klingon, cannot be written back unchanged. Export the score in "
            "UTF-8.",
        ),
        (
            b"<?xml version='1.0' encoding='ascii'?><score-partwise>\xe9</score-partwise>",
            "x.xml: its encoding, ascii, cannot be written back unchanged. Export the score in "
            "UTF-8.",
        ),
        (
            "<?xml version='1.0'?><score-partwise>é</score-partwise>".encode("latin-1"),
            "x.xml: the XML is broken: not well-formed (invalid token), line 1. Export the score "
            "again from the program that made it.",
        ),
        (
            b"PK\x03\x04 and nothing more",
            "x.xml: the compressed score is damaged or encrypted. Export the score again, or as "
            "uncompressed MusicXML.",
        ),
    ],
)
def test_what_cannot_be_written_into_is_told_in_one_line(data: bytes, line: str) -> None:
    """Broken, hostile or foreign files end in one clear line."""
    with pytest.raises(ScoreError) as caught:
        write_back_score(data, "x.xml", harp(), MARKS)

    assert str(caught.value) == line


def test_a_missing_file_is_told() -> None:
    """A wrong name is a user's mistake, told in one line."""
    with pytest.raises(ScoreError, match=r"^nowhere\.musicxml: there is no such file$"):
        write_back("nowhere.musicxml", harp(), MARKS)
