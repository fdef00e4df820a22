"""One member of a ZIP archive is replaced; every other byte of the archive stays.

Sources: PKWARE, APPNOTE.TXT, sections 4.3.7 (local header), 4.3.12 (central directory) and 4.3.16
(its end).
"""

from __future__ import annotations

import io
import struct
import zipfile
import zlib

from pedalsetter.analysis.errors import ScoreError

__all__ = ["with_member"]

_LOCAL = struct.Struct("<4s5H3I2H")
_CENTRAL = struct.Struct("<4s6H3I5H2I")
_END = struct.Struct("<4s4H2IH")
_DESCRIPTOR = 0x0008
_STORED, _DEFLATED = zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED


def with_member(archive: bytes, name: str, content: bytes, file: str) -> bytes:
    """The archive with ``content`` in place of what the member ``name`` held.

    Names, dates, order, extra fields and comments stay, and the other members are not even
    unpacked. The same content always gives the same bytes.

    Raises:
        ScoreError: the archive is laid out in a way that cannot be kept (over 4 GB, overlapping).
    """
    try:
        with zipfile.ZipFile(io.BytesIO(archive)) as opened:
            members = opened.infolist()
            wanted = opened.getinfo(name)
            directory = opened.start_dir
    except (zipfile.BadZipFile, KeyError) as error:
        raise _unknown_layout(file) from error
    end_of_directory = archive.rfind(b"PK\x05\x06")
    if end_of_directory < directory or len(archive) + len(content) >= 2**32 - 1:
        raise _unknown_layout(file)
    # Offsets in the directory count from the first member, which need not be the file's first byte.
    records = _records(archive, directory, end_of_directory, len(members), file)
    lead = directory - _END.unpack_from(archive, end_of_directory)[6]
    start = wanted.header_offset
    later = [each.header_offset for each in members if each.header_offset > start]
    stop = min(later, default=directory)
    own_record = next((place for place in records if lead + _offset(archive, place) == start), None)
    if lead < 0 or own_record is None or sum(1 for m in members if m.header_offset == start) != 1:
        raise _unknown_layout(file)
    entry, packed, method = _entry(archive, start, content, file)
    moved = len(entry) - (stop - start)
    pieces = [archive[:start], entry, archive[stop:directory]]
    for number, place in enumerate(records):
        until = records[number + 1] if number + 1 < len(records) else end_of_directory
        record = bytearray(archive[place:until])
        if place == own_record:
            flags = struct.unpack_from("<H", record, 8)[0] & ~_DESCRIPTOR
            struct.pack_into("<HH", record, 8, flags, method)
            struct.pack_into("<3I", record, 16, zlib.crc32(content), len(packed), len(content))
        elif lead + _offset(archive, place) > start:
            struct.pack_into("<I", record, 42, _offset(archive, place) + moved)
        pieces.append(bytes(record))
    end = bytearray(archive[end_of_directory:])
    struct.pack_into("<I", end, 16, directory - lead + moved)
    pieces.append(bytes(end))
    return b"".join(pieces)


def _entry(archive: bytes, start: int, content: bytes, file: str) -> tuple[bytes, bytes, int]:
    """(local header and data, data, method) of the member at ``start`` with its new content."""
    fields = list(_LOCAL.unpack_from(archive, start))
    if fields[0] != b"PK\x03\x04":
        raise _unknown_layout(file)
    names = archive[start + _LOCAL.size : start + _LOCAL.size + fields[9] + fields[10]]
    method = _STORED if fields[3] == _STORED else _DEFLATED
    packed = content
    if method == _DEFLATED:
        deflate = zlib.compressobj(6, zlib.DEFLATED, -15)
        packed = deflate.compress(content) + deflate.flush()
    fields[2] &= ~_DESCRIPTOR
    fields[3] = method
    fields[6:9] = [zlib.crc32(content), len(packed), len(content)]
    return _LOCAL.pack(*fields) + names + packed, packed, method


def _records(archive: bytes, start: int, end: int, count: int, file: str) -> list[int]:
    """Where each record of the central directory begins."""
    found = []
    place = start
    while place + _CENTRAL.size <= end and archive[place : place + 4] == b"PK\x01\x02":
        found.append(place)
        fields = _CENTRAL.unpack_from(archive, place)
        place += _CENTRAL.size + sum(fields[10:13])
    if place != end or len(found) != count:
        raise _unknown_layout(file)
    return found


def _offset(archive: bytes, record: int) -> int:
    offset: int = struct.unpack_from("<I", archive, record + 42)[0]
    return offset


def _unknown_layout(file: str) -> ScoreError:
    return ScoreError(
        "the compressed score is laid out in a way that cannot be kept",
        file=file,
        mend="Export the score again, or as uncompressed MusicXML.",
    )
