"""Compressed scores with marks in them: the archive around the score stays."""

from __future__ import annotations

import io
import zipfile

import pytest
from written_document import MARKS, archive, document, written

from pedalsetter.analysis.reading import read_score
from pedalsetter.engrave.output.write_back.archive import with_member
from pedalsetter.engrave.output.write_back.door import write_back_score


@pytest.mark.parametrize(
    "method", [zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED, zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA]
)
def test_an_archive_keeps_its_other_members(method: int) -> None:
    """In an .mxl every byte before the score stays, and every other member with all its data.

    Source: PKWARE, APPNOTE.TXT, 4.3.
    """
    score = document().encode()
    data = archive(score, method)
    part = read_score(data, "harp.mxl")
    result = write_back_score(data, "harp.mxl", part, MARKS).data

    with (
        zipfile.ZipFile(io.BytesIO(data)) as before,
        zipfile.ZipFile(io.BytesIO(result)) as after,
    ):
        assert after.testzip() is None
        assert after.comment == b"made by hand"
        assert after.namelist() == before.namelist()
        for old, new in zip(before.infolist(), after.infolist(), strict=True):
            for field in ("date_time", "comment", "extra", "external_attr", "flag_bits"):
                assert getattr(old, field) == getattr(new, field)
            if old.filename == "score.xml":
                assert after.read(new) == written(score)
                assert result[: old.header_offset] == data[: old.header_offset]
            else:
                assert after.read(new) == before.read(old)
    again = read_score(result, "harp.mxl")
    assert write_back_score(result, "harp.mxl", again, MARKS).data == result


def test_an_archive_behind_other_bytes_is_kept() -> None:
    """Offsets in an archive count from its first member, wherever in the file that stands."""
    data = b"#!/bin/false\n" + archive(b"old", zipfile.ZIP_DEFLATED)
    result = with_member(data, "score.xml", b"new" * 999, "x.mxl")

    assert result.startswith(b"#!/bin/false\n")
    with zipfile.ZipFile(io.BytesIO(result)) as opened:
        assert opened.testzip() is None
        assert opened.read("score.xml") == b"new" * 999
        assert opened.read("page.png") == bytes(range(256)) * 9


def test_an_archive_that_was_streamed_is_kept() -> None:
    """Writers that stream put sizes behind the data; the new score has them before it."""

    class Stream(io.RawIOBase):
        def __init__(self) -> None:
            self.data = bytearray()

        def writable(self) -> bool:
            return True

        def write(self, data: bytes) -> int:  # type: ignore[override]
            self.data += data
            return len(data)

    stream = Stream()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as opened:
        opened.writestr("score.musicxml", document())
        opened.writestr("other.bin", b"other" * 99)
    data = bytes(stream.data)
    part = read_score(data, "harp.mxl")
    result = write_back_score(data, "harp.mxl", part, MARKS).data

    with zipfile.ZipFile(io.BytesIO(result)) as after:
        assert after.testzip() is None
        assert after.read("other.bin") == b"other" * 99
        assert after.read("score.musicxml") == written(document().encode())
