"""Which bars and which staff of an MEI document a part was read from.

On the way from MEI into a :class:`HarpPart` parts may change their order, but notes and rests keep
their ``xml:id``. So they tell on which staff they stand in the document, and in which bar; only
where none has kept it, the order of the staves is trusted.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from lxml import etree

from pedalsetter.analysis.errors import ScoreError
from pedalsetter.analysis.part import HarpPart

__all__ = ["XML_ID", "MeiPlaces", "mei_places"]

XML_ID = "{http://www.w3.org/XML/1998/namespace}id"


@dataclass(frozen=True, slots=True)
class MeiPlaces:
    """Where a part stands in its document."""

    measures: tuple[int, ...]
    """For each bar of the part its place among all ``measure`` elements, from 0."""
    staff: str
    """The ``n`` of the staff."""
    staff_place: int
    """Its place among the staves of the score, from 1."""
    staves: frozenset[str]
    """The ``n`` of every staff of the part."""

    def holds(self, staff: str | None) -> bool:
        """Whether a sign of these staves (``1``, ``1 2``) is the part's; one without staff is."""
        return not staff or bool(self.staves.intersection(staff.split()))


def mei_places(root: etree._Element, part: HarpPart, staff: int, file: str) -> MeiPlaces:
    """Find the bars of ``part`` and its ``staff`` (1 is the upper one) in the document.

    Raises:
        ScoreError: bars or staff of the document are not those of the part.
    """
    measures: list[int] = []
    where: dict[str, tuple[int, str]] = {}
    for place, measure in enumerate(root.iter("{*}measure")):
        # An incipit stands in the head of the file; a variant reading repeats bars of the text.
        if next(measure.iterancestors("{*}incip", "{*}rdg"), None) is not None:
            continue
        for each in measure.iter("{*}staff"):
            number = each.get("n", "")
            for element in each.iter("*"):
                identity = element.get(XML_ID)
                if identity is not None:
                    where[identity] = (len(measures), number)
        measures.append(place)
    known = [event for event in part.events if event.id in where]
    if len(measures) != len(part.bars) or any(where[each.id][0] != each.bar for each in known):
        raise ScoreError(
            "its bars are not those that the marks were made for",
            file=file,
            mend="Export the score as MusicXML and give that.",
        )
    numbers = _staves(root)
    votes = Counter(where[event.id][1] for event in known if event.staff == staff)
    if votes:
        number = votes.most_common(1)[0][0]
    else:
        place = part.source.first_staff + staff - 1
        number = numbers[place - 1] if place <= len(numbers) else ""
    if number not in numbers:
        raise ScoreError("the score is not the one that the marks were made for", file=file)
    first = max(0, numbers.index(number) + 1 - staff)
    own = frozenset(numbers[first : first + part.staves])
    return MeiPlaces(tuple(measures), number, numbers.index(number) + 1, own)


def _staves(root: etree._Element) -> list[str]:
    """The ``n`` of every staff, from top to bottom."""
    numbers: dict[str, None] = {}
    for definition in root.iter("{*}staffDef"):
        if next(definition.iterancestors("{*}incip"), None) is None:
            numbers.setdefault(definition.get("n", ""))
    return list(numbers)
