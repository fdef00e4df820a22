"""What an earlier run has written: how it is named, and how it is taken out to the byte.

From MusicXML 3.1 on, and in MEI, an element may carry an identity; ours begin with
``pedalsetter-``. Older MusicXML has no such attribute, and a document must stay valid by its own
version, so there a processing instruction stands directly before the element, which XML allows
everywhere and every reader passes over.
"""

from __future__ import annotations

import itertools
from collections.abc import Container, Iterable, Iterator

from pedalsetter.engrave.output.write_back.outline import Child, Measure
from pedalsetter.engrave.output.write_back.splice import (
    Edit,
    edited,
    space_before,
    space_behind,
)

__all__ = ["PREFIX", "SIGN", "is_own", "names", "without_own_marks"]

PREFIX = "pedalsetter-"
"""How the identity of each element of ours begins."""

SIGN = "<?pedalsetter {}?>"
"""What stands before an element of ours in MusicXML before 3.1; inside goes its name without the
prefix."""

ONLY = "only"
"""Ends the name of a mark in a bar that was one empty tag before it."""

_NAMES = frozenset(("direction", "harpPedal", "dir", "supplied"))


def is_own(child: Child, prefix: str = PREFIX) -> bool:
    """Whether an earlier run wrote the element; a user's own note or bar never is."""
    return child.name in _NAMES and _name(child).startswith(prefix)


def names(stem: str, measure: Measure, taken: Container[str]) -> Iterator[str]:
    """Names for the marks of one bar, ``PREFIX`` and ``stem`` and a number, none of them taken."""
    tail = f"-{ONLY}" if measure.is_one_tag else ""
    for count in itertools.count(1):
        name = f"{PREFIX}{stem}-{count}{tail}"
        if name not in taken:
            yield name


def without_own_marks(text: bytes, measures: Iterable[Measure], prefix: str = PREFIX) -> bytes:
    """``text`` without the marks of earlier runs, as it was before them.

    Only marks whose names begin with ``prefix`` are taken out.
    """
    edits = []
    for measure in measures:
        group: list[Child] = []
        for child in (*measure.children, None):
            if child is not None and is_own(child, prefix):
                group.append(child)
            elif group:
                edits.append(_removal(text, measure, group, is_last=child is None))
                group = []
    return edited(text, edits)


def _removal(text: bytes, measure: Measure, group: list[Child], *, is_last: bool) -> Edit:
    first = group[0]
    start = first.start if first.sign is None else first.sign[0]
    end = group[-1].end
    if len(group) == len(measure.children) and _name(first).endswith(ONLY):
        return Edit(measure.open_end - 1, measure.end, b"/>")
    if is_last and not text[end : measure.close_start].strip():
        return Edit(space_before(text, start), end, b"")
    return Edit(start, space_behind(text, end), b"")


def _name(child: Child) -> str:
    return PREFIX + child.sign[1].strip() if child.sign is not None else child.id
