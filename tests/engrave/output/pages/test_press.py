"""The whole way from a marked part to proved pages."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from dense_pages import change_mark, diagram
from part_builder import build_part

from pedalsetter.analysis.marks.marking import Markings
from pedalsetter.analysis.part import HarpPart
from pedalsetter.engrave.house_style import load_house_style
from pedalsetter.engrave.output.pages.press import engrave_part

pytestmark = pytest.mark.engraving


def crossing_part() -> HarpPart:
    """Four bars whose eighths jump from the upper staff to the lower one under one beam."""
    part = build_part(*["G5/e C3/e F5/e G5/e C5/h | r/w"] * 4)
    events = []
    for event in part.events:
        low = any(head.pitch.octave == 3 for head in event.heads)
        stem = "up" if event.heads and event.length == Fraction(1, 2) else None
        events.append(replace(event, staff=2 if low else event.staff, voice="1", stem=stem))
    kept = tuple(event for event in events if event.heads)
    return replace(part, events=kept)


def test_a_part_is_engraved_and_proved() -> None:
    """Every mark of the plan is on the page, at its moment, clear of all else."""
    part = build_part(*["C5/q E5/q G5/q C6/q | C3/h G3/h"] * 8)
    markings = Markings(
        (diagram(0, 0, "nnn|nnnn"), diagram(4, 0, "nsn|nsnn", "C")),
        (change_mark(1, 2, "F♯"), change_mark(6, 1, "G♯", "D♯")),
    )
    result = engrave_part(part, markings, load_house_style())
    assert result.engravings == 1
    assert result.proof.failures == ()
    assert result.proof.marks == 4
    assert str(result.proof).startswith("4 marks on 1 page, 0 overlaps, nearest ")
    assert result.proof.pages == result.engraving.pages == 1
    assert result.engraving.warnings == ()


def test_marks_in_a_beam_between_the_staves_are_lifted() -> None:
    """What the first engraving cannot see is mended by the next, and the source keeps the mend."""
    markings = Markings((), tuple(change_mark(bar, 1, "F♯") for bar in range(4)))
    result = engrave_part(crossing_part(), markings, load_house_style())
    assert 1 < result.engravings <= 4
    assert result.proof.failures == ()
    assert result.adjustments.room
    assert "\\pedalRoom #" in result.document.text.rsplit("rowOfLetters = {", 1)[1]
