"""Parts fuller than any should be: a small sample of the run over two hundred."""

from __future__ import annotations

from dataclasses import replace

import pytest
from coloured_marks import coloured, disagreements
from dense_pages import engraved_until_well, varied_page, varied_style

from pedalsetter.engrave.output.pages.engraver import engrave

pytestmark = pytest.mark.engraving


@pytest.mark.parametrize("seed", [3, 10, 23])
def test_nothing_touches_a_mark(seed: int) -> None:
    """Above, between and below, on three papers: no overlap, one baseline a row, no overhang."""
    pages = engraved_until_well(varied_page(seed), varied_style(seed))
    assert pages[-1].proof.failures == ()
    assert pages[-1].proof.marks > 30


def test_pixels_agree_with_boxes() -> None:
    """Every mark, printed in a colour of its own, is found in the picture just where its box is.

    The picture comes from the PDF through another program than the one that reports the boxes.
    """
    last = engraved_until_well(varied_page(18), varied_style(18))[-1]
    names = [mark.name for mark in last.placement.marks]
    engraving = engrave(coloured(last.source, names))
    assert disagreements(engraving.pdf, engraving.boxes, names) == []

    moved = replace(
        engraving.boxes,
        marks=tuple(
            replace(mark, box=replace(mark.box, left=mark.box.left + 1, right=mark.box.right + 1))
            for mark in engraving.boxes.marks
        ),
    )
    assert len(disagreements(engraving.pdf, moved, names)) == len(names)
