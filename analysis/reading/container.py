"""Compressed MusicXML (.mxl): find the score inside the ZIP archive, and unpack nothing else.

Source: MusicXML 4.0, "Compressed .mxl files": ``META-INF/container.xml`` names the root files, and
the first of them is the score.
"""

from __future__ import annotations

import io
import lzma
import struct
import zipfile
import zlib

from pedalsetter.analysis.errors import ScoreError
from pedalsetter.analysis.reading.limits import DEFAULT_LIMITS, Limits, parse_xml

__all__ = ["is_zip", "score_in_container", "score_member"]

_CONTAINER = "META-INF/container.xml"

_DAMAGED = (
    zipfile.BadZipFile,
    zlib.error,
    lzma.LZMAError,
    struct.error,
    NotImplementedError,  # an unknown method of packing
    RuntimeError,  # encrypted
    EOFError,
    # places outside the file, names in no encoding
    OSError,
    ValueError,
)
"""What :mod:`zipfile` raises on archives that are damaged or made to harm."""


def is_zip(data: bytes) -> bool:
    """Whether the bytes begin like a ZIP archive."""
    return data[:4] in (b"PK\x03\x04", b"PK\x05\x06")


def score_in_container(data: bytes, file: str, limits: Limits = DEFAULT_LIMITS) -> bytes:
    """The bytes of the score inside a compressed MusicXML file; see :func:`score_member`."""
    return score_member(data, file, limits)[1]


def score_member(data: bytes, file: str, limits: Limits = DEFAULT_LIMITS) -> tuple[str, bytes]:
    """(name, bytes) of the score inside a compressed MusicXML file.

    Names inside the archive are only looked up, never written to disk, so no path in them can
    reach anything. An archive without a container file is read if exactly one member looks like a
    score.

    Raises:
        ScoreError: a broken or encrypted archive, no score in it, or one beyond the limits.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            members = {info.filename: info for info in archive.infolist()}
            if len(archive.infolist()) > limits.members:
                raise ScoreError(f"the archive holds more than {limits.members:,} files", file=file)
            name = _name_of_score(archive, members, file, limits)
            return name, _unpack(archive, members[name], file, limits)
    except _DAMAGED as error:
        raise ScoreError(
            "the compressed score is damaged or encrypted",
            file=file,
            mend="Export the score again, or as uncompressed MusicXML.",
        ) from error


def _name_of_score(
    archive: zipfile.ZipFile, members: dict[str, zipfile.ZipInfo], file: str, limits: Limits
) -> str:
    if _CONTAINER in members:
        container = parse_xml(_unpack(archive, members[_CONTAINER], file, limits), file, limits)
        for rootfile in container.iter("{*}rootfile"):
            path = rootfile.get("full-path", "")
            if path in members:
                return path
            raise ScoreError(
                f"the archive names '{path}' as its score, but has no such file", file=file
            )
    scores = [
        name
        for name in members
        if name.lower().endswith((".musicxml", ".xml")) and not name.startswith(("META-INF/", "__"))
    ]
    if len(scores) != 1:
        raise ScoreError(
            "the archive does not say which of its files is the score",
            file=file,
            mend="Export the score again as .mxl or .musicxml.",
        )
    return scores[0]


def _unpack(archive: zipfile.ZipFile, info: zipfile.ZipInfo, file: str, limits: Limits) -> bytes:
    # The sizes in the directory may lie, so the stream itself is cut off at the limit.
    allowed = min(limits.unpacked_bytes, 2**20 + limits.ratio * max(info.compress_size, 1))
    with archive.open(info) as stream:
        data = stream.read(allowed + 1)
    if len(data) > allowed:
        raise ScoreError(f"'{info.filename}' unpacks to more than is safe to read", file=file)
    return data
