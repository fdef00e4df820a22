"""One part of a score cut out of its document, so that only the harp is parsed in full.

A full score may hold sixty parts, and parsing them all takes most of the time and memory. The
whole document is only checked, and searched for where its parts begin and end.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from xml.parsers import expat

from pedalsetter.analysis.errors import ScoreError

__all__ = ["DOCTYPE", "Excerpt", "part_excerpt", "root_of", "tag_end"]

_TAG = re.compile(rb"""<[^>"']*+(?:"[^"]*"[^>"']*+|'[^']*'[^>"']*+)*+>""")

_PARTS = re.compile(
    rb"<(?:!--.*?-->|!\[CDATA\[.*?\]\]>|\?.*?\?>|(?P<end>/)?(?:[^\s<>/:!?]+:)?part(?=[\s/>]))",
    re.DOTALL,
)
"""Tags of ``<part>``; what is no markup (comments and the like) is passed over whole. In a
well-formed document no other ``<`` can stand before such a name."""

DOCTYPE = b'<!DOCTYPE score SYSTEM "score">'
"""Leaves references to entities of a DTD as they are; nothing is ever loaded."""


@dataclass(frozen=True, slots=True)
class Excerpt:
    """A well-formed document that holds one part alone."""

    data: bytes
    shift: int
    """What turns a position in the excerpt into one in the text."""


def root_of(text: bytes, file: str) -> tuple[str, int]:
    """(name, position) of the root element of a UTF-8 text, which is checked to the end.

    Raises:
        ScoreError: the text is not well-formed, or declares entities of its own.
    """
    parser = expat.ParserCreate("utf-8")
    found: list[tuple[str, int]] = []

    def opened(name: str, _attributes: dict[str, str]) -> None:
        found.append((name, parser.CurrentByteIndex))
        # From here on the check needs no call back.
        parser.StartElementHandler = None

    def declared(*_: object) -> None:
        raise ScoreError(
            "the XML declares entities of its own, which is not safe to read",
            file=file,
            mend="Export the score again without them.",
        )

    parser.StartElementHandler = opened
    parser.EntityDeclHandler = declared
    try:
        parser.Parse(text, True)
    except expat.ExpatError as error:
        raise ScoreError(
            f"the XML is broken: {expat.ErrorString(error.code).lower()}, line {error.lineno}",
            file=file,
            mend="Export the score again from the program that made it.",
        ) from error
    return found[0]


def part_excerpt(text: bytes, root: tuple[str, int], number: int) -> Excerpt | None:
    """The part with this number, from 1; None if there are not so many.

    ``root`` is what :func:`root_of` returned.
    """
    name, position = root
    opening = text[position : tag_end(text, position)]
    start = 0
    count = 0
    for match in _PARTS.finditer(text, position + len(opening)):
        if not match[0].endswith(b"part"):
            continue
        if match["end"] is None:
            count += 1
            start = match.start()
            stop = tag_end(text, start)
            if text[stop - 2 : stop] != b"/>":
                continue
        else:
            stop = tag_end(text, match.start())
        if count == number:
            head = DOCTYPE + opening
            return Excerpt(
                head + text[start:stop] + b"</" + name.encode("utf-8") + b">", start - len(head)
            )
    return None


def tag_end(text: bytes, start: int) -> int:
    """Just behind the ``>`` of the tag that begins at ``start``; an attribute may hold a ``>``."""
    match = _TAG.match(text, start)
    return match.end() if match is not None else start
