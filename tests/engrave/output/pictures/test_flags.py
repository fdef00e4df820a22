"""Flags in the margin."""

from __future__ import annotations

import io
from fractions import Fraction

import pytest
from dense_pages import EngravedPages, change_mark, empty_part, engrave_page
from PIL import Image, ImageChops

from pedalsetter.analysis.marks.marking import Markings
from pedalsetter.engrave.output.pages.raster import pages_to_png
from pedalsetter.engrave.output.pictures.flags import flagged_pages

pytestmark = pytest.mark.engraving


@pytest.fixture(scope="module")
def page() -> EngravedPages:
    """Two systems of two bars each."""
    return engrave_page(
        "c''1 | c'' | \\break c'' | c'' | ",
        "c1 | c | c | c | ",
        empty_part(4),
        Markings((), (change_mark(0, 0, "F♯"),)),
    )


def test_systems_know_which_music_they_hold(page: EngravedPages) -> None:
    """The first system holds quarters 0 to 8, the second 8 to 16; a break belongs to the second."""
    boxes = page.engraving.boxes
    systems = [line for line in boxes.lines if line.is_system]
    assert [line.start for line in systems] == [Fraction(0), Fraction(8)]
    assert [line.end for line in systems] == [Fraction(8), Fraction(16)]
    assert boxes.system_at(Fraction(0)) == systems[0]
    assert boxes.system_at(Fraction(15, 2)) == systems[0]
    assert boxes.system_at(Fraction(8)) == systems[1]
    assert boxes.system_at(Fraction(16)) == systems[1]
    assert boxes.system_at(Fraction(17)) is None


def test_flags_stand_in_the_margin_beside_their_system(page: EngravedPages) -> None:
    """One flag by the first system, two below one another by the second; no music is hidden."""
    boxes = page.engraving.boxes
    plain = Image.open(io.BytesIO(pages_to_png(page.engraving.pdf, 100)[0])).convert("L")
    moments = [Fraction(4), Fraction(8), Fraction(12), Fraction(99)]
    (flagged,) = flagged_pages(page.engraving.pdf, boxes, moments, 100)
    drawn = ImageChops.difference(plain, Image.open(io.BytesIO(flagged)).convert("L"))
    space = boxes.pages[0].space_mm / 25.4 * 100
    systems = [line for line in boxes.lines if line.is_system]
    right = max(line.right for line in systems)
    changed = drawn.getbbox()
    assert changed is not None
    assert changed[0] >= right * space - 1
    columns = drawn.crop((int(right * space), 0, *drawn.size))
    rows = [
        columns.crop((0, y, columns.size[0], y + 1)).getbbox() is not None
        for y in range(columns.size[1])
    ]
    starts = [y for y in range(1, len(rows)) if rows[y] and not rows[y - 1]]
    tops = [line.staff_top * space for line in systems]
    assert len(starts) == 3
    assert starts[0] == pytest.approx(tops[0], abs=2)
    assert starts[1] == pytest.approx(tops[1], abs=2)
    assert starts[2] == pytest.approx(tops[1] + 1.2 * 2.6 * space, abs=2)


def test_without_flags_the_pages_are_the_plain_ones(page: EngravedPages) -> None:
    """No remark, no flag."""
    pdf = page.engraving.pdf
    assert flagged_pages(pdf, page.engraving.boxes, []) == pages_to_png(pdf)
