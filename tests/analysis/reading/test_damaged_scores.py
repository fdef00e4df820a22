"""Damaged scores: whatever is broken in a file, the answer is a part or one clear line."""

from __future__ import annotations

import copy
import random
from pathlib import Path

import music21
import pytest
from lxml import etree

from pedalsetter.analysis.errors import PedalsetterError
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.reading import read_score

SUITE = Path(music21.__file__).parent / "musicxml" / "lilypondTestSuite"

TEXTS = ("", "x", "-1", "0", "99999", "1/2", "1.5", "♯", "²", "١", "nan", "inf", "1e999999", None)
VALUES = ("", "x", "-1", "0", "99", "stop", "start", "yes", "²")


def damaged(data: bytes, chance: random.Random) -> bytes:
    """The score with some elements removed, doubled, moved or filled with nonsense."""
    root = etree.fromstring(data)
    elements = [each for each in root.iter() if isinstance(each.tag, str)]
    for _ in range(chance.choice((1, 2, 5, 20))):
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
            element.append(copy.deepcopy(chance.choice(elements)))
    return etree.tostring(root)


def assert_whole(part: HarpPart) -> None:
    """What the rest of the road trusts: bars without gaps, events within them, names unique."""
    for before, after in zip(part.bars, part.bars[1:], strict=False):
        assert after.start == before.end
    for event in part.events:
        bar = part.bars[event.bar]
        assert bar.start <= event.onset
        assert event.end <= bar.end
        assert event.notated is not None or not event.heads
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


@pytest.mark.parametrize("path", sorted(SUITE.glob("*.xml"))[::3], ids=lambda path: path.stem)
def test_no_damage_is_a_traceback(path: Path) -> None:
    """Source of the scores: the MusicXML test suite, as shipped with music21."""
    data = path.read_bytes()
    chance = random.Random(path.stem)  # noqa: S311 - the same damage on every run
    for _ in range(12):
        part, refusal = answer(damaged(data, chance))
        assert part is not None or refusal.startswith("damaged.xml")
        assert "\n" not in refusal
        if part is not None:
            assert_whole(part)


def answer(data: bytes) -> tuple[HarpPart | None, str]:
    """The part, or the line with which it is refused; any other error passes through."""
    try:
        return read_score(data, "damaged.xml", "1"), ""
    except PedalsetterError as error:
        return None, str(error)
