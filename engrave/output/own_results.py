"""A mark in every result, by which it is known again later, and known to be as it was written.

The mark is a digest of all the rest of the file: a comment in LilyPond source, Markdown, HTML, SVG,
MusicXML and MEI, a key in JSON, a text in PNG, an entry of the document's information in PDF, the
archive's comment in MXL. So a file that somebody else has made, or has edited since, can be told
from one that may be replaced.
"""

from __future__ import annotations

import hashlib
import re
import struct
import zlib
from collections.abc import Callable
from pathlib import PurePath
from typing import NamedTuple

__all__ = ["is_ours", "is_untouched", "stamped"]


class _Form(NamedTuple):
    """How files of one kind bear the mark."""

    with_mark: Callable[[bytes, bytes], bytes]
    """Content without a mark, and the mark: the content with it."""
    without: Callable[[bytes], tuple[bytes, bool]]
    """The content without a mark, and whether there was one."""


def stamped(name: str, content: bytes) -> bytes:
    """The content with the mark of its form; one that it has already is renewed.

    Content of a form that can hold no mark comes back as it is.

    >>> stamped("a.ly", stamped("a.ly", b"{ c' }")) == stamped("a.ly", b"{ c' }")
    True
    """
    form = _form_of(name)
    if form is None:
        return content
    plain, _ = form.without(content)
    return form.with_mark(plain, b"sha256:" + hashlib.sha256(plain).hexdigest().encode("ascii"))


def is_untouched(name: str, content: bytes) -> bool:
    """Whether the content is byte for byte what :func:`stamped` once gave."""
    return is_ours(name, content) and stamped(name, content) == content


def is_ours(name: str, content: bytes) -> bool:
    """Whether the content bears the mark, edited since or not."""
    form = _form_of(name)
    return form is not None and form.without(content)[1]


def _text(before: str, after: str = "") -> _Form:
    """A comment on the last line."""
    before, after = f"{before} Made by Pedalsetter, ", f"{after}\n"

    def coded(text: str, content: bytes) -> bytes:
        return text.encode(_UTF_16.get(content[:2], "ascii"))

    def with_mark(content: bytes, mark: bytes) -> bytes:
        return content + coded(f"{before}{mark.decode('ascii')}{after}", content)

    def without(content: bytes) -> tuple[bytes, bool]:
        line_end = coded("\n", content)
        head, begin, mark = content.rpartition(coded(before, content))
        size = len(coded("x" * _MARK_LENGTH + after, content))
        if begin and len(mark) == size and mark.endswith(coded(after, content)):
            return head, True
        return (content if content.endswith(line_end) else content + line_end), bool(begin)

    return _Form(with_mark, without)


_UTF_16 = {b"\xff\xfe": "utf-16-le", b"\xfe\xff": "utf-16-be"}
"""Texts in two bytes a sign, by how they begin."""
_MARK_LENGTH = len("sha256:") + 64


_JSON_KEY = re.compile(rb',\n  "made_by": "Pedalsetter, sha256:[0-9a-f]{64}"\n\}\n\Z')


def _with_key(content: bytes, mark: bytes) -> bytes:
    return content[: -len("\n}\n")] + b',\n  "made_by": "Pedalsetter, ' + mark + b'"\n}\n'


def _without_key(content: bytes) -> tuple[bytes, bool]:
    plain, found = _JSON_KEY.subn(b"\n}\n", content)
    return plain, bool(found)


# Source: W3C, Portable Network Graphics, third edition, 5.3 (chunks) and 11.3.3.2 (tEXt).
_PNG_TEXT = re.compile(rb"\0\0\0.tEXtPedalsetter\0sha256:[0-9a-f]{64}.{4}", re.DOTALL)
_PNG_END = b"\0\0\0\0IEND\xaeB`\x82"


def _with_chunk(content: bytes, mark: bytes) -> bytes:
    chunk = b"tEXtPedalsetter\0" + mark
    whole = struct.pack(">I", len(chunk) - 4) + chunk + struct.pack(">I", zlib.crc32(chunk))
    return content.removesuffix(_PNG_END) + whole + _PNG_END


def _without_chunk(content: bytes) -> tuple[bytes, bool]:
    plain, found = _PNG_TEXT.subn(b"", content)
    return plain, bool(found)


# Source: ISO 32000-1, 7.5.6 (incremental updates) and 14.3.3 (the document's information).
_PDF_MARK = b"\n%Made by Pedalsetter, "
_PDF_TRAILER = re.compile(rb"trailer\s*<<(.*?)>>\s*startxref\s+(\d+)\s+%%EOF\s*\Z", re.DOTALL)


def _with_information(content: bytes, mark: bytes) -> bytes:
    """The PDF with an update that adds an entry to its information, where it has a plain table."""
    head = content + _PDF_MARK + mark + b"\n"
    trailer = _PDF_TRAILER.search(content)
    named = trailer and re.search(rb"/Info\s+(\d+)\s+0\s+R", trailer[1])
    if trailer is None or not named:
        return head  # the comment alone
    found = re.search(rb"(?:^|\s)" + named[1] + rb"\s+0\s+obj\s*<<(.*?)>>\s*endobj", content, re.S)
    if found is None:
        return head
    number, table = int(named[1]), int(trailer[2])
    entry = b"%d 0 obj\n<<%s /Pedalsetter (%s) >>\nendobj\n" % (number, found[1].rstrip(), mark)
    return (
        head
        + entry
        + (
            b"xref\n%d 1\n%010d 00000 n \ntrailer\n<<%s\n   /Prev %d\n>>\nstartxref\n%d\n%%%%EOF\n"
            % (number, len(head), trailer[1].rstrip(), table, len(head) + len(entry))
        )
    )


def _without_information(content: bytes) -> tuple[bytes, bool]:
    head, found, _ = content.rpartition(_PDF_MARK)
    return (head, True) if found else (content, False)


# Source: PKWARE, APPNOTE.TXT, 4.3.16 (end of the central directory; the comment is its last field).
_ZIP_MARK = re.compile(rb"Made by Pedalsetter, sha256:[0-9a-f]{64}\Z")
_ZIP_END, _COMMENT_AT = b"PK\x05\x06", 20


def _with_comment(content: bytes, mark: bytes) -> bytes:
    return _comment_longer(content, b"Made by Pedalsetter, " + mark)


def _without_comment(content: bytes) -> tuple[bytes, bool]:
    found = _ZIP_MARK.search(content)
    return (content, False) if found is None else (_comment_longer(content, b"", found), True)


def _comment_longer(content: bytes, more: bytes, gone: re.Match[bytes] | None = None) -> bytes:
    place = content.rfind(_ZIP_END) + _COMMENT_AT
    comment = content[place + 2 : gone.start() if gone else None] + more
    return content[:place] + struct.pack("<H", len(comment)) + comment


_MARKUP = _text("<!--", " -->")
_FORMS = {
    **dict.fromkeys((".ly", ".ily"), _text("%")),
    **dict.fromkeys((".md", ".html", ".svg", ".musicxml", ".xml", ".mei"), _MARKUP),
    ".json": _Form(_with_key, _without_key),
    ".png": _Form(_with_chunk, _without_chunk),
    ".pdf": _Form(_with_information, _without_information),
    ".mxl": _Form(_with_comment, _without_comment),
}


def _form_of(name: str) -> _Form | None:
    return _FORMS.get(PurePath(name).suffix.lower())
