"""A full score with the music of all but a few parts let go while it is parsed.

A tree of sixty parts takes more than ten times the memory of its file, and only the harp's part,
and the first one with its signs for everyone, are wanted whole. Of each other part stays what the
road always asks of it; if more is asked (how far the others reach in a bar that the harp leaves
open), the file is gone through once more.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from lxml import etree

from pedalsetter.analysis.reading.limits import (
    SAFE_PARSING,
    Limits,
    broken_xml,
    check_tree,
    drop_namespace,
    local_name,
    parse_xml,
    without_leading_space,
)
from pedalsetter.analysis.reading.part_list import (
    Outline,
    PartInfo,
    heads_of,
    outline_of,
)

__all__ = ["ThinnedScore", "parse_thinned"]


@dataclass(frozen=True, slots=True)
class ThinnedScore:
    """A parsed score; parts that were let go are empty elements with an outline."""

    root: etree._Element
    data: bytes
    file: str
    limits: Limits
    outlines: Mapping[int, Outline] = field(default_factory=dict)
    """Of the parts that were let go, by number from 1."""

    def whole(self) -> ThinnedScore:
        """The same with every part in full, for when a part that was let go is wanted after all."""
        root = parse_xml(self.data, self.file, self.limits)
        drop_namespace(root)
        return ThinnedScore(root, self.data, self.file, self.limits)

    def once_more(self) -> Iterator[etree._Element]:
        """Every part that was let go, one at a time, in full until the next is asked for.

        Takes as long as parsing the file.
        """
        for number, part in _parts(_started(self.data)):
            if number in self.outlines:
                drop_namespace(part)
                yield part
            part.clear()


def parse_thinned(
    data: bytes, file: str, limits: Limits, wanted: Callable[[list[PartInfo]], set[str]]
) -> ThinnedScore:
    """Parse XML as :func:`parse_xml` does; of a partwise score, let parts go that nobody wants.

    ``wanted`` tells from the list of parts the ids of those that may be read. Scores whose list
    does not stand before their music keep all.

    Raises:
        ScoreError: as :func:`parse_xml`.
    """
    outlines: dict[int, Outline] = {}
    events = _started(data)
    heads: list[PartInfo] | None = None
    ids: set[str] = set()
    was_wanted = True
    try:
        for number, part in _parts(events):
            root = part.getparent()
            if heads is None and root is not None:
                heads = heads_of(root)
                ids = wanted(heads)
            if not heads:
                continue
            identity = part.get("id") or f"P{number}"
            is_wanted = identity in ids
            # The part after a harp may be its lower half.
            if number > 1 and not is_wanted and not was_wanted:
                drop_namespace(part)
                outlines[number] = outline_of(part, identity)
                _let_go(part)
            was_wanted = is_wanted
    except etree.XMLSyntaxError as error:
        raise broken_xml(error, file) from error
    root = events.root
    check_tree(root, file, limits)
    drop_namespace(root)
    return ThinnedScore(root, data, file, limits, outlines)


def _let_go(part: etree._Element) -> None:
    attributes = part.items()
    part.clear()
    for name, value in attributes:
        part.set(name, value)


def _started(data: bytes) -> Any:
    return etree.iterparse(
        io.BytesIO(without_leading_space(data)), events=("end",), tag="{*}part", **SAFE_PARSING
    )


def _parts(events: Any) -> Iterator[tuple[int, etree._Element]]:
    """(number from 1, element) of each part of a partwise score, when it has been parsed."""
    number = 0
    for _, part in events:
        root = part.getparent()
        if root is None or root.getparent() is not None:
            continue
        if local_name(root) == "score-partwise":
            number += 1
            yield number, part
