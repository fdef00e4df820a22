"""How much a score file may ask of us, and an XML parser that trusts nothing.

The limits stop a broken or hostile file early. They are far above real music: the largest
orchestral scores in circulation unpack to less than 150 MB and hold fewer than a million notes.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, cast

from lxml import etree

from pedalsetter.analysis.errors import ScoreError

__all__ = [
    "DEFAULT_LIMITS",
    "SAFE_PARSING",
    "Limits",
    "broken_xml",
    "check_tree",
    "drop_namespace",
    "local_name",
    "long_texts",
    "parse_xml",
    "without_leading_space",
]


@dataclass(frozen=True, slots=True)
class Limits:
    """The most that one score file may hold."""

    file_bytes: int = 64 * 2**20
    """Size of the file on disk."""
    unpacked_bytes: int = 256 * 2**20
    """Size of one unpacked member of a compressed score."""
    members: int = 2_000
    """Files inside a compressed score (pictures and sounds are counted, but never unpacked)."""
    ratio: int = 200
    """How many times larger a member may be unpacked than packed, beyond its first megabyte."""
    depth: int = 64
    """Nesting of XML elements; MusicXML itself needs about a dozen."""
    bars: int = 20_000
    """Bars of one part."""
    notes: int = 500_000
    """Notes and rests of one part."""
    voices: int = 100
    """Voices of one bar; a full organ score has about a dozen."""
    text_signs: int = 2_000
    """Length of one text in signs; what is longer is cut."""
    bar_quarters: int = 2_000
    """Length of one bar in quarters; the longest cadenzas in print have a few hundred."""
    music21_bars: int = 2_000
    """Bars that music21 makes of a few bytes: those of a MIDI file (and ten times as many in all
    its tracks together), and the rests of an ABC tune. Its time for MIDI grows with their square:
    2,000 take seven seconds, 20,000 would take ten minutes. The longest symphonic movements have a
    thousand or so (common practice, no source)."""
    music21_notes: int = 10_000
    """Notes of one track of a MIDI file, for the same reason: 5,000 take thirteen seconds."""


DEFAULT_LIMITS = Limits()
"""What :func:`pedalsetter.analysis.reading.read_part` allows."""


SAFE_PARSING: Mapping[str, Any] = {
    "resolve_entities": False,
    "no_network": True,
    "load_dtd": False,
    "dtd_validation": False,
    "huge_tree": False,
    "remove_comments": True,
    "remove_pis": True,
}
"""How lxml is told to trust nothing. Comments and processing instructions say nothing musical."""


def parse_xml(
    data: bytes, file: str, limits: Limits = DEFAULT_LIMITS, *, forgiving: bool = False
) -> etree._Element:
    """Parse XML without network, external files or entities; comments are left out.

    ``forgiving`` reads on over what is not well-formed (older MEI has identities that XML forbids).
    UTF-8 and UTF-16, with or without a byte-order mark, are told by the parser itself.

    Raises:
        ScoreError: not well-formed, too deeply nested, or it declares entities.
    """
    parser = etree.XMLParser(**SAFE_PARSING, recover=forgiving)
    try:
        root = etree.fromstring(without_leading_space(data), parser)
    except etree.XMLSyntaxError as error:
        raise broken_xml(error, file) from error
    if root is None:
        # Where nothing can be recovered, there is neither a tree nor an error.
        raise ScoreError("the XML is broken: there is no element in it", file=file, mend=_AGAIN)
    check_tree(root, file, limits)
    return root


def without_leading_space(data: bytes) -> bytes:
    """The document without what some programs leave before its XML declaration.

    A line break there is not well-formed, but harmless.
    """
    return data.lstrip(b" \t\r\n")


def local_name(element: etree._Element) -> str:
    """The name of an element without its namespace.

    A name that a broken file has left half written is no QName, and stays as it is.
    """
    return str(element.tag).rpartition("}")[2]


def drop_namespace(root: etree._Element) -> None:
    """MusicXML has no namespace; where a program adds one, the names are still the same."""
    if not str(root.tag).startswith("{"):
        return
    for element in root.iter("*"):
        name = local_name(element)
        # A damaged file may hold names that lxml reads but lets nobody write.
        if name != element.tag and _NAME.fullmatch(name):
            element.tag = name


def long_texts(root: etree._Element, limits: Limits) -> list[etree._Element]:
    """Elements with a text or an attribute that is too long to print; it is cut."""
    found: dict[etree._Element, None] = {}
    most = limits.text_signs
    for text in _texts(root, most=most):
        element = text.getparent()
        if element is None:
            continue
        found[element] = None
        if text.is_attribute:
            element.set(text.attrname, str(text)[:most])
        elif text.is_text:
            element.text = str(text)[:most]
        else:
            element.tail = None
    return list(found)


_texts = cast(
    "Callable[..., list[Any]]",
    etree.XPath("//text()[string-length() > $most] | //@*[string-length() > $most]"),
)

_NAME = re.compile(r"[^\W\d][\w.-]*")


def check_tree(root: etree._Element, file: str, limits: Limits) -> None:
    """Refuse a tree with entities of its own, or nested too deeply.

    Raises:
        ScoreError: it is one.
    """
    dtd: Any = root.getroottree().docinfo.internalDTD
    if dtd is not None and dtd.entities():
        raise ScoreError(
            "the XML declares entities of its own, which is not safe to read",
            file=file,
            mend="Export the score again without them.",
        )
    if root.xpath(f"boolean(/*{'/*' * limits.depth})"):
        raise ScoreError(f"its XML is nested more than {limits.depth} levels deep", file=file)


def broken_xml(error: etree.XMLSyntaxError, file: str) -> ScoreError:
    """The parser's complaint as our error.

    Raises:
        MemoryError: that is what the parser complains of.
    """
    code = getattr(error, "code", None)
    if code == etree.ErrorTypes.ERR_NO_MEMORY:
        raise MemoryError from error
    if code in _TOO_MUCH or "XML_PARSE_HUGE" in (error.msg or ""):
        return ScoreError(
            "its XML is nested too deeply, or its entities grow too large, to be read safely",
            file=file,
            mend=_AGAIN,
        )
    message = " ".join((error.msg or "it cannot be parsed").split())
    reason = message[0].lower() + message[1:]
    return ScoreError(f"the XML is broken: {reason}", file=file, mend=_AGAIN)


_TOO_MUCH = (etree.ErrorTypes.ERR_ENTITY_LOOP, etree.ErrorTypes.ERR_RESOURCE_LIMIT)
"""The parser's own limits."""

_AGAIN = "Export the score again from the program that made it."
