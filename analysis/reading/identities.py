"""Names of notes and directions, and the way back from a name to its element."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from typing import cast

from lxml import etree

__all__ = ["Identities", "elements_by_identity"]

_ALL_IDS = cast("Callable[[etree._Element], list[str]]", etree.XPath(".//@id"))


class Identities:
    """Names for notes and directions: the source's own ``id`` where it is unique, else a place.

    A name by place reads ``P1-m12-n7``: part, measure counted from 1 in document order, note
    counted from 1 within the measure (``d`` for a direction). The same file always gives the same
    names, and the place leads back to the element.
    """

    def __init__(self, parts: Iterable[etree._Element]) -> None:
        self._taken: Counter[str] = Counter()
        for part in parts:
            self._taken.update(_ALL_IDS(part))

    def of(self, element: etree._Element, part_id: str, measure: int, kind: str, place: int) -> str:
        """The name of an element at a place (``measure`` and ``place`` from 1)."""
        own = element.get("id")
        if own is not None and self._taken[own] == 1:
            return own
        name = f"{part_id}-m{measure}-{kind}{place}"
        while name in self._taken:
            name += "x"
        return name


def elements_by_identity(
    part: etree._Element, part_id: str, identities: Identities
) -> dict[str, etree._Element]:
    """Every ``<note>`` and ``<direction>`` of a part by the name under which it is read.

    The tree must be the one that was read, or an equal one: a mark can then go back to the very
    note that it stands on. An event that was written as several tied notes, or a bar rest that was
    cut with its bar, is named after its first piece.
    """
    found = {}
    for index, measure in enumerate(part.findall("measure"), 1):
        notes = directions = 0
        for child in measure:
            if child.tag == "note":
                notes += 1
                found[identities.of(child, part_id, index, "n", notes)] = child
            elif child.tag in ("direction", "sound"):
                directions += 1
                found[identities.of(child, part_id, index, "d", directions)] = child
    return found
