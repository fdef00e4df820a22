"""Scores that carry pedal marks of their own, made from scores that carry ours."""

from __future__ import annotations

import re

__all__ = ["as_sources_own"]


def as_sources_own(data: bytes) -> bytes:
    """A document (in UTF-8 or UTF-16) in which nothing tells any more who wrote the marks.

    Only names are taken away: the identities, and the instructions of MusicXML before 3.1.
    """
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        order = "utf-16-le" if data.startswith(b"\xff\xfe") else "utf-16-be"
        return data[:2] + _nameless(data[2:].decode(order)).encode(order)
    return _nameless(data.decode()).encode()


def _nameless(text: str) -> str:
    return re.sub(r' (?:xml:)?id="pedalsetter-[^"]*"|<\?pedalsetter [^>]*\?>', "", text)
