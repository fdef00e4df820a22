"""Letters on neighbouring notes leave the rhythm as it is, measured on engraved pages."""

from __future__ import annotations

from fractions import Fraction
from functools import cache

import pytest
from dense_pages import change_mark
from part_builder import build_part

from pedalsetter.analysis.marks.marking import Markings
from pedalsetter.engrave.house_style import load_house_style
from pedalsetter.engrave.layout.adjustments import AS_ENGRAVED
from pedalsetter.engrave.layout.placement import place
from pedalsetter.engrave.layout.rhythm import MOST_STRETCH, every_other, stretches
from pedalsetter.engrave.output.pages.engraver import engrave
from pedalsetter.engrave.output.pages.lilypond import lilypond_source
from pedalsetter.engrave.output.pages.press import EngravedPart, engrave_part

pytestmark = pytest.mark.engraving

PLAIN = " ".join(f"{name}5/e" for name in "CDEFGFED")
RUN = " ".join([*(f"{name}5/e" for name in "CDEF"), *(f"{name}5/t" for name in "CDEF" * 4)])
PART = build_part(*[f"{bar} | C3/w" for bar in (PLAIN, RUN, *[PLAIN] * 22)])
MARKS = Markings(
    (),
    tuple(
        change_mark(1, 2 + Fraction(place, 8), name)
        for place, name in enumerate(("F♯", "G♯", "A♯", "B♭", "E♭"), 4)
    ),
)
"""Letters at five thirty-second notes in a row, and none anywhere else."""


@cache
def finished(style: str = "final-part") -> EngravedPart:
    """The part with its remedies."""
    return engrave_part(PART, MARKS, load_house_style(style))


def test_letters_in_one_row_stretch_the_rhythm() -> None:
    """What the limit is there for: without it the notes are pushed apart.

    A letter with its sign and air is about 3.5 staff spaces wide, and a step here about 2.
    """
    document = lilypond_source(PART, MARKS, load_house_style(), adjustments=AS_ENGRAVED)
    boxes = place(document.marks, engrave(document.text).boxes).boxes
    found = stretches(PART, boxes)
    assert set(found) == {"c2", "c3", "c4", "c5"}
    assert min(found.values()) > MOST_STRETCH
    assert every_other(found.keys(), boxes) == {"c2", "c4"}


def test_every_second_letter_goes_up_a_row() -> None:
    """Then none is over the limit, and nothing touches."""
    done = finished()
    rows = {mark.name: mark.row for mark in done.placement.boxes.marks}
    assert [rows[f"c{number}"] for number in range(1, 6)] == [
        "pedal-letters",
        "pedal-letters-second",
        "pedal-letters",
        "pedal-letters-second",
        "pedal-letters",
    ]
    assert max(stretches(PART, done.placement.boxes).values(), default=0) <= MOST_STRETCH
    assert done.proof.failures == ()


def test_between_the_staves_letters_keep_one_row() -> None:
    """There is no second row there; the rhythm gives way."""
    done = finished("between-staves")
    assert {mark.row for mark in done.placement.boxes.marks} == {"pedal-letters"}
    assert done.proof.failures == ()
