"""What an editor adds stands in square brackets that touch nothing.

Square brackets for editorial additions: common practice of scholarly editions, no source.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import cycle

import pypdfium2 as pdfium
import pytest
from coloured_marks import coloured, disagreements
from dense_pages import (
    DensePage,
    change_mark,
    diagram,
    empty_part,
    engrave_page,
    engraved_until_well,
    varied_page,
    varied_style,
)

from pedalsetter.analysis.marks.marking import ChangeMark, Markings
from pedalsetter.engrave.layout.placement import PlacedMark
from pedalsetter.engrave.output.pages.engraver import engrave

pytestmark = pytest.mark.engraving

DPI = 600


def by_an_editor(markings: Markings) -> Markings:
    """Every second diagram is an addition; of letters all, the right foot's, the left's, none."""
    pattern = cycle("arln")

    def letters(mark: ChangeMark) -> ChangeMark:
        which = next(pattern)
        feet = {"a": ("right", "left"), "r": ("right",), "l": ("left",), "n": ()}[which]
        return replace(
            mark, added=tuple(one.letter for one in mark.changes if one.foot.value in feet)
        )

    return Markings(
        tuple(
            replace(one, editorial=number % 2 == 0) for number, one in enumerate(markings.diagrams)
        ),
        tuple(map(letters, markings.changes)),
    )


@pytest.mark.parametrize("seed", [3, 23])
def test_brackets_touch_nothing(seed: int) -> None:
    """A part fuller than any should be, and half of its marks in brackets: still no overlap."""
    dense = varied_page(seed)
    edited: DensePage = replace(dense, markings=by_an_editor(dense.markings))
    page = engraved_until_well(edited, varied_style(seed))[-1]
    assert page.proof.failures == ()
    assert page.source.count('"[') > 10


def test_a_bracket_is_ink_of_its_mark() -> None:
    """The proof measures brackets too: the picture has ink up to the very edges of the boxes."""
    dense = varied_page(18)
    edited = replace(dense, markings=by_an_editor(dense.markings))
    last = engraved_until_well(edited, varied_style(18))[-1]
    names = [mark.name for mark in last.placement.marks]
    engraving = engrave(coloured(last.source, names))
    assert disagreements(engraving.pdf, engraving.boxes, names) == []


def calm(markings: Markings, dpi: int = DPI) -> tuple[list[PlacedMark], list[list[str]]]:
    """The marks above calm music, from left to right, and what each looks like, row by row."""
    bars = 5
    page = engrave_page("c''4 d'' e'' f'' | " * bars, "c2 g | " * bars, empty_part(bars), markings)
    assert page.proof.failures == ()
    space = page.engraving.boxes.pages[0].space_mm / 25.4 * dpi
    picture = pdfium.PdfDocument(page.engraving.pdf)[0].render(scale=dpi / 72, grayscale=True)
    grey = picture.to_pil().point(lambda value: 255 * (value > 127))
    found = []
    for mark in page.placement.marks:
        box = mark.box
        edges = (box.left, box.top, box.right, box.bottom)
        cut = grey.crop(tuple(round(edge * space) for edge in edges))
        data = cut.tobytes()
        found.append(
            [
                "".join(" #"[value == 0] for value in data[start : start + cut.width])
                for start in range(0, len(data), cut.width)
            ]
        )
    return list(page.placement.marks), found


def upright(rows: list[str], column: int) -> int:
    """How many rows have ink in a column."""
    return sum(row[column] == "#" for row in rows)


def arms(rows: list[str], left: bool) -> tuple[int, int]:
    """How far ink runs without a gap from the edge, in the first and in the last row with ink."""
    inked = [row if left else row[::-1] for row in rows if row[2 if left else -3] == "#"]
    reach = [len(row.rstrip()) if " " not in row.strip() else row.find(" ", 2) for row in inked]
    return reach[0], reach[-1]


@pytest.mark.parametrize("kind", ["letter", "line", "stack", "diagram"])
def test_a_bracket_is_drawn_on_either_side(kind: str) -> None:
    """Uprights stand at both edges, with arms inwards above and below; plain marks have none."""
    marks = {
        "letter": change_mark(1, 0, "F♯"),
        "line": change_mark(1, 0, "F♯", "G♭"),
        "stack": change_mark(1, 0, "F♯", "C♮"),
        "diagram": diagram(1, 0, "bsn|ssnb", "DA"),
    }
    plain = marks[kind]
    later = replace(plain.place, bar=3)
    if isinstance(plain, ChangeMark):
        added = replace(plain, place=later, added=tuple(change.letter for change in plain.changes))
        markings = Markings((), (plain, added))
    else:
        markings = Markings((plain, replace(plain, place=later, editorial=True)), ())
    (first, second), (bare, held) = calm(markings)
    heights = [mark.box.bottom - mark.box.top for mark in (first, second)]
    assert heights[0] == pytest.approx(heights[1], abs=1e-3)
    wider = (second.box.right - second.box.left) - (first.box.right - first.box.left)
    assert 1.2 < wider < 2.2
    height = len(held)
    for column in (2, -3):
        assert upright(held, column) > 0.85 * height
        # Not one upright line of the mark itself is as long.
        assert upright(bare, column) < 0.7 * height
    thickness = held[height // 2].find(" ", 1)
    for left in (True, False):
        for arm in arms(held, left):
            assert 2 * thickness < arm < 6 * thickness


def test_letters_of_both_hands_stand_in_line() -> None:
    """The source's letter above, the editor's below in brackets: letters stand below each other."""
    mark = change_mark(1, 0, "F♯", "C♮")
    mark = replace(mark, added=(mark.changes[1].letter,))
    _, (rows,) = calm(Markings((), (mark,)))
    middle = len(rows) // 2
    upper, lower = rows[:middle], rows[middle:]

    def first_ink(part: list[str], start: int = 0) -> int:
        return min(row.find("#", start) for row in part if "#" in row[start:])

    assert first_ink(lower) == 0
    behind_the_bracket = lower[len(lower) // 2].find(" ")
    inside = [row[behind_the_bracket:] for row in lower[len(lower) // 4 : -len(lower) // 4]]
    # C has round sides, F a straight one: they differ by a hair's breadth.
    assert abs(first_ink(upper) - behind_the_bracket - first_ink(inside)) < 12
