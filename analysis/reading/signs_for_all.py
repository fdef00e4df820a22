"""The signs of a part that may hold for everyone: tempo, rehearsal marks, navigation."""

from __future__ import annotations

import copy
from collections.abc import Iterator, Sequence
from fractions import Fraction

from lxml import etree

from pedalsetter.analysis.reading.draft import ZERO, MeasureDraft, Placed
from pedalsetter.analysis.reading.figures import decimal

__all__ = ["clocked", "drafts_with", "kept_signs", "length_of", "placed_directions"]

_FOR_ALL = frozenset(("rehearsal", "metronome", "segno", "coda", "words"))


def placed_directions(part: etree._Element, identity: str) -> list[tuple[int, Placed]]:
    """Every ``<direction>`` and ``<sound>`` of a part with the index of its bar, and its moment."""
    found: list[tuple[int, Placed]] = []
    divisions = Fraction(1)
    for index, element in enumerate(part.findall("measure")):
        if element.find("direction") is None and element.find("sound") is None:
            for text in element.iterfind("attributes/divisions"):
                divisions = length_of(text.text) or divisions
            continue
        count = 0
        for child, position, now in clocked(element, divisions):
            divisions = now
            if child.tag in ("direction", "sound"):
                count += 1
                name = f"{identity}-m{index + 1}-d{count}"
                found.append((index, Placed(child, max(position, ZERO), divisions, name)))
    return found


def clocked(
    measure: etree._Element, divisions: Fraction
) -> Iterator[tuple[etree._Element, Fraction, Fraction]]:
    """Every element of a measure with the moment after it, and the divisions in force there.

    A note that is played with the one before it, or as an ornament of it, takes no time.
    """
    position = ZERO
    for child in measure:
        tag = child.tag
        if tag == "attributes":
            divisions = length_of(child.findtext("divisions")) or divisions
        elif tag in ("note", "backup", "forward"):
            if tag == "note" and (
                child.find("chord") is not None or child.find("grace") is not None
            ):
                continue
            length = length_of(child.findtext("duration")) / divisions
            position += -length if tag == "backup" else length
        yield child, position, divisions


def kept_signs(part: etree._Element, identity: str) -> tuple[tuple[int, Placed], ...]:
    """Copies of those directions that may hold for everyone, for when the part is let go."""
    kinds = {kind.tag for kind in part.iterfind("measure/direction/direction-type/*")}
    if not kinds & _FOR_ALL:
        return ()
    kept = []
    for index, placed in placed_directions(part, identity):
        if any(kind.tag in _FOR_ALL for kind in placed.element.iterfind("direction-type/*")):
            placed.element = copy.deepcopy(placed.element)
            kept.append((index, placed))
    return tuple(kept)


def drafts_with(signs: Sequence[tuple[int, Placed]], count: int) -> list[MeasureDraft]:
    """So many bars that hold nothing but these signs."""
    empty = etree.Element("measure")
    drafts = [MeasureDraft(index, empty, "", False) for index in range(count)]
    for index, placed in signs:
        drafts[index].directions.append(placed)
    return drafts


def length_of(text: str | None) -> Fraction:
    """A length in divisions; 0 where it is none."""
    return decimal(text) or ZERO
