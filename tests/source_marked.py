"""Scores that carry pedal marks of their own, made from scores that carry ours."""

from __future__ import annotations

import re

__all__ = ["as_sources_own", "with_slips"]


def as_sources_own(data: bytes) -> bytes:
    """A document (in UTF-8 or UTF-16) in which nothing tells any more who wrote the marks.

    Names are taken away, that is, the identities, and the instructions of MusicXML before 3.1; so
    are the names of strings at notes, which are no marks of pedals.
    """
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        order = "utf-16-le" if data.startswith(b"\xff\xfe") else "utf-16-be"
        return data[:2] + _nameless(data[2:].decode(order)).encode(order)
    return _nameless(data.decode()).encode()


_STRINGS = re.compile(
    r'(?:<direction [^>]*id="pedalsetter-[^"]*">|<\?pedalsetter [^>]*\?><direction [^>]*>)'
    r"(?:(?!</direction>).)*\(=(?:(?!</direction>).)*</direction>\s*"
    r'|\s*<dir xml:id="pedalsetter-[^"]*"(?:(?!</dir>).)*\(=(?:(?!</dir>).)*</dir>',
    re.DOTALL,
)


def _nameless(text: str) -> str:
    text = _STRINGS.sub("", text)
    names = r' (?:xml:)?id="pedalsetter-[^"]*"|<\?pedalsetter [^>]*\?>'
    return re.sub(rf"{names}|<!-- Made by Pedalsetter, sha256:\w+ -->\n", "", text)


def with_slips(data: bytes) -> bytes:
    """Some stacks of letters are lost from a UTF-8 document of MusicXML: the 2nd, 5th and 8th."""
    found = list(
        re.finditer(rb"<direction [^>]*>\s*<direction-type>\s*<words[^>]*>[A-G][^a-z ]", data)
    )
    for start in [each.start() for each in found[1:8:3]][::-1]:
        end = data.index(b"</direction>", start) + len(b"</direction>")
        data = data[:start].rstrip() + data[end:]
    return data
