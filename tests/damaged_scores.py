"""Scores with something broken in them, and what a part must be however it came about."""

from __future__ import annotations

import copy
import random
from collections.abc import Sequence

from lxml import etree

from pedalsetter.analysis.part import HarpPart

__all__ = ["TEXTS", "VALUES", "assert_whole", "damaged", "damaged_tree"]

TEXTS = (
    *("", "x", "-1", "0", "99999", "1/2", "1.5", "♯", "²", "١", "nan", "inf", "1e999999", None),
    *("C", "G", "3", "16", "quarter", "breve", "up", "D.C. al Fine", "Eb F#", "\u202e", "a\nb"),
)
VALUES = ("", "x", "-1", "0", "99", "stop", "start", "yes", "²", "continue", "backward", "2", "1,2")


def damaged(data: bytes, chance: random.Random) -> bytes:
    """The score with some elements removed, doubled, moved or filled with nonsense."""
    return etree.tostring(
        damaged_tree(etree.fromstring(data), chance, chance.choice((1, 2, 5, 20)))
    )


def damaged_tree(
    root: etree._Element,
    chance: random.Random,
    deeds: int,
    others: Sequence[etree._Element] = (),
) -> etree._Element:
    """The tree after so many deeds; ``others`` are elements of other scores to put in."""
    elements = [each for each in root.iter() if isinstance(each.tag, str)]
    pool = [*elements, *others]
    for _ in range(deeds):
        element = chance.choice(elements)
        parent = element.getparent()
        deed = chance.random()
        if deed < 0.3 and parent is not None:
            parent.remove(element)
        elif deed < 0.55:
            element.text = chance.choice(TEXTS)
        elif deed < 0.7 and element.attrib:
            element.set(str(chance.choice(list(element.keys()))), chance.choice(VALUES))
        elif deed < 0.85 and parent is not None:
            element.addnext(copy.deepcopy(element))
        elif len(element) < 30:
            element.append(copy.deepcopy(chance.choice(pool)))
    return root


def assert_whole(part: HarpPart) -> None:
    """What the rest of the road trusts: bars without gaps, events within them, names unique.

    A notice of a bar names its staff.
    """
    for before, after in zip(part.bars, part.bars[1:], strict=False):
        assert after.start == before.end
    for event in part.events:
        bar = part.bars[event.bar]
        assert bar.start <= event.onset
        assert event.end <= bar.end
        assert event.notated is not None or not event.heads
    for notice in part.warnings:
        assert notice.bar is None or notice.staff is not None, notice
    heads = [head.id for _, head in part.notes()]
    assert len(heads) == len(set(heads))
    for kind in ("slur", "wavy-line", "glissando", "slide"):
        ends = [
            end.start
            for event in part.events
            for end in (*event.spanners, *(each for head in event.heads for each in head.spanners))
            if end.kind == kind
        ]
        assert ends.count(True) == ends.count(False)
