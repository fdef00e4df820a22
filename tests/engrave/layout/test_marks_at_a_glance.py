"""What lets a mark be read in one glance: measured on engraved pages and in their pictures."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from functools import cache

import pypdfium2 as pdfium
import pytest
from dense_pages import EngravedPages, change_mark, diagram, empty_part, engrave_page

from pedalsetter.analysis.marks.marking import Markings
from pedalsetter.engrave.house_style import load_house_style
from pedalsetter.engrave.layout.adjustments import AS_ENGRAVED
from pedalsetter.engrave.layout.collisions import Nearness
from pedalsetter.engrave.layout.geometry import Box
from pedalsetter.engrave.layout.placement import PlacedMark
from pedalsetter.engrave.layout.remedies import adjust

pytestmark = pytest.mark.engraving

RUN = " ".join("c''16 d'' e'' f''" for _ in range(4))
UPPER = f"c''8 d'' e'' f'' c'' d'' e'' f'' | \\noBreak {RUN} | \\noBreak c''1 | "
LOWER = "c1 | c1 | c1 | "
MARKS = Markings(
    (diagram(0, 0, "bnn|sssn", "D"),),
    (
        change_mark(0, Fraction(3, 2), "F♯", "C♮"),
        change_mark(1, 0, "B♭"),
        change_mark(1, Fraction(15, 4), "G♯"),
    ),
)
"""A diagram and a stack close to it, a letter at either end of the next bar; one system."""


@cache
def page(**wish: object) -> EngravedPages:
    """The three bars in the default style with something otherwise."""
    style = replace(load_house_style(), **wish)  # type: ignore[arg-type]
    return engrave_page(UPPER, LOWER, empty_part(3), MARKS, style=style)


def found(pages: EngravedPages, name: str) -> PlacedMark:
    """A mark by its name in the source."""
    return next(mark for mark in pages.placement.marks if mark.name == name)


def test_a_stack_is_no_label_of_the_diagram_beside_it() -> None:
    """The diagram stands above the upper letter, not beside it (common practice, no source)."""
    stacked = page(row_distance_spaces=3.0)
    mark, stack = found(stacked, "d1"), found(stacked, "c1")
    assert mark.box.right < stack.box.left < mark.box.right + 3
    assert mark.box.bottom < stack.box.top
    assert stacked.proof.failures == ()


@pytest.mark.parametrize("size", [0.5, 2.5])
def test_a_letter_stays_in_its_bar(size: float) -> None:
    """At the last sixteenth of a bar, small or large, it does not reach over the barline.

    The barline is where LilyPond reports the end of the system.
    """
    engraved = page(letter_size=size)
    last = found(engraved, "c3")
    line = engraved.placement.boxes.lines[-1]
    assert last.box.right <= line.right
    first_bar = next(line for line in engraved.placement.boxes.lines if line.is_system)
    assert first_bar.barlines
    assert engraved.proof.failures == ()


def ink(pages: EngravedPages, box: Box) -> float:
    """Share of a box that is black, at 600 dots an inch."""
    sheet = pages.placement.boxes.pages[0]
    picture = (
        pdfium.PdfDocument(pages.engraving.pdf)[0].render(scale=600 / 72).to_pil().convert("L")
    )
    unit = sheet.space_mm / 25.4 * 600
    cut = picture.crop(
        tuple(round(edge * unit) for edge in (box.left, box.top, box.right, box.bottom))
    )
    return sum(cut.histogram()[:128]) / (cut.width * cut.height)


def test_accidentals_are_as_heavy_as_bold_letters() -> None:
    """In the right half of F♯ there is a sixth more ink where it is bold than where it is not.

    Counted in the picture; the letter itself gains as much from its bold type.
    """
    shares = []
    for bold in (True, False):
        engraved = page(bold=bold, font="sans")
        box = found(engraved, "c3").box
        half = Box((box.left + box.right) / 2, box.top, box.right, box.bottom)
        shares.append(ink(engraved, half))
    assert shares[0] > 7 / 6 * shares[1]


def test_what_leaves_the_room_between_the_staves_leaves_it_in_a_row() -> None:
    """If one letter of a system finds no room between the staves, all its letters go below.

    The overlap is made up; that the engraver needs it is seen on dense pages.
    """
    style = replace(load_house_style(), letter_place="between")
    engraved = engrave_page(UPPER, LOWER, empty_part(3), MARKS, style=style)
    box = found(engraved, "c2").box
    stem = Nearness("c2", "Stem", 1, -0.5, Box(box.left - 9, box.top, box.right, box.bottom))
    proof = replace(engraved.proof, overlaps=(stem,))
    before = replace(AS_ENGRAVED, tried={"c2": 1})
    wanted = adjust(engraved.part, style, engraved.placement, proof, before)
    assert wanted is not None
    assert wanted.outer == {"c1", "c2", "c3"}
