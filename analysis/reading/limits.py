"""How much a score file may ask of us, and an XML parser that trusts nothing.

The limits stop a broken or hostile file early. They are far above real music: the largest
orchestral scores in circulation unpack to less than 150 MB and hold fewer than a million notes.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from lxml import etree

from pedalsetter.analysis.errors import ScoreError

__all__ = ["DEFAULT_LIMITS", "Limits", "parse_xml"]


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
    bar_quarters: int = 2_000
    """Length of one bar in quarters; the longest cadenzas in print have a few hundred."""


DEFAULT_LIMITS = Limits()
"""What :func:`pedalsetter.analysis.reading.read_part` allows."""


def parse_xml(
    data: bytes, file: str, limits: Limits = DEFAULT_LIMITS, *, forgiving: bool = False
) -> etree._Element:
    """Parse XML without network, external files or entities; comments are left out.

    ``forgiving`` reads on over what is not well-formed (older MEI has identities that XML forbids).
    UTF-8 and UTF-16, with or without a byte-order mark, are told by the parser itself.

    Raises:
        ScoreError: not well-formed, too deeply nested, or it declares entities.
    """
    parser = etree.XMLParser(
        resolve_entities=False,
        no_network=True,
        load_dtd=False,
        dtd_validation=False,
        huge_tree=False,
        remove_comments=True,
        remove_pis=True,
        recover=forgiving,
    )
    try:
        # Some programs leave a line break before the XML declaration, which is not well-formed
        # but harmless.
        root = etree.fromstring(data.lstrip(b" \t\r\n"), parser)
    except etree.XMLSyntaxError as error:
        raise ScoreError(
            f"the XML is broken: {_reason(error)}",
            file=file,
            mend="Export the score again from the program that made it.",
        ) from error
    if root is None:
        # Where nothing can be recovered, there is neither a tree nor an error.
        raise ScoreError(
            "the XML is broken: there is no element in it",
            file=file,
            mend="Export the score again from the program that made it.",
        )
    dtd: Any = root.getroottree().docinfo.internalDTD
    if dtd is not None and dtd.entities():
        raise ScoreError(
            "the XML declares entities of its own, which is not safe to read",
            file=file,
            mend="Export the score again without them.",
        )
    if _deeper_than(root, limits.depth):
        raise ScoreError(f"its XML is nested more than {limits.depth} levels deep", file=file)
    return root


def _reason(error: etree.XMLSyntaxError) -> str:
    message = " ".join((error.msg or "it cannot be parsed").split())
    return message[0].lower() + message[1:]


def _deeper_than(root: etree._Element, depth: int) -> bool:
    return bool(root.xpath(f"boolean(/*{'/*' * depth})"))
