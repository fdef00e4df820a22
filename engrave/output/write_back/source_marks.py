"""Taking the source's own pedal marks out of a MusicXML part, to the byte.

A ``<direction>`` that holds nothing but marks goes whole, with the white space behind it; of one
that holds other things too, only the ``<direction-type>`` of the mark goes. A ``<sound>`` stays
where it is.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from lxml import etree

from pedalsetter.analysis.part import SourceMark
from pedalsetter.analysis.reading.identities import Identities
from pedalsetter.analysis.reading.printed_text import joined_words, without_private_signs
from pedalsetter.engrave.output.write_back.outline import Child, Measure, find_children
from pedalsetter.engrave.output.write_back.own_marks import is_own
from pedalsetter.engrave.output.write_back.splice import (
    Edit,
    edited,
    space_behind,
    without_children,
)

__all__ = ["without_source_marks"]


def without_source_marks(
    text: bytes,
    measures: Sequence[Measure],
    element: etree._Element,
    part_id: str,
    marks: Iterable[SourceMark],
) -> tuple[bytes, frozenset[str]]:
    """(``text`` without these marks, ids of those that were found).

    ``element`` is the ``<part>`` as it stands in ``text`` and ``measures`` are its bars there;
    both must be as they were when the marks were read.
    """
    wanted: dict[str, list[SourceMark]] = {}
    for mark in marks:
        for name in {mark.id, mark.id.rpartition("-")[0]}:
            wanted.setdefault(name, []).append(mark)
    identities = Identities([element])
    edits: list[Edit] = []
    found: set[str] = set()
    for index, (bar, measure) in enumerate(
        zip(element.findall("measure"), measures, strict=True), 1
    ):
        gone: set[int] = set()
        count = 0
        children = [child for child in bar if isinstance(child.tag, str)]
        for place, (child, outline) in enumerate(zip(children, measure.children, strict=True)):
            # Our own do not count: the marks were read from the document without them.
            if child.tag not in ("direction", "sound") or is_own(outline):
                continue
            count += 1
            known = wanted.get(identities.of(child, part_id, index, "d", count))
            if known is None or child.tag == "sound":
                continue
            whole, inner, names = _of_direction(text, child, outline, known)
            found |= names
            edits += inner
            if whole:
                gone.add(place)
        edits += without_children(text, measure, gone)
    return edited(text, edits), frozenset(found)


def _of_direction(
    text: bytes, direction: etree._Element, outline: Child, marks: Sequence[SourceMark]
) -> tuple[bool, list[Edit], set[str]]:
    """(whether it goes whole, else what goes of it, ids of the marks in it)."""
    inside = find_children(text[outline.start : outline.end], "direction", outline.start)
    children = [child for child in direction if isinstance(child.tag, str)]
    types = [
        (child, place)
        for child, place in zip(children, inside, strict=True)
        if child.tag == "direction-type"
    ]
    names: set[str] = set()
    gone = []
    for child, place in types:
        mark = _mark_in(child, [mark for mark in marks if mark.id not in names])
        if mark is not None:
            names.add(mark.id)
            gone.append(place)
    if len(gone) < len(types):
        edits = [Edit(place.start, space_behind(text, place.end), b"") for place in gone]
        return False, edits, names
    sounds = [place for place in inside if place.name == "sound"]
    if not sounds:
        return True, [], names
    # What sounds there has nothing to do with the mark.
    kept = text[sounds[0].start : sounds[0].end]
    return False, [Edit(outline.start, outline.end, kept)], names


def _mark_in(kind: etree._Element, marks: Sequence[SourceMark]) -> SourceMark | None:
    """The mark that a ``<direction-type>`` holds."""
    if kind.find("harp-pedals") is not None:
        return next((mark for mark in marks if mark.kind == "diagram"), None)
    texts = [child.text or "" for child in kind if child.tag == "words"]
    if not texts:
        return None
    said = without_private_signs(joined_words(texts))
    return next((mark for mark in marks if mark.kind != "diagram" and mark.text == said), None)
