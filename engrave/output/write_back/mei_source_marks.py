"""Taking the source's own pedal marks out of an MEI document, to the byte.

On the way from MEI into a :class:`HarpPart` marks lose their place in the document, so that each is
found again in its bar by what it says: a ``harpPedal`` by its seven pedals, a ``dir`` by its text.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from lxml import etree

from pedalsetter.analysis.part import SourceMark
from pedalsetter.engrave.output.write_back.mei_places import XML_ID, MeiPlaces
from pedalsetter.engrave.output.write_back.outline import Measure
from pedalsetter.engrave.output.write_back.own_marks import is_own
from pedalsetter.engrave.output.write_back.splice import edited, without_children

__all__ = ["without_mei_source_marks"]

_ALTER: Mapping[str, int] = {"f": -1, "n": 0, "s": 1}


def without_mei_source_marks(
    text: bytes,
    measures: Sequence[Measure],
    root: etree._Element,
    places: MeiPlaces,
    marks: Iterable[SourceMark],
) -> tuple[bytes, tuple[SourceMark, ...]]:
    """(``text`` without these marks, marks that were not found in it).

    ``root`` is the document as parsed and ``measures`` are all its bars in the bytes of ``text``.
    """
    elements = list(root.iter("{*}measure"))
    gone: dict[int, set[int]] = {}
    lost = []
    for mark in marks:
        index = places.measures[mark.bar]
        taken = gone.setdefault(index, set())
        children = [child for child in elements[index] if isinstance(child.tag, str)]
        found = [
            place
            for place, child in enumerate(children)
            if place not in taken
            and not is_own(measures[index].children[place])
            and _says(child, mark)
            and places.holds(child.get("staff"))
        ]
        if found:
            # Of several alike, the one that the source's own identity names.
            named = [place for place in found if children[place].get(XML_ID) == mark.id]
            taken.add((named or found)[0])
        else:
            lost.append(mark)
    edits = [
        edit
        for index, places_of_bar in sorted(gone.items())
        for edit in without_children(text, measures[index], places_of_bar)
    ]
    return edited(text, edits), tuple(lost)


def _says(element: etree._Element, mark: SourceMark) -> bool:
    name = str(element.tag).rpartition("}")[2]
    if name == "harpPedal":
        pedals = {letter: _ALTER.get(element.get(letter.lower(), "n"), 0) for letter in "DCBEFGA"}
        return mark.kind == "diagram" and pedals == dict(mark.pedals)
    return name == "dir" and mark.kind != "diagram" and _words(element) == mark.text.split()


def _words(element: etree._Element) -> list[str]:
    """The words of a text, a line break between two of them being one more space."""
    pieces = [element.text or ""]
    for child in element.iter("*"):
        if child is not element:
            pieces.append(" " if str(child.tag).endswith("}lb") else "")
            pieces += [child.text or "", child.tail or ""]
    return "".join(pieces).split()
