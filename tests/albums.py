r"""Many marked parts engraved in one run of LilyPond, each proved as if it stood alone.

Starting LilyPond takes longer than engraving a few bars. So each part becomes a ``\score`` of one
source, with names of marks of its own, and the boxes of its systems are told from the others'.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pedalsetter.analysis.marks.marking import ChangeMark, Diagram, Markings
from pedalsetter.analysis.part import HarpPart, Notice
from pedalsetter.engrave.house_style import load_house_style
from pedalsetter.engrave.layout.geometry import PageBoxes
from pedalsetter.engrave.layout.placement import place
from pedalsetter.engrave.layout.proof import LayoutProof, prove
from pedalsetter.engrave.output.pages.engraver import Engraving, engrave
from pedalsetter.engrave.output.pages.lilypond import lilypond_source

__all__ = ["Album", "engrave_album"]


@dataclass(frozen=True, slots=True)
class Album:
    """What came of it."""

    source: str
    engraving: Engraving
    proofs: tuple[LayoutProof, ...]
    """One for each part."""
    boxes: tuple[PageBoxes, ...]
    """Of the systems of each part."""
    notices: tuple[tuple[Notice, ...], ...]
    """What could be shown only in part, for each part."""


def engrave_album(parts: Sequence[tuple[HarpPart, Markings]]) -> Album:
    """Engrave all parts in one run."""
    pieces = []
    all_marks: list[Mapping[str, Diagram | ChangeMark]] = []
    notices = []
    head = ""
    for number, (part, markings) in enumerate(parts):
        document = lilypond_source(part, markings, load_house_style(), standalone=False)
        text = document.text
        marks = {}
        for name, mark in document.marks.items():
            own = f"n{number}{name}"
            text = re.sub(rf'(?<=["#]){re.escape(name)}(?=")', own, text)
            marks[own] = mark
        start = text.index("\\header {")
        head = head or text[:start]
        pieces.append(text[text.index("\n}\n", start) + 3 :])
        all_marks.append(marks)
        notices.append(document.warnings)
    source = head + "\n".join(pieces)
    engraving = engrave(source)
    boxes_of_each = _boxes_of_each(all_marks, engraving.boxes)
    proofs = [
        prove(part, place(marks, boxes))
        for (part, _), marks, boxes in zip(parts, all_marks, boxes_of_each, strict=True)
    ]
    return Album(source, engraving, tuple(proofs), tuple(boxes_of_each), tuple(notices))


def _boxes_of_each(
    all_marks: Sequence[Mapping[str, Diagram | ChangeMark]], boxes: PageBoxes
) -> list[PageBoxes]:
    """The systems of each part: from the one with its first mark up to that of the next part."""
    lines = {box.name: (box.page, box.line) for box in boxes.marks}
    firsts = [min(lines[name] for name in marks if name in lines) for marks in all_marks]
    found = []
    for first, after in zip(firsts, [*firsts[1:], (1 + len(boxes.pages), 0)], strict=True):
        found.append(
            PageBoxes(
                boxes.pages,
                tuple(each for each in boxes.lines if first <= (each.page, each.line) < after),
                tuple(each for each in boxes.marks if first <= (each.page, each.line) < after),
                tuple(each for each in boxes.things if first <= (each.page, each.line) < after),
                tuple(each for each in boxes.counts if first <= (each.page, each.line) < after),
                tuple(each for each in boxes.contacts if first <= (each.page, each.line) < after),
            )
        )
    return found
